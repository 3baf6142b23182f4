"""Faults of the pretend rig that come slowly: a front, wet wood, a coat that heats itself; and the
spark of the lamp's contact, which is over at once."""

from math import exp

import pytest

from controller.batch.signals import OUTPUTS_OFF, Commands, Role
from controller.hardware.plant import Plant, PlantParameters
from controller.hardware.plant_shop import FRONT, ShopParameters
from controller.hardware.simulated import SimulatedRig

ROOM = 293.15
STEADY = ShopParameters(
    start=ROOM, night_low=ROOM, day_high=ROOM, wander=0.0, pressure_rate=0.0, weather=0.0
)
LIT = Commands(lamp=True, dead_man=True)


def steady() -> Plant:
    return Plant(PlantParameters(shop=STEADY))


def test_a_front_lowers_the_barometer_by_what_was_asked_and_goes_again() -> None:
    plant = steady()
    usual = plant.barometer
    plant.add_fault("weather", 4000.0)
    assert plant.barometer == usual
    plant.advance(FRONT, lamp=False, pump=False)
    assert usual - plant.barometer == pytest.approx(4000.0 * (1 - exp(-1.0)), rel=1e-6)
    plant.clear_fault("weather")
    plant.advance(20 * FRONT, lamp=False, pump=False)
    assert plant.barometer == pytest.approx(usual, abs=0.1)


def rise(plant: Plant) -> float:
    """What a bag that was pulled for ten minutes gains in the next ten, [Pa]."""
    plant.advance(600.0, lamp=False, pump=True)
    deep = plant.bag
    plant.advance(600.0, lamp=False, pump=False)
    return plant.bag - deep


def steady_bag() -> Plant:
    plant = steady()
    plant.seal_bag()
    return plant


def steady_empty() -> Plant:
    plant = steady()
    plant.seal_empty_bag()
    return plant


def test_wet_wood_gives_off_more_into_the_bag_that_lies_over_it() -> None:
    wet, empty = steady_bag(), steady_empty()
    for plant in (wet, empty):
        plant.add_fault("outgassing", 3000.0)
    assert rise(wet) > rise(steady_bag()) + 100.0
    assert rise(empty) == rise(steady_empty())


def test_more_wet_is_added_once_and_a_fault_that_goes_takes_nothing_back() -> None:
    once, twice, gone = steady_bag(), steady_bag(), steady_bag()
    once.add_fault("outgassing", 3000.0)
    twice.add_fault("outgassing", 1000.0)
    twice.add_fault("outgassing", 3000.0)
    gone.add_fault("outgassing", 3000.0)
    gone.clear_fault("outgassing")
    assert rise(once) == rise(twice) == rise(gone)


def test_a_coat_heats_itself_where_there_is_one() -> None:
    bare, coated = steady(), steady()
    coated.coat(0.05, 0.0)
    for plant in (bare, coated):
        plant.add_fault("exotherm", 1500.0)
        plant.advance(600.0, lamp=False, pump=False)
    assert bare.face == pytest.approx(ROOM, abs=0.01)
    # ten minutes at more than a kelvin a minute
    assert coated.face > ROOM + 10.0


def test_the_spark_of_the_contact_is_in_the_first_reading_after_it_and_in_no_other() -> None:
    def reads(faulty: bool) -> list[float]:
        plant = steady()
        plant.place_under_lamp()
        plant.probe_on(Role.FACE)
        rig = SimulatedRig(plant, seed=3)
        found = []
        rig.read(0.0)
        if faulty:
            rig.add_fault("probe_spiky", 10.0)
        for now, commands in ((1.0, LIT), (2.0, LIT), (3.0, OUTPUTS_OFF), (4.0, OUTPUTS_OFF)):
            rig.apply(commands)
            face = rig.read(now).face
            assert face is not None
            found.append(face.value)
        return found

    off = [spiked - good for spiked, good in zip(reads(True), reads(False), strict=True)]
    assert off == pytest.approx([10.0, 0.0, 10.0, 0.0], abs=1e-9)
