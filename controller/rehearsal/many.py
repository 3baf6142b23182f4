"""Many stories on all cores: each once, kept as it ends, and what they come to.

One that crashes, never ends or breaks a rule, or a healthy night that calls somebody, is told by
its name, and its name plays it again alone.
"""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from time import perf_counter

from controller.rehearsal.cores import Shared, crash_told, share
from controller.rehearsal.run import rehearse
from controller.rehearsal.stories import story

CRASHED = "CRASHED"
"""The outcome of a story that ended with an error."""
ENDED = frozenset({"FINISHED", "ABANDONED", "REFUSED"})
"""Outcomes of a job that came to an end, good or bad."""
CALLS = ("P1 ", "P2 ")
"""How an alarm begins that calls a person; the others wait for the morning."""


@dataclass(frozen=True, slots=True)
class Played:
    """How one story went."""

    name: str
    """Plays it again: `warmdraw simulate NAME`."""
    outcome: str
    """As in a rehearsal, or CRASHED."""
    simulated_s: float
    """Rig time, [s]."""
    wall_s: float
    """What it took, [s]."""
    alarms: tuple[str, ...]
    """Priority and name of each that was raised, in order."""
    unsafe: tuple[str, ...]
    """Rules that were broken, and how."""
    crash: str | None = None
    """The error's last lines."""

    @property
    def false_calls(self) -> tuple[str, ...]:
        """Alarms that called somebody on a night on which nothing went wrong."""
        healthy = self.name.startswith("healthy-")
        return tuple(each for each in self.alarms if healthy and each.startswith(CALLS))

    @property
    def well(self) -> bool:
        """It ended, no rule was broken, and nobody was called for nothing."""
        return self.outcome in ENDED and not self.unsafe and not self.false_calls


def played(name: str) -> Played:
    """Play one story to its end; an error is an outcome too."""
    started = perf_counter()
    try:
        told = rehearse(story(name))
    # whatever it is: this is where it is counted and shown
    except Exception as error:
        return Played(name, CRASHED, 0.0, perf_counter() - started, (), (), crash_told(error))
    return Played(
        name=name,
        outcome=told.outcome,
        simulated_s=told.simulated_s,
        wall_s=told.wall_s,
        alarms=tuple(f"{alarm['priority']} {alarm['id']}" for alarm in told.story.alarms),
        unsafe=tuple(f"{b.rule} at {b.at:.0f} s: {b.what}" for b in told.unsafe),
    )


@dataclass(frozen=True, slots=True)
class Tally(Shared[Played]):
    """What all of them came to."""

    @property
    def failing(self) -> tuple[Played, ...]:
        """Those that crashed, did not end, broke a rule or called somebody for nothing."""
        return tuple(each for each in self.all if not each.well)

    def as_json(self) -> dict[str, object]:
        """Plain data."""
        minutes = self.wall_s * self.cores / 60.0
        outcomes = [each.outcome for each in self.all]
        return {
            "jobs": len(self.all),
            "simulated_h": round(sum(each.simulated_s for each in self.all) / 3600.0, 1),
            "outcomes": {name: outcomes.count(name) for name in sorted(set(outcomes))},
            "rules_broken": sum(len(each.unsafe) for each in self.all),
            "false_calls": sum(len(each.false_calls) for each in self.all),
            "jobs_per_core_minute": round(self.fresh / minutes, 1) if minutes > 0.0 else None,
            "cores": self.cores,
            "failing": [asdict(each) for each in self.failing],
        }


def play_many(
    names: Sequence[str],
    kept: Path | None = None,
    tell: Callable[[Played], None] = lambda done: None,
    cores: int | None = None,
) -> Tally:
    """Play all of them.

    kept: a file of what was played; those in it are not played again, the others are added
    tell: hears of each as it ends      cores: all there are for None

    Raises InputError for a file that holds something else.
    """
    shared = share(names, played, Played, kept, tell, cores)
    return Tally(shared.all, shared.wall_s, shared.fresh, shared.cores)
