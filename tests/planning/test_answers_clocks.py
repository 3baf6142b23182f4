"""What the sheet says of the clocks: gel, bed, opening, cured or cold, next coat, oil, food."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from cases import DAY, HOUR, SAPELE, C, Case, all_cases, case, keys, line, read
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.planning.answers.calendar_moments import moment
from controller.planning.answers.clocks import (
    SOONER,
    latest_start,
    section,
    until_bedtime,
)
from controller.planning.answers.cured_or_cold import conversion_by
from controller.planning.answers.film_course import (
    FOLLOWED,
    LONGEST,
    FilmCourse,
    evening_of,
    film_course,
    progress,
)
from controller.planning.answers.shop_night import ShopNight
from controller.planning.answers.two_laws import FULL_CURE, TwoLaws, two_laws
from controller.planning.cure_model import cure_model
from controller.planning.sheet import Resin
from controller.science.cure import glass_temperature

START = 'start = "2026-05-02 16:00"'
BY_DAY = (START, 'start = "2026-05-02 08:00"')
FAST = ('"laminating 2:1 slow"', '"laminating 2:1 fast"')
COLD = ('night_low = "16 C"', 'night_low = "6 C"')
FLAT = ('night_low = "16 C"', 'night_low = "20 C"')
OPEN = ("bagged = true", "bagged = false")
NEAT = (('thinner = "ethanol"', 'thinner = "none"'), ('thinner_share = "8 %"', ""))


def flat(celsius: float, asked: Case | None = None) -> FilmCourse:
    """A film that is at one temperature from mixing on."""
    asked = asked or case()
    night = ShopNight(room=C + celsius, low=C + celsius, starts_at=16.0)
    return FilmCourse(night, evening_of(asked.coat), C + celsius, above=0.0, settling=1800.0)


def ages(celsius: float, resin: Resin | None = None) -> TwoLaws:
    return two_laws(flat(celsius), resin or replace(case().coat.resin, coldest=C))


def test_at_the_reference_both_laws_tell_the_data_sheets_own_times():
    told = ages(23.0)
    mixed = evening_of(case().coat).mixed
    assert told.gel.early == pytest.approx(mixed + told.resin.gel_early)
    assert told.gel.late == pytest.approx(mixed + told.resin.gel_late)
    assert told.opening.late == pytest.approx(mixed + told.resin.open_late)


def test_a_day_at_ten_degrees_is_worth_eight_and_a_half_hours_at_twenty_three():
    # equivalent age, 55 kJ/mol: 8.6 h, worked in physics.md from the published form
    told = ages(10.0)
    mixed = evening_of(case().coat).mixed
    assert told.by_energy.by(mixed + DAY) / HOUR == pytest.approx(8.607, abs=0.01)


def test_ten_degrees_take_two_point_eight_times_as_long_as_twenty_three():
    # Arrhenius with 55 kJ/mol: 2.8, from 2.5 with 50 to 3.1 with 60; worked in physics.md
    resin = case().coat.resin
    assert resin.activation_energy == pytest.approx(55e3)
    mixed, cold = evening_of(case().coat).mixed, ages(10.0).by_energy
    reached = cold.reached(resin.gel_late)
    assert reached is not None
    assert (reached - mixed) / resin.gel_late == pytest.approx(2.8, abs=0.05)


@pytest.mark.parametrize("celsius", [20.0, 25.0])
def test_a_slow_bag_is_opened_about_twelve_to_twenty_four_hours_on(celsius):
    # trade: 12 to 24 h at 20 to 25 C with a slow hardener; common practice, no source. The two laws
    # widen that: no more than two hours early and, at its cool end, a quarter late
    told, mixed = ages(celsius).opening, evening_of(case().coat).mixed
    assert told.early is not None and told.late is not None
    assert 10 * HOUR < told.early - mixed < 14 * HOUR
    assert 22 * HOUR < told.late - mixed < 24 * 1.27 * HOUR


def test_the_weaker_law_gains_a_third_for_ten_degrees():
    # 1.3 times for 18 F: one maker's answers, common practice, no source
    told = ages(33.0)
    mixed = evening_of(case().coat).mixed
    assert told.by_film.by(mixed + HOUR) / HOUR == pytest.approx(1.3)
    assert told.by_energy.by(mixed + HOUR) / HOUR > 2.0


def test_in_the_cold_the_early_end_is_the_weaker_laws_and_the_late_end_the_other():
    told = ages(12.0)
    assert told.gel.early == told.by_film.reached(told.resin.gel_early)
    assert told.gel.late == told.by_energy.reached(told.resin.gel_late)
    warm = ages(33.0)
    assert warm.gel.early == warm.by_energy.reached(warm.resin.gel_early)
    assert warm.gel.late == warm.by_film.reached(warm.resin.gel_late)


def test_under_its_coldest_nothing_counts():
    resin = case().coat.resin
    told = ages(resin.coldest - C - 0.5, resin)
    assert told.gel.early is None
    assert told.full_cure.late is None
    assert ages(resin.coldest - C + 0.5, resin).gel.late is not None


def test_full_cure_is_a_week_at_twenty_to_twenty_five_and_about_two_at_fifteen():
    # common practice, no source: 7 days at 20 to 25 C, twice that at 15 C
    mixed = evening_of(case().coat).mixed
    for celsius in (20.0, 25.0):
        told = ages(celsius).full_cure
        assert told.early is not None and told.late is not None
        assert told.early <= mixed + FULL_CURE * (1 + 1e-9) and told.late >= mixed + FULL_CURE * (
            1 - 1e-9
        )
    cool = ages(15.0).full_cure
    assert cool.early is not None and cool.late is not None
    assert cool.early < mixed + 14 * DAY < cool.late


@given(
    room=st.floats(5, 30),
    fall=st.floats(0, 20),
    starts_at=st.floats(0, 23.99),
    amount=st.floats(60, 30 * DAY),
)
@settings(max_examples=60, deadline=None)
def test_when_and_how_much_are_inverse_also_past_the_second_day(room, fall, starts_at, amount):
    evening = evening_of(_ASH.coat)
    night = ShopNight(C + room, C + room - fall, starts_at)
    course = FilmCourse(night, evening, C + room, above=15.0, settling=1800.0)
    gained = progress(course.steps(), lambda kelvin: 1.02 ** (kelvin - C - 20))
    at = gained.reached(amount)
    if at is not None:
        assert evening.mixed <= at <= LONGEST
        assert gained.by(at) == pytest.approx(amount, rel=1e-9)


_ASH = case()


@given(starts_at=st.floats(0, 23.99), days=st.integers(2, 9), hour=st.floats(0, 24))
@settings(max_examples=40, deadline=None)
def test_the_days_leapt_over_are_the_days_stepped_through(starts_at, days, hour):
    # the same rate, once stepped for ten days and once for two with whole days added
    night = ShopNight(C + 20, C + 8, starts_at)
    course = FilmCourse(night, evening_of(_ASH.coat), C + 20, above=0.0, settling=600.0)

    def rate(kelvin: float) -> float:
        return max(kelvin - C - 12, 0.0)

    stepped, leapt = (progress(course.steps(long), rate) for long in (11 * DAY, FOLLOWED))
    at = days * DAY + hour * HOUR
    assert leapt.by(at) == pytest.approx(stepped.by(at), rel=2e-3)


def test_a_warm_board_gels_sooner_than_a_cold_one_would():
    asked = case(FLAT)
    warm = two_laws(film_course(asked.coat, asked.night, asked.cup), asked.coat.resin).gel
    cool = two_laws(flat(20.0, asked), asked.coat.resin).gel
    assert warm.late is not None and cool.late is not None
    # the board is 15 K warmer for about half an hour: not an hour's worth
    assert cool.late - HOUR < warm.late < cool.late


def test_moments_are_on_the_shops_calendar_where_a_start_is_told():
    told = moment(case(), 2 * HOUR, "own")
    # New York is four hours behind UTC in May
    assert told.kind == "clock"
    assert datetime.fromtimestamp(told.value, UTC) == datetime(2026, 5, 2, 22, 0, tzinfo=UTC)


def test_a_night_with_a_changed_clock_keeps_its_hours():
    # 1 November 2026: New York goes back an hour at two in the morning
    asked = case((START, 'start = "2026-10-31 22:00"'))
    told = moment(asked, 8 * HOUR, "own")
    began = datetime(2026, 11, 1, 2, 0, tzinfo=UTC)
    assert datetime.fromtimestamp(told.value, UTC) == began + timedelta(hours=8)


def test_moments_of_a_later_coat_or_without_a_start_count_from_lamp_on():
    second = all_cases(of=SAPELE)[1]
    for asked in (second, case((START, ""))):
        assert moment(asked, 5.0, "own").kind == "duration"
        gel = line(section(asked), "clocks.gel")
        assert gel.figures["late"].kind == "duration"
        assert "after lamp-on" in gel.text


def test_the_latest_start_gels_by_bedtime_and_a_later_one_does_not():
    asked = case(FAST)
    before = latest_start(asked)
    assert before is not None

    def gel_after(earlier: float) -> float:
        lit = datetime(2026, 5, 2, 22, 30) - timedelta(seconds=earlier)  # noqa: DTZ001
        late = line(section(case(FAST, (START, f'start = "{lit:%Y-%m-%d %H:%M}"'))), "clocks.gel")
        return late.figures["late"].value

    bed = datetime(2026, 5, 3, 2, 30, tzinfo=UTC).timestamp()
    assert gel_after(before) <= bed
    # what is lost by rounding and halving is under ten minutes
    assert gel_after(before - 2 * SOONER) > bed


def test_a_start_by_day_sleeps_and_one_in_the_evening_watches():
    early, late = section(case(BY_DAY)), section(case((START, 'start = "2026-05-02 20:00"')))
    assert not line(early, "clocks.sleep").care
    assert "sleep" in line(early, "clocks.sleep").text
    assert not line(early, "clocks.latest").care
    assert line(late, "clocks.sleep").care
    assert line(late, "clocks.latest").care


def test_a_start_after_bedtime_is_of_that_evening():
    asked = case((START, 'start = "2026-05-02 23:30"'))
    assert until_bedtime(asked) == pytest.approx(-HOUR)
    assert line(section(asked), "clocks.sleep").care


def test_a_hold_that_cannot_gel_by_bedtime_says_what_would_help():
    found = line(section(case(('room = "20 C"', 'room = "12.5 C"'), COLD)), "clocks.latest")
    assert found.care
    assert "faster hardener" in found.text


def test_a_colder_night_never_gels_or_opens_sooner():
    lows = [
        two_laws(film_course(each.coat, each.night, each.cup), each.coat.resin)
        for each in (
            case(('night_low = "16 C"', f'night_low = "{low} C"')) for low in (20, 16, 13, 8, 2)
        )
    ]
    for warmer, colder in pairwise(lows):
        assert warmer.gel.late is not None and colder.gel.late is not None
        assert warmer.gel.late <= colder.gel.late
        assert warmer.opening.late is not None and colder.opening.late is not None
        assert warmer.opening.late <= colder.opening.late


def test_a_night_under_the_coldest_warns_and_a_mild_one_does_not():
    assert line(section(case(COLD)), "clocks.stall").care
    assert "clocks.stall" not in keys(section(case()))


def test_a_shop_too_cold_to_set_says_so_everywhere():
    found = section(case(('room = "20 C"', 'room = "8 C"'), ('"16 C"', '"2 C"')))
    for key in ("clocks.gel", "clocks.sleep", "clocks.open", "clocks.latest", "clocks.food"):
        assert line(found, key).care, key


def test_a_film_that_gels_before_the_bag_is_shut_is_called_too_fast():
    fast = case(
        ('"laminating 2:1 slow"', '"laminating 1:1 fast"'), ('room = "20 C"', 'room = "28 C"')
    )
    assert line(section(fast), "clocks.hurry").care
    assert "clocks.hurry" not in keys(section(case()))


def test_a_cold_morning_is_hard_only_because_it_is_cold():
    cold = line(section(case(COLD)), "clocks.morning")
    assert cold.care
    assert "because it is cold" in cold.text
    assert cold.figures["then"].value > cold.figures["glass"].value
    assert "25.0 °C" in read(cold)


def test_a_warm_night_of_a_fast_resin_is_set_in_the_morning():
    warm = case(
        FAST, ('room = "20 C"', 'room = "25 C"'), ('night_low = "16 C"', 'night_low = "24 C"')
    )
    found = line(section(warm), "clocks.morning")
    assert not found.care
    assert "because it has set" in found.text


@pytest.mark.parametrize("celsius", [10.0, 15.0, 20.0])
def test_a_week_ends_as_glass_some_fifteen_degrees_above_the_shop(celsius):
    # trade writing: Tg runs about 15 C above cure temperature; the model is set by that at 23 C and
    # has to hold it elsewhere, to 5 K
    kinetics = cure_model(_ASH.coat.resin)
    reached = conversion_by(flat(celsius), kinetics, 7 * DAY)
    glass = glass_temperature(reached, kinetics.uncured, kinetics.cured, kinetics.curvature)
    assert glass - (C + celsius) == pytest.approx(15, abs=5)


def test_the_solvent_of_an_open_coat_leaves_in_the_time_of_its_row():
    # 5 %: 12 to 24 h at 20 C, common practice, no source; the warm board takes off under an hour
    thin = ('thinner_share = "8 %"', 'thinner_share = "5 %"')
    found = line(section(case(OPEN, FLAT, thin, (START, ""))), "clocks.flash_off").figures
    coated = evening_of(case(OPEN, thin).coat).coated
    assert coated + 11 * HOUR < found["early"].value <= coated + 12 * HOUR
    assert coated + 23 * HOUR < found["late"].value <= coated + 24 * HOUR


def test_under_a_bag_the_solvent_waits_for_the_opening():
    found = section(case((START, "")))
    out, opened = line(found, "clocks.flash_off").figures, line(found, "clocks.open").figures
    assert out["early"].value > opened["early"].value + DAY
    assert out["late"].value > opened["late"].value + DAY


def test_only_a_neat_open_coat_has_a_window_to_be_coated_again_untouched():
    neat = line(section(case(OPEN, *NEAT)), "clocks.recoat")
    assert "while it is tacky" in neat.text
    for asked in (case(), case(OPEN), case(*NEAT)):
        assert "Not without sanding" in line(section(asked), "clocks.recoat").text
    assert "clocks.flash_off" not in keys(section(case(*NEAT)))


def test_sanding_waits_until_the_film_is_hard_and_the_solvent_out():
    found = section(case((START, "")))
    sand, out = line(found, "clocks.sand").figures["late"].value, line(found, "clocks.flash_off")
    assert sand >= line(found, "clocks.open").figures["late"].value
    assert sand >= out.figures["early"].value
    neat = section(case((START, ""), *NEAT))
    assert (
        line(neat, "clocks.sand").figures["late"].value
        == line(neat, "clocks.open").figures["late"].value
    )


def test_a_moment_a_week_away_says_how_long_that_is_and_a_near_one_does_not():
    # "Sun" for a board coated on Saturday would read as the next day
    found = section(case())
    food, gel = line(found, "clocks.food"), line(found, "clocks.gel")
    assert food.figures["early"].kind == "clock"
    assert food.figures["early_wait"].kind == "duration"
    assert food.figures["early_wait"].value > 6 * DAY
    assert "in 7 days" in read(food)
    assert "early_wait" not in gel.figures
    # where all counts from lamp-on the moment is that already
    assert "early_wait" not in line(section(case((START, ""))), "clocks.food").figures


def test_a_resin_that_comes_in_solvent_is_mixed_when_the_lamp_is_off():
    sealer = (('"laminating 2:1 slow"', '"solvent-borne sealer"'), *NEAT)
    evening = evening_of(case(*sealer).coat)
    assert evening.mixed >= evening.lamp_off
    assert line(section(case(*sealer)), "clocks.mixed_late").care
    # planned with the time that takes, the window is still open
    slow = case(*sealer, ("[heat]", '[heat]\nhandling_time = "6 min"'))
    assert "clocks.mixed_late" not in keys(section(slow))
    # any other resin is mixed ahead of the first stroke, beside the burning lamp
    plain = evening_of(_ASH.coat)
    assert plain.mixed < plain.lamp_off < plain.stroke
    assert "clocks.mixed_late" not in keys(section(_ASH))


def test_food_waits_for_cure_and_solvent_and_for_the_makers_word():
    found = section(case((START, "")))
    food, out = line(found, "clocks.food"), line(found, "clocks.flash_off")
    assert food.figures["early"].value >= out.figures["early"].value
    assert food.figures["late"].value >= 7 * DAY
    assert "written statement" in food.text


def test_food_of_a_first_coat_holds_only_if_no_other_follows():
    first, last = all_cases(of=SAPELE)
    assert "if no coat follows" in line(section(first), "clocks.food").text
    assert "if no coat follows" not in line(section(last), "clocks.food").text


def test_a_guessed_gel_is_said_to_be_a_guess():
    guessed = line(section(case(('"laminating 2:1 slow"', '"laminating 1:1 slow"'))), "clocks.gel")
    assert guessed.care
    assert "guess" in guessed.text
    assert "guess" not in line(section(case()), "clocks.gel").text
