"""The pretend bag at the bench, and what goes wrong between it and the pump."""

from dataclasses import replace
from math import exp

import pytest

from controller.hardware.plant import Plant, PlantParameters
from controller.hardware.plant_bag import BagParameters
from controller.hardware.plant_shop import ShopParameters

ROOM = 293.15
STEADY = ShopParameters(
    start=ROOM, night_low=ROOM, day_high=ROOM, wander=0.0, pressure_rate=0.0, weather=0.0
)


def plant_with(**bag: float) -> Plant:
    """A plant in a shop without weather."""
    return Plant(PlantParameters(shop=STEADY, bag=replace(BagParameters(), **bag)))


def pulled(plant: Plant, seconds: float = 600.0) -> float:
    """The bag's pressure after so long with the pump on, [Pa]."""
    plant.advance(seconds, lamp=False, pump=True)
    return plant.bag


# The empty bag


def test_an_empty_bag_is_down_in_a_quarter_of_the_time_and_over_no_board() -> None:
    # p = end + (air - end) exp(-S t / V), a bag without leaks or stores
    plant = plant_with(leak=0.0, back_leak=0.0)
    plant.seal_empty_bag()
    air, told = plant.barometer, plant.parameters.bag
    reached = pulled(plant, 30.0)
    fallen = exp(-told.pump_speed * 30.0 / 1.5e-3)
    left = (air - told.pump_ultimate) * fallen
    assert reached == pytest.approx(told.pump_ultimate + left, rel=1e-3)
    truth = plant.truth()
    assert truth.sealed and not truth.film_on
    assert truth.film == truth.room
    assert truth.pore == pytest.approx(air, rel=1e-3)


def test_60_ml_of_air_tell_the_volume_of_the_empty_bag() -> None:
    plant = plant_with(leak=0.0, back_leak=0.0)
    plant.seal_empty_bag()
    deep = pulled(plant, 120.0)
    plant.dose_bag(60e-6)
    assert plant.barometer * 60e-6 / (plant.bag - deep) == pytest.approx(1.5e-3, rel=1e-9)


def test_a_dose_into_an_open_bag_goes_nowhere() -> None:
    plant = plant_with()
    plant.seal_empty_bag()
    plant.vent_bag()
    plant.advance(1.0, lamp=False, pump=False)
    plant.dose_bag(60e-6)
    assert plant.bag == plant.barometer


def test_the_same_holes_fill_the_empty_bag_four_times_as_fast() -> None:
    rises = []
    for empty in (False, True):
        plant = plant_with(pore_volume=0.0)
        plant.parameters = replace(
            plant.parameters, bag=replace(plant.parameters.bag, outgassing=())
        )
        plant = Plant(plant.parameters)
        plant.add_fault("leak", 20.0)
        if empty:
            plant.seal_empty_bag()
        else:
            plant.seal_bag()
        rises.append(plant.truth().leak)
        deep = pulled(plant)
        plant.advance(10.0, lamp=False, pump=False)
        # at a tenth of the air a rise is nine tenths of that at full vacuum
        assert (plant.bag - deep) / 10.0 == pytest.approx(rises[-1] * (1 - deep / 101e3), rel=0.03)
    assert rises[1] == pytest.approx(4.0 * rises[0], rel=1e-9)


def test_the_bag_over_the_board_is_as_it_was_after_an_empty_one() -> None:
    plant = plant_with()
    before = plant.truth().leak
    plant.seal_empty_bag()
    pulled(plant, 60.0)
    plant.open_bag()
    assert plant.truth().leak == before and not plant.truth().sealed
    plant.seal_empty_bag()
    # straight to the board's own bag, the empty one thrown off the hose
    plant.seal_bag()
    assert plant.truth().film_on
    assert plant.bag == plant.barometer
    plant.advance(60.0, lamp=False, pump=True)
    other = plant_with()
    other.seal_bag()
    other.advance(60.0, lamp=False, pump=False)
    other.open_bag()
    other.seal_bag()
    other.advance(60.0, lamp=False, pump=True)
    assert plant.bag == pytest.approx(other.bag, rel=1e-3)


# Between bag and pump


def test_a_full_trap_lifts_its_float_and_passes_nothing() -> None:
    running, resting = plant_with(back_leak=0.0), plant_with(back_leak=0.0)
    for plant in (running, resting):
        plant.seal_bag()
        pulled(plant)
    running.add_fault("trap_full")
    assert running.truth().trap_full
    running.advance(600.0, lamp=False, pump=True)
    resting.advance(600.0, lamp=False, pump=False)
    assert running.pump_running
    assert running.bag == pytest.approx(resting.bag, rel=1e-6)
    running.clear_fault("trap_full")
    assert not running.truth().trap_full
    assert pulled(running, 120.0) < resting.bag - 3e3


def test_a_float_that_is_lifted_by_hand_leaves_the_line_free() -> None:
    plant = plant_with()
    plant.float_up = True
    assert plant.truth().trap_full
    plant.seal_bag()
    assert pulled(plant) < 12e3


def test_behind_a_pinched_hose_the_gauge_sees_the_pump_and_not_the_bag() -> None:
    plant = plant_with()
    plant.seal_bag()
    assert plant.at_gauge == plant.bag
    plant.add_fault("line_pinched")
    plant.advance(10.0, lamp=False, pump=True)
    told = plant.parameters.bag
    # 0.05 L at 57 mL/s: ten seconds are more than eleven time constants
    assert plant.at_gauge == pytest.approx(told.pump_ultimate, rel=0.05)
    assert plant.bag == pytest.approx(plant.barometer, rel=1e-3)
    # the check valve's leak fills the hose as many times faster as it is smaller
    plant.advance(10.0, lamp=False, pump=False)
    rise = told.back_leak * told.volume / told.hose_volume * 10.0
    assert plant.at_gauge - told.pump_ultimate == pytest.approx(rise, rel=0.15)
    plant.clear_fault("line_pinched")
    assert plant.at_gauge == plant.bag


def test_a_pinch_keeps_what_the_hose_had_and_an_open_hose_lets_it_go() -> None:
    plant = plant_with()
    plant.seal_bag()
    deep = pulled(plant)
    plant.add_fault("line_pinched")
    assert plant.at_gauge == deep
    plant.add_fault("hose_off")
    plant.advance(10.0, lamp=False, pump=True)
    assert plant.at_gauge == pytest.approx(plant.barometer, rel=1e-3)
    assert plant.bag < deep + 500.0


def test_a_worn_pump_stops_that_much_higher() -> None:
    ends = []
    for worn in (0.0, 3e3):
        plant = plant_with(leak=0.0, back_leak=0.0, pore_volume=0.0)
        plant.seal_empty_bag()
        plant.add_fault("pump_worn", worn)
        ends.append(pulled(plant, 1200.0))
    assert ends[1] - ends[0] == pytest.approx(3e3, abs=1.0)
