"""How late the loop's ticks were lately."""

from collections import deque
from heapq import nlargest
from math import ceil

from controller.batch.snapshot import TicksShown

KEPT = 3600
"""Ticks looked back on: an hour on a real rig. Own."""
SHARE = 0.999
"""Share of the ticks that the figure beside the worst one covers. Own."""


class Lateness:
    """The newest ticks, each by how long after its time it was done."""

    def __init__(self) -> None:
        self._late: deque[float] = deque(maxlen=KEPT)

    def add(self, late: float) -> None:
        """One more tick, done so long after it was due, its own work included, [s]."""
        self._late.append(max(late, 0.0))

    def shown(self) -> TicksShown | None:
        """The worst of them, and what 99.9 % of them kept to; None before the first."""
        if not self._late:
            return None
        beyond = len(self._late) - ceil(SHARE * len(self._late))
        worst = nlargest(beyond + 1, self._late)
        return TicksShown(
            count=len(self._late), worst_late_s=round(worst[0], 3), most_late_s=round(worst[-1], 3)
        )

    def line(self) -> str:
        """The same in a few words, for the line of a service's status."""
        shown = self.shown()
        if shown is None:
            return "no tick yet"
        most, worst = shown.most_late_s, shown.worst_late_s
        return f"ticks {most:.2f} s late at 99.9 %, {worst:.2f} s at worst"
