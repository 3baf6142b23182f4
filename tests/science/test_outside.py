"""Every figure from elsewhere in outside.csv, held against our own formula."""

import re

import pytest
from outside_models import MODELS, answer, report
from outside_rows import KINDS, UNITS, Row, count_by_kind, read_rows

ROWS = read_rows()
COUNTS = {"published": 85, "from memory": 42, "worked": 155}
"""Rows of each kind; change it with the table, so that none goes missing unseen."""


# The tolerance is the row's own: the figure's last digit, or by how much the formula says it may
# miss. The row says which source the figure is from.
@pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
def test_our_formula_agrees_with_the_figure_from_elsewhere(row: Row) -> None:
    ours = answer(row)
    assert ours == pytest.approx(row.expected, rel=0, abs=row.tolerance), (
        f"ours {ours:.6g}, theirs {row.expected:g} {row.unit}, from {row.source} ({row.note})"
    )


def test_no_row_has_gone_missing() -> None:
    assert count_by_kind(ROWS) == COUNTS, report(ROWS)


def test_every_model_has_a_row() -> None:
    assert set(MODELS) == {row.model for row in ROWS}


def test_no_figure_is_told_twice_over_or_against_itself() -> None:
    seen: dict[object, float] = {}
    for row in ROWS:
        asked = (row.model, tuple(row.inputs.items()), row.unit, row.source)
        assert asked not in seen, f"line {row.number} repeats another"
        seen[asked] = row.expected


@pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
def test_a_row_says_its_kind_its_unit_and_its_source(row: Row) -> None:
    assert row.kind in KINDS
    assert row.unit == "C" or row.unit in UNITS
    assert len(row.source) > 10
    if row.kind == "from memory":
        assert "from memory, to be checked" in row.source
    assert re.search(r"/(work|home|tmp|opt)/", row.source + row.note) is None


# A tolerance wider than a fifth of its figure would pass nearly anything; these two are about
# where a flame can just live, and no nearer than that in any book.
LOOSE = {"vapour_share_at_flash"}


def test_no_tolerance_is_so_wide_that_the_row_could_not_fail() -> None:
    wide = [
        row.name
        for row in ROWS
        if row.unit not in ("C",) and row.tolerance > 0.2 * abs(row.expected)
    ]
    assert [name for name in wide if not any(each in name for each in LOOSE)] == []


def test_the_report_names_the_worst_row_first() -> None:
    lines = report(ROWS).splitlines()
    assert lines[0].startswith(f"{len(ROWS)} rows: 85 published")
    strains = [float(line.split()[0]) for line in lines[1:] if not line.startswith(" ")]
    assert len(strains) == 3
    assert strains == sorted(strains, reverse=True)
    assert strains[0] <= 1
