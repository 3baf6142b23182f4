"""The resin's clock: what is expected moves with the night, what is past stays."""

import pytest
from made import HOUR, ZERO
from tale import aged, in_stage, run_in

from controller.batch.setting import MILESTONES, gain, only_cold, reached_at
from controller.batch.stages import Stage
from controller.batch.state import Run


@pytest.fixture
def held() -> Run:
    run = run_in(Stage.HOLD)
    run.mixed_at, run.age = 0.0, 0.0
    run.passed.clear()
    return run


def test_at_the_reference_each_milestone_is_passed_at_its_own_age(held: Run) -> None:
    for hour in range(1, 31):
        gain(held, hour * HOUR, HOUR, held.coat.resin.reference)
    assert held.passed == {
        name: pytest.approx(getattr(held.coat.resin, name)) for name in MILESTONES
    }


def test_a_gel_that_is_passed_keeps_its_time_however_the_shop_cools(held: Run) -> None:
    for minute in range(1, 8 * 60 + 1):
        gain(held, 60.0 * minute, 60.0, held.coat.resin.reference)
    now = 8 * HOUR
    passed = reached_at("gel_early", held, now, held.coat.resin.reference)
    assert passed == pytest.approx(held.coat.resin.gel_early)
    for cooler in (18.0, 13.0, 2.0):
        assert reached_at("gel_early", held, now, cooler + ZERO) == passed


def test_an_opening_still_to_come_is_later_in_a_cooler_shop_and_never_where_it_stalls(
    held: Run,
) -> None:
    gain(held, HOUR, HOUR, held.coat.resin.reference)
    warm, cool = (reached_at("open_early", held, HOUR, c + ZERO) for c in (23.0, 15.0))
    assert warm is not None and cool is not None
    assert warm == pytest.approx(12 * HOUR) and cool > warm
    assert reached_at("open_early", held, HOUR, 11.0 + ZERO) is None


def test_a_film_that_is_off_has_no_opening_time() -> None:
    tale = in_stage(Stage.FLASHOFF)
    tale.step()
    setting = tale.shown().batch.setting  # type: ignore[union-attr]
    assert (setting.open_early_at, setting.open_late_at) == (None, None)
    assert setting.gel_late_at is not None


def test_a_cold_night_is_old_enough_to_open_and_called_only_cold() -> None:
    tale = in_stage(Stage.HOLD)
    tale.film = tale.room = 13.0 + ZERO
    tale.run.age = tale.run.conversion = 0.0
    tale.run.mixed_at = tale.rig.now
    for _ in range(28 * 360):
        tale.step(10.0)
    assert tale.run.may_open and only_cold(tale.run, 13.0 + ZERO)
    shown = tale.shown()
    assert "Hard from the cold, not cured" in shown.sentence.text
    assert shown.batch is not None and shown.batch.setting.cure == "glassy"


def test_the_same_age_gained_in_a_warm_shop_is_cured_and_says_peel() -> None:
    tale = in_stage(Stage.HOLD)
    aged(tale.run, 12 * HOUR)
    tale.wait(2)
    assert not only_cold(tale.run, 23.0 + ZERO)
    assert tale.shown().sentence.text.endswith("It may be opened. Peel when you are ready.")


def test_what_is_no_network_yet_may_not_be_opened_however_old_it_is() -> None:
    tale = in_stage(Stage.HOLD)
    aged(tale.run, 12 * HOUR)
    tale.run.conversion = 0.5
    tale.wait(2)
    assert not tale.run.may_open
    tale.run.conversion = 0.6
    tale.wait(2)
    assert tale.run.may_open
