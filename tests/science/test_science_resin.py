"""Mixing by weight against worked cases, and what a scale can and cannot do."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.resin import (
    adiabatic_rise,
    amine_hydrogen_equivalent,
    correct_a,
    film_rise,
    gel_conversion,
    heat_of_cure_per_kg,
    phr,
    share_error,
    smallest_batch,
    stoichiometric_phr,
    weight_ratio,
)
from controller.science.wood import density, heat_capacity

ratios = st.floats(0.05, 2)
masses = st.floats(0.001, 10)


# Derived, phr = 100 rho_B / (v rho_A); exact but for the digits written.
@pytest.mark.parametrize(
    ("a_for_one_b", "density_a", "density_b", "parts"),
    [(2, 1160, 980, 42.24), (3, 1150, 1000, 28.99), (1, 1160, 980, 84.48)],
)
def test_a_ratio_by_volume_becomes_parts_by_weight(
    a_for_one_b: float, density_a: float, density_b: float, parts: float
) -> None:
    ratio = weight_ratio(1 / a_for_one_b, density_a, density_b)
    assert phr(ratio) == pytest.approx(parts, abs=0.01)


# Molar mass over active hydrogens; molar masses from the library chemicals 1.5.2.
@pytest.mark.parametrize(
    ("molar_mass", "hydrogens", "grams"),
    [(0.146234, 6, 24.37), (0.060098, 4, 15.02), (0.170297, 4, 42.57)],
)
def test_grams_of_amine_for_one_active_hydrogen(
    molar_mass: float, hydrogens: int, grams: float
) -> None:
    equivalent = amine_hydrogen_equivalent(molar_mass, hydrogens)
    assert 1000 * equivalent == pytest.approx(grams, abs=0.02)


# Abstracts of papers on DGEBA (equivalent taken as 187 g/mol) call 13 parts of triethylenetetramine
# and 15 parts of m-phenylenediamine stoichiometric, in whole parts: hence 0.6.
@pytest.mark.parametrize(("molar_mass", "hydrogens", "parts"), [(0.14623, 6, 13), (0.10814, 4, 15)])
def test_parts_that_leave_neither_over_are_those_of_the_papers(
    molar_mass: float, hydrogens: int, parts: float
) -> None:
    equivalent = amine_hydrogen_equivalent(molar_mass, hydrogens)
    assert stoichiometric_phr(equivalent, 0.187) == pytest.approx(parts, abs=0.6)


def test_resin_and_diamine_gel_at_58_per_cent() -> None:
    # Flory and Stockmayer, 1 / sqrt(3); from memory, to be checked.
    assert gel_conversion(2, 4) == pytest.approx(0.577, abs=0.001)


def test_more_arms_gel_sooner_and_pairs_never() -> None:
    assert gel_conversion(2, 6) < gel_conversion(2, 4) < gel_conversion(2, 3)
    assert gel_conversion(4, 2) == gel_conversion(2, 4)
    for epoxides, hydrogens in ((2, 2), (1, 4), (2, 1)):
        with pytest.raises(RangeError, match="no network"):
            gel_conversion(epoxides, hydrogens)


# Derived: 100 kJ/mol over equivalents 187 and 24.37 g/mol; then heat over heat capacity.
def test_a_cup_that_kept_its_heat_would_warm_by_237_kelvin() -> None:
    heat = heat_of_cure_per_kg(100e3, 0.187, 0.02437)
    assert heat / 1000 == pytest.approx(473.1, abs=0.2)
    assert adiabatic_rise(heat, 2000) == pytest.approx(236.5, abs=0.1)
    assert adiabatic_rise(405e3, 1900) == pytest.approx(213.2, abs=0.1)


def test_the_same_resin_on_a_board_warms_it_by_six_kelvin() -> None:
    # Derived with the heat capacity of chemics 24.1: 20 mm of maple at 8 % moisture and 35 degC.
    board = density(0.63, 0.08) * heat_capacity(0.08, ZERO_CELSIUS + 35) * 0.020
    assert film_rise(0.3, 450e3, board) == pytest.approx(6.25, abs=0.02)
    assert film_rise(0.0, 450e3, board) == 0


# A 20 g mix at 100:43 holds 6 g of hardener: a 1 g scale, half a step off, makes 8 %, a 0.1 g scale
# 0.8 %; 100 g on the 1 g scale 1.7 % (derived, from hardener alone).
@pytest.mark.parametrize(
    ("batch", "step", "error"), [(0.020, 0.001, 0.08), (0.020, 0.0001, 0.008), (0.1, 0.001, 0.017)]
)
def test_half_a_scale_step_of_hardener_is_this_much_of_it(
    batch: float, step: float, error: float
) -> None:
    a = batch / 1.43
    assert share_error(a, 0.43 * a + step / 2, 0.43) == pytest.approx(error, rel=0.05)


@given(b=masses, ratio=ratios)
@settings(deadline=None)
def test_the_corrected_mix_has_no_error(b: float, ratio: float) -> None:
    assert share_error(correct_a(b, ratio), b, ratio) == pytest.approx(0, abs=1e-12)


@given(step=st.floats(1e-6, 0.01), ratio=ratios, tolerance=st.floats(0.005, 0.5))
@settings(deadline=None)
def test_the_smallest_batch_weighed_at_its_worst_is_just_inside(
    step: float, ratio: float, tolerance: float
) -> None:
    a = smallest_batch(step, ratio, tolerance) / (1 + ratio)
    b, off = ratio * a, step / 2
    assert share_error(a - off, b + off, ratio) == pytest.approx(tolerance, rel=1e-6)
    assert share_error(a + off, max(b - off, 0), ratio) >= -tolerance
    assert share_error(0.9 * a - off, 0.9 * b + off, ratio) > tolerance


def test_amounts_that_cannot_be_are_refused() -> None:
    for wrong in (
        lambda: weight_ratio(0, 1160, 980),
        lambda: weight_ratio(0.5, float("nan"), 980),
        lambda: phr(-0.4),
        lambda: amine_hydrogen_equivalent(0.1, 0),
        lambda: stoichiometric_phr(0.024, 0),
        lambda: heat_of_cure_per_kg(-1, 0.187, 0.024),
        lambda: adiabatic_rise(450e3, 0),
        lambda: film_rise(0.3, 450e3, 0),
        lambda: correct_a(0, 0.43),
        lambda: share_error(0, 0.1, 0.43),
        lambda: smallest_batch(0, 0.43, 0.05),
    ):
        with pytest.raises(RangeError, match="above 0"):
            wrong()
    for wrong in (lambda: film_rise(-0.1, 450e3, 2e4), lambda: share_error(0.1, -0.01, 0.43)):
        with pytest.raises(RangeError, match="weigh it anew"):
            wrong()
    with pytest.raises(RangeError, match="tolerance"):
        smallest_batch(0.001, 0.43, 5)
