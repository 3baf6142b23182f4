"""What a turn half-way does: nothing for a thin board, some kelvin for a thick one."""

import pytest

from controller.planning.heat_course import HeatTask, plan_course
from controller.planning.heat_plan import LINED_BACK, OPEN_BACK
from controller.planning.sheet import Board
from controller.planning.turning import PAYS_FROM, turning_gain

C = 273.15


def task(thickness: float, flux: float, back: float = LINED_BACK) -> HeatTask:
    board = Board(
        thickness=thickness, conductivity=0.16, density=680.0, heat_capacity=1570.0, porosity=0.53,
        moisture=0.08, face_loss=11.0, back_loss=back,
    )  # fmt: skip
    return HeatTask(board, flux, C + 18, C + 32, C + 38, C + 50, 120.0, C + 60)


@pytest.mark.parametrize("back", [LINED_BACK, OPEN_BACK])
def test_a_thin_board_gains_nothing_by_a_turn(back: float) -> None:
    found = turning_gain(task(0.003, 600, back))
    assert abs(found.gain) < 0.2
    assert not found.pays


@pytest.mark.parametrize("back", [LINED_BACK, OPEN_BACK])
def test_a_thick_board_gains_and_is_there_sooner(back: float) -> None:
    found = turning_gain(task(0.045, 600, back))
    assert found.gain == found.mean - found.mean_unturned > PAYS_FROM
    assert found.pays
    assert 0 < found.sooner < found.turn_at


def test_the_gain_grows_with_the_thickness() -> None:
    gains = [turning_gain(task(thickness, 600)).gain for thickness in (0.006, 0.012, 0.020)]
    assert gains == sorted(gains) and gains[0] < 0.3 < 1.0 < gains[-1]


def test_the_times_are_those_of_the_planned_heat() -> None:
    asked = task(0.020, 600)
    found, planned = turning_gain(asked), plan_course(asked)
    assert found.seconds == pytest.approx(planned.forecast.seconds_to_band + planned.soak)
    assert found.turn_at == found.seconds / 2
    # The plan's road to the same moment has other steps; a tenth of a kelvin.
    assert found.mean_unturned == pytest.approx(planned.forecast.mean_at_off, abs=0.1)
    assert found.band_low == planned.low <= found.face <= planned.top


def test_no_turn_brings_more_heat_than_the_lamp_gives() -> None:
    for flux, back in ((150, OPEN_BACK), (250, LINED_BACK), (600, LINED_BACK)):
        asked = task(0.045, flux, back)
        found = turning_gain(asked)
        assert asked.slab.heat_content * (found.mean - asked.room) < flux * found.seconds


def test_a_turn_that_leaves_the_new_face_under_the_band_does_not_pay() -> None:
    found = turning_gain(task(0.045, 350))
    assert found.gain > PAYS_FROM / 2 and found.sooner > 0
    assert found.face < found.band_low
    assert not found.pays
