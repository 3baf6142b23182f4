"""Heat in a board against the textbook table, exact solutions, and an energy balance."""

from math import exp, inf, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stepped_soak import forecast_soak, seconds_to_mean, seconds_to_reach

from controller.errors import RangeError
from controller.science.slab import (
    NODES,
    Slab,
    SlabStep,
    mean_temperature,
    shares,
    spacings,
    steady_back,
    steady_face,
    steady_mean,
)
from controller.science.slab_forecast import COOLING_STEP
from controller.science.slab_series import (
    cooling_coefficient,
    cooling_ratio,
    cooling_roots,
    equalisation_time,
    front_minus_back,
    front_minus_mean,
    heating_rate,
)

MAPLE = Slab(0.020, 0.1614, 685.4, 1574.5, 0.0, 0.0)
"""Specific gravity 0.63 at 8 %: conductivity, density and heat capacity by the Wood Handbook."""
BOARD = Slab(0.020, 0.159, 670.0, 1559.0, 11.0, 6.0)
ROOM = 291.15


# Incropera & DeWitt table 5.1 (from memory, to be checked), four printed decimals.
@pytest.mark.parametrize(
    ("biot", "root"),
    [
        (0.05, 0.2217),
        (0.1, 0.3111),
        (0.2, 0.4328),
        (0.5, 0.6533),
        (1.0, 0.8603),
        (2.0, 1.0769),
        (5.0, 1.3138),
    ],
)
def test_the_first_root_is_the_tables(biot: float, root: float) -> None:
    assert cooling_roots(biot, 1)[0] == pytest.approx(root, abs=0.00011)


# The same table; its last digit is off by up to 0.0011.
@pytest.mark.parametrize(
    ("biot", "coefficient"),
    [
        (0.01, 1.0017),
        (0.05, 1.0082),
        (0.2, 1.0311),
        (0.5, 1.0701),
        (1.0, 1.1191),
        (2.0, 1.1785),
        (5.0, 1.2402),
    ],
)
def test_the_first_coefficient_is_the_tables(biot: float, coefficient: float) -> None:
    root = cooling_roots(biot, 1)[0]
    assert cooling_coefficient(root) == pytest.approx(coefficient, abs=0.0011)


# Worked with 40 terms and, apart from that, by a method of lines with 400 cells; to 0.0002.
COOLED = [
    (0.5, 0.5, 0.0, 0.86411),
    (1.0, 0.2, 0.0, 0.95064),
    (1.0, 1.0, 0.0, 0.53386),
    (10.0, 0.1, 0.0, 0.96842),
    (0.5, 0.5, 1.0, 0.68688),
    (0.6, 0.9, 1.0, 0.52648),
    (1.0, 1.0, 1.0, 0.34818),
    (10.0, 0.1, 1.0, 0.17057),
]


@pytest.mark.parametrize(("biot", "fourier", "position", "ratio"), COOLED)
def test_the_series_cools_as_worked(
    biot: float, fourier: float, position: float, ratio: float
) -> None:
    assert cooling_ratio(biot, fourier, position) == pytest.approx(ratio, abs=0.0002)


@pytest.mark.parametrize(
    ("biot", "fourier", "ratio"), [(b, f, r) for b, f, x, r in COOLED if x == 1.0]
)
def test_the_numeric_slab_cools_as_the_series(biot: float, fourier: float, ratio: float) -> None:
    h = biot * BOARD.conductivity / (BOARD.thickness / 2)
    slab = Slab(BOARD.thickness, BOARD.conductivity, BOARD.density, BOARD.heat_capacity, h, h)
    seconds = fourier * (BOARD.thickness / 2) ** 2 / BOARD.diffusivity
    step = SlabStep(slab, seconds / 200)
    nodes = [1.0] * NODES
    for _ in range(200):
        nodes = step.advance(nodes, 0.0, 0.0)
    # Sixteen graded nodes: half a per cent of the start.
    assert nodes[0] == pytest.approx(ratio, abs=0.005)
    assert nodes == pytest.approx(nodes[::-1], abs=1e-9)


# Derived, q L / 2 k and q L / 3 k, and found alike by an independent method of lines.
@pytest.mark.parametrize(
    ("flux", "thickness", "back", "mean"),
    [(490, 0.020, 30.36, 20.24), (300, 0.020, 18.59, 12.39), (490, 0.012, 18.21, 12.14)],
)
def test_a_lined_board_warms_with_this_gap(
    flux: float, thickness: float, back: float, mean: float
) -> None:
    assert front_minus_back(flux, thickness, 0.1614) == pytest.approx(back, abs=0.05)
    assert front_minus_mean(flux, thickness, 0.1614) == pytest.approx(mean, abs=0.05)
    slab = Slab(thickness, 0.1614, MAPLE.density, MAPLE.heat_capacity, 0.0, 0.0)
    step, nodes = SlabStep(slab, 10.0), [0.0] * NODES
    for _ in range(400):
        nodes = step.advance(nodes, flux, 0.0)
    assert nodes[0] - nodes[-1] == pytest.approx(back, abs=0.05)
    # The nodes' own mean, straight lines between them, is a little above the true one.
    assert nodes[0] - mean_temperature(nodes, thickness) == pytest.approx(mean, abs=0.15)


def test_heating_rate_and_equalisation_time_of_the_maple_board() -> None:
    # 1.362 K/min and 271.0 s, derived; density and heat capacity as rounded above.
    assert 60 * heating_rate(490.0, MAPLE) == pytest.approx(1.362, abs=0.005)
    assert equalisation_time(0.020, MAPLE.diffusivity) == pytest.approx(271.0, abs=0.5)


def lined_face(seconds: float, flux: float, slab: Slab) -> float:
    """Rise of a lined slab's face under a constant flux, [K]: Carslaw & Jaeger's series, and the
    half-space of the first moments, where the series is slow."""
    fourier = slab.diffusivity * seconds / slab.thickness**2
    if fourier < 0.01:
        effusivity = sqrt(slab.conductivity * slab.density * slab.heat_capacity)
        return 2 * flux * sqrt(seconds / pi) / effusivity
    fading = sum(exp(-fourier * (n * pi) ** 2) / n**2 for n in range(1, 40))
    resistance = slab.thickness / slab.conductivity
    return flux * seconds / slab.heat_content + flux * resistance * (1 / 3 - 2 / pi**2 * fading)


@pytest.mark.parametrize("thickness", [0.006, 0.012, 0.020, 0.025, 0.040])
def test_the_face_follows_a_relay_within_a_fifth_of_a_kelvin_at_one_second_steps(
    thickness: float,
) -> None:
    slab = Slab(thickness, 0.159, 670.0, 1559.0, 0.0, 0.0)
    step, nodes = SlabStep(slab, 1.0), [0.0] * NODES
    worst = 0.0
    for now in range(1, 601):
        nodes = step.advance(nodes, 0.0 if (now - 1) // 30 % 2 else 1000.0, 0.0)
        exact = sum(
            (-1) ** i * lined_face(now - start, 1000.0, slab)
            for i, start in enumerate(range(0, now, 30))
        )
        worst = max(worst, abs(nodes[0] - exact))
    assert worst < 0.2


@given(
    thickness=st.floats(0.004, 0.06),
    seconds=st.floats(0.5, 600.0),
    flux=st.floats(0.0, 1500.0),
    steps=st.integers(1, 20),
)
@settings(max_examples=50, deadline=None)
def test_a_lined_board_keeps_every_joule(
    thickness: float, seconds: float, flux: float, steps: int
) -> None:
    slab = Slab(thickness, 0.159, 670.0, 1559.0, 0.0, 0.0)
    step, nodes = SlabStep(slab, seconds), [290.0] * NODES
    for _ in range(steps):
        nodes = step.advance(nodes, flux, 290.0)
    rise = heating_rate(flux, slab) * seconds * steps
    assert mean_temperature(nodes, thickness) - 290.0 == pytest.approx(rise, rel=1e-6, abs=1e-6)


def test_the_grid_is_the_same_from_either_side_and_fills_the_board() -> None:
    for thickness in (0.004, 0.02, 0.06):
        gaps = spacings(thickness, NODES)
        assert sum(gaps) == pytest.approx(thickness)
        assert gaps == pytest.approx(gaps[::-1])
        assert sum(shares(thickness, NODES)) == pytest.approx(1.0)


def test_a_lamp_on_for_ever_ends_at_the_steady_state() -> None:
    step, nodes = SlabStep(BOARD, 600.0), [ROOM] * NODES
    for _ in range(60):
        nodes = step.advance(nodes, 500.0, ROOM)
    face = steady_face(500.0, ROOM, 11.0, 6.0, 0.159, 0.020)
    assert nodes[0] == pytest.approx(face, abs=0.01)
    assert nodes[-1] == pytest.approx(steady_back(face, ROOM, 6.0, 0.159, 0.020), abs=0.01)
    assert mean_temperature(nodes, 0.020) == pytest.approx(
        steady_mean(face, ROOM, 6.0, 0.159, 0.020), abs=0.01
    )
    # Both ways out carry what came in.
    assert 11.0 * (nodes[0] - ROOM) + 6.0 * (nodes[-1] - ROOM) == pytest.approx(500.0, rel=1e-3)


def test_a_lined_back_is_as_warm_as_its_face() -> None:
    assert steady_back(320.0, ROOM, 0.0, 0.159, 0.020) == 320.0
    with pytest.raises(RangeError, match="no steady face"):
        steady_face(500.0, ROOM, 0.0, 0.0, 0.159, 0.020)


def test_cold_air_behind_cools_the_back_alone() -> None:
    nodes = SlabStep(BOARD, 60.0).advance([ROOM] * NODES, 0.0, ROOM, back_air=ROOM - 20)
    assert nodes[-1] < ROOM - 0.5
    assert nodes[0] == pytest.approx(ROOM, abs=0.01)


def test_the_band_is_reached_when_the_half_space_says() -> None:
    # Little is lost in the first seconds: t = pi (dT e / 2 q)^2, 2 K at 1000 W/m2.
    still = Slab(0.020, 0.159, 670.0, 1559.0, 0.0, 0.0)
    effusivity = sqrt(0.159 * 670.0 * 1559.0)
    for rise in (6.0, 14.0):
        exact = pi * (rise * effusivity / 2000.0) ** 2
        found = seconds_to_reach(still, ROOM, ROOM, 1000.0, ROOM + rise, 600.0)
        assert found == pytest.approx(exact, abs=0.6)


def test_a_face_out_of_reach_is_never_and_one_there_already_is_now() -> None:
    assert seconds_to_reach(BOARD, ROOM, ROOM, 250.0, ROOM + 30, 14400.0) == inf
    assert seconds_to_reach(BOARD, ROOM, ROOM, 1000.0, ROOM + 20, 10.0) == inf
    assert seconds_to_reach(BOARD, ROOM, ROOM, 1000.0, ROOM, 10.0) == 0.0
    assert seconds_to_mean(BOARD, ROOM, ROOM, 1000.0, 311.15, ROOM - 1, 10.0) == 0.0
    assert seconds_to_mean(BOARD, ROOM, ROOM, 1000.0, 311.15, 310.0, 7200.0) == inf


def test_the_mean_needs_far_longer_than_the_face() -> None:
    face = seconds_to_reach(BOARD, ROOM, ROOM, 1000.0, 305.15, 7200.0)
    mean = seconds_to_mean(BOARD, ROOM, ROOM, 1000.0, 311.15, 305.15, 7200.0)
    hotter = seconds_to_mean(BOARD, ROOM, ROOM, 1000.0, 318.15, 305.15, 7200.0)
    assert face < 60 < hotter < mean < 7200


def test_a_soak_ends_where_the_held_face_lets_the_board_settle() -> None:
    long = forecast_soak(BOARD, ROOM, ROOM, 1000.0, 313.0, 317.0, 40_000.0, 60.0, 3600.0)
    assert long.reached
    assert long.face_at_off == pytest.approx(315.0, abs=0.01)
    assert long.mean_at_off == pytest.approx(steady_mean(315.0, ROOM, 6.0, 0.159, 0.020), abs=0.02)
    # Held, the lamp only replaces what both sides lose.
    lost = 11.0 * (315.0 - ROOM) + 6.0 * (long.back_at_off - ROOM)
    assert long.lamp_seconds / 40_000 == pytest.approx(lost / 1000.0, rel=0.05)


def test_a_longer_or_hotter_soak_keeps_the_face_warm_longer() -> None:
    def shut(band: float, minutes: float) -> float:
        return forecast_soak(
            BOARD, ROOM, ROOM, 1000.0, band - 2, band + 2, 60 * minutes, 900.0, 3600.0
        ).seconds_until_below(305.15)

    assert shut(315.0, 5) < shut(315.0, 15) < shut(315.0, 40) < shut(319.0, 40)


def test_the_cooling_curve_is_read_between_its_points() -> None:
    soak = forecast_soak(BOARD, ROOM, ROOM, 1000.0, 313.0, 317.0, 900.0, 301.0, 3600.0)
    assert soak.face_after(0.0) == soak.face_at_off == soak.cooling[0]
    assert soak.face_after(3.0) == pytest.approx((soak.cooling[1] + soak.cooling[2]) / 2)
    assert soak.face_after(301.0) < soak.face_after(300.0)
    assert soak.seconds_until_below(soak.face_after(77.0)) == pytest.approx(77.0)
    assert soak.seconds_until_below(soak.face_at_off) == 0.0
    assert soak.seconds_until_below(ROOM) == inf
    with pytest.raises(RangeError, match="outside a forecast"):
        soak.face_after(301.0 + 2 * COOLING_STEP)


def test_a_weak_lamp_is_forecast_as_not_reaching_the_band() -> None:
    weak = forecast_soak(BOARD, ROOM, ROOM, 250.0, 313.0, 317.0, 900.0, 60.0, 3600.0)
    assert not weak.reached
    assert weak.seconds_to_band == inf
    assert weak.lamp_seconds == 0.0
    late = forecast_soak(BOARD, ROOM, ROOM, 420.0, 313.0, 317.0, 900.0, 60.0, 300.0)
    assert not late.reached
    assert late.lamp_seconds == pytest.approx(300.0)
    assert ROOM < late.face_at_off < 313.0


def test_a_board_in_the_band_already_starts_its_soak_at_once() -> None:
    soak = forecast_soak(BOARD, 314.0, ROOM, 1000.0, 313.0, 317.0, 600.0, 60.0, 3600.0)
    assert soak.seconds_to_band == 0.0
    assert soak.face_at_off == pytest.approx(315.0, abs=0.01)


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(RangeError, match="no board"):
        Slab(0.0, 0.159, 670.0, 1559.0, 11.0, 6.0)
    with pytest.raises(RangeError, match="film coefficients"):
        Slab(0.020, 0.159, 670.0, 1559.0, -1.0, 6.0)
    with pytest.raises(RangeError, match="goes nowhere"):
        SlabStep(BOARD, 0.0)
    with pytest.raises(RangeError, match="too few"):
        SlabStep(BOARD, 1.0, nodes=2)
    with pytest.raises(RangeError, match="no roots"):
        cooling_roots(0.0, 1)
    with pytest.raises(RangeError, match="Fo"):
        cooling_ratio(1.0, 0.001, 0.0)
    with pytest.raises(RangeError, match="upside down"):
        forecast_soak(BOARD, ROOM, ROOM, 1000.0, 317.0, 313.0, 900.0, 60.0, 3600.0)
    with pytest.raises(RangeError, match="0 or more"):
        forecast_soak(BOARD, ROOM, ROOM, 1000.0, 313.0, 317.0, -1.0, 60.0, 3600.0)
