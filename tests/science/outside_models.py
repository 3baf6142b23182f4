"""Our own formulas under every model of outside.csv, and how far they are from it.

Run as a script, it tells how many rows there are of each kind and where we miss by most.
"""

import sys
from collections.abc import Callable, Iterable, Mapping

from outside_air import AIR_MODELS
from outside_board import BOARD_MODELS
from outside_resin import RESIN_MODELS
from outside_rows import Row, count_by_kind, from_si, read_rows
from outside_solvent import SOLVENT_MODELS

MODELS: Mapping[str, Callable[..., float]] = {
    **AIR_MODELS,
    **SOLVENT_MODELS,
    **BOARD_MODELS,
    **RESIN_MODELS,
}
"""Each model of the rows; takes a row's inputs by name, answers in SI."""
SHOWN = 3
"""How many of the worst rows the report names."""


def answer(row: Row) -> float:
    """What our formula says, in the row's unit. Raises KeyError for a model nobody has."""
    return from_si(MODELS[row.model](**row.inputs), row.unit)


def strain(row: Row) -> float:
    """How much of its tolerance a row uses up, [-]; above 1 it fails."""
    return abs(answer(row) - row.expected) / row.tolerance


def report(rows: Iterable[Row]) -> str:
    """Rows by kind, and the ones that use up most of their tolerance, with what is known of why."""
    kept = tuple(rows)
    counts = ", ".join(f"{count} {kind}" for kind, count in count_by_kind(kept).items())
    lines = [f"{len(kept)} rows: {counts}; worst, as a share of the tolerance:"]
    for row in sorted(kept, key=strain, reverse=True)[:SHOWN]:
        lines += [
            f"{strain(row):.2f}  {row.name}",
            f"      ours {answer(row):.6g}, theirs {row.expected:g} {row.unit}",
            f"      theirs: {row.source}",
            f"      note: {row.note or 'none'}",
        ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(report(read_rows()) + "\n")
