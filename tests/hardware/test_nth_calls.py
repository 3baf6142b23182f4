"""Whichever call to the hardware fails: nothing stays on, nothing is hidden, nothing else breaks.

A call that fails is one of gpiozero to a line, one to a probe's file, one on I2C or one on SPI, at
any place from the claim of the lines into the hold, once or from then on.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from told_lines import lines_of

import controller

HERE = Path(__file__).parent
ROOT = Path(controller.__file__).parents[1]
PLACES = (ROOT, HERE, HERE.parent / "batch")
SENSORS = {"one-wire": {"face", "back", "room", "film"}, "i2c": {"barometer"}, "spi": {"gauge"}}
"""What falls silent with each kind."""
LONG = 3600.0
Record = Callable[[str, object], None]
Found = dict[str, Any]


def played(most: int, kinds: Sequence[str]) -> tuple[Found, list[Found]]:
    """A play in which nothing fails, and those in which something does."""
    clean, *found = lines_of(HERE / "nth_plays.py", [most, *kinds], PLACES, LONG)
    return clean, found


def wrong(found: Found) -> str:
    """What must not be; empty when all is well."""
    faults = [found["crash"], *found.get("unsafe", ())]
    if found["high"]:
        faults.append(f"left on: {found['high']}")
    if found.get("burns_on"):
        faults.append("the lamp burns on")
    # a line that could not be switched is dark by the dead-man, or said by its name
    faults += [
        f"{name} left on and not named"
        for name in found.get("kept", ())
        if not any(f"{name} on GPIO" in told for told in found["told"])
    ]
    if found["kind"] == "gpio":
        if not found["ended"]:
            faults.append("control went on with an output that it does not have")
    elif found["ended"]:
        faults.append(f"control ended: {found['told']}")
    elif found["stage"] != "STOPPED":
        faults.append(f"STOP led to {found['stage']}")
    elif found["how"] == "sticky" and not SENSORS[found["kind"]] & {*found["sensors"]}:
        faults.append("nobody was told which sensor is silent")
    return "; ".join(fault for fault in faults if fault)


def looked_through(most: int, kinds: Sequence[str], record: Record) -> list[Found]:
    clean, found = played(most, kinds)
    assert not clean["ended"] and clean["stage"] == "STOPPED" and clean["alarms"] == []
    assert all(one["hit"] for one in found)
    broken = {f"{one['kind']} {one['how']} {one['n']}": wrong(one) for one in found if wrong(one)}
    for kind in kinds:
        plays = [one for one in found if one["kind"] == kind]
        bad = sum(bool(wrong(one)) for one in plays)
        record("nth", (kind, clean["of"][kind], len(plays), bad))
    assert broken == {}
    return found


def test_a_call_that_fails_here_or_there_leaves_nothing_on_and_is_told(
    record_property: Record,
) -> None:
    found = looked_through(8, ("gpio", *SENSORS), record_property)
    assert {one["kind"] for one in found} == {"gpio", *SENSORS}
    # a probe that fell silent under a burning lamp is called out, and the lamp is dark
    assert "face probe lost" in {alarm for one in found for alarm in one.get("alarms", ())}
    # the model bites: some line did stay high until it was let go of, and the lamp was dark
    assert any("lamp" in one.get("kept", ()) for one in found)


@pytest.mark.volume
@pytest.mark.parametrize("kind", ["gpio", *SENSORS])
def test_every_call_that_fails_leaves_nothing_on_and_is_told(
    kind: str, record_property: Record
) -> None:
    found = looked_through(0, (kind,), record_property)
    assert len(found) > 100
