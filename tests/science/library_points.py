"""A formula and an independent library side by side over a range, and where they part most."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf, isnan


@dataclass(frozen=True, slots=True)
class Point:
    """One place of a range at which both were asked."""

    where: str
    """What was asked, as people would say it."""
    ours: float
    """Our answer, in SI."""
    theirs: float
    """The library's, in SI."""
    allowed: float
    """By how much ours says it may miss, in SI."""

    @property
    def strain(self) -> float:
        """How much of what is allowed is used up, [-]; above 1 the two disagree."""
        used = abs(self.ours - self.theirs) / self.allowed
        # no number must not hide behind numbers
        return inf if isnan(used) else used

    def __str__(self) -> str:
        return (
            f"{self.where}: ours {self.ours:.6g}, theirs {self.theirs:.6g}, apart "
            f"{abs(self.ours - self.theirs):.2g} of {self.allowed:.2g} allowed"
        )


def relative(where: str, ours: float, theirs: float, share: float) -> Point:
    """A point that may miss by a share of the library's answer."""
    return Point(where, ours, theirs, share * abs(theirs))


def worst(points: Iterable[Point]) -> Point:
    """The point that uses up most of what it is allowed; a range without points is a mistake."""
    return max(points, key=lambda point: point.strain)


def steps(low: float, high: float, count: int) -> Iterator[float]:
    """Evenly spaced values with both ends among them."""
    for i in range(count):
        yield low + (high - low) * i / (count - 1)
