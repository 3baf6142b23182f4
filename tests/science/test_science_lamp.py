"""A lamp against its own beam added up, Planck's law, and the balance of a lit face."""

from math import cos, exp, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.face_loss import (
    WOOD_EMISSIVITY,
    free_convection_up,
    plate_size,
    radiation_loss,
)
from controller.science.lamp import (
    ABSORPTIVITY,
    BEAM_HALF_ANGLE,
    FILAMENT,
    LAMP_EFFICIENCY,
    beam_exponent,
    blackbody_fraction,
    irradiance,
    irradiance_of_lamps,
    steady_face_under,
    wien_peak,
)
from controller.science.slab import steady_face

SHOP = ZERO_CELSIUS + 20
BOARD = plate_size(0.3, 0.2)
NARROW = beam_exponent(BEAM_HALF_ANGLE)


# Derived: the beam integrated by scipy; efficiency and angle are estimates without a source, so
# this proves the geometry and not a lamp; half a watt.
@pytest.mark.parametrize(("distance", "watts"), [(0.3, 2186.6), (0.4, 1230.0), (0.6, 546.7)])
def test_a_250_watt_lamp_sends_this_much_straight_down(distance: float, watts: float) -> None:
    assert irradiance(250, LAMP_EFFICIENCY, distance, NARROW) == pytest.approx(watts, abs=0.5)


@given(angle=st.floats(0.05, 1.5))
@settings(deadline=None)
def test_the_beam_is_half_as_bright_at_its_half_angle(angle: float) -> None:
    assert cos(angle) ** beam_exponent(angle) == pytest.approx(0.5)


@given(angle=st.floats(0.2, 1.4), distance=st.floats(0.2, 2))
@settings(deadline=None)
def test_the_beam_added_up_over_the_half_sphere_is_the_power_that_leaves(
    angle: float, distance: float
) -> None:
    exponent, steps = beam_exponent(angle), 2000
    axis = irradiance(250, LAMP_EFFICIENCY, distance, exponent) * distance**2
    width = pi / 2 / steps
    rings = ((i + 0.5) * width for i in range(steps))
    power = sum(axis * cos(a) ** exponent * 2 * pi * sin(a) * width for a in rings)
    assert power == pytest.approx(250 * LAMP_EFFICIENCY, rel=0.001)


def test_the_rays_that_reach_a_wide_floor_are_all_of_them() -> None:
    # The same power found on the plane: rings of floor out to 200 distances; 0.5 %.
    axis, power, inner = irradiance(250, LAMP_EFFICIENCY, 1.0, NARROW), 0.0, 0.0
    while inner < 200:
        outer = inner * 1.01 + 0.001
        here = irradiance_of_lamps(axis, 1.0, [(inner + outer) / 2], NARROW)
        power += here * pi * (outer**2 - inner**2)
        inner = outer
    assert power == pytest.approx(250 * LAMP_EFFICIENCY, rel=0.005)


@given(aside=st.lists(st.floats(0, 1), max_size=5), distance=st.floats(0.2, 1))
@settings(deadline=None)
def test_lamps_add_up_and_none_gives_more_than_straight_under_it(
    aside: list[float], distance: float
) -> None:
    all_of_them = irradiance_of_lamps(1000, distance, aside, NARROW)
    one_by_one = sum(irradiance_of_lamps(1000, distance, [side], NARROW) for side in aside)
    assert all_of_them == pytest.approx(one_by_one)
    assert all_of_them <= 1000 * len(aside) * (1 + 1e-12)
    assert irradiance_of_lamps(1000, distance, [0.0, 0.0], NARROW) == pytest.approx(2000)


@given(distance=st.floats(0.1, 2), further=st.floats(1, 3))
@settings(deadline=None)
def test_twice_as_far_is_a_quarter(distance: float, further: float) -> None:
    near = irradiance(250, 0.85, distance, NARROW)
    assert irradiance(250, 0.85, distance * further, NARROW) == pytest.approx(near / further**2)


def test_a_filament_is_brightest_just_past_red() -> None:
    # Wien, 2897.77 um K (CODATA): 1.2074 um at 2400 K.
    assert 1e6 * wien_peak(FILAMENT) == pytest.approx(1.2074, abs=0.0002)


# Incropera and DeWitt, table 12.1, from memory, to be checked. Planck's law integrated by scipy has
# 0.01972, 0.36173 and 0.73779, so the table's older constants are 3e-5 off; 5e-5.
@pytest.mark.parametrize(
    ("micrometre_kelvin", "share"),
    [(1600, 0.019718), (3400, 0.361735), (6000, 0.737818), (500, 0.0)],
)
def test_a_black_body_sends_this_share_at_shorter_waves(
    micrometre_kelvin: float, share: float
) -> None:
    assert blackbody_fraction(1e-6 * micrometre_kelvin) == pytest.approx(share, abs=5e-5)


def planck(x: float) -> float:
    """Planck's law over x = c2 / (wavelength T), its whole area 1."""
    return 15 / pi**4 * x**3 / (exp(x) - 1)


@given(product=st.floats(1e-3, 0.4))
@settings(deadline=None, max_examples=30)
def test_the_share_is_the_area_under_plancks_curve(product: float) -> None:
    start, steps = 0.01438776877 / product, 4000
    width = (50 - start) / steps
    area = sum(planck(start + (i + 0.5) * width) for i in range(steps)) * width
    assert blackbody_fraction(product) == pytest.approx(area, abs=2e-6)


def test_the_two_roads_to_the_share_meet_and_it_ends_at_all() -> None:
    meet = 0.01438776877 / 0.05
    left, right = blackbody_fraction(meet * 0.999999), blackbody_fraction(meet * 1.000001)
    assert 0 <= right - left < 1e-9
    assert blackbody_fraction(0) == 0
    assert blackbody_fraction(1e3) == pytest.approx(1)


# Worked elsewhere with the McAdams plate of 0.2 by 0.3 m, emissivity 0.9, no loss through the back;
# printed to whole degrees, so 0.6 K and 0.3 K between two tables of air.
@pytest.mark.parametrize(
    ("distance", "faces"),
    [(0.3, (69, 80, 99)), (0.4, (50, 58, 70)), (0.5, (41, 46, 55)), (0.6, (35, 39, 46))],
)
def test_the_lit_face_settles_where_the_reference_has_it(
    distance: float, faces: tuple[int, int, int]
) -> None:
    sent = irradiance(250, LAMP_EFFICIENCY, distance, NARROW)
    for share, face in zip((0.31, 0.40, 0.57), faces, strict=True):
        found = steady_face_under(share * sent, SHOP, WOOD_EMISSIVITY, BOARD, 0, 0.16, 0.02)
        assert found - ZERO_CELSIUS == pytest.approx(face, abs=0.9)


@given(
    absorbed=st.floats(0, 1200),
    room=st.floats(270, 310),
    size=st.floats(0.02, 0.3),
    back=st.floats(0, 10),
    thickness=st.floats(0.003, 0.05),
)
@settings(deadline=None, max_examples=50)
def test_at_the_steady_face_what_goes_in_comes_out(
    absorbed: float, room: float, size: float, back: float, thickness: float
) -> None:
    face = steady_face_under(absorbed, room, 0.9, size, back, 0.16, thickness)
    film = free_convection_up(face, room, size)
    front = radiation_loss(0.9, face, room) + film * (face - room)
    # What enters the board leaves its back: two resistances in a row.
    through = (face - room) / (thickness / 0.16 + 1 / back) if back > 1e-6 else 0.0
    assert front + through == pytest.approx(absorbed, abs=0.01)
    # The board with films that do not change, as the planner has it, told these films.
    if absorbed > 1:
        same = steady_face(absorbed, room, front / (face - room), back, 0.16, thickness)
        assert same == pytest.approx(face, abs=0.01)


def test_more_light_or_less_way_out_makes_a_hotter_face() -> None:
    def face(absorbed: float, emissivity: float, back: float) -> float:
        return steady_face_under(absorbed, SHOP, emissivity, BOARD, back, 0.16, 0.02)

    assert face(300, 0.9, 6) < face(400, 0.9, 6) < face(400, 0.9, 0.5) < face(400, 0.5, 0.5)
    assert face(0, 0.9, 6) == pytest.approx(SHOP, abs=1e-5)


def test_the_band_of_absorptivity_is_in_order() -> None:
    # The abstract: 0.396, from 0.308 to 0.570; two digits are kept.
    assert (ABSORPTIVITY.low, ABSORPTIVITY.likely, ABSORPTIVITY.high) == pytest.approx(
        (0.308, 0.396, 0.570), abs=0.005
    )


def test_what_is_no_lamp_is_refused() -> None:
    for angle in (0, pi / 2, 30):
        with pytest.raises(RangeError, match="30 degrees"):
            beam_exponent(angle)
    with pytest.raises(RangeError, match="a share"):
        irradiance(250, 85, 0.3, 4.8)
    with pytest.raises(RangeError, match="distance above 0"):
        irradiance_of_lamps(1000, 0, [0.1], 4.8)
    with pytest.raises(RangeError, match="above 0 K"):
        wien_peak(0)
    with pytest.raises(RangeError, match="0 or more"):
        blackbody_fraction(-1)
    with pytest.raises(RangeError, match="move the lamp away"):
        steady_face_under(9000, SHOP, 0.9, BOARD, 0, 0.16, 0.02)
    with pytest.raises(RangeError, match="board above 0"):
        steady_face_under(300, SHOP, 0.9, BOARD, 0, 0.16, 0)
