"""Cure clocks against worked cases, and the laws they must keep."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import (
    age_gained,
    arrhenius_factor,
    clock_time_for,
    energy_for_doubling,
    glass_temperature,
    vitrified,
    vitrifying_conversion,
)

# A resin for testing only: -22 degC is published for unmixed DGEBA, the cured end and the
# curvature are made up.
UNCURED, CURED, CURVATURE = ZERO_CELSIUS - 22, ZERO_CELSIUS + 90, 0.40
REFERENCE = ZERO_CELSIUS + 23
kelvins = st.floats(ZERO_CELSIUS - 20, ZERO_CELSIUS + 150)
energies = st.floats(20e3, 150e3)


# Derived by quadrature of E / R T^2 between the two temperatures; energies as published for epoxy
# and amine: 44 to 57 (Barral 1995), 55 to 60 (2006), 58.6 kJ/mol (Riccardi 1984).
@pytest.mark.parametrize(("energy", "slower"), [(55e3, 2.7885), (50e3, 2.5403), (60e3, 3.0610)])
def test_ten_degrees_cures_this_many_times_slower_than_23(energy: float, slower: float) -> None:
    factor = arrhenius_factor(ZERO_CELSIUS + 10, REFERENCE, energy)
    assert 1 / factor == pytest.approx(slower, abs=0.001)


def test_half_the_time_each_ten_degrees_is_an_energy_of_51_kilojoules() -> None:
    # Derived, scipy's brentq: 51.216 kJ/mol between 20 and 30 degC.
    energy = energy_for_doubling(ZERO_CELSIUS + 20, ZERO_CELSIUS + 30)
    assert energy / 1000 == pytest.approx(51.22, abs=0.05)
    assert arrhenius_factor(ZERO_CELSIUS + 30, ZERO_CELSIUS + 20, energy) == pytest.approx(2)


def test_doubling_needs_a_warmer_second_temperature() -> None:
    for cool, warm in ((303, 293), (293, 293), (0, 293)):
        with pytest.raises(RangeError, match="warmer"):
            energy_for_doubling(cool, warm)


# Derived by quadrature of the ASTM C1074 form; hours and degC of each stretch, E 55 kJ/mol.
@pytest.mark.parametrize(
    ("stretches", "hours"),
    [
        ([(24, 10)], 8.607),
        ([(12, 20), (12, 10)], 13.851),
        ([(2, 40), (22, 18)], 21.715),
    ],
)
def test_a_night_is_worth_this_many_hours_at_23_degrees(
    stretches: list[tuple[float, float]], hours: float
) -> None:
    age = sum(age_gained(h * 3600, ZERO_CELSIUS + c, REFERENCE, 55e3) for h, c in stretches)
    assert age / 3600 == pytest.approx(hours, abs=0.01)


@given(temperature=kelvins, reference=kelvins, energy=energies)
@settings(deadline=None)
def test_there_and_back_is_no_factor_at_all(
    temperature: float, reference: float, energy: float
) -> None:
    there = arrhenius_factor(temperature, reference, energy)
    back = arrhenius_factor(reference, temperature, energy)
    assert there * back == pytest.approx(1)


@given(first=kelvins, second=kelvins, energy=energies)
@settings(deadline=None)
def test_warmer_never_cures_slower(first: float, second: float, energy: float) -> None:
    cool, warm = sorted((first, second))
    assert arrhenius_factor(cool, REFERENCE, energy) <= arrhenius_factor(warm, REFERENCE, energy)


@given(seconds=st.floats(0, 1e7), temperature=kelvins, energy=energies)
@settings(deadline=None)
def test_clock_time_is_the_inverse_of_age_gained(
    seconds: float, temperature: float, energy: float
) -> None:
    age = age_gained(seconds, temperature, REFERENCE, energy)
    assert clock_time_for(age, temperature, REFERENCE, energy) == pytest.approx(seconds)


@given(parts=st.lists(st.floats(0, 3600), min_size=1, max_size=20), temperature=kelvins)
@settings(deadline=None)
def test_age_does_not_depend_on_how_the_time_is_cut(parts: list[float], temperature: float) -> None:
    cut = sum(age_gained(part, temperature, REFERENCE, 55e3) for part in parts)
    assert cut == pytest.approx(age_gained(sum(parts), temperature, REFERENCE, 55e3))


def test_energies_in_kilojoules_and_temperatures_in_celsius_are_refused() -> None:
    with pytest.raises(RangeError, match="J/mol"):
        arrhenius_factor(293, 296, 55)
    with pytest.raises(RangeError, match="cure temperature"):
        arrhenius_factor(20, 296, 55e3)
    with pytest.raises(RangeError, match="reference temperature"):
        arrhenius_factor(293, 23, 55e3)
    with pytest.raises(RangeError, match="only grows"):
        age_gained(-1, 293, 296, 55e3)
    with pytest.raises(RangeError, match="only grows"):
        clock_time_for(-1, 293, 296, 55e3)


# Derived from the DiBenedetto form of Pascault and Williams 1990, from memory, to be checked; to
# 0.01 K. The two ends are the resin's own and hold for any form.
@pytest.mark.parametrize(
    ("conversion", "celsius"), [(0, -22.0), (0.3, -5.61), (0.8, 46.923), (1, 90.0)]
)
def test_glass_temperature_follows_the_conversion(conversion: float, celsius: float) -> None:
    glass = glass_temperature(conversion, UNCURED, CURED, CURVATURE)
    assert glass - ZERO_CELSIUS == pytest.approx(celsius, abs=0.01)


# Closed inverse of the same form, scipy's brentq beside it.
@pytest.mark.parametrize(("celsius", "conversion"), [(10, 0.5), (20, 0.6), (30, 0.6842)])
def test_a_colder_shop_stops_the_cure_sooner(celsius: float, conversion: float) -> None:
    stops = vitrifying_conversion(ZERO_CELSIUS + celsius, UNCURED, CURED, CURVATURE)
    assert stops == pytest.approx(conversion, abs=0.0001)


@given(conversion=st.floats(0, 1), curvature=st.floats(0.1, 1))
@settings(deadline=None)
def test_vitrifying_conversion_is_the_inverse_of_glass_temperature(
    conversion: float, curvature: float
) -> None:
    glass = glass_temperature(conversion, UNCURED, CURED, curvature)
    assert UNCURED <= glass <= CURED + 1e-9
    back = vitrifying_conversion(min(glass, CURED), UNCURED, CURED, curvature)
    assert back == pytest.approx(conversion, abs=1e-9)


@given(celsius=st.floats(-20, 89), step=st.floats(0.001, 0.01))
@settings(deadline=None)
def test_resin_is_glass_from_the_vitrifying_conversion_on(celsius: float, step: float) -> None:
    kelvin = ZERO_CELSIUS + celsius
    stops = vitrifying_conversion(kelvin, UNCURED, CURED, CURVATURE)
    assert vitrified(min(stops + step, 1), kelvin, UNCURED, CURED, CURVATURE)
    assert not vitrified(max(stops - step, 0), kelvin, UNCURED, CURED, CURVATURE)


def test_at_exactly_its_glass_temperature_the_resin_counts_as_glass() -> None:
    assert vitrified(0.0, UNCURED, UNCURED, CURED, CURVATURE)


def test_above_its_full_glass_temperature_the_resin_is_never_glass() -> None:
    assert not vitrified(1.0, CURED + 1, UNCURED, CURED, CURVATURE)
    with pytest.raises(RangeError, match="only between"):
        vitrifying_conversion(CURED + 1, UNCURED, CURED, CURVATURE)
    with pytest.raises(RangeError, match="only between"):
        vitrifying_conversion(UNCURED - 1, UNCURED, CURED, CURVATURE)


def test_a_network_that_cannot_be_is_refused() -> None:
    for uncured, cured, curvature in ((360, 250, 0.4), (250, 360, 0), (250, 360, 1.1)):
        with pytest.raises(RangeError, match="curvature"):
            glass_temperature(0.5, uncured, cured, curvature)
    with pytest.raises(RangeError, match="conversion"):
        glass_temperature(1.01, UNCURED, CURED, CURVATURE)
