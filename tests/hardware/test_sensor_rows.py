"""Figures of sensors from elsewhere, in sensor_rows.csv, held against what the drivers make."""

from pathlib import Path

import pytest
from outside_rows import KINDS, Row, count_by_kind, from_si, read_rows
from sensor_models import MODELS

ROWS = read_rows(Path(__file__).with_name("sensor_rows.csv"))
COUNTS = {"published": 13, "from memory": 8, "worked": 9}
"""Rows of each kind; change it with the table, so that none goes missing unseen."""


# The tolerance is the row's own: arithmetic is exact, a message tells a tenth of a degree, and the
# infrared chip counts in 0.02 K.
@pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
def test_a_driver_agrees_with_the_figure_from_elsewhere(row: Row) -> None:
    ours = from_si(MODELS[row.model](**row.inputs), row.unit)
    assert ours == pytest.approx(row.expected, rel=0, abs=row.tolerance), (
        f"ours {ours:.6g}, theirs {row.expected:g} {row.unit}, from {row.source} ({row.note})"
    )


def test_no_row_has_gone_missing_and_every_model_has_one() -> None:
    assert count_by_kind(ROWS) == COUNTS
    assert {row.model for row in ROWS} == set(MODELS)


@pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
def test_a_row_says_its_kind_and_its_source(row: Row) -> None:
    assert row.kind in KINDS
    assert len(row.source) > 10
    if row.kind == "from memory":
        assert "from memory, to be checked" in row.source
