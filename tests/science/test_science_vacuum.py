"""Pump and leak against worked cases, and the fits against readings whose leak is known."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import INCH_OF_MERCURY
from controller.science.vacuum import (
    equilibrium_pressure,
    flow_as_standard_ml_per_min,
    leak_flow,
    pump_down_pressure,
    pump_down_time,
    rise_curve,
    straight_and_fading,
    straight_line,
    straight_line_with_drift,
)

LITRE = 1e-3
MBAR = 100.0


# Derived: V dp/dt = -S (p - p_u) solved by scipy's solve_ivp, a different road to the same law
# (Leybold, Fundamentals of Vacuum Technology, chapter 2; from memory, to be checked).
@pytest.mark.parametrize(
    ("litres", "litres_a_second", "ultimate", "seconds", "mbar"),
    [(20, 1, 1, 60, 51.397), (5, 1, 20, 15, 69.451), (5, 0.5, 20, 60, 22.462)],
)
def test_a_tight_bag_comes_down_as_the_integrated_law_says(
    litres: float, litres_a_second: float, ultimate: float, seconds: float, mbar: float
) -> None:
    pressure = pump_down_pressure(
        seconds, 1013.25 * MBAR, ultimate * MBAR, litres_a_second * LITRE, litres * LITRE
    )
    assert pressure / MBAR == pytest.approx(mbar, abs=0.001)


def test_pumping_20_litres_to_100_mbar_takes_46_and_a_half_seconds() -> None:
    # Derived, scipy's brentq on the same law: 46.4962 s.
    seconds = pump_down_time(10_000, 101_325, 100, LITRE, 20 * LITRE)
    assert seconds == pytest.approx(46.4962, abs=0.0005)


def test_one_decade_costs_2_3_times_volume_over_speed() -> None:
    # Leybold's rule of thumb, 2.3 V/S a decade; from memory, to be checked.
    assert pump_down_time(1000, 10_000, 0, 1.0, 1.0) == pytest.approx(2.302585, abs=1e-6)


@given(
    ultimate=st.floats(1, 5e3),
    share=st.floats(0.001, 1),
    speed=st.floats(1e-4, 1e-2),
    volume=st.floats(1e-3, 0.1),
)
@settings(deadline=None)
def test_pumping_for_the_pump_down_time_arrives_at_the_target(
    ultimate: float, share: float, speed: float, volume: float
) -> None:
    target = ultimate + share * (101_325 - ultimate)
    seconds = pump_down_time(target, 101_325, ultimate, speed, volume)
    reached = pump_down_pressure(seconds, 101_325, ultimate, speed, volume)
    assert reached == pytest.approx(target, rel=1e-9)


@given(early=st.floats(0, 1e4), later=st.floats(0, 1e4))
@settings(deadline=None)
def test_pressure_only_falls_while_a_tight_bag_is_pumped(early: float, later: float) -> None:
    first, second = sorted((early, later))
    before = pump_down_pressure(first, 101_325, 2000, LITRE, 5 * LITRE)
    after = pump_down_pressure(second, 101_325, 2000, LITRE, 5 * LITRE)
    assert 2000 <= after <= before <= 101_325


def test_a_target_the_pump_never_reaches_is_refused() -> None:
    for target in (2000, 1500, 102_000):
        with pytest.raises(RangeError, match="never quite"):
            pump_down_time(target, 101_325, 2000, LITRE, 5 * LITRE)


def test_a_pump_without_speed_or_a_start_below_the_ultimate_is_refused() -> None:
    for start, ultimate, speed, volume in (
        (101_325, 2000, 0, 0.005),
        (101_325, 2000, 0.001, 0),
        (1000, 2000, 0.001, 0.005),
        (101_325, -1, 0.001, 0.005),
    ):
        with pytest.raises(RangeError, match="speed and volume"):
            pump_down_pressure(10, start, ultimate, speed, volume)
    with pytest.raises(RangeError, match="forward"):
        pump_down_pressure(-1, 101_325, 2000, LITRE, 5 * LITRE)


def test_a_leaking_bag_settles_above_the_pumps_ultimate() -> None:
    # Derived, steady state of solve_ivp: 12.822 mbar from 10 mbar, 2.822 mbar l/s and 1 l/s.
    settled = equilibrium_pressure(10 * MBAR, 2.822 * MBAR * LITRE, LITRE)
    assert settled / MBAR == pytest.approx(12.822, abs=0.001)
    with pytest.raises(RangeError, match="balance"):
        equilibrium_pressure(1000, 0.2, 0)


# A bag of 5 litres at three published limits: a worked drop test of a laminator's guide (0.09 inHg
# in 5 min), its limit (1 inHg in 5 min), and US Army TM 1-1500-204-23-11 (1 inHg in 1 min).
@pytest.mark.parametrize(
    ("inches", "seconds", "mbar_litres"), [(0.09, 300, 0.0508), (1, 300, 0.5644), (1, 60, 2.822)]
)
def test_rise_of_a_shut_bag_gives_its_leak(
    inches: float, seconds: float, mbar_litres: float
) -> None:
    flow = leak_flow(5 * LITRE, inches * INCH_OF_MERCURY / seconds)
    assert flow / (MBAR * LITRE) == pytest.approx(mbar_litres, rel=0.001)
    with pytest.raises(RangeError, match="volume"):
        leak_flow(0, 1)


def test_a_leak_in_standard_millilitres_matches_a_printed_table() -> None:
    # A leak detector maker's conversion table: 1 mbar l/s is 59.2 cm3/min, gas and count at one
    # temperature and 1013 mbar; printed to 0.1.
    assert flow_as_standard_ml_per_min(0.1, 293.15) == pytest.approx(59.2, abs=0.05)


def test_a_warm_bag_leaks_fewer_molecules_for_the_same_rise() -> None:
    warm = flow_as_standard_ml_per_min(0.1, 313.15)
    assert warm / flow_as_standard_ml_per_min(0.1, 293.15) == pytest.approx(293.15 / 313.15)
    with pytest.raises(RangeError, match="above 0 K"):
        flow_as_standard_ml_per_min(0.1, 0)


def test_the_straight_line_of_five_readings_and_its_error() -> None:
    # Worked by hand: means 2 and 14; sums of squares 10, of products 19; slope 1.9;
    # residuals -0.2 0.9 -1.0 0.1 0.2, their squares 1.90; scatter sqrt(1.9/3), error over sqrt(10).
    line = straight_line([0, 1, 2, 3, 4], [10, 13, 13, 16, 18])
    assert line.rate == pytest.approx(1.9)
    assert line.start == pytest.approx(10.2)
    assert line.scatter == pytest.approx((1.9 / 3) ** 0.5)
    assert line.rate_error == pytest.approx((0.19 / 3) ** 0.5)


@given(start=st.floats(500, 5e4), rate=st.floats(-5, 5), zero=st.floats(0, 1e5))
@settings(deadline=None)
def test_readings_without_noise_give_their_line_back(
    start: float, rate: float, zero: float
) -> None:
    times = [zero + 2.0 * step for step in range(60)]
    line = straight_line(times, [start + rate * (t - zero) for t in times])
    assert line.rate == pytest.approx(rate, abs=1e-6)
    assert line.start + line.rate * zero == pytest.approx(start, rel=1e-6)
    assert line.rate_error < 1e-6


def test_leak_and_fading_vapour_are_told_apart() -> None:
    # A made-up stretch of 10 minutes whose leak is known, 0.02 mbar/s beside 8 mbar of vapour.
    times = [float(t) for t in range(0, 601, 5)]
    readings = [rise_curve(t, 1000, leak_rate=2, fading=800, time_constant=90) for t in times]
    fit = straight_and_fading(times, readings, time_constant=90)
    assert fit.rate == pytest.approx(2, abs=1e-6)
    assert fit.other == pytest.approx(800, abs=1e-4)
    assert fit.start == pytest.approx(1000, abs=1e-4)
    # The plain line calls the vapour a leak: this is what the second part is for.
    assert straight_line(times, readings).rate > 2.5


def test_the_right_time_constant_leaves_the_least_scatter() -> None:
    times = [float(t) for t in range(0, 601, 5)]
    readings = [rise_curve(t, 1000, 2, 800, 90) for t in times]
    tried = {tau: straight_and_fading(times, readings, tau).scatter for tau in (30, 60, 90, 150)}
    assert min(tried, key=tried.__getitem__) == 90


def test_a_drift_of_the_film_is_taken_out_of_the_leak() -> None:
    # A film that warms and cools with the heater, 35 Pa/K, over a leak of 0.3 Pa/s.
    times = [float(t) for t in range(0, 300, 10)]
    film = [298.0 + (t % 70) / 30 for t in times]
    readings = [9000 + 0.3 * t + 35 * (k - 298.0) for t, k in zip(times, film, strict=True)]
    fit = straight_line_with_drift(times, readings, film)
    assert fit.rate == pytest.approx(0.3, abs=1e-9)
    assert fit.other == pytest.approx(35, abs=1e-6)
    assert fit.start == pytest.approx(9000, abs=1e-6)


def test_error_of_the_two_part_fit_worked_by_hand() -> None:
    # Two parts in orthogonal noise (3, -3, -3, 3): four readings, three unknowns, scatter
    # sqrt(36 / 1); sums of squares tt 5, xx 1, tx 1, so the slope's error is 6 sqrt(1 / 4).
    fit = straight_line_with_drift([0, 1, 2, 3], [103, 106, 101, 116], [0, 1, 0, 1])
    assert fit.rate == pytest.approx(2)
    assert fit.other == pytest.approx(7)
    assert fit.scatter == pytest.approx(6)
    assert fit.rate_error == pytest.approx(3)


def test_too_short_a_stretch_makes_the_leak_doubtful() -> None:
    # Noise of 5 Pa, the same up-and-down in both; only the stretch differs.
    def error(last: int) -> float:
        times = [last * step / 60 for step in range(61)]
        readings = [
            rise_curve(t, 1000, 2, 800, 90) + (5 if i % 2 else -5) for i, t in enumerate(times)
        ]
        return straight_and_fading(times, readings, 90).rate_error

    assert error(45) > 20 * error(600)


@given(noise=st.lists(st.floats(-20, 20), min_size=40, max_size=40))
@settings(deadline=None)
def test_a_constant_second_part_is_refused_whatever_the_noise(noise: list[float]) -> None:
    times = [float(t) for t in range(40)]
    with pytest.raises(RangeError, match="alike"):
        straight_line_with_drift(times, [5000 + n for n in noise], [300.0] * 40)


def test_a_drift_straight_in_time_cannot_be_told_from_a_leak() -> None:
    times = [float(t) for t in range(40)]
    with pytest.raises(RangeError, match="alike"):
        straight_line_with_drift(times, times, [300 + 0.01 * t for t in times])


def test_fits_refuse_too_few_or_unlike_readings() -> None:
    with pytest.raises(RangeError, match="at least 3"):
        straight_line([0, 1], [5, 6])
    with pytest.raises(RangeError, match="as many"):
        straight_line([0, 1, 2], [5, 6])
    with pytest.raises(RangeError, match="without time"):
        straight_line([7, 7, 7], [5, 6, 7])
    with pytest.raises(RangeError, match="at least 4"):
        straight_and_fading([0, 1, 2], [5, 6, 7], 90)
    with pytest.raises(RangeError, match="drift values"):
        straight_line_with_drift([0, 1, 2, 3], [5, 6, 7, 8], [300])
    with pytest.raises(RangeError, match="time constant"):
        straight_and_fading([0, 1, 2, 3], [5, 6, 7, 8], 0)
    with pytest.raises(RangeError, match="time only goes forward"):
        rise_curve(-1, 1000, 2, 800, 90)
