"""Thinner leaving a film against Crank's numbers, and the laws of diffusion."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.film import diffusivity_from, half_time, share_left, time_to_share

diffusivities = st.floats(1e-15, 1e-9)
thicknesses = st.floats(1e-5, 5e-3)


# Crank, The Mathematics of Diffusion, 2nd ed., eq. 4.18 (from memory, to be checked), and beside it
# the same by the method of lines with scipy's solve_ivp; the two agree to 0.0001.
@pytest.mark.parametrize(
    ("depths", "lost"), [(0.05, 0.2523), (0.1, 0.3568), (0.1967, 0.5), (0.5, 0.764)]
)
def test_the_film_has_lost_this_share(depths: float, lost: float) -> None:
    length, diffusivity = 0.4e-3, 2e-12
    left = share_left(diffusivity, length, depths * length**2 / diffusivity)
    assert 1 - left == pytest.approx(lost, abs=0.0003)


def test_half_is_gone_at_0_1967_and_after_five_hours_in_a_thick_coat() -> None:
    # Crank's 0.049 in the whole thickness of a film open on both sides; from memory, to be checked.
    assert half_time(1.0, 1.0) == pytest.approx(0.1967, abs=0.0005)
    assert half_time(1.0, 1.0) / 4 == pytest.approx(0.049, abs=0.0005)
    # scipy's brentq, for a diffusivity of which only the order is known.
    assert half_time(1e-12, 0.3e-3) / 3600 == pytest.approx(4.918, abs=0.01)


def test_late_on_the_rest_dies_away_with_one_time() -> None:
    # The tail of eq. 4.18: pi^2 D / 4 l^2, a time in which the rest falls e-fold.
    tail = 4 / 3.141592653589793**2
    assert share_left(1.0, 1.0, 2 + tail) / share_left(1.0, 1.0, 2) == pytest.approx(
        1 / 2.718281828, rel=1e-6
    )


def test_the_early_and_the_late_form_meet() -> None:
    before, after = share_left(1.0, 1.0, 0.05 - 1e-12), share_left(1.0, 1.0, 0.05)
    assert before == pytest.approx(after, abs=1e-9)


@given(diffusivity=diffusivities, thickness=thicknesses, share=st.floats(1e-6, 1))
@settings(deadline=None)
def test_time_to_share_is_the_inverse_of_share_left(
    diffusivity: float, thickness: float, share: float
) -> None:
    seconds = time_to_share(diffusivity, thickness, share)
    assert share_left(diffusivity, thickness, seconds) == pytest.approx(share, rel=1e-6)


@given(diffusivity=diffusivities, thickness=thicknesses, share=st.floats(0.001, 0.99))
@settings(deadline=None)
def test_a_weigh_in_gives_the_diffusivity_back(
    diffusivity: float, thickness: float, share: float
) -> None:
    seconds = time_to_share(diffusivity, thickness, share)
    assert diffusivity_from(share, thickness, seconds) == pytest.approx(diffusivity)


@given(diffusivity=diffusivities, thickness=thicknesses, times=st.floats(1, 10))
@settings(deadline=None)
def test_a_film_so_many_times_as_thick_takes_the_square_of_it(
    diffusivity: float, thickness: float, times: float
) -> None:
    thin, thick = half_time(diffusivity, thickness), half_time(diffusivity, times * thickness)
    assert thick == pytest.approx(times**2 * thin)


@given(first=st.floats(0, 20), second=st.floats(0, 20))
@settings(deadline=None)
def test_thinner_only_ever_leaves(first: float, second: float) -> None:
    early, late = sorted((first, second))
    assert 1 >= share_left(1.0, 1.0, early) >= share_left(1.0, 1.0, late) > 0


def test_a_fresh_film_has_it_all_and_no_time_takes_the_last_of_it() -> None:
    assert share_left(1e-12, 1e-3, 0) == 1
    assert time_to_share(1e-12, 1e-3, 1) == 0
    for share in (0, -0.1, 1.1, float("nan")):
        with pytest.raises(RangeError, match="never none"):
            time_to_share(1e-12, 1e-3, share)


def test_films_that_cannot_be_are_refused() -> None:
    with pytest.raises(RangeError, match="above 0"):
        share_left(0, 1e-3, 60)
    with pytest.raises(RangeError, match="above 0"):
        half_time(1e-12, 0)
    with pytest.raises(RangeError, match="time only grows"):
        share_left(1e-12, 1e-3, -1)
    for share, seconds in ((1, 60), (0, 60), (0.5, 0)):
        with pytest.raises(RangeError, match="between 0 and 1"):
            diffusivity_from(share, 1e-3, seconds)
