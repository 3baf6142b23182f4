"""Whole jobs nobody wrote: a board, an evening and one to five things that go wrong, by one number.

The number is all of the story: the same one gives the same job on any machine.
"""

from datetime import UTC, datetime, timedelta
from random import Random

from controller.batch.signals import Role
from controller.batch.stages import Stage
from controller.hardware.faults import FAULTS, Fault
from controller.planning.examples import EXAMPLES
from controller.rehearsal.scenario import Scenario

STARTS = (
    Stage.PLANNED,
    Stage.DRYPULL,
    Stage.PREHEAT,
    Stage.SOAK,
    Stage.COOLDOWN,
    Stage.COAT,
    Stage.BAG,
    Stage.PULLDOWN,
    Stage.HOLD,
    Stage.FLASHOFF,
)
"""Stages in which something may go wrong."""
LENGTHS = {Stage.HOLD: 14 * 3600.0, Stage.FLASHOFF: 48 * 3600.0, Stage.SOAK: 1800.0}
"""About how long they last, [s]. Own."""
WIRED = tuple(name for name in FAULTS if not name.startswith("infrared"))
"""Faults of what the example rig has."""
SHORT = 600.0
"""The others, [s]. Own."""
SIZES = (0.3, 3.0)
"""A fault's size, as a multiple of its usual one. Own."""
BRIEF, LONG = 5.0, 4 * 3600.0
"""How long one lasts that goes by itself, [s]. Own."""
FIRST_DAY = datetime(2027, 1, 1, 15, tzinfo=UTC)
"""The evenings begin from here on, over a year."""

Told = dict[str, object]
"""A table of a scenario's file."""


def random_scenario(number: int) -> Scenario:
    """The job of that number."""
    rng = Random(f"job {number}")
    start = rng.uniform(12.0, 27.0)
    faults = [_fault(rng) for _ in range(rng.randint(1, 5))]
    begins = FIRST_DAY + timedelta(days=rng.randrange(365), seconds=rng.randrange(5 * 3600))
    return Scenario.model_validate(
        {
            "name": f"random-{number}",
            "says": f"Nobody wrote this one: {', '.join(str(fault['name']) for fault in faults)}.",
            "starts_at": begins,
            "batch": rng.choice(EXAMPLES),
            "seed": number,
            "expected": None,
            "evening": {
                "start": f"{start:.1f} degC",
                "night_low": f"{start - rng.uniform(0.0, 9.0):.1f} degC",
                "day_high": f"{start + rng.uniform(0.0, 5.0):.1f} degC",
            },
            "lamp_flux": f"{rng.uniform(250.0, 1500.0):.0f} W/m2",
            "dry_pull": rng.random() < 0.7,
            "faults": faults,
            "outages": [_gap(rng, 1.0, 12 * 3600.0) for _ in range(rng.random() < 0.3)],
            "away": [_gap(rng, 300.0, 10 * 3600.0) for _ in range(rng.random() < 0.3)],
        }
    )


def _moment(rng: Random) -> Told:
    stage = rng.choice(STARTS)
    return {"stage": stage, "after": _seconds(rng.uniform(0.0, LENGTHS.get(stage, SHORT)))}


def _gap(rng: Random, shortest: float, longest: float) -> Told:
    return _moment(rng) | {"lasts": _seconds(spread(rng, shortest, longest))}


def _fault(rng: Random) -> Told:
    name = rng.choice(WIRED)
    told = _moment(rng) | {
        "name": name,
        "value": _size(rng, FAULTS[name]),
        "role": rng.choice(tuple(Role)),
        "mended": rng.random() < 0.7,
    }
    return told | ({"lasts": _seconds(spread(rng, BRIEF, LONG))} if rng.random() < 0.4 else {})


def _size(rng: Random, fault: Fault) -> float | None:
    if fault.unit == "-":
        return None
    return max(fault.least, round(fault.usual * spread(rng, *SIZES), 3))


def spread(rng: Random, low: float, high: float) -> float:
    """As likely in each tenfold."""
    return float(low * (high / low) ** rng.random())


def _seconds(value: float) -> str:
    return f"{value:.1f} s"
