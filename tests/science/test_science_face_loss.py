"""Losses of a face against tables of air, published examples of a plate, and limits."""

from math import exp

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.face_loss import (
    WOOD_EMISSIVITY,
    air_at,
    free_convection_down,
    free_convection_up,
    lumped_ratio,
    nusselt_down,
    nusselt_up,
    plate_size,
    radiation_coefficient,
    radiation_loss,
)

kelvins = st.floats(260, 400)
sizes = st.floats(0.01, 0.3)


# Incropera and DeWitt, table A.4, from memory, to be checked: viscosity [1e-7 Pa s], conductivity
# [1e-3 W/(m K)], Prandtl number; the two roads differ by up to 1.2 %. The table's density, 1.1614
# at 300 K, is that of 1 bar and not of an atmosphere, so its kinematic viscosity is not compared.
@pytest.mark.parametrize(
    ("kelvin", "viscosity", "conductivity", "prandtl"),
    [(250, 159.6, 22.3, 0.720), (300, 184.6, 26.3, 0.707), (350, 208.2, 30.0, 0.700)],
)
def test_air_is_the_textbooks(
    kelvin: float, viscosity: float, conductivity: float, prandtl: float
) -> None:
    air = air_at(kelvin)
    assert 1e7 * air.viscosity == pytest.approx(viscosity, rel=0.01)
    assert 1e3 * air.conductivity == pytest.approx(conductivity, rel=0.01)
    assert air.prandtl == pytest.approx(prandtl, rel=0.012)


def test_air_weighs_what_the_standard_atmosphere_says() -> None:
    # US Standard Atmosphere 1976, table I: 1.2250 kg/m3 at 288.15 K; its last digit.
    air = air_at(288.15)
    assert air.density == pytest.approx(1.2250, abs=0.0001)
    # The same table's kinematic viscosity and conductivity there, from memory, to be checked.
    assert 1e5 * air.kinematic_viscosity == pytest.approx(1.4607, abs=0.0005)
    assert 1e2 * air.conductivity == pytest.approx(2.5326, abs=0.003)


# First row: the worked example of the library ht 1.2, from memory, to be checked; the others
# derived from the Stefan-Boltzmann law and found alike by it; half a watt.
@pytest.mark.parametrize(
    ("emissivity", "hot", "cold", "watts"),
    [
        (0.85, 400, 305, 816.78),
        (0.9, 333.15, 293.15, 251.77),
        (0.9, 323.15, 293.15, 179.62),
    ],
)
def test_a_face_radiates_as_stefan_and_boltzmann_have_it(
    emissivity: float, hot: float, cold: float, watts: float
) -> None:
    assert radiation_loss(emissivity, hot, cold) == pytest.approx(watts, abs=0.5)


def test_a_board_at_50_in_a_shop_at_20_loses_six_watts_a_kelvin_by_radiation() -> None:
    # Derived: 5.987 W/(m2 K); 0.02.
    found = radiation_coefficient(0.9, ZERO_CELSIUS + 50, ZERO_CELSIUS + 20)
    assert found == pytest.approx(5.987, abs=0.02)


@given(emissivity=st.floats(0.05, 1), hot=kelvins, cold=kelvins)
@settings(deadline=None)
def test_the_coefficient_times_the_difference_is_the_loss_and_turns_its_sign(
    emissivity: float, hot: float, cold: float
) -> None:
    loss = radiation_loss(emissivity, hot, cold)
    by_film = radiation_coefficient(emissivity, hot, cold) * (hot - cold)
    assert by_film == pytest.approx(loss, rel=1e-9, abs=1e-9)
    assert radiation_loss(emissivity, cold, hot) == -loss


# Worked example of the library ht 1.2 for a plate in water, from memory, to be checked: Prandtl
# 5.54, Grashof 3.21e8; 0.01.
def test_a_plate_convects_as_in_the_worked_example() -> None:
    assert nusselt_up(5.54 * 3.21e8) == pytest.approx(181.73, abs=0.01)
    assert nusselt_down(5.54 * 3.21e8) == pytest.approx(55.446, abs=0.01)


# The same two laws with real air from CoolProp: a board of 0.2 by 0.3 m in air of 20 degC. This
# module's air is 0.2 % apart; 0.02.
@pytest.mark.parametrize(("celsius", "film"), [(60, 7.019), (40, 5.962)])
def test_a_board_lying_in_still_air_loses_this_much(celsius: float, film: float) -> None:
    size = plate_size(0.3, 0.2)
    assert size == pytest.approx(0.06)
    up = free_convection_up(ZERO_CELSIUS + celsius, 293.15, size)
    assert up == pytest.approx(film, abs=0.02)
    down = free_convection_down(ZERO_CELSIUS + celsius, 293.15, size)
    assert down == pytest.approx(film / 2, abs=0.02)


def test_a_coat_of_air_and_radiation_is_about_what_the_planner_takes() -> None:
    # Physics of a board at 40 to 50 degC: about 6 by radiation and 5 to 6 by the air, 11 to 13.
    for celsius in (40, 50):
        face = ZERO_CELSIUS + celsius
        both = radiation_coefficient(WOOD_EMISSIVITY, face, 293.15)
        both += free_convection_up(face, 293.15, 0.06)
        assert 11 < both < 13


@given(first=st.floats(293.15, 400), second=st.floats(293.15, 400), size=sizes)
@settings(deadline=None)
def test_a_hotter_face_convects_more_and_up_more_than_down(
    first: float, second: float, size: float
) -> None:
    cool, hot = sorted((first, second))
    lost = free_convection_up(hot, 293.15, size) * (hot - 293.15)
    assert free_convection_up(cool, 293.15, size) * (cool - 293.15) <= lost * (1 + 1e-9)
    assert free_convection_down(hot, 293.15, size) <= free_convection_up(hot, 293.15, size)


@given(face=kelvins, air=st.floats(270, 320), size=sizes)
@settings(deadline=None)
def test_a_cold_face_up_is_a_hot_face_down(face: float, air: float, size: float) -> None:
    # The same difference about the same mean: only the sense of the lift is other.
    turned = free_convection_down(air, face, size)
    assert free_convection_up(face, air, size) == pytest.approx(turned) or face == air


def test_no_difference_no_convection() -> None:
    assert free_convection_up(293.15, 293.15, 0.06) == 0
    assert radiation_loss(0.9, 293.15, 293.15) == 0


@given(first=st.floats(0, 1e11), second=st.floats(0, 1e11))
@settings(deadline=None)
def test_more_lift_more_loss_but_for_the_laws_own_step(first: float, second: float) -> None:
    low, high = sorted((first, second))
    assert nusselt_up(low) <= nusselt_up(high) * 1.07
    assert nusselt_up(1e7) / (0.54 * 1e7**0.25) == pytest.approx(1.06, abs=0.01)


def test_a_veneer_cools_as_one_lump() -> None:
    # Derived, and by integrating dT/dt: 0.57629; 1e-5.
    assert lumped_ratio(10, 120, 680.4, 1600, 0.002) == pytest.approx(0.57629, abs=1e-5)


@given(film=st.floats(0, 30), first=st.floats(0, 3600), second=st.floats(0, 3600))
@settings(deadline=None)
def test_cooling_twice_is_cooling_for_both_times(film: float, first: float, second: float) -> None:
    def ratio(seconds: float) -> float:
        return lumped_ratio(film, seconds, 680, 1570, 0.002)

    assert ratio(first) * ratio(second) == pytest.approx(ratio(first + second), abs=1e-12)
    assert ratio(680 * 1570 * 0.002 / 10) == pytest.approx(exp(-film / 10))


def test_what_is_no_face_is_refused() -> None:
    with pytest.raises(RangeError, match="127 degC"):
        air_at(401)
    with pytest.raises(RangeError, match="emissivity 90"):
        radiation_loss(90, 320, 293)
    with pytest.raises(RangeError, match="absolute"):
        radiation_coefficient(0.9, 50, -20)
    with pytest.raises(RangeError, match="both must be above 0"):
        plate_size(0.3, 0)
    with pytest.raises(RangeError, match="size 0 m"):
        free_convection_up(320, 293, 0)
    with pytest.raises(RangeError, match="in metres"):
        free_convection_up(320, 293, 60)
    with pytest.raises(RangeError, match="in metres"):
        nusselt_down(1e11)
    with pytest.raises(RangeError, match="no cooling"):
        lumped_ratio(10, -1, 680, 1600, 0.002)
