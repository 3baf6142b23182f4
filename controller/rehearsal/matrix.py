"""The matrix of faults: each row of the catalogue in each stage, early or late, short or long.

A cell is named ROW/STAGE/ONSET/LASTING, and its name plays it again alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from controller.errors import InputError
from controller.rehearsal.catalogue import Kind, Phase, Row, catalogue


class Onset(StrEnum):
    """When in its stage a fault begins."""

    EARLY = "early"
    MIDDLE = "middle"
    LATE = "late"


SHARES = {Onset.EARLY: 0.05, Onset.MIDDLE: 0.5, Onset.LATE: 0.95}
"""Share of the stage that is over at the onset. Own."""


class Lasting(StrEnum):
    """How long it stands."""

    BLINK = "blink"
    MINUTES = "minutes"
    FOR_GOOD = "for-good"


SECONDS = {Lasting.BLINK: 5.0, Lasting.MINUTES: 300.0, Lasting.FOR_GOOD: None}
"""The same, [s]; None for good. Own."""
LONG_GONE = 3600.0
"""Length of an outage, and of an absence, that is called for good, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One row in one stage, once."""

    row: Row
    phase: Phase
    onset: Onset
    lasting: Lasting

    @property
    def name(self) -> str:
        """Plays it again: `warmdraw simulate --faults --only NAME`."""
        return f"{self.row.id}/{self.phase}/{self.onset}/{self.lasting}"

    @property
    def quiet(self) -> bool:
        """Nobody may be woken by it here."""
        return self.phase in self.row.quiet_in

    @property
    def lasts(self) -> float | None:
        """How long it stands, [s]; None for good."""
        seconds = SECONDS[self.lasting]
        return LONG_GONE if seconds is None and not self.row.fault else seconds


def every_cell(rows: Sequence[Row] | None = None) -> list[Cell]:
    """The whole matrix, row by row. A press is no state: it has no length of its own."""
    found = []
    for row in catalogue() if rows is None else rows:
        if row.kind is not Kind.PLAYED:
            continue
        lengths = (Lasting.FOR_GOOD,) if row.press else tuple(Lasting)
        wanted = row.met_in | row.quiet_in
        found += [
            Cell(row, phase, onset, lasting)
            for phase in Phase
            if phase in wanted
            for onset in Onset
            for lasting in lengths
        ]
    return found


def pairs(cells: Sequence[Cell]) -> list[Cell]:
    """Each row in each of its stages once: from early on, and for good."""
    return [c for c in cells if c.onset is Onset.EARLY and c.lasting is Lasting.FOR_GOOD]


def chosen(only: str | None, whole: bool) -> list[Cell]:
    """The cells asked for.

    only: beginnings of names, divided by commas: "B", "L12,P01/PULLDOWN", or a whole name
    whole: all onsets and lengths, not each pair once; a name that says its onset is taken at that

    Raises InputError for a beginning that no cell has.
    """
    every = every_cell()
    few = every if whole else pairs(every)
    if only is None:
        return few
    found: dict[str, Cell] = {}
    for begins in (part.strip() for part in only.split(",")):
        these = every if begins.count("/") >= 2 else few
        matching = [cell for cell in these if _begins(cell.name, begins)]
        if not matching:
            raise InputError(f"--only {begins}: no fault that is played here; {_why_not(begins)}")
        found |= {cell.name: cell for cell in matching}
    return list(found.values())


def _begins(name: str, begins: str) -> bool:
    """By whole parts, but for the row: its letter alone stands for all of them."""
    letter = len(begins) == 1 and name.startswith(begins)
    return letter or name == begins or name.startswith(f"{begins}/")


def _why_not(begins: str) -> str:
    row = next((row for row in catalogue() if row.id == begins.split("/")[0]), None)
    if row is None:
        return "name a row of the catalogue, as L12 or L12/PREHEAT"
    if row.kind is Kind.PROVED:
        return f"{row.id} is proved in {', '.join(row.tests)}"
    if row.kind is Kind.HARDWARE:
        return f"{row.id} is a matter of hardware: {row.hardware}"
    stages = ", ".join(phase for phase in Phase if phase in row.met_in | row.quiet_in)
    return f"{row.id} is played in {stages}"
