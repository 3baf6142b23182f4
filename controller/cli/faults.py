"""`warmdraw simulate --faults`: the catalogue of faults played as a matrix, on all cores."""

import json
from argparse import Namespace
from collections.abc import Sequence
from dataclasses import asdict
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any

from controller.cli.saying import complain, say

if TYPE_CHECKING:
    from controller.rehearsal.cells import CellPlayed
    from controller.rehearsal.matrix import Cell

AGAIN = "warmdraw simulate --faults --only "
"""Before a cell's name: plays it again."""


def faults(args: Namespace) -> int:
    """Play the cells that are asked for; 0 when each of them passed."""
    from rich.console import Console
    from rich.progress import Progress

    from controller.rehearsal.cells import play_cells
    from controller.rehearsal.matrix import chosen

    cells = chosen(args.only, args.all)
    started = perf_counter()
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"{len(cells)} faults, SIMULATED", total=len(cells))

        def ended(each: "CellPlayed") -> None:
            bar.advance(task)
            if not each.well:
                bar.console.print(_told(each), markup=False, highlight=False)

        played = play_cells(cells, args.kept, ended, args.cores)
        bar.update(task, completed=len(cells))
    told = _as_json(cells, played, perf_counter() - started)
    say(json.dumps(told, indent=2) if args.json else "\n".join(_lines(told)))
    failing = [each for each in played if not each.well]
    for each in failing:
        complain(f"{_told(each)}; play it again: {AGAIN}{each.name}")
    return 1 if failing else 0


def _told(each: "CellPlayed") -> str:
    return f"{each.name}: {'; '.join(each.faults)}"


def _as_json(
    cells: Sequence["Cell"], played: Sequence["CellPlayed"], wall_s: float
) -> dict[str, Any]:
    rows: dict[str, dict[str, Any]] = {}
    for cell, each in zip(cells, played, strict=True):
        row = rows.setdefault(
            cell.row.id,
            {
                "breaks": cell.row.breaks,
                "within_s": cell.row.within_s if cell.row.met_in else None,
                "clock": str(cell.row.clock),
                "cells": 0,
                "passed": 0,
                "asked": 0,
                "met_s": [],
            },
        )
        row["cells"] += 1
        row["passed"] += each.well
        row["asked"] += each.asked
        if each.asked and each.met_after_s is not None:
            row["met_s"].append(each.met_after_s)
    for row in rows.values():
        met = row.pop("met_s")
        row |= {"met": len(met), "median_s": median(met) if met else None}
        row["longest_s"] = max(met, default=None)
    return {
        "cells": len(played),
        "passed": sum(each.well for each in played),
        "wall_s": round(wall_s, 1),
        "rows": rows,
        "failing": [asdict(each) for each in played if not each.well],
    }


def _lines(told: dict[str, Any]) -> list[str]:
    lines = [
        f"{told['cells']} faults in their stages, SIMULATED: {told['passed']} passed, "
        f"{told['cells'] - told['passed']} failed, in {told['wall_s']:.0f} s",
        "row  passed  met after, median and longest, of what is allowed",
    ]
    for name, row in told["rows"].items():
        met = "nobody is woken" if row["within_s"] is None else "not asked"
        met = "not met" if row["asked"] else met
        if row["met"]:
            met = (
                f"{row['median_s']:.0f} s, {row['longest_s']:.0f} s of {row['within_s']:.0f} s "
                f"({row['clock']})"
            )
        lines.append(f"{name}  {row['passed']:3d}/{row['cells']:<3d} {met}: {row['breaks']}")
    return lines
