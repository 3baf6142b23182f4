"""What many preheats came to: one row for each case."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from statistics import median

from controller.rehearsal.preheat_draws import CASES
from controller.rehearsal.preheat_tally import BUDGET, PreheatPlayed

HEADS = (
    "case",
    "runs",
    "caught",
    "by",
    "budget",
    "missed",
    "lamp off after, s: median, max",
    "told after, s: max",
    "true face, C: median, max",
    "with the cut-out, max",
)
"""Heads of the columns."""


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case: those in which the fault came before the heat was over."""

    says: str
    """What the case is."""
    runs: int
    """How many."""
    caught: int
    """Ended by a guard or a contact; of healthy ones these are false trips."""
    by: dict[str, int]
    """By which, and how often."""
    budget: int
    """Ended by the lamp time, with nothing known to be wrong."""
    missed: int
    """Ended as if nothing were wrong."""
    lamp_off_s: tuple[float, float] | None
    """Fault to lamp OFF for good of those caught, median and longest, [s]."""
    spoke_s: float | None
    """Fault to the guard's word, longest, [s]."""
    face_c: tuple[float, float] | None
    """True face at its hottest, median and highest of all runs, [C], the cut-out bridged."""
    with_cut_out_c: float | None
    """Highest with it, [C]."""


def rows(played: Sequence[PreheatPlayed]) -> list[CaseRow]:
    """One for each case that was played, in the order of the cases."""
    by_case = {name: [each for each in played if each.case == name] for name in CASES}
    return [_row(name, those) for name, those in by_case.items() if those]


def _row(name: str, those: Sequence[PreheatPlayed]) -> CaseRow:
    came = [each for each in those if each.came]
    caught = [each for each in came if each.caught]
    off = [each.lamp_off_s for each in caught if each.lamp_off_s is not None]
    spoke = [each.spoke_s for each in caught if each.spoke_s is not None]
    faces = [each.face_max_c for each in came]
    return CaseRow(
        says=CASES[name].says,
        runs=len(came),
        caught=len(caught),
        by=dict(Counter(each.ended for each in caught).most_common()),
        budget=sum(each.ended == BUDGET for each in came),
        missed=sum(not each.caught and each.ended != BUDGET for each in came),
        lamp_off_s=(median(off), max(off)) if off else None,
        spoke_s=max(spoke, default=None),
        face_c=(median(faces), max(faces)) if faces else None,
        with_cut_out_c=max((each.with_cut_out_c for each in came), default=None),
    )


def false_trips(played: Sequence[PreheatPlayed]) -> list[PreheatPlayed]:
    """Healthy preheats that a guard or the budget ended though their board can reach its band."""
    healthy = [name for name, case in CASES.items() if case.fault is None]
    return [
        each
        for each in played
        if each.case in healthy and each.reachable and each.ended != "soaked"
    ]


def as_json(played: Sequence[PreheatPlayed]) -> dict[str, object]:
    """Plain data."""
    return {
        "preheats": len(played),
        "cases": [asdict(row) for row in rows(played)],
        "false_trips": [asdict(each) for each in false_trips(played)],
    }


def markdown(played: Sequence[PreheatPlayed]) -> list[str]:
    """The table as lines of Markdown."""
    lines = [_line(HEADS), _line(["---"] * len(HEADS))]
    return lines + [_line(_cells(row)) for row in rows(played)]


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cells(row: CaseRow) -> list[str]:
    return [
        row.says,
        str(row.runs),
        str(row.caught),
        ", ".join(f"{name} {count}" for name, count in row.by.items()),
        str(row.budget),
        str(row.missed),
        _pair(row.lamp_off_s),
        "" if row.spoke_s is None else f"{row.spoke_s:.0f}",
        _pair(row.face_c),
        "" if row.with_cut_out_c is None else f"{row.with_cut_out_c:.0f}",
    ]


def _pair(pair: tuple[float, float] | None) -> str:
    return "" if pair is None else f"{pair[0]:.0f}, {pair[1]:.0f}"
