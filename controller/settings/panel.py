"""The lines beside lamp and pump: buttons, sounder, dead-man, and contacts that sense."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from controller.settings.bounds import OutputLine, Section


class Panel(Section):
    """What is on the rig itself for a person, and what holds the lamp's contactor."""

    stop: OutputLine | None = None
    """BCM number of the STOP button, a contact to ground that opens when pressed: a broken wire is
    a pressed button."""
    next: OutputLine | None = None
    """Of the NEXT button, a contact to ground that closes when tapped."""
    sounder: OutputLine | None = None
    """Of the sounder, high for loud."""
    dead_man: OutputLine | None = None
    """Of the line that is moved once a second while nothing forbids the lamp."""


class Sense(Section):
    """Contacts to ground that tell what is so; each reads as bad when its wire is broken."""

    lamp: OutputLine | None = None
    """BCM number of the contact that is closed while the lamp's circuit is live."""
    tilt: OutputLine | None = None
    """Of the one that opens when the lamp or its stand leans."""
    cut_out: OutputLine | None = None
    """Of the one that opens with the thermal cut-out."""
    trap: OutputLine | None = None
    """Of the float that opens when the trap is full."""


class Infrared(Section):
    """An infrared thermometer that looks at the face from beside the lamp."""

    wired: Literal["wired", "absent"] = "absent"
    emissivity: Annotated[float, Field(ge=0.7, le=1.0)] = 0.93
    """Of planed wood and of a clear coat, [-]; common practice, no source."""


def panel_lines(panel: Panel, sense: Sense) -> Iterator[tuple[str, int]]:
    """Each line that is wired, by the name people know it by, and its BCM number."""
    for name, line in (
        ("STOP button", panel.stop),
        ("NEXT button", panel.next),
        ("sounder", panel.sounder),
        ("dead-man", panel.dead_man),
        ("lamp sense", sense.lamp),
        ("tilt switch", sense.tilt),
        ("cut-out sense", sense.cut_out),
        ("trap float", sense.trap),
    ):
        if line is not None:
            yield name, line
