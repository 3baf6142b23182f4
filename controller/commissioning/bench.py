"""The rig on the bench, tick by tick: what is switched, what it reads meanwhile, and a person."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NoReturn, Protocol

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, Role, Sample
from controller.hardware.rig import Rig
from controller.quantities import People, say
from controller.settings import Settings

FRESH = 10.0
"""Oldest reading that is one, [s]: four probes on one bus take turns of some seconds. Own."""
TICK = 1.0
"""[s]"""
LOOK = 0.05
"""Between two looks where a delay is measured, [s]. Own."""
YES, NO = frozenset({"yes", "y"}), frozenset({"no", "n"})
NO_FACTS = frozenset({"okay", "done", "fine", "good", "sure", "yep", "yeah", "there", "here"})
SHORTEST_FACT = 3
"""Letters. Own."""


class Skipped(Exception):  # noqa: N818 (a person's word, no error)
    """The person would rather not do this step."""


class Failed(Exception):  # noqa: N818 (a finding, no error)
    """A step found what must not be; it says what to do."""


class Person(Protocol):
    """Who does the check: reads, does, answers."""

    def tell(self, text: str) -> None:
        """Show a line."""

    def ask(self, question: str, careful: str) -> str:
        """Their answer, without blanks at its ends.

        careful: what one answers who has everything at hand and does everything right
        """


@dataclass(frozen=True, slots=True)
class Look:
    """What the rig read at one moment, and why a sensor of it did not."""

    at: float
    """Rig time, [s]."""
    readings: Readings
    troubles: Mapping[str, str]

    def fresh(self, sample: Sample | None) -> float | None:
        """A sample's value while it was young."""
        return None if sample is None or sample.age(self.at) > FRESH else sample.value

    def why(self, name: str) -> str:
        """Why a sensor gave no reading: probes by role, `gauge`, `barometer`, `infrared`."""
        return self.troubles.get(name, "look at its wires")

    def probe(self, role: Role) -> float:
        """A probe's temperature, [K]. Raises Failed when it had none."""
        value = self.fresh(self.readings.role(role))
        if value is None:
            raise Failed(f"the {role} probe does not answer: {self.why(role)}")
        return value

    @property
    def bag(self) -> float:
        """The gauge's absolute pressure, [Pa]. Raises Failed when it had none."""
        value = self.fresh(self.readings.bag)
        if value is None:
            raise Failed(f"the gauge does not answer: {self.why('gauge')}")
        return value


@dataclass(slots=True)
class Bench:
    """All a step works with."""

    rig: Rig
    settings: Settings
    person: Person
    clock: Callable[[], float]
    """Rig time, [s]."""
    pause: Callable[[float], None]
    """Lets so many [s] of rig time pass."""
    hands: Callable[[str], None]
    """Does to a pretend rig what the person was asked to do; nothing on a real one."""
    troubles: Callable[[], Mapping[str, str]]
    """Why the last read of a sensor failed, by what it is."""
    people: People
    zero: float = 0.0
    """Added to the gauge's readings once its zero is known, [Pa]."""

    @property
    def pretended(self) -> bool:
        """No real rig is behind it, whichever drivers are."""
        return self.settings.rig.pretended

    def said(self, value: float, kind: str) -> str:
        """A number in the person's own units, as `say` takes it."""
        return say(value, kind, self.people)

    def warmer(self, difference: float) -> str:
        """A difference of temperature, [K], with its sign, in the person's own units."""
        size = self.said(abs(difference), "temperature_difference")
        if size.startswith("0.0 "):
            return size
        return f"{'-' if difference < 0 else '+'}{size}"

    # --- the rig

    def read(self) -> Look:
        """What it reads now."""
        now = self.clock()
        return Look(now, self.rig.read(now), self.troubles())

    def watch(self, seconds: float, commands: Commands = OUTPUTS_OFF) -> list[Look]:
        """Switch so, once a second, for so many [s]; what was read after each."""
        seen, due = [], self.clock()
        for _ in range(max(1, round(seconds / TICK))):
            self.rig.apply(commands)
            due += TICK
            self.pause(max(due - self.clock(), 0.0))
            seen.append(self.read())
        return seen

    def still(self, holds: Callable[[Readings], bool], seconds: float) -> list[Look]:
        """What is read while nothing is switched or moved, as by a process that died.

        Up to the first look at which this held; none when it did not in so many [s].
        """
        seen, start = [], self.clock()
        while self.clock() - start < seconds:
            self.pause(LOOK)
            seen.append(self.read())
            if holds(seen[-1].readings):
                return seen
        return []

    def until(
        self,
        holds: Callable[[Readings], bool],
        seconds: float,
        commands: Commands = OUTPUTS_OFF,
    ) -> float | None:
        """How long it took until this held, [s]; None when it did not in so many [s]."""
        for tick in range(1, max(1, round(seconds / TICK)) + 1):
            if holds(self.watch(TICK, commands)[-1].readings):
                return tick * TICK
        return None

    # --- the person

    def asked(self, question: str, careful: str) -> str:
        """Their answer; every output is OFF while they think. Raises Skipped."""
        self.rig.apply(OUTPUTS_OFF)
        answer = self.person.ask(question, careful)
        if answer.lower() == "skip":
            raise Skipped
        return answer

    def do(self, text: str, *hands: str) -> None:
        """Ask the person to do something, and wait until they say it is done.

        hands: what it does to a pretend rig. Raises Skipped.
        """
        self.asked(f"{text} Then press Enter.", "")
        for act in hands:
            self.hands(act)

    def yes(self, question: str) -> bool:
        """Whether they say yes. Raises Skipped."""
        while True:
            answer = self.asked(f"{question} (yes or no)", "yes").lower()
            if answer in YES | NO:
                return answer in YES
            self.person.tell("  Type yes, no, or skip.")

    def fact(self, question: str, careful: str) -> str:
        """Something only one who looked can say. Raises Skipped."""
        while True:
            answer = self.asked(question, careful)
            if len(answer) >= SHORTEST_FACT and answer.lower() not in YES | NO | NO_FACTS:
                return answer
            self.person.tell("  Say it in words.")


def must(holds: bool, otherwise: str) -> None:
    """Raises Failed with what to do, unless it holds."""
    if not holds:
        _fail(otherwise)


def _fail(says: str) -> NoReturn:
    raise Failed(says)


def apart(difference: float) -> str:
    """A difference with its sign to one decimal; nothing is 0.0, and never less than that.

    >>> apart(-0.04), apart(0.26)
    ('0.0', '+0.3')
    """
    rounded = round(difference, 1)
    return f"{rounded:+.1f}" if rounded else "0.0"


def mean(values: Sequence[float]) -> float:
    """Of at least one value."""
    return sum(values) / len(values)


LAMP = replace(OUTPUTS_OFF, lamp=True, dead_man=True)
"""The lamp lit, its contactor held."""
HELD = replace(OUTPUTS_OFF, dead_man=True)
"""The lamp told off and its contactor held, so that only its relay keeps it dark."""
