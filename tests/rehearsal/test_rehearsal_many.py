"""Stories made from a number, and many of them on all cores."""

import json
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.cli import main
from controller.errors import InputError
from controller.hardware.plant_shop import Shop, ShopParameters
from controller.rehearsal.chance import random_scenario
from controller.rehearsal.healthy import healthy_scenario
from controller.rehearsal.many import CRASHED, Played, play_many, played
from controller.rehearsal.scenario import shipped
from controller.rehearsal.stories import story
from controller.rehearsal.weather import HOURS_OF_YEAR, hours_from

QUICK = tuple(f"random-{number}" for number in (82, 109, 111))
"""Jobs that are soon over."""


@given(st.integers(0, 10**9))
@settings(max_examples=60)
def test_a_number_is_one_story_and_always_the_same(number: int) -> None:
    assert random_scenario(number) == random_scenario(number)
    assert 1 <= len(random_scenario(number).faults) <= 5
    assert healthy_scenario(number) == healthy_scenario(number)
    assert healthy_scenario(number).faults == ()


def test_stories_are_found_by_name() -> None:
    assert story("random-7") == random_scenario(7)
    assert story("healthy-7") == healthy_scenario(7)
    assert [story(name).name for name in shipped()] == list(shipped())
    for name in ("random-", "random-x", "random-1.5", "stormy-3"):
        with pytest.raises(InputError, match="random-N, healthy-N for any number N"):
            story(name)


def test_a_year_of_healthy_nights_begins_on_every_day_of_it() -> None:
    hours = [healthy_scenario(2 * day + 1).outdoors for day in range(365)]
    assert [hour // 24 for hour in hours if hour is not None] == list(range(365))
    assert {healthy_scenario(2 * day).outdoors for day in range(365)} == {None}


def test_the_weather_is_a_whole_year_and_goes_round() -> None:
    """Mean and ends of the air as its source's own file has them: NREL, TMY3, 723170."""
    year = [hours_from(hour)[0] for hour in range(HOURS_OF_YEAR)]
    air = [kelvin - 273.15 for kelvin, _ in year]
    assert (min(air), max(air)) == pytest.approx((-16.7, 35.6))
    assert hours_from(HOURS_OF_YEAR - 1)[1] == hours_from(0)[0]


def test_a_shop_follows_the_air_outside_late_and_damped() -> None:
    swing = tuple((283.15 + (10.0 if hour % 24 < 12 else 0.0), 97e3) for hour in range(240))
    told = ShopParameters(outdoors=swing, wander=0.0, heated=200.0, start=290.0, gain=3.0)
    shop, seen = Shop(told, 1), []
    for _ in range(200):
        shop.step(3600.0)
        seen.append(shop.temperature)
    late = seen[-48:]
    assert 286.15 < min(late) and max(late) < 296.15
    assert 3.0 < max(late) - min(late) < 9.0
    assert shop.pressure == 97e3
    heated = Shop(ShopParameters(outdoors=((250.0, 97e3),), wander=0.0), 1)
    heated.step(10 * 86400.0)
    assert heated.temperature == pytest.approx(ShopParameters().heated, abs=0.01)


def test_many_go_on_where_they_were_broken_off(tmp_path: Path) -> None:
    kept, told = tmp_path / "kept.jsonl", []
    first = play_many(QUICK[:2], kept, told.append, cores=1)
    assert [each.name for each in told] == list(QUICK[:2])
    assert all(each.well for each in first.all)
    again = play_many(QUICK, kept, told.append, cores=1)
    assert (again.fresh, [each.name for each in told]) == (1, list(QUICK))
    assert again.all[:2] == first.all
    assert again.as_json()["jobs"] == 3
    kept.write_text(kept.read_text() + "a shopping list\n")
    with pytest.raises(InputError, match="line 4: not a story that was played"):
        play_many(QUICK, kept, cores=1)


def test_a_story_that_crashes_is_counted_and_named() -> None:
    crashed = played("random-nothing")
    assert crashed.outcome == CRASHED and not crashed.well
    assert crashed.crash is not None and crashed.crash.startswith("InputError: no scenario")


@pytest.mark.parametrize(
    ("outcome", "unsafe", "well"),
    [
        ("FINISHED", (), True),
        ("REFUSED", (), True),
        ("NOT ENDED", (), False),
        ("FINISHED", ("S1 at 3 s",), False),
    ],
)
def test_well_is_an_end_and_no_rule_broken(
    outcome: str, unsafe: tuple[str, ...], well: bool
) -> None:
    assert Played("random-1", outcome, 1.0, 1.0, (), unsafe).well is well


@pytest.mark.parametrize(
    ("name", "alarm", "calls"),
    [
        ("healthy-1", "P1 cut-out open", ("P1 cut-out open",)),
        ("healthy-1", "P2 bag leaks", ("P2 bag leaks",)),
        ("healthy-1", "P3 too cold to set", ()),
        ("random-1", "P1 cut-out open", ()),
    ],
)
def test_on_a_healthy_night_nobody_may_be_called(
    name: str, alarm: str, calls: tuple[str, ...]
) -> None:
    night = Played(name, "FINISHED", 1.0, 1.0, (alarm,), ())
    assert night.false_calls == calls
    assert night.well is (calls == ())


def test_the_command_names_the_healthy_nights_that_called_somebody(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = tmp_path / "kept.jsonl"
    night = Played("healthy-1", "FINISHED", 1.0, 1.0, ("P2 bag leaks",), ())
    kept.write_text(json.dumps(asdict(night)) + "\n")
    assert main(["simulate", "--healthy", "1", "--kept", str(kept)]) == 1
    said = capsys.readouterr()
    assert "called for nothing: 1" in said.out
    assert "called for nothing by 'P2 bag leaks'" in said.err
    assert "play it again: warmdraw simulate healthy-1" in said.err
    for many in ("--random", "--healthy", "--preheats"):
        assert main(["simulate", many, "1", "--cores", "0"]) == 2


def test_the_command_says_what_they_came_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = str(tmp_path / "kept.jsonl")
    assert main(["simulate", "--random", "1", "--first", "109", "--kept", kept, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["jobs"], told["rules_broken"], told["failing"]) == (1, 0, [])
    assert main(["simulate", "--random", "1", "--first", "109", "--kept", kept]) == 0
    assert "1 random jobs, SIMULATED" in capsys.readouterr().out
    assert main(["simulate", "--healthy", "0"]) == 2
    assert "give 1 or more" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["good-night", "--kept", "x"], "--kept goes with --random or --healthy or --preheats or"),
        (["--random", "1", "--seed", "3"], "--seed goes with SCENARIO, not with --random"),
        (["--random", "1", "--only", "L12"], "--only goes with --faults, not with --random"),
        (["--faults", "--first", "0"], "--first goes with --random or --healthy or --preheats,"),
        (["--healthy", "1", "--state", "x"], "--state goes with SCENARIO, not with --healthy"),
        (["--random", "0", "--pairs"], "--pairs goes with --faults, not with --random"),
    ],
)
def test_an_option_that_would_say_nothing_is_refused(
    asked: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["simulate", *asked]) == 2
    assert said in capsys.readouterr().err
