"""A bag gauge whose zero has moved, or that stands still, and healthy ones that look like it."""

from dataclasses import replace

import pytest
from made import HOUR, made_facts, made_sheet
from tale import AIR, YES, Tale, in_stage, run_in
from test_stories import fit_to_be_seen

from controller.batch import gauge_doubt
from controller.batch.acts import ActKind
from controller.batch.alarm_row import Priority
from controller.batch.alarm_stages import priority_now
from controller.batch.events import EventKind
from controller.batch.signals import Readings, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import BagState

STEP = 140.0
"""Of a converter of ten bits over 115 kPa, [Pa]."""
OPEN = [Stage.PLANNED, Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN, Stage.COAT, Stage.BAG]


def off_by(tale: Tale, pascals: float, barometer: bool = True) -> None:
    """The gauge reads this much too high, beside a barometer or not."""

    def told(readings: Readings) -> Readings:
        bag = readings.bag
        return replace(
            readings,
            bag=None if bag is None else Sample(bag.value + pascals, bag.at),
            barometer=Sample(AIR, tale.now) if barometer else None,
        )

    tale.told = told


# --- zero


@pytest.mark.parametrize("stage", OPEN)
@pytest.mark.parametrize(
    ("off", "barometer", "told"),
    [
        (900.0, True, False),
        (1200.0, True, True),
        (-1200.0, True, True),
        (2800.0, False, False),
        (3200.0, False, True),
    ],
)
def test_a_gauge_open_to_the_air_that_does_not_read_it_is_told_after_ten_seconds(
    stage: Stage, off: float, barometer: bool, told: bool
) -> None:
    tale = in_stage(stage)
    tale.run.sealed_at = None
    tale.bag = AIR
    off_by(tale, off, barometer)
    tale.wait(9)
    assert not tale.raised()
    tale.wait(3)
    assert tale.raised() == (["gauge zero moved"] if told else [])
    fit_to_be_seen(tale)
    if told:
        assert tale.rig.alarms[0].values["off"] == pytest.approx(abs(off), abs=20.0)
        assert not tale.sounds, "it is for today, not for now"


def test_a_zero_at_the_limit_is_told_once_and_is_back_only_well_under_it() -> None:
    tale = in_stage(Stage.PLANNED)
    tale.bag = AIR
    for second in range(600):
        off_by(tale, 1000.0 + (60.0 if second % 20 < 12 else -60.0))
        tale.step()
    assert tale.raised() == ["gauge zero moved"]
    off_by(tale, 700.0)
    tale.step()
    assert not tale.active()


def test_a_bag_that_is_or_was_shut_is_never_taken_for_open() -> None:
    for stage in (Stage.PULLDOWN, Stage.HOLD, Stage.FLASHOFF):
        tale = in_stage(stage)
        off_by(tale, 2000.0)
        tale.wait(30)
        assert "gauge zero moved" not in tale.raised(), stage
    resealed = in_stage(Stage.BAG)
    resealed.run.sealed_at, resealed.bag = 0.0, 40e3
    dry = in_stage(Stage.PLANNED)
    dry.run.bag.starts, dry.bag = [0.0], 40e3
    for tale in (resealed, dry):
        tale.wait(30)
        assert not tale.raised()


def test_no_bagged_coat_begins_on_a_gauge_that_is_far_from_the_air() -> None:
    for off, barometer, refused in (
        (3200.0, True, True),
        (2800.0, True, False),
        (4800.0, False, False),
        (-5200.0, False, True),
    ):
        for kind in (ActKind.START, ActKind.DRY_PULL):
            tale = Tale(run_in(Stage.PLANNED))
            off_by(tale, off, barometer)
            tale.step()
            answer = tale.press(kind, **YES)
            assert answer.accepted is not refused, (off, barometer, kind)
            assert not refused or "warmdraw check --only gauge" in answer.text


def test_a_coat_without_bag_or_gauge_does_not_ask_the_gauge() -> None:
    bare = Tale(run_in(Stage.PLANNED, sheet=made_sheet(bagged=False)))
    blind = Tale(run_in(Stage.PLANNED), made_facts(gauge=Wiring.ABSENT))
    for tale in (bare, blind):
        off_by(tale, 20e3)
        tale.wait(30)
        tale.does(ActKind.START, **YES)
        assert not tale.raised()


def test_a_bag_that_still_holds_its_dry_pull_is_opened_before_start() -> None:
    tale = Tale(run_in(Stage.PLANNED))
    tale.step()
    tale.does(ActKind.DRY_PULL)
    tale.wait(60)
    tale.does(ActKind.DRY_PULL_DONE)
    tale.bag = 40e3
    assert "open bag and hose" in tale.refused(ActKind.START, **YES)
    tale.does(ActKind.DRY_PULL)
    tale.does(ActKind.DRY_PULL_DONE)
    tale.does(ActKind.START, **YES)


@pytest.mark.parametrize("kind", [ActKind.START, ActKind.DRY_PULL])
def test_no_bagged_coat_begins_on_a_gauge_that_gives_no_reading(kind: ActKind) -> None:
    tale = in_stage(Stage.PLANNED)
    tale.silent.add("bag")
    tale.wait(12)
    values = YES if kind is ActKind.START else {}
    assert "the bag gauge gives no reading: look at its plug" in tale.refused(kind, **values)
    assert tale.stage is Stage.PLANNED and not tale.raised(), "nothing is lost yet"
    tale.silent.clear()
    tale.wait(2)
    tale.does(kind, **values)


@pytest.mark.parametrize("wiring", [Wiring.BY_HAND, Wiring.ABSENT])
def test_a_gauge_that_is_not_wired_need_not_read(wiring: Wiring) -> None:
    tale = in_stage(Stage.PLANNED, facts=made_facts(gauge=wiring))
    tale.silent.add("bag")
    tale.wait(2)
    tale.does(ActKind.START, **YES)


# --- standing still


class Night(Tale):
    """A held bag behind a converter of ten bits, and a pump as slow as a shop may have."""

    freezes_at: float | None = None
    frozen_at: float | None = None
    empties_in = 200.0

    def _shop(self, seconds: float) -> None:
        if self.pump:
            self.bag += (12e3 - self.bag) * min(seconds / self.empties_in, 1.0)
        else:
            self.bag = min(self.bag + self.leak * seconds, AIR)

    def _readings(self) -> Readings:
        readings = super()._readings()
        seen = STEP * round(self.bag / STEP)
        if self.freezes_at is not None and self.now >= self.freezes_at:
            self.frozen_at = seen if self.frozen_at is None else self.frozen_at
            seen = self.frozen_at
        return replace(readings, bag=Sample(seen, self.now))


def night(leak: float, freezes_at: float | None = None, target: float | None = None) -> Night:
    run = run_in(Stage.HOLD)
    plan = run.coat.bag
    assert plan is not None
    if target is not None:
        deep = replace(plan, target=target, restart=target + 10e3, boil_limit=10e3)
        run.sheet = replace(run.sheet, coats=(replace(run.coat, bag=deep),))
    tale = Night(run, wet=True)
    tale.bag = 28e3 if target is None else target + 500.0
    tale.leak, tale.freezes_at = leak, freezes_at
    tale.film = 291.15
    tale.step()
    return tale


@pytest.mark.parametrize("leak", [0.0, 0.01, 0.06, 0.5, 3.0])
@pytest.mark.parametrize("target", [None, 13.7e3])
def test_no_healthy_night_on_a_coarse_gauge_is_called_frozen(
    leak: float, target: float | None
) -> None:
    tale = night(leak, target=target)
    pulses = 0
    was = False
    for _ in range(int(6 * HOUR / 10)):
        tale.step(10.0)
        pulses += tale.pump and not was
        was = tale.pump
        assert not tale.run.bag.frozen
    assert not tale.raised()
    assert pulses <= 12, "two an hour at most"
    if leak == 0.0 and target is None:
        assert pulses > 4, "a bag that never moves is asked"


@pytest.mark.parametrize(("step", "leak"), [(1.0, 3.0), (10.0, 3.0), (10.0, 0.0)])
def test_a_gauge_that_freezes_in_the_hold_is_found_within_31_minutes(
    step: float, leak: float
) -> None:
    tale = night(leak, freezes_at=600.0)
    while "gauge frozen" not in tale.raised():
        tale.step(step)
        assert tale.now < 600.0 + 31 * 60.0
    assert tale.sounds
    tale.step(step)
    assert not tale.pump, "nothing says how deep it would pull"
    assert "the gauge stands still" in tale.shown().pump.why
    fit_to_be_seen(tale)
    tale.freezes_at = None
    tale.bag += 2 * STEP
    tale.step(step)
    assert not tale.active(), "it moves again"


def test_a_gauge_that_freezes_in_a_pump_run_is_found_in_a_minute() -> None:
    tale = night(0.0)
    tale.bag = 38e3
    tale.wait(70)
    assert tale.pump
    tale.freezes_at = tale.now
    tale.wait(62)
    assert tale.raised() == ["gauge frozen"] and not tale.pump


def test_a_frozen_gauge_proves_no_bag_after_a_restart() -> None:
    tale = night(0.0)
    tale.run.bag.frozen = True
    tale.run.bag.same_value = STEP * round(tale.bag / STEP)
    tale.run.bag.same_from = tale.now
    tale.run.bag.prove_by = tale.now + 60.0
    tale.wait(30)
    assert tale.run.bag.prove_by is not None
    tale.wait(40)
    assert tale.stage is Stage.INTERRUPTED


def test_after_the_gel_nothing_is_asked_of_a_gauge_and_nobody_is_woken() -> None:
    tale = night(0.0, freezes_at=60.0)
    tale.run.age = 7 * HOUR
    tale.wait(3 * HOUR, each=10.0)
    assert not tale.raised() and not tale.of_kind(EventKind.OUTPUT)
    run = run_in(Stage.HOLD)
    assert priority_now("gauge frozen", run) is Priority.P2
    run.age = 7 * HOUR
    assert priority_now("gauge frozen", run) is None


def test_a_pump_in_a_persons_hand_is_no_test_of_the_gauge() -> None:
    facts = made_facts(pump=Wiring.BY_HAND)
    tale = in_stage(Stage.HOLD, facts=facts)
    tale.bag, tale.leak = 30e3, 0.0
    tale.wait(HOUR, each=10.0)
    assert not tale.run.bag.pump_on and not tale.raised()


def test_near_the_air_a_still_gauge_is_left_to_the_pump_that_does_not_pull() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.told = lambda readings: replace(readings, bag=Sample(AIR - 2e3, tale.now))
    tale.wait(100)
    assert tale.raised() == ["pump does not pull"]


def test_a_frozen_gauge_in_the_pull_down_may_be_accepted_by_a_person() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.told = lambda readings: replace(readings, bag=Sample(60e3, tale.now))
    tale.wait(65)
    assert tale.raised() == ["gauge frozen"] and not tale.pump
    assert "ACCEPT" in tale.open_acts()


@pytest.mark.parametrize(("over", "frozen"), [(1499.0, False), (1500.0, True)])
def test_so_near_its_end_that_a_pump_moves_nothing_a_still_gauge_is_not_doubted(
    over: float, frozen: bool
) -> None:
    tale = in_stage(Stage.PULLDOWN)
    view = tale.engine.view
    assert view is not None and view.bag is not None
    pressure = view.bag.plan.possible + over
    tale.run.bag = BagState(pump_on=True, pump_changed_at=0.0, same_from=0.0, same_value=pressure)
    still = replace(view.bag, now=40.0, sample=Sample(pressure, 40.0))
    gauge_doubt.follow(tale.run, replace(view, now=40.0, bag=still))
    assert tale.run.bag.frozen is frozen
