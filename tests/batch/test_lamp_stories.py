"""Random troubles in a healthy heat, judged by the onlooker who has not read the interlocks."""

from copy import deepcopy
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from tale import YES, Tale, heated

from controller.batch.acts import ActKind
from controller.batch.signals import Sample
from controller.batch.stages import Stage
from controller.invariants import Invariants, Seen

BASE = heated()
"""A heat a minute old, the lamp burning; each story begins with a copy of it."""
SAYS: dict[ActKind, dict[str, str | float | bool]] = {
    ActKind.START: YES,
    ActKind.REHEAT: YES,
    ActKind.RE_ARM: YES,
    ActKind.READING: {"role": "face", "value_c": 30.0},
    ActKind.MOVED_OUT: {"place": "loft"},
}
TROUBLES = (
    *("nothing",) * 8,
    "silent",
    "speaks again",
    "hot",
    "off",
    "spike",
    "frozen",
    "stop down",
    "stop up",
    "zone",
    "record",
    "clear",
    "long wait",
)
LIKELY = (
    *(ActKind.PRESENT, ActKind.RE_ARM, ActKind.ACKNOWLEDGE, ActKind.FLIP, ActKind.FLIPPED),
    *(ActKind.STOP, ActKind.ENOUGH, ActKind.REHEAT, ActKind.UNPLUGGED, ActKind.THINNED),
)


def disturb(tale: Tale, trouble: str) -> None:
    if trouble == "silent":
        tale.silent = {"face"}
    elif trouble == "speaks again":
        tale.silent, tale.probe_off_by, tale.told = set(), 0.0, lambda readings: readings
    elif trouble == "hot":
        tale.cells = [cell + 12.0 for cell in tale.cells]
    elif trouble == "off":
        tale.probe_off_by -= 4.0
    elif trouble == "spike":
        tale.probe_off_by = 7.0 if tale.probe_off_by == 0.0 else 0.0
    elif trouble == "frozen":
        stood = tale.face
        tale.told = lambda readings: replace(
            readings, face=readings.face and Sample(stood, readings.face.at)
        )
    elif trouble == "stop down":
        tale.stop = True
    elif trouble == "stop up":
        tale.stop = False
    elif trouble in ("zone", "record", "clear"):
        tale.facts = replace(
            tale.facts, zone_clear=trouble != "zone", record_in_date=trouble != "record"
        )


STORIES = st.lists(
    st.tuples(
        st.sampled_from(TROUBLES),
        st.sampled_from([0.5, 1.0, 1.0, 1.0, 2.0, 3.0]),
        st.lists(st.one_of(st.sampled_from(LIKELY), st.sampled_from(ActKind)), max_size=2),
    ),
    min_size=10,
    max_size=40,
)


def told(story: list[tuple[str, float, list[ActKind]]]) -> int:
    """Tell one story and judge every step of it; how many of them had a burning lamp."""
    tale, lit = deepcopy(BASE), 0
    onlooker = Invariants(
        word_at=tale.run.word_at,
        checked_at=tale.rig.day_check_at,
        armed=True,
        burned={"A": 60.0},
        seen_at=tale.now,
    )
    onlooker.lamp.was = onlooker.line.was = True
    for trouble, wait, kinds in story:
        disturb(tale, trouble)
        alarm = tale.rig.alarms[0].id if tale.rig.alarms else "none"
        acts = [tale.act(kind, stage=None, alarm=alarm, **SAYS.get(kind, {})) for kind in kinds]
        by_id = {act.id: act for act in acts}
        step = tale.step(900.0 if trouble == "long wait" else wait, *acts)
        for answer in step.answers:
            if answer.accepted and answer.act in by_id:
                onlooker.heard(tale.now, by_id[answer.act])
        for event in step.events:
            onlooker.happened(event)
        view, run = tale.engine.view, tale.rig.run
        onlooker.see(
            Seen(
                now=tale.now,
                lamp=step.commands.lamp,
                pump=step.commands.pump,
                dead_man=step.commands.dead_man,
                stage=str(Stage.PLANNED if run is None else run.stage),
                face=None if view is None else view.readings.face,
                trip=0.0 if run is None else run.coat.heat.trip,
                band_high=0.0 if run is None else run.coat.heat.band_high,
                record_in_date=tale.facts.record_in_date,
                close_watch=False,
            )
        )
        assert not onlooker.unsafe
        assert not (step.commands.lamp and (step.commands.pump or tale.stop))
        assert step.commands.dead_man or not step.commands.lamp
        assert not (step.commands.lamp and not tale.facts.zone_clear)
        lit += step.commands.lamp
    return lit


def test_no_trouble_and_no_act_lets_the_lamp_burn_without_every_reason() -> None:
    steps, lit = 0, 0

    @settings(max_examples=150, deadline=None, database=None)
    @given(story=STORIES)
    def judged(story: list[tuple[str, float, list[ActKind]]]) -> None:
        nonlocal steps, lit
        steps, lit = steps + len(story), lit + told(story)

    judged()
    assert lit > steps / 40, "there was hardly a burning lamp to judge"
