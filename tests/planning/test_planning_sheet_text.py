"""The sheet as a person reads it."""

import pytest

from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import EXAMPLES, example
from controller.planning.sheet_text import sheet_lines
from controller.quantities import People
from controller.science.air import standard_pressure
from controller.settings import default_settings_text, parse_settings

AIR = standard_pressure(3.0)


def lines(name: str, units: People, flux: int = 600) -> list[str]:
    rig = parse_settings(default_settings_text().replace("600 W/m2", f"{flux} W/m2"))
    return sheet_lines(plan(parse_description(example(name)), rig), units, AIR)


@pytest.mark.parametrize("name", EXAMPLES)
def test_lines_fit_a_terminal_and_leave_no_gap_unfilled(name):
    for line in lines(name, People()):
        assert len(line) <= 100
        assert not set("{}") & set(line)
        assert line == line.rstrip()


def test_masses_and_vacuum_are_in_the_units_asked_for():
    text = "\n".join(lines("washboard-ash", People()))
    assert "A 19.4 g, B 9.1 g, ethanol 2.5 g (8 % of the whole)" in text
    assert "pull to 22.0 inHg vacuum (26.8 kPa abs)" in text
    other = "\n".join(lines("washboard-ash", People(temperature="F", vacuum="mbar", mass="oz")))
    assert "A 0.69 oz" in other and "°C" not in other and "mbar vacuum" in other


def test_both_coats_are_there_and_the_second_has_no_bag():
    text = lines("washboard-sapele", People())
    coats = [line for line in text if line.startswith("COAT ")]
    assert len(coats) == 2 and coats[0].startswith("COAT 1, face A: upper, lower")
    assert "bag          none" in text
    assert "flash-off    none: no solvent in this coat" in text


def test_a_lamp_too_weak_is_marked_for_care():
    text = lines("washboard-ash", People(), flux=250)
    assert "! This lamp does not get the face into the band." in text
    assert not any(line.startswith("coat now") for line in text)
