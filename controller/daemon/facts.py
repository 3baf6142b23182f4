"""What is true of the rig today: its settings, and the dated record of its bench check."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from controller.batch.signals import RigFacts, Role
from controller.errors import InputError
from controller.rehearsal.rig import SIMULATED_RECORD, facts_for
from controller.runner import Instant
from controller.settings import Settings

RECORD_FILE = "bench-record.json"
"""In the state folder: what the rig's last bench check found."""
IN_DATE = 365 * 86400.0
"""How long a bench check holds, [s]. Own."""
CLOCK_DOUBT = 86400.0
"""A check dated further ahead than this means a wrong clock, [s]. Own."""


class BenchRecord(BaseModel):
    """A rig's bench check: when, and how it was wired then."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: int = Field(ge=1, le=1)
    """Of this shape."""
    name: str
    """As it is named to people."""
    made_utc: float
    """Seconds since 1970 UTC."""
    simulated: bool
    """It was made on a pretended rig."""
    wiring: dict[str, str]
    """What `wiring` gave for the rig's settings."""

    def in_date(self, settings: Settings, now_utc: float) -> bool:
        """Younger than a year, and the rig is wired as it was.

        now_utc: the calendar, seconds since 1970 UTC
        """
        age = now_utc - self.made_utc
        return -CLOCK_DOUBT <= age < IN_DATE and self.wiring == wiring(settings)


def wiring(settings: Settings) -> Mapping[str, str]:
    """All of the settings that a bench check looks at, as text."""
    lamp, pump, gauge = settings.lamp, settings.pump, settings.gauge
    found = {
        "rig": f"{settings.rig.name}, {settings.rig.backend}",
        "lamp": f"{lamp.wired} {lamp.gpio}, {lamp.count} x {lamp.power:.0f} W",
        "pump": f"{pump.wired} {pump.gpio}",
        "gauge": f"{gauge.wired} {gauge.low_volts} {gauge.low_pressure} {gauge.high_volts}"
        f" {gauge.high_pressure}",
    }
    return found | {str(role): name for role, name in wired_probes(settings).items()}


def wired_probes(settings: Settings) -> dict[Role, str]:
    """The ids of the probes that are wired, by role."""
    named = {
        Role.FACE: settings.probes.face,
        Role.BACK: settings.probes.back,
        Role.ROOM: settings.probes.room,
        Role.FILM: settings.probes.film,
    }
    return {role: probe.id for role, probe in named.items() if probe is not None}


def read_bench_record(state_folder: Path) -> BenchRecord | None:
    """The record in the state folder; None when there is none.

    Raises InputError when it cannot be used.
    """
    path = state_folder / RECORD_FILE
    try:
        return BenchRecord.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, ValidationError) as error:
        raise InputError(f"{path} cannot be used; move it away and run warmdraw check") from error


def real_facts(settings: Settings, record: BenchRecord | None) -> Callable[[Instant], RigFacts]:
    """The facts of a real rig at any moment. Raises InputError for a record that is SIMULATED."""
    if record is not None and record.simulated:
        raise InputError(
            f"the bench record {record.name} is SIMULATED and this rig is real: run warmdraw check"
        )
    base = facts_for(
        settings,
        frozenset(wired_probes(settings)),
        simulated=False,
        record=None if record is None else record.name,
        in_date=False,
    )

    def at(now: Instant) -> RigFacts:
        in_date = record is not None and record.in_date(settings, now.told_utc)
        return replace(base(now), record_in_date=in_date)

    return at


def pretend_facts(settings: Settings, record: str) -> Callable[[Instant], RigFacts]:
    """The facts of a pretend rig, which brings a record marked SIMULATED.

    record: "in date", "out of date" or "none"
    """
    return facts_for(
        settings,
        frozenset(wired_probes(settings)),
        simulated=True,
        record=None if record == "none" else SIMULATED_RECORD,
        in_date=record == "in date",
    )
