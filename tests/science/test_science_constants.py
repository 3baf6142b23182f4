"""The fixed numbers against the definitions behind them."""

import pytest

from controller.science.constants import (
    GAS_CONSTANT,
    INCH_OF_MERCURY,
    STANDARD_ATMOSPHERE,
    ZERO_CELSIUS,
)


def test_an_atmosphere_is_29_9213_inches_of_mercury() -> None:
    # Derived from 101325 Pa and 3386.389 Pa; the digit printed on weather charts is 29.92.
    assert STANDARD_ATMOSPHERE / INCH_OF_MERCURY == pytest.approx(29.9213, abs=0.0001)


def test_a_mole_of_air_at_room_temperature_takes_24_055_litres() -> None:
    # Ideal gas at 20 degC and one atmosphere; from memory, to be checked.
    litres = 1000 * GAS_CONSTANT * (ZERO_CELSIUS + 20) / STANDARD_ATMOSPHERE
    assert litres == pytest.approx(24.055, abs=0.001)


def test_the_gas_constant_is_boltzmann_times_avogadro() -> None:
    # Both exact since 2019: BIPM, The International System of Units, 9th ed. 2019.
    assert pytest.approx(1.380649e-23 * 6.02214076e23, rel=1e-9) == GAS_CONSTANT
