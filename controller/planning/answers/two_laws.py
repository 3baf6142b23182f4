"""When a coat has come to an age: early by the one law, late by the other.

The row's activation energy halves every time for 10 K or so; one maker writes that a thin film
gains far less by warmth. Both are reckoned and every range runs from the earlier to the later.
"""

from collections.abc import Callable
from dataclasses import dataclass

from controller.planning.answers.film_course import FOLLOWED, FilmCourse, Progress, progress
from controller.planning.sheet import Resin
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import arrhenius_factor

FILM_FACTOR = 1.3
"""How much faster a thin film sets for 10 K more, by the weaker law, [-]; common practice, no
source: one maker's answers to questions."""
FULL_CURE = 7 * 86_400.0
"""Full cure, early at 25 C and late at 20 C, [s]; common practice, no source: 7 days at 20 to 25 C
and twice that at 15 C."""
FULL_CURE_AT = (ZERO_CELSIUS + 20.0, ZERO_CELSIUS + 25.0)
"""[K]: the two ends of that."""
LAWS = (
    "own: between the age by the resin's activation energy and a thin film's weaker 1.3 times for "
    "10 K (common practice, no source), no credit under its coldest"
)
"""Source of every moment below."""


@dataclass(frozen=True, slots=True)
class Span:
    """A range of moments after lamp-on."""

    early: float | None
    """[s]; None: not within the time anyone waits."""
    late: float | None
    """[s]; None: not within the time anyone waits."""


@dataclass(frozen=True, slots=True)
class TwoLaws:
    """The age of one coat by either law."""

    resin: Resin
    """Whose times these are."""
    by_energy: Progress
    """At the resin's reference, by its activation energy."""
    by_film: Progress
    """The same by the weaker law."""

    def span(self, early: float, late: float) -> Span:
        """From when to when it comes to an age.

        early, late: ages at the resin's reference, [s]
        """
        return _between(
            [self.by_energy.reached(early), self.by_film.reached(early)],
            [self.by_energy.reached(late), self.by_film.reached(late)],
        )

    @property
    def gel(self) -> Span:
        """Of a thin film."""
        return self.span(self.resin.gel_early, self.resin.gel_late)

    @property
    def opening(self) -> Span:
        """Hard enough to open."""
        return self.span(self.resin.open_early, self.resin.open_late)

    @property
    def full_cure(self) -> Span:
        """As far as a room cures it."""
        cool, warm = FULL_CURE_AT
        early, late = [], []
        for law, ages in (
            (energy_law(self.resin), self.by_energy),
            (film_law(self.resin), self.by_film),
        ):
            early.append(ages.reached(FULL_CURE * law(cool)))
            late.append(ages.reached(FULL_CURE * law(warm)))
        return _between(early, late)


def two_laws(course: FilmCourse, resin: Resin, until: float = FOLLOWED) -> TwoLaws:
    """The ages of a coat on this course.

    until: how far they are stepped from mixing on, [s]
    """

    def credited(law: Callable[[float], float]) -> Callable[[float], float]:
        return lambda temperature: law(temperature) if temperature >= resin.coldest else 0.0

    steps = course.steps(until)
    return TwoLaws(
        resin,
        progress(steps, credited(energy_law(resin))),
        progress(steps, credited(film_law(resin))),
    )


def energy_law(resin: Resin) -> Callable[[float], float]:
    """Rate at a temperature [K] over that at the resin's reference, by its activation energy."""
    return lambda temperature: arrhenius_factor(
        temperature, resin.reference, resin.activation_energy
    )


def film_law(resin: Resin) -> Callable[[float], float]:
    """The same by the weaker law of a thin film."""

    def factor(temperature: float) -> float:
        return float(FILM_FACTOR ** ((temperature - resin.reference) / 10))

    return factor


def _between(early: list[float | None], late: list[float | None]) -> Span:
    """The first of the early ends to the last of the late ones; one that never comes is last."""
    known = [moment for moment in early if moment is not None]
    last = [moment for moment in late if moment is not None]
    return Span(
        min(known) if known else None,
        max(last) if len(last) == len(late) else None,
    )
