"""What is in line with the pretend lamp: contactor, cut-out and stand."""

from dataclasses import replace
from math import exp

import pytest

from controller.batch.signals import Role
from controller.hardware.plant import Plant, PlantParameters
from controller.hardware.plant_board import BoardParameters
from controller.hardware.plant_lamp import LampParameters
from controller.hardware.plant_shop import ShopParameters

ZERO = 273.15
SHOP = ShopParameters(wander=0.0, pressure_rate=0.0)


def shop_at(celsius: float) -> ShopParameters:
    """A shop that stays at one temperature."""
    room = celsius + ZERO
    return replace(SHOP, start=room, night_low=room, day_high=room)


def held_at(
    plant: Plant, top: float, seconds: int, *, share: float = 1.0, rest: float = 1.0
) -> list[float]:
    """A face held under `top`, [C], by what a probe sees of its rise; how it went, [C]."""
    on, faces = True, []
    for _ in range(seconds // 2):
        plant.advance(2.0, lamp=on, pump=False)
        faces.append(plant.face - ZERO)
        seen = plant.room - ZERO + share * (plant.face - plant.room)
        on = seen < top - (0.0 if on else rest)
    return faces


# flux from the settings' first guess to the most they take, board from thin to thick, shop from
# cold to hot; the thick board is the longest heat, the cold shop the hardest
@pytest.mark.parametrize(
    ("flux", "thickness", "room"),
    [
        (600.0, 0.020, 19.0),
        (800.0, 0.020, 19.0),
        (800.0, 0.020, 30.0),
        (800.0, 0.035, 5.0),
        (1000.0, 0.050, 5.0),
        (1500.0, 0.050, 5.0),
        (1500.0, 0.012, 30.0),
    ],
)
def test_a_healthy_heat_to_50_c_leaves_the_cut_out_shut(
    flux: float, thickness: float, room: float
) -> None:
    plant = Plant(
        PlantParameters(
            shop=shop_at(room),
            lamp=LampParameters(flux=flux),
            board=BoardParameters(thickness=thickness),
        )
    )
    plant.place_under_lamp()
    held_at(plant, 50.0, 3600)
    assert not plant.lamp.cut_out_open
    assert plant.lamp.plate - ZERO < 72.0


@pytest.mark.parametrize(("flux", "share"), [(800.0, 0.5), (1000.0, 0.4), (1500.0, 0.4)])
def test_a_face_that_runs_off_behind_a_half_seated_probe_opens_it_in_time(
    flux: float, share: float
) -> None:
    hottest = []
    for bridged in (False, True):
        plant = Plant(PlantParameters(shop=shop_at(19.0), lamp=LampParameters(flux=flux)))
        plant.place_under_lamp()
        plant.probe_on(Role.FACE)
        plant.add_fault("probe_half_seated", share)
        if bridged:
            plant.add_fault("cut_out_bridged")
        hottest.append(max(held_at(plant, 50.0, 5400, share=share)))
        assert plant.lamp.cut_out_open is not bridged
    assert hottest[0] < 77.0
    # what it keeps the face from: 74, 85 and 98 C at 90 min
    assert hottest[1] > hottest[0] + 7.0


def test_the_plate_follows_its_own_heat_balance() -> None:
    # first order: rise = share q / loss (1 - exp(-t loss / capacity)), after 1.5 s of brightening
    told = LampParameters(flux=800.0, lag=1e-6, cut_out_opens=1e4)
    plant = Plant(PlantParameters(shop=shop_at(20.0), lamp=told))
    plant.advance(600.0, lamp=True, pump=False)
    still = told.plate_share * 800.0 / told.plate_loss
    reached = still * (1 - exp(-600.0 * told.plate_loss / told.plate_capacity))
    assert plant.lamp.plate - plant.room == pytest.approx(reached, abs=1e-3)
    plant.advance(told.plate_capacity / told.plate_loss, lamp=False, pump=False)
    assert plant.lamp.plate - plant.room == pytest.approx(reached * exp(-1.0), abs=1e-3)


@pytest.mark.parametrize("step", [1.0, 10.0, 600.0])
def test_it_opens_at_its_temperature_however_long_the_steps_are(step: float) -> None:
    told = LampParameters(flux=1500.0)
    plant = Plant(PlantParameters(shop=shop_at(20.0), lamp=told))
    plant.place_under_lamp()
    for _ in range(int(1200 / step)):
        plant.advance(step, lamp=True, pump=False)
    assert plant.lamp.cut_out_open and not plant.lamp_lit
    # from the moment it opened the plate only cools: it was at most half a second late
    lone = Plant(PlantParameters(shop=shop_at(20.0), lamp=replace(told, cut_out_opens=1e4)))
    while lone.lamp.plate < told.cut_out_opens:
        lone.advance(0.5, lamp=True, pump=False)
    rest = 1200.0 - lone.now
    lone.advance(rest, lamp=False, pump=False)
    assert plant.lamp.plate == pytest.approx(lone.lamp.plate, abs=0.1)


def test_an_open_cut_out_stays_open_until_it_is_cool_and_somebody_presses_it() -> None:
    plant = Plant(PlantParameters(shop=shop_at(20.0), lamp=LampParameters(flux=1500.0)))
    while not plant.lamp.cut_out_open:
        plant.advance(5.0, lamp=True, pump=False)
    assert not plant.lamp_fed
    while plant.lamp.plate > plant.parameters.lamp.cut_out_opens - 15.0:
        plant.lamp.reset_cut_out()
        assert plant.lamp.cut_out_open
        plant.advance(5.0, lamp=True, pump=False)
    assert plant.lamp.cut_out_open
    plant.lamp.reset_cut_out()
    plant.advance(1.0, lamp=True, pump=False)
    assert plant.lamp_lit


def test_a_broken_cut_out_takes_no_reset_and_a_bridged_one_does_not_open() -> None:
    plant = Plant()
    plant.add_fault("cut_out_open")
    plant.lamp.reset_cut_out()
    plant.advance(1.0, lamp=True, pump=False)
    assert plant.truth().cut_out_open and not plant.lamp_fed
    plant.clear_fault("cut_out_open")
    plant.add_fault("cut_out_bridged")
    plant.lamp.open_cut_out()
    plant.advance(1.0, lamp=True, pump=False)
    assert not plant.truth().cut_out_open and plant.lamp_lit
    # with the wire gone it is what it was all the while
    plant.clear_fault("cut_out_bridged")
    assert plant.truth().cut_out_open


@pytest.mark.parametrize("stuck", [False, True])
def test_a_dropped_contactor_darkens_even_a_welded_relay(stuck: bool) -> None:
    plant = Plant()
    if stuck:
        plant.add_fault("lamp_stuck_on")
    plant.lamp.contactor_held = False
    plant.advance(1.0, lamp=True, pump=False)
    assert not plant.truth().contactor and not plant.lamp_fed
    plant.add_fault("dead_man_stuck")
    plant.advance(1.0, lamp=True, pump=False)
    assert plant.truth().contactor and plant.lamp_fed


def test_a_lamp_that_leans_warms_less_and_says_so() -> None:
    warmed = []
    for leans in (False, True):
        board = BoardParameters(linear_loss=0.0, absorption_depth=0.0)
        plant = Plant(PlantParameters(shop=shop_at(20.0), board=board))
        plant.place_under_lamp()
        if leans:
            plant.add_fault("lamp_tilted")
        assert plant.truth().tilted is leans
        plant.advance(300.0, lamp=True, pump=False)
        warmed.append(plant.mean - plant.room)
    assert warmed[1] == pytest.approx(0.2 * warmed[0], rel=1e-6)


def test_a_relay_on_the_wrong_contact_burns_while_it_is_told_to_rest() -> None:
    plant = Plant()
    plant.add_fault("lamp_inverted")
    plant.advance(1.0, lamp=False, pump=False)
    assert plant.lamp_lit
    plant.advance(1.0, lamp=True, pump=False)
    assert not plant.lamp_lit


def test_a_board_that_was_carried_off_leaves_its_probe_in_the_air() -> None:
    plant = Plant(PlantParameters(shop=shop_at(20.0)))
    plant.place_under_lamp()
    plant.probe_on(Role.FACE)
    plant.advance(300.0, lamp=True, pump=False)
    warm = plant.face
    plant.add_fault("board_gone")
    assert not plant.truth().under_lamp
    plant.advance(60.0, lamp=True, pump=False)
    assert plant.face < warm
    assert plant.seen_by(Role.FACE) - plant.room < 0.06 * (warm - plant.room)
    assert plant.in_sight == plant.room


def test_a_probe_in_the_light_reads_high_while_the_lamp_burns_over_it() -> None:
    plant = Plant(PlantParameters(shop=shop_at(20.0)))
    plant.place_under_lamp()
    plant.probe_on(Role.FACE)
    plant.add_fault("probe_lit", 8.0)
    plant.advance(60.0, lamp=True, pump=False)
    assert plant.seen_by(Role.FACE) - plant.face == pytest.approx(8.0, abs=0.1)
    plant.advance(20.0, lamp=False, pump=False)
    # two time constants of 10 s
    assert plant.seen_by(Role.FACE) - plant.face == pytest.approx(8.0 * exp(-2.0), abs=0.1)
