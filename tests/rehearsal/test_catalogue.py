"""The catalogue of faults is whole, and what it says of itself is so."""

from pathlib import Path

import pytest

from controller.errors import InputError
from controller.rehearsal.catalogue import Kind, Phase, catalogue, parse_catalogue

ROOT = Path(__file__).parents[2]
HOW_MANY = {"L": 27, "P": 12, "B": 17, "R": 8, "W": 14, "D": 21, "N": 16, "H": 13}
"""Rows by their letter."""
ROW = '[[row]]\nid = "L99"\nbreaks = "something"\n'


def test_no_row_is_missing_and_none_is_there_twice() -> None:
    wanted = [f"{letter}{n:02d}" for letter, many in HOW_MANY.items() for n in range(1, many + 1)]
    assert [row.id for row in catalogue()] == wanted
    assert len(wanted) == 128


def test_every_named_test_is_there() -> None:
    named = {test for row in catalogue() for test in row.tests}
    assert len(named) > 60
    missing = []
    for test in sorted(named):
        file, _, name = test.partition("::")
        path = ROOT / file
        if not path.exists() or f"def {name}(" not in path.read_text(encoding="utf-8"):
            missing.append(test)
    assert missing == []


def test_rows_that_are_proved_at_the_drivers_are_in_their_table() -> None:
    """One test stands for many rows there: each must be one of them."""
    at_the_drivers = "tests/hardware/test_fault_rows.py::"
    table = (ROOT / "tests" / "hardware" / "fault_rows.py").read_text(encoding="utf-8")
    rows = [row.id for row in catalogue() if any(t.startswith(at_the_drivers) for t in row.tests)]
    assert len(rows) >= 15
    assert [row for row in rows if f'FaultRow("{row}"' not in table] == []


def test_what_is_hardware_says_why_and_is_rare() -> None:
    rows = [row for row in catalogue() if row.kind is Kind.HARDWARE]
    assert 0 < len(rows) < 10
    assert all(row.hardware and len(row.hardware) > 30 for row in rows)


def test_what_must_be_met_says_by_when_and_in_which_stages() -> None:
    for row in catalogue():
        if row.kind is Kind.PLAYED:
            assert row.met_in | row.quiet_in, row.id
            assert not row.met_in & row.quiet_in, row.id
            assert bool(row.met_in) == (row.within_s > 0.0), row.id


def test_groups_of_stages_are_their_stages_and_what_is_met_is_not_quiet() -> None:
    text = ROW + 'fault = "leak"\nstages = ["HEAT"]\nquiet = ["ANY"]\nalarms = ["bag leaks"]\n'
    (row,) = parse_catalogue(text)
    assert row.met_in == {Phase.PREHEAT, Phase.SOAK}
    assert row.quiet_in == set(Phase) - row.met_in


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("", "one way"),
        ('fault = "leak"\naway = true\nstages = ["BAG"]\nalarms = ["x"]', "one way"),
        ('fault = "flood"\nstages = ["BAG"]\nalarms = ["x"]', "'flood' is not known"),
        ('fault = "leak"\nvalue = -1\nstages = ["BAG"]\nalarms = ["x"]', "below 0.0"),
        ('fault = "leak"', "names the stages"),
        ('fault = "leak"\nstages = ["BAG"]', "says by what"),
        ('fault = "leak"\nstages = ["ATTIC"]\nalarms = ["x"]', "'ATTIC' is not a valid Phase"),
        ('hardware = "so"\ncolour = "red"', "Extra inputs"),
        ("= 3", "not TOML"),
    ],
)
def test_a_row_that_makes_no_sense_is_refused(more: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_catalogue(ROW + more)
