"""The word to coat, against faces that fall, stand, lag and lie."""

from math import exp, inf, nextafter
from random import Random

import pytest

from controller.batch.coat_moment import (
    DEFAULT_COAT_WINDOW,
    CoatMoment,
    CoatWindow,
    Moment,
    coat_moment,
    draw_to_come,
    face_without_lag,
    falling,
)
from controller.batch.signals import Sample
from controller.errors import InputError
from controller.science import pores


def quantised(value: float) -> float:
    return round(value * 16) / 16


def fall(start: float, slope: float, seconds: int, noise: float = 0.0) -> list[Sample]:
    random = Random(7)
    return [
        Sample(quantised(start + slope * at + random.gauss(0, noise)), float(at))
        for at in range(seconds + 1)
    ]


def moment(**changes: object) -> CoatMoment:
    facts: dict[str, object] = {
        "window": DEFAULT_COAT_WINDOW,
        "lamp_commanded": False,
        "lamp_fed": None,
        "face": 308.15,
        "is_falling": True,
        "seconds_left": 90.0,
        "draw_left": 0.5,
    }
    return coat_moment(**(facts | changes))  # type: ignore[arg-type]


def test_a_fast_and_a_slow_fall_are_both_seen_through_a_sixteenth_of_a_kelvin() -> None:
    assert falling(fall(311.0, -10 / 60, 30), now=30)
    assert falling(fall(309.0, -0.7 / 60, 60), now=60)


@pytest.mark.parametrize("slope", [0.0, 0.01, 0.3])
def test_a_face_that_stands_or_rises_is_not_falling(slope: float) -> None:
    assert not falling(fall(309.0, slope, 60), now=60)


def test_noise_on_a_standing_face_is_hardly_ever_a_fall() -> None:
    random = Random(3)
    flat = [Sample(quantised(309.0 + random.gauss(0, 0.1)), float(at)) for at in range(3000)]
    called = sum(falling(flat[at - 30 : at + 1], now=at) for at in range(30, 3000))
    # Four standard errors, ten samples: some 2 in 1000 by the t distribution.
    assert called < 15


def test_one_low_sample_is_no_fall() -> None:
    samples = [*fall(309.0, 0.0, 29), Sample(306.0, 30.0)]
    assert not falling(samples, now=30)


def test_repeats_of_one_measurement_and_old_ones_tell_nothing() -> None:
    stuck = [Sample(309.0 - 0.1 * i, 5.0) for i in range(30)]
    assert not falling(stuck, now=10)
    assert not falling(fall(311.0, -0.1, 30), now=41)
    assert face_without_lag(fall(311.0, -0.1, 30), now=41, lag=10) is None
    assert not falling([], now=0)


def test_a_probe_read_every_five_seconds_is_enough() -> None:
    assert falling(fall(311.0, -0.05, 60)[::5], now=60)


def test_a_lagging_probe_after_lamp_off_is_not_believed_early() -> None:
    # The face falls from 314 K from 60 s on; the probe, 10 s behind, was still on its way up.
    probe, samples, first = 309.0, [], None
    for at in range(140):
        face = 314.0 if at < 60 else 309.0 + 5.0 * exp(-(at - 60) / 40)
        probe += (face - probe) * (1 - exp(-1 / 10))
        samples.append(Sample(quantised(probe), float(at)))
        if first is None and falling(samples, now=at):
            first = at
    assert first is not None
    assert 60 < first <= 70


def test_the_lag_is_taken_off_a_steady_fall() -> None:
    # A first-order probe runs behind a steady fall by lag x slope, here 10 s x 0.1 K/s.
    face = face_without_lag(fall(311.0, -0.1, 30), now=30, lag=10)
    assert face == pytest.approx(308.0 - 1.0, abs=0.1)


def test_coat_now_needs_the_lamp_proved_off_the_window_and_a_fall() -> None:
    assert moment().moment is Moment.NOW
    assert moment(lamp_fed=False).moment is Moment.NOW
    assert moment(lamp_commanded=True).moment is Moment.NOT_YET
    assert moment(lamp_fed=True).moment is Moment.NOT_YET
    assert moment(is_falling=False).moment is Moment.NOT_YET
    assert moment(face=311.16).moment is Moment.NOT_YET
    assert moment(face=311.15).moment is Moment.NOW
    assert moment(face=305.15).moment is Moment.NOW


def test_under_the_window_it_is_late_and_says_what_is_left() -> None:
    late = moment(face=305.0, is_falling=False, seconds_left=90.0)
    assert (late.moment, late.seconds_left, late.draw_left) == (Moment.LATE, 0.0, 0.5)
    assert moment(face=305.0, lamp_fed=True).moment is Moment.NOT_YET


def test_a_window_upside_down_is_refused() -> None:
    with pytest.raises(InputError, match="upside down"):
        CoatWindow(bottom=311.15, top=305.15)


def test_the_draw_falls_from_all_to_nothing() -> None:
    # Contraction 50 to 20 degC over wood at 8 %: 13.9 % (derived from the ideal gas law and the
    # wood's vapour; air alone gives 9.3 %).
    assert pores.draw(323.15, 293.15, 101_325, 0.08) == pytest.approx(0.139, abs=0.002)
    assert draw_to_come(323.15, 323.15, 293.15, 101_325, 0.08) == 1.0
    later = [draw_to_come(323.15, t, 293.15, 101_325, 0.08) for t in (318, 308, 298)]
    assert sorted(later, reverse=True) == later
    assert draw_to_come(323.15, 293.15, 293.15, 101_325, 0.08) == 0.0
    assert draw_to_come(290.0, 289.0, 293.15, 101_325, 0.08) == 0.0


def test_an_estimate_that_rose_after_lamp_off_has_all_its_draw_left() -> None:
    assert draw_to_come(310.0, 310.4, 293.15, 101_325, 0.08) == 1.0


def test_a_board_a_rounding_error_above_the_room_has_nothing_left_to_draw() -> None:
    """No source needed: nothing cools, nothing shrinks."""
    room = 311.240234375
    assert draw_to_come(room, nextafter(room, inf), room, 101_325.0, 0.08) == 0.0
