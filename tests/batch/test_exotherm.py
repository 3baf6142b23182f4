"""A coat that heats itself: from which rise, which heat and which time on it is called."""

from dataclasses import replace

import pytest
from made import ZERO
from tale import in_stage, run_in

from controller.batch import exotherm
from controller.batch.signals import Role, Sample
from controller.batch.stages import Stage
from controller.batch.state import Run
from controller.batch.view import View

ROOM = ZERO
"""A shop at 0 C: what is over the room is then in round figures, [K]."""
BOARD = ZERO + 30.0
"""The board's mean when the lamp went off, [K]."""
FIRST = 1000.0
"""When the film is read first, rig time, [s]."""


@pytest.fixture
def seen() -> View:
    """What a step under the film knows, but for the film."""
    view = in_stage(Stage.HOLD).engine.view
    assert view is not None
    return replace(view, room=ROOM)


def coated(stage: Stage = Stage.HOLD) -> Run:
    run = run_in(stage)
    run.mean_at_off = BOARD
    return run


def look(run: Run, seen: View, at: float, film: float | None) -> bool:
    """One reading of the film, [C], so long after the first; whether it seems to heat itself."""
    now = FIRST + at
    sample = None if film is None else Sample(film + ZERO, now)
    exotherm.follow(run, replace(seen, now=now, readings=replace(seen.readings, film=sample)))
    return run.heats_itself


def rising(run: Run, seen: View, start: float, rise: float, seconds: int = 180) -> bool:
    """A reading each ten seconds, evenly up."""
    for at in range(0, seconds + 1, 10):
        look(run, seen, float(at), start + rise * at / seconds)
    return run.heats_itself


@pytest.mark.parametrize(("rise", "called"), [(2.5, False), (3.0, True), (3.5, True)])
def test_three_kelvin_in_three_minutes_are_called(seen: View, rise: float, called: bool) -> None:
    assert rising(coated(), seen, 40.0, rise) is called


@pytest.mark.parametrize(("seconds", "called"), [(170, False), (180, True)])
def test_a_rise_counts_once_it_has_lasted_three_minutes(
    seen: View, seconds: int, called: bool
) -> None:
    assert rising(coated(), seen, 40.0, 5.0, seconds) is called


@pytest.mark.parametrize(("last", "called"), [(179.5, False), (180.0, True)])
def test_it_is_three_minutes_and_not_about_three(seen: View, last: float, called: bool) -> None:
    run = coated()
    for at, film in ((0.0, 40.0), (90.0, 43.0), (last, 46.0)):
        look(run, seen, at, film)
    assert run.heats_itself is called


def test_a_rise_is_held_against_what_was_three_minutes_ago_and_no_longer(seen: View) -> None:
    run = coated()
    rising(run, seen, 40.0, 2.5)
    assert run.warmth[0][0] == FIRST
    assert not look(run, seen, 190.0, 42.9)
    assert run.warmth[0][0] == FIRST + 10.0
    look(run, seen, 500.0, 42.9)
    assert [at for at, _ in run.warmth] == [FIRST + 190.0, FIRST + 500.0], (
        "the last of three minutes ago or more"
    )


@pytest.mark.parametrize(("above", "called"), [(2.0, False), (2.25, True)])
@pytest.mark.parametrize("board", [True, False], ids=["board", "room"])
def test_the_film_must_be_hotter_than_board_and_room_for_that(
    seen: View, above: float, called: bool, board: bool
) -> None:
    run, base = coated(), 30.0
    if not board:
        run.mean_at_off, base = None, 0.0
    assert rising(run, seen, base + above - 3.0, 3.0) is called


@pytest.mark.parametrize(
    ("first", "then", "called"),
    [(59.5, 59.5, False), (60.0, 60.0, True), (59.5, 60.5, False), (60.5, 59.5, False)],
)
def test_two_readings_at_sixty_degrees_are_called(
    seen: View, first: float, then: float, called: bool
) -> None:
    run = coated()
    assert not look(run, seen, 0.0, first)
    assert look(run, seen, 10.0, then) is called


def test_two_hot_readings_with_a_cool_one_between_are_not_called(seen: View) -> None:
    run = coated()
    for at, film in ((0.0, 61.0), (10.0, 40.0)):
        assert not look(run, seen, at, film)
    assert not look(run, seen, 20.0, 61.0)


def test_readings_closer_than_ten_seconds_are_one(seen: View) -> None:
    run = coated()
    look(run, seen, 0.0, 61.0)
    assert not look(run, seen, 9.9, 61.0) and len(run.warmth) == 1
    assert look(run, seen, 10.0, 61.0) and len(run.warmth) == 2
    look(run, seen, 19.9, 61.0)
    assert len(run.warmth) == 2


@pytest.mark.parametrize("stage", Stage)
def test_it_is_looked_for_under_the_film_and_nowhere_else(seen: View, stage: Stage) -> None:
    run = run_in(stage, left=Stage.COAT)
    run.warmth, run.heats_itself = [(0.0, 61.0)], True
    under = stage in (Stage.BAG, Stage.PULLDOWN, Stage.HOLD)
    assert look(run, seen, 10.0, 61.0) is under
    assert len(run.warmth) == (2 if under else 0)


def test_what_was_called_stands_while_nothing_reads_and_falls_where_no_probe_is(
    seen: View,
) -> None:
    run = coated()
    rising(run, seen, 40.0, 5.0)
    assert look(run, seen, 190.0, None) and not run.warmth
    look(run, seen, 200.0, 40.0)
    blind = replace(seen.facts, probes=frozenset(Role) - {Role.FILM})
    assert not look(run, replace(seen, facts=blind), 210.0, 40.0) and not run.warmth
