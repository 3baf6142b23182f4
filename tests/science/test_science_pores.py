"""What fills the pores, against worked cases and the laws it must keep."""

from math import inf, pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.air import contraction_dry
from controller.science.constants import INCH_OF_MERCURY, STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.pores import (
    capillary_pressure,
    darcy_depth,
    darcy_depth_thickening,
    draw,
    draw_left,
    fill_by_release,
    fill_by_release_and_cooling,
    fill_depth,
    thickening_seconds,
)

warm = st.floats(ZERO_CELSIUS + 21, ZERO_CELSIUS + 60)


# Derived: dry-air moles kept, vapour over wood at 8 per cent from Wood Handbook eq. 4-5 and
# CoolProp's water; to 0.0003.
@pytest.mark.parametrize(
    ("hot", "cold", "share"), [(60, 20, 0.2032), (50, 20, 0.1387), (60, 40, 0.1278)]
)
def test_a_cooling_board_draws_this_share_of_its_pores(
    hot: float, cold: float, share: float
) -> None:
    drawn = draw(ZERO_CELSIUS + hot, ZERO_CELSIUS + cold, STANDARD_ATMOSPHERE, 0.08)
    assert drawn == pytest.approx(share, abs=0.0003)


# Dry air, one minus the absolute temperatures' ratio; CoolProp's real air is within 0.0003.
@pytest.mark.parametrize(
    ("hot", "cold", "share"), [(60, 20, 0.1201), (50, 20, 0.0928), (45, 25, 0.0629)]
)
def test_a_bone_dry_board_draws_this_share(hot: float, cold: float, share: float) -> None:
    drawn = draw(ZERO_CELSIUS + hot, ZERO_CELSIUS + cold, STANDARD_ATMOSPHERE, 0.0)
    assert drawn == pytest.approx(share, abs=0.0005)


@given(hot=warm, moisture=st.floats(0.001, 0.20))
@settings(deadline=None)
def test_moist_wood_draws_more_than_dry_air_alone(hot: float, moisture: float) -> None:
    cold = ZERO_CELSIUS + 20
    drawn = draw(hot, cold, STANDARD_ATMOSPHERE, moisture)
    assert contraction_dry(hot, cold) <= drawn < 1


def test_bone_dry_wood_draws_as_dry_air_does() -> None:
    assert draw(323.15, 293.15, 90_000, 0) == pytest.approx(contraction_dry(323.15, 293.15))


def test_a_board_that_warms_pushes_out() -> None:
    assert draw(293.15, 303.15, STANDARD_ATMOSPHERE, 0.08) < 0


@given(start=warm, share=st.floats(0, 1), other=st.floats(0, 1))
@settings(deadline=None)
def test_the_draw_left_only_shrinks_as_the_board_cools(
    start: float, share: float, other: float
) -> None:
    end = ZERO_CELSIUS + 20
    early, late = sorted((share, other))

    def left(cooled: float) -> float:
        return draw_left(start, start - cooled * (start - end), end, STANDARD_ATMOSPHERE, 0.08)

    assert -1e-6 <= left(late) <= left(early) + 1e-6 <= 1 + 2e-6


def test_all_of_the_draw_is_left_at_the_start_and_none_at_the_end() -> None:
    assert draw_left(323.15, 323.15, 293.15, STANDARD_ATMOSPHERE, 0.08) == pytest.approx(1)
    assert draw_left(323.15, 293.15, 293.15, STANDARD_ATMOSPHERE, 0.08) == pytest.approx(0)
    assert draw_left(323.15, 291.15, 293.15, STANDARD_ATMOSPHERE, 0.08) < 0


def test_more_than_half_the_draw_is_gone_when_half_the_heat_is() -> None:
    # The vapour is what goes first: its pressure falls faster than the temperature.
    assert draw_left(323.15, 308.15, 293.15, STANDARD_ATMOSPHERE, 0.08) < 0.5


def test_what_shrank_before_the_coat_is_lost_to_the_draw() -> None:
    # Dry wood by hand: a board coated at 35 degC draws 15/308.15 of its pores, one coated at 50
    # draws 30/323.15; the ratio is 0.5243, more than the half that the volumes alone would say.
    left = draw_left(323.15, 308.15, 293.15, STANDARD_ATMOSPHERE, 0)
    assert left == pytest.approx((15 / 308.15) / (30 / 323.15))


def test_a_board_no_warmer_than_the_room_has_no_draw_to_share_out() -> None:
    for start in (293.15, 290):
        with pytest.raises(RangeError, match="draws nothing"):
            draw_left(start, 292, 293.15, STANDARD_ATMOSPHERE, 0.08)


def test_capillary_pull_of_an_oak_sized_pore_is_a_sixty_fifth_of_an_atmosphere() -> None:
    # Arithmetic of 2 gamma cos(theta) / r with 45 mN/m, 50 um, 30 degrees: 1558.8 Pa.
    pull = capillary_pressure(0.045, radians(30), 50e-6)
    assert pull == pytest.approx(1558.8, abs=0.5)
    assert STANDARD_ATMOSPHERE / pull == pytest.approx(65, abs=0.5)


def test_a_liquid_that_does_not_wet_is_pushed_out() -> None:
    assert capillary_pressure(0.045, 0.75 * pi, 50e-6) < 0
    for tension, radius in ((0, 50e-6), (0.045, 0)):
        with pytest.raises(RangeError, match="above 0"):
            capillary_pressure(tension, 0, radius)


# Washburn, Phys. Rev. 17 (1921) 273; worked by scipy's solve_ivp of dl/dt: 45 mN/m, 30 degrees;
# to 0.01 mm.
@pytest.mark.parametrize(
    ("microns", "viscosity", "seconds", "millimetres"),
    [(50, 1.0, 60, 7.646), (50, 0.2, 60, 17.096), (150, 0.5, 120, 26.485)],
)
def test_resin_creeps_this_deep_by_capillary_pull_alone(
    microns: float, viscosity: float, seconds: float, millimetres: float
) -> None:
    radius = microns * 1e-6
    pull = capillary_pressure(0.045, radians(30), radius)
    depth = fill_depth(radius, pull, viscosity, seconds)
    assert 1000 * depth == pytest.approx(millimetres, abs=0.01)


@given(
    radius=st.floats(1e-6, 3e-4),
    pressure=st.floats(1, 1e5),
    viscosity=st.floats(0.01, 10),
    seconds=st.floats(1, 1e4),
)
@settings(deadline=None)
def test_twice_as_deep_takes_four_times_as_long(
    radius: float, pressure: float, viscosity: float, seconds: float
) -> None:
    once = fill_depth(radius, pressure, viscosity, seconds)
    assert fill_depth(radius, pressure, viscosity, 4 * seconds) == pytest.approx(2 * once)
    assert fill_depth(radius, pressure, 4 * viscosity, seconds) == pytest.approx(once / 2)


def test_a_depth_of_nothing_is_refused() -> None:
    for radius, pressure, viscosity, seconds in (
        (0, 1e3, 0.5, 60),
        (5e-5, -1, 0.5, 60),
        (5e-5, 1e3, 0, 60),
        (5e-5, 1e3, 0.5, -1),
    ):
        with pytest.raises(RangeError, match="no depth"):
            fill_depth(radius, pressure, viscosity, seconds)


# A slug by Darcy's law: 90 kPa, porosity 0.5, 0.5 Pa s, 600 s; worked by scipy's solve_ivp, to
# 0.002 mm. Open end grain and wood across the grain.
@pytest.mark.parametrize(("permeability", "millimetres"), [(1e-12, 20.7846), (1e-16, 0.2078)])
def test_resin_soaks_this_deep_into_wood(permeability: float, millimetres: float) -> None:
    depth = darcy_depth(permeability, 9e4, 0.5, 0.5, 600)
    assert 1000 * depth == pytest.approx(millimetres, abs=0.002)


# The same with a viscosity of 0.5 exp(t / 1200 s), by the same integrator; to 0.002 mm.
@pytest.mark.parametrize(("seconds", "millimetres"), [(600, 18.4379), (7200, 29.3574)])
def test_thickening_resin_soaks_less_deep(seconds: float, millimetres: float) -> None:
    depth = darcy_depth_thickening(1e-12, 9e4, 0.5, 0.5, 1200, seconds)
    assert 1000 * depth == pytest.approx(millimetres, abs=0.002)


@given(
    permeability=st.floats(1e-17, 1e-9),
    viscosity=st.floats(0.05, 5),
    thickening=st.floats(100, 1e5),
    seconds=st.floats(1, 1e6),
)
@settings(deadline=None)
def test_thickening_resin_stays_behind_and_comes_to_an_end(
    permeability: float, viscosity: float, thickening: float, seconds: float
) -> None:
    there = darcy_depth_thickening(permeability, 1e5, 0.5, viscosity, thickening, seconds)
    in_the_end = darcy_depth_thickening(permeability, 1e5, 0.5, viscosity, thickening)
    assert there <= darcy_depth(permeability, 1e5, 0.5, viscosity, seconds) * (1 + 1e-9)
    assert there <= in_the_end * (1 + 1e-9)
    # For ever in thickening resin is one thickening time in resin that does not.
    assert in_the_end == pytest.approx(darcy_depth(permeability, 1e5, 0.5, viscosity, thickening))


def test_resin_that_never_thickens_flows_on() -> None:
    assert thickening_seconds(inf, 600) == 600
    assert thickening_seconds(1200, 0) == 0
    # Right after wetting the two are alike: half of t / tau is lost, 0.05 % of 1.2 s in 1200.
    assert thickening_seconds(1200, 1.2) == pytest.approx(1.2, rel=0.001)
    for thickening, seconds in ((inf, inf), (0, 600), (1200, -1), (1200, float("nan"))):
        with pytest.raises(RangeError, match="thickening"):
            thickening_seconds(thickening, seconds)


@given(radius=st.floats(1e-6, 3e-4), pressure=st.floats(1, 1e5), seconds=st.floats(1, 1e4))
@settings(deadline=None)
def test_a_round_pore_is_wood_of_an_eighth_of_its_radius_squared(
    radius: float, pressure: float, seconds: float
) -> None:
    # Poiseuille: the permeability at which Darcy's law is Washburn's.
    by_darcy = darcy_depth(radius**2 / 8, pressure, 1.0, 0.5, seconds)
    assert by_darcy == pytest.approx(fill_depth(radius, pressure, 0.5, seconds))


def test_wood_that_cannot_be_is_refused() -> None:
    for permeability, pressure, porosity, viscosity, seconds in (
        (0, 1e3, 0.5, 0.5, 60),
        (1e-12, -1, 0.5, 0.5, 60),
        (1e-12, 1e3, 0, 0.5, 60),
        (1e-12, 1e3, 1.1, 0.5, 60),
        (1e-12, 1e3, 0.5, 0, 60),
        (1e-12, 1e3, 0.5, 0.5, -1),
    ):
        with pytest.raises(RangeError, match="no depth"):
            darcy_depth(permeability, pressure, porosity, viscosity, seconds)


# Boyle's law by arithmetic, the reasoning of a full-cell treatment's initial vacuum; to 0.0002.
@pytest.mark.parametrize(("inches", "share"), [(28, 0.9358), (25, 0.8355), (20, 0.6684)])
def test_a_bag_let_up_in_time_fills_this_share_of_the_pores(inches: float, share: float) -> None:
    bag = STANDARD_ATMOSPHERE - inches * INCH_OF_MERCURY
    assert fill_by_release(bag, STANDARD_ATMOSPHERE) == pytest.approx(share, abs=0.0002)


def test_let_up_and_cooling_add_up() -> None:
    # Arithmetic of 1 - (p / p0)(Tc / Th): 28 inHg, 50 to 20 degC; to 0.0003.
    bag = STANDARD_ATMOSPHERE - 28 * INCH_OF_MERCURY
    both = fill_by_release_and_cooling(bag, STANDARD_ATMOSPHERE, 323.15, 293.15)
    assert both == pytest.approx(0.9418, abs=0.0003)


@given(share=st.floats(0.01, 1), cooled=st.floats(0, 40))
@settings(deadline=None)
def test_neither_road_fills_more_alone_than_both_together(share: float, cooled: float) -> None:
    bag, cold = share * STANDARD_ATMOSPHERE, ZERO_CELSIUS + 20
    both = fill_by_release_and_cooling(bag, STANDARD_ATMOSPHERE, cold + cooled, cold)
    assert both >= fill_by_release(bag, STANDARD_ATMOSPHERE) - 1e-12
    assert both >= contraction_dry(cold + cooled, cold) - 1e-12
    assert both < 1


def test_a_bag_above_the_air_or_at_nothing_is_refused() -> None:
    for bag in (0, -5, 101_326):
        with pytest.raises(RangeError, match="above 0"):
            fill_by_release(bag, STANDARD_ATMOSPHERE)
