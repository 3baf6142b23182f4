"""Whole batches told to the engine, and random ones: what must hold whatever is said when."""

import re
from copy import deepcopy
from dataclasses import asdict, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import HOUR, ZERO, made_facts, made_sheet
from tale import AIR, YES, PlantTale, Tale, aged, run_in, with_coat

from controller.batch.acts import Act, ActKind
from controller.batch.engine import Engine
from controller.batch.events import EventKind
from controller.batch.signals import Readings, Sample, Wiring
from controller.batch.stages import ORDER, Form, Stage, Use
from controller.batch.state import RigState
from controller.planning.sheet_json import sheet_to_json
from controller.quantities import People, fill

SAYS: dict[str, dict[str, str | float | bool]] = {
    "START": YES,
    "RE-ARM": YES,
    "REHEAT": YES,
    "ACCEPT": {"reason": "looked along the tape"},
    "OPENED": {"reason": "hard under the thumbnail"},
    "MOVED OUT": {"place": "loft rack"},
    "WEIGHED": {"mass_g": 1510.0, "what": "board"},
    "READING": {"role": "face", "value_c": 20.0},
}


def fit_to_be_seen(tale: Tale) -> None:
    """Every gap of every sentence can be filled, and every press shown is taken when pressed."""
    shown = tale.shown()
    for words in (shown.sentence, *(alarm.says for alarm in shown.alarms)):
        figures = {name: asdict(value) for name, value in words.values.items()}
        said = fill(words.text, figures, People(zone="Europe/Copenhagen"), now=shown.told_utc)
        assert not re.search(r"[{}]|nan|inf\b", said), said
    for press in (shown.press, *shown.others):
        if press is None:
            continue
        engine, view = deepcopy(tale.engine), tale.engine.view
        assert view is not None
        act = tale.act(ActKind(press.act), **SAYS.get(press.act, {}))
        answer = engine.step(tale.now, view.readings, [act], tale.facts).answers[0]
        assert answer.accepted or press.act in ("START", "REHEAT", "RE-ARM"), answer.text
        assert "belongs to" not in answer.text and "does not belong" not in answer.text


def watched(tale: Tale, seconds: float, each: float = 1.0) -> None:
    """Wait, and look at the page whenever it offers something new."""
    offered: object = None
    until = tale.now + seconds
    while tale.now < until:
        tale.step(each)
        shown = tale.shown()
        now = (shown.stage, shown.press, shown.others, shown.sentence.text)
        if now != offered:
            fit_to_be_seen(tale)
            offered = now


def to_the_cool_down(tale: Tale) -> None:
    tale.does(ActKind.START, **YES)
    while tale.stage is not Stage.COOLDOWN:
        watched(tale, 60)
        if tale.stage is not Stage.COOLDOWN:
            tale.does(ActKind.PRESENT)


def test_a_batch_from_its_sheet_to_the_end() -> None:
    tale = PlantTale()
    tale.step()
    assert tale.shown().sentence.text.startswith("No batch is planned")
    tale.does(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-1")
    fit_to_be_seen(tale)
    tale.does(ActKind.DRY_PULL)
    watched(tale, 700)
    assert tale.run.bag.verdict == "cannot tell yet", "this board gives off air in a curve"
    tale.does(ActKind.DRY_PULL_DONE)
    assert tale.run.bag.dry_rise is not None and tale.run.bag.dry_rise > 0.0
    tale.step()
    to_the_cool_down(tale)
    tale.does(ActKind.MIXED)
    assert "UNPLUGGED" in tale.refused(ActKind.THINNED)
    assert "UNPLUGGED" in tale.refused(ActKind.COATING)
    watched(tale, 30)
    tale.does(ActKind.UNPLUGGED)
    tale.does(ActKind.THINNED)
    while not tale.shown().heat.coat_now:  # type: ignore[union-attr]
        watched(tale, 5)
        assert tale.now < 9000
    assert tale.sounds
    assert [event.kind for event in tale.events].count(EventKind.COAT_NOW) == 1
    tale.does(ActKind.COATING)
    watched(tale, 200)
    tale.does(ActKind.COATED)
    watched(tale, 120)
    tale.does(ActKind.SEALED, used_g=31.5)
    assert tale.run.used == pytest.approx(0.0315)
    tale.does(ActKind.TIDIED)
    watched(tale, 1800)
    assert tale.stage is Stage.HOLD and tale.run.form is Form.HELD
    deepest = AIR
    for _ in range(1500):
        tale.step(10.0)
        deepest = min(deepest, tale.bag)
    fit_to_be_seen(tale)
    aged(tale.run, 12 * HOUR)
    tale.step(10.0)
    assert deepest > 20e3, "never under the boil limit"
    assert tale.run.gelled and tale.run.may_open
    fit_to_be_seen(tale)
    tale.does(ActKind.OPENED)
    watched(tale, 86400, each=600)
    assert "WEIGHED" in tale.open_acts()
    tale.does(ActKind.WEIGHED, mass_g=1510.0)
    watched(tale, 200 * HOUR, each=600)
    assert tale.stage is Stage.FINISHED and tale.run.outcome == "finished"
    assert not tale.raised()
    stages = [event.stage for event in tale.of_kind(EventKind.STAGE)]
    assert stages == [
        *("DRYPULL", "PLANNED", "PREHEAT", "SOAK", "COOLDOWN", "COAT", "BAG", "PULLDOWN"),
        *("HOLD", "FLASHOFF", "FINISHED"),
    ]
    assert not tale.rig.zone.wet, "tidied, and the solvent gone ten minutes ago"


def test_a_batch_without_bag_or_thinner_sets_in_the_open_and_is_finished_when_opened() -> None:
    tale = Tale(run_in(Stage.PLANNED, sheet=made_sheet(bagged=False, thinner=0.0)))
    tale.step()
    assert "DRY PULL" not in tale.open_acts()
    assert "no bag" in tale.refused(ActKind.DRY_PULL)
    to_the_cool_down(tale)
    tale.does(ActKind.UNPLUGGED)
    tale.step()
    assert "THINNED" not in tale.open_acts()
    tale.does(ActKind.COATING)
    assert tale.run.mixed_at is not None, "what is put on was mixed"
    tale.does(ActKind.COATED)
    assert tale.stage is Stage.HOLD and tale.run.form is Form.UNBAGGED
    watched(tale, 120)
    assert not tale.pump and tale.shown().bagging is None
    assert "UNBAGGED" in tale.refused(ActKind.RESEAL)
    assert "no vacuum" in tale.refused(ActKind.LET_UP)
    aged(tale.run, 12 * HOUR)
    watched(tale, 20, each=10)
    assert tale.run.may_open
    tale.does(ActKind.OPENED)
    assert tale.stage is Stage.FINISHED, "no thinner: the flash-off passes at once"
    assert tale.run.outcome == "finished"
    assert "TIDIED" in tale.open_acts(), "the zone is still wet"
    tale.does(ActKind.TIDIED)
    tale.wait(601)
    assert not tale.rig.zone.wet
    assert "TIDIED" not in tale.open_acts()


def test_a_solvent_borne_sealer_counts_as_thinner() -> None:
    sheet = made_sheet(thinner=0.0)
    mix = replace(sheet.coats[0].mix, carried=0.015)
    tale = Tale(run_in(Stage.PLANNED, sheet=with_coat(sheet, mix=mix)))
    tale.step()
    tale.does(ActKind.START, **YES)
    tale.until(Stage.SOAK, 1500)
    assert "MIXED" not in tale.open_acts()
    assert "comes in solvent" in tale.shown().cautions[0]
    assert "COOLDOWN" in tale.refused(ActKind.MIXED)
    tale.does(ActKind.ENOUGH)
    tale.step()
    assert "UNPLUGGED" in tale.refused(ActKind.MIXED)
    tale.does(ActKind.UNPLUGGED)
    tale.step()
    assert {"MIXED", "REHEAT"} <= tale.open_acts()
    assert "THINNED" not in tale.open_acts()
    tale.does(ActKind.MIXED)
    tale.step()
    assert tale.rig.zone.wet and tale.run.thinner_open
    assert "REHEAT" not in tale.open_acts()
    assert tale.shown().press.act == "COATING"  # type: ignore[union-attr]
    assert "thinner is open" in tale.refused(ActKind.REHEAT)


def test_a_second_coat_waits_for_the_first_and_begins_with_a_new_budget() -> None:
    tale = Tale(run_in(Stage.FLASHOFF, sheet=made_sheet(coats=2)), wet=True)
    tale.run.flashed = 54 * HOUR
    tale.run.lamp.seconds["A"] = 900.0
    tale.run.weigh_ins = [(0.0, "board", 1.5)]
    assert "further coat" not in tale.refused(ActKind.NEXT_COAT)
    assert tale.stage is Stage.FINISHED and tale.run.outcome is None
    tale.step()
    assert tale.shown().press.act == "TIDIED"  # type: ignore[union-attr]
    tale.does(ActKind.NEXT_COAT)
    assert tale.run.coat.number == 2 and tale.run.lamp.seconds == {}
    told = tale.events[-2:]
    assert [(event.kind, event.stage) for event in told] == [
        ("act", "PLANNED"),
        ("stage", "PLANNED"),
    ]
    assert tale.shown().press.act == "TIDIED"  # type: ignore[union-attr]
    assert "Solvent may still be" in tale.shown().sentence.text
    assert not [
        p for p in (tale.shown().press, *tale.shown().others) if p and p.act == "START" and p.due
    ]
    assert "solvent" in tale.refused(ActKind.START, **YES)
    tale.does(ActKind.TIDIED)
    tale.wait(605)
    assert tale.shown().press.act == "START"  # type: ignore[union-attr]
    tale.does(ActKind.START, **YES)
    tale.run.stage = Stage.FINISHED
    assert "no further coat" in tale.refused(ActKind.NEXT_COAT)


@pytest.mark.parametrize("lamp", Wiring)
@pytest.mark.parametrize("pump", Wiring)
@pytest.mark.parametrize("gauge", Wiring)
def test_the_page_is_fit_to_be_seen_in_every_stage_on_every_wiring(
    lamp: Wiring, pump: Wiring, gauge: Wiring
) -> None:
    facts = made_facts(lamp=lamp, pump=pump, gauge=gauge)
    for stage in Stage:
        left = Stage.PULLDOWN if stage is Stage.STOPPED else None
        left = Stage.COOLDOWN if stage is Stage.INTERRUPTED else left
        tale = Tale(run_in(stage, left=left), facts, wet=stage is Stage.FINISHED)
        tale.rig.day_check_at = 0.0
        for _ in range(3):
            tale.step()
            fit_to_be_seen(tale)


def test_the_same_story_told_twice_is_the_same_to_the_last_event() -> None:
    def told() -> list[object]:
        tale = Tale(run_in(Stage.PLANNED))
        tale.step()
        tale.does(ActKind.START, **YES)
        tale.wait(300)
        return list(tale.events)

    assert told() == told()


def test_time_never_goes_back() -> None:
    tale = Tale(now=100.0)
    tale.step()
    for back in (99.0, float("nan")):
        with pytest.raises(ValueError, match="went back"):
            tale.engine.step(back, Readings(), [], tale.facts)


# --- random stories

KELVINS = st.one_of(
    st.none(),
    st.floats(-20.0 + ZERO, 110.0 + ZERO),
    st.floats(15.0 + ZERO, 60.0 + ZERO),
    st.sampled_from([0.0, -1e9, 1e300, float("inf"), float("nan"), 1000.0]),
)
PASCALS = st.one_of(
    st.none(),
    st.floats(0.0, 120e3),
    st.sampled_from([-1e6, 1e300, float("inf"), float("nan")]),
)
AGES = st.sampled_from([0.0, 0.0, 0.0, 1.0, 4.9, 6.0, 30.0, 900.0, -1.0, -50.0])
WAITS = st.sampled_from([0.0, 0.5, 1.0, 1.0, 1.0, 2.0, 5.0, 10.0, 60.0, 600.0, 9000.0])
FIGURES = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True), st.text(max_size=3), st.booleans()
)
AGO = st.sampled_from([0.0, 0.0, 0.0, 30.0, 4000.0, -5.0, float("nan"), float("inf")])


@st.composite
def moments(draw: st.DrawFn) -> tuple[float, tuple[Sample | None, ...], list[ActKind], float, bool]:
    wait = draw(WAITS)
    samples = [
        None if (value := draw(kind)) is None else Sample(value, -draw(AGES))
        for kind in (KELVINS, KELVINS, KELVINS, PASCALS, PASCALS)
    ]
    kinds = draw(st.lists(st.sampled_from(list(ActKind)), max_size=3))
    return wait, tuple(samples), kinds, draw(AGO), draw(st.integers(0, 30)) == 0


WIRINGS = st.sampled_from(list(Wiring))


@settings(max_examples=120, deadline=None)
@given(
    stage=st.sampled_from(list(Stage)),
    left=st.sampled_from(
        [stage for stage in Stage if stage not in (Stage.STOPPED, Stage.INTERRUPTED)]
    ),
    wiring=st.tuples(WIRINGS, WIRINGS, WIRINGS),
    story=st.lists(moments(), min_size=1, max_size=14),
    figure=FIGURES,
)
def test_whatever_is_said_and_read_the_outputs_keep_their_rules(
    stage: Stage, left: Stage, wiring: tuple[Wiring, ...], story: list, figure: object
) -> None:
    lamp, pump, gauge = wiring
    facts = made_facts(lamp=lamp, pump=pump, gauge=gauge)
    halted = stage in (Stage.STOPPED, Stage.INTERRUPTED)
    run = run_in(stage, left=left if halted else None, sheet=made_sheet(coats=2))
    engine = Engine(RigState(now=0.0, run=run, day_check_at=0.0))
    now = 0.0
    for number, (wait, samples, kinds, ago, stop) in enumerate(story):
        now += wait
        face, room, film, bag, barometer = (
            None if sample is None else Sample(sample.value, now + sample.at) for sample in samples
        )
        readings = Readings(
            face=face, room=room, film=film, bag=bag, barometer=barometer, stop_pressed=stop
        )
        acts = [_act(f"{number}-{n}", kind, engine, ago, figure) for n, kind in enumerate(kinds)]
        latched = engine.book.latch()
        step = engine.step(now, readings, acts, facts)
        on = step.commands
        here = engine.rig.run
        assert not (on.lamp and on.pump)
        assert len(step.answers) >= len(acts)
        if stop or ActKind.STOP in kinds:
            assert not on.lamp and not on.pump and not on.dead_man
        assert on.dead_man or not on.lamp
        if on.dead_man:
            assert here is not None and ORDER[here.stage].lamp is Use.ALLOWED
            seen = engine.view.readings.face if engine.view else None
            assert seen is not None and seen.value < 333.15
            assert seen.age(now) <= (5.0 if lamp is Wiring.WIRED else 300.0)
            assert latched is None and not engine.rig.zone.wet
            assert here.word_at is not None and now - here.word_at <= 900.0
            assert wait <= 2.002 and lamp is not Wiring.ABSENT
        if on.pump:
            assert here is not None and ORDER[here.stage].pump is Use.ALLOWED
            assert here.form in (None, Form.HELD) and pump is not Wiring.ABSENT
    tale = Tale(engine.rig.run, facts)
    tale.engine, tale.now = engine, now
    shown = tale.shown()
    figures = {name: asdict(value) for name, value in shown.sentence.values.items()}
    fill(shown.sentence.text, figures, People(), now=shown.told_utc)
    for press in (shown.press, *shown.others):
        if press is not None:
            again = tale.press(ActKind(press.act), seconds=0.0, **SAYS.get(press.act, {}))
            assert "belong" not in again.text
            break


def _act(name: str, kind: ActKind, engine: Engine, ago: float, figure: object) -> Act:
    run = engine.rig.run
    values = {**SAYS.get(str(kind), {}), "used_g": figure, "alarm": "no rise"}
    return Act(
        id=name,
        kind=kind,
        batch=None if run is None else run.id,
        stage=None,
        by="{somebody}",
        ago=ago,
        values=values,  # type: ignore[arg-type]
    )
