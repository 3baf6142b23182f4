"""The surface behind an infrared reading, held against other ways to the same number."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.infrared import true_surface

ZERO = 273.15


def surface(reading: float, set_to: float, emissivity: float, reflected: float) -> float:
    """In and out in degC."""
    return true_surface(reading + ZERO, set_to, emissivity, reflected + ZERO) - ZERO


# Signal = e T^4 + (1 - e) T0^4, solved apart with scipy's brentq and ht.q_rad (derived, total
# radiation): the same law, so to the digits given. The last row is the lamp's glass at 80 degC in
# the mirror, the same law, rounded to 0.1.
@pytest.mark.parametrize(
    ("reading", "set_to", "emissivity", "reflected", "expected", "within"),
    [
        (50, 1.0, 0.90, 20, 52.86, 0.02),
        (50, 0.95, 0.90, 20, 51.44, 0.02),
        (60, 1.0, 0.95, 20, 61.74, 0.02),
        (50, 1.0, 0.90, 80, 46.1, 0.05),
    ],
)
def test_it_finds_the_published_surfaces(
    reading: float,
    set_to: float,
    emissivity: float,
    reflected: float,
    expected: float,
    within: float,
) -> None:
    assert surface(reading, set_to, emissivity, reflected) == pytest.approx(expected, abs=within)


def seen(kelvin: float) -> float:
    """What a black body sends between 8 and 14 um, by Planck's law in 400 strips; no unit."""
    width = 6e-6 / 400
    waves = [8e-6 + (strip + 0.5) * width for strip in range(400)]
    return sum(1 / (wave**5 * (exp(0.014387769 / (wave * kelvin)) - 1)) for wave in waves)


# Planck's law in the band the thermometer sees, halved to the surface: the total-radiation formula
# says that it is up to 0.25 K under it, readings to 60 degC and emissivities from 0.85.
@pytest.mark.parametrize("reading", [30, 40, 50, 60])
@pytest.mark.parametrize(("set_to", "emissivity"), [(1.0, 0.9), (0.95, 0.9), (1.0, 0.85)])
def test_counting_all_wavelengths_errs_a_little_to_too_cold(
    reading: float, set_to: float, emissivity: float
) -> None:
    own = set_to * seen(reading + ZERO) + (emissivity - set_to) * seen(20 + ZERO)
    low, high = 250.0, 500.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if emissivity * seen(middle) < own else (low, middle)
    assert 0.0 <= low - ZERO - surface(reading, set_to, emissivity, 20) <= 0.25


@given(st.floats(280.0, 400.0), st.floats(0.3, 1.0), st.floats(0.3, 1.0), st.floats(250.0, 300.0))
def test_a_thermometer_set_to_what_it_found_gives_the_reading_back(
    face: float, set_to: float, emissivity: float, reflected: float
) -> None:
    # both settings swapped undo the correction
    assert true_surface(
        true_surface(face, emissivity, set_to, reflected), set_to, emissivity, reflected
    ) == pytest.approx(face)


@given(st.floats(250.0, 400.0), st.floats(0.3, 1.0), st.floats(250.0, 400.0))
def test_a_right_setting_or_a_mirror_as_warm_needs_no_correction(
    reading: float, emissivity: float, reflected: float
) -> None:
    assert true_surface(reading, emissivity, emissivity, reflected) == pytest.approx(reading)
    assert true_surface(reading, 1.0, emissivity, reading) == pytest.approx(reading)


@pytest.mark.parametrize(
    "wrong",
    [
        (0, 1, 0.9, 293),
        (320, 0, 0.9, 293),
        (320, 1, 1.01, 293),
        (320, 1, 0.9, -1),
        (250, 1, 0.3, 400),
    ],
)
def test_what_no_surface_can_send_is_out_of_range(wrong: tuple[float, float, float, float]) -> None:
    with pytest.raises(RangeError):
        true_surface(*wrong)
