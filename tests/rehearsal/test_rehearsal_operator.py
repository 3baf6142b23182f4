"""The scripted person: human times, and nothing pressed that the page does not show."""

from dataclasses import replace

import pytest

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.snapshot import AlarmShown, Press, Sentence, Snapshot
from controller.rehearsal.operator import Operator
from controller.rehearsal.run import Rehearsal
from controller.rehearsal.scenario import scenario

EVENING, NIGHT = 1_807_286_400.0, 1_807_329_600.0
"""20:00 and 03:00 in New York, [s] since 1970 UTC."""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Snapshot:
    """The page with a sheet that waits for START."""
    log = tmp_path_factory.mktemp("planned") / "log.db"
    rehearsal = Rehearsal(scenario("good-night"), 1, log)
    rehearsal.close()
    assert rehearsal.shown is not None
    return rehearsal.shown


def at_stage(shown: Snapshot, stage: str, *acts: str, **more: object) -> Snapshot:
    presses = [Press(act=act, says="", asks={}, due=True, hold=False) for act in acts]
    assert shown.batch is not None
    changed = {"press": presses[0] if presses else None, "others": tuple(presses[1:])}
    batch = replace(shown.batch, stage=stage, since=shown.now)
    return replace(shown, stage=stage, batch=batch, **{**changed, **more})


def waits(operator: Operator, shown: Snapshot) -> tuple[float, Act]:
    """How long until something is pressed, [s], and what."""
    for second in range(2000):
        later = replace(shown, now=shown.now + second, told_utc=shown.told_utc + second)
        act = operator.looks(later)
        if act is not None:
            return float(second), act
    raise AssertionError("nothing was pressed")


def person(seed: int, **more: object) -> Operator:
    return Operator(seed, scale=lambda: 1234.56, **more)


def alarm(name: str) -> AlarmShown:
    says = Sentence(text="", values={})
    return AlarmShown(
        id=name,
        priority="P2",
        state="unacknowledged",
        since=0,
        follows=None,
        shelve=None,
        shelved_until=None,
        says=says,
        cause="",
        do="",
    )


@pytest.mark.parametrize("act", ["COATED", "SEALED", "RE-ARM", "TIDIED", "WEIGHED"])
def test_a_press_takes_one_to_four_minutes(planned, act):
    shown = at_stage(planned, "BAG", act)
    times = [waits(person(seed), shown) for seed in range(40)]
    assert {pressed.kind for _, pressed in times} == {ActKind(act)}
    assert min(t for t, _ in times) >= 60.0
    assert max(t for t, _ in times) <= 241.0
    assert max(t for t, _ in times) - min(t for t, _ in times) > 100.0


def test_the_word_of_one_who_stands_there_is_quick(planned):
    shown = at_stage(planned, "PREHEAT", "PRESENT")
    times = [waits(person(seed), shown)[0] for seed in range(40)]
    assert min(times) >= 10.0 and max(times) <= 51.0


def test_from_lamp_off_to_the_first_stroke_two_to_four_minutes_go_by(planned):
    for seed in range(20):
        operator, pressed = person(seed), []
        shown = at_stage(planned, "COOLDOWN", "UNPLUGGED", heat=None)
        for act in ("UNPLUGGED", "MIXED", "THINNED", "COATING"):
            open_now = replace(shown, press=replace(shown.press, act=act))
            seconds, done = waits(operator, open_now)
            pressed.append((seconds, done.kind))
        assert [kind for _, kind in pressed] == ["UNPLUGGED", "MIXED", "THINNED", "COATING"]
        assert 120.0 <= pressed[-1][0] <= 219.0


def test_the_first_stroke_waits_for_the_window(planned):
    operator = person(1)
    assert planned.heat is not None
    hot = replace(planned.heat, coat_now=False, opens_s=60.0)
    shown = at_stage(planned, "COOLDOWN", "COATING", heat=hot)
    with pytest.raises(AssertionError, match="nothing was pressed"):
        waits(operator, shown)
    ready = replace(shown, heat=replace(hot, coat_now=True))
    assert operator.looks(replace(ready, now=shown.now + 300.0)) is not None


def test_nobody_gets_up_for_a_press_at_night_but_for_an_alarm(planned):
    abed = at_stage(planned, "HOLD", "OPENED", told_utc=NIGHT)
    with pytest.raises(AssertionError, match="nothing was pressed"):
        waits(person(1), abed)
    seconds, act = waits(person(1), replace(abed, alarms=(alarm("bag leaks"),)))
    assert act.kind is ActKind.ACKNOWLEDGE and act.values == {"alarm": "bag leaks"}
    assert 180.0 <= seconds <= 481.0
    assert waits(person(1), replace(abed, told_utc=EVENING))[1].kind is ActKind.OPENED


def test_what_an_alarm_names_is_mended_before_it_is_acknowledged(planned):
    mended: list[str] = []
    operator = person(1, mend=mended.append)
    shown = at_stage(planned, "HOLD", told_utc=EVENING, alarms=(alarm("bag leaks"),))
    seconds, _ = waits(operator, shown)
    assert mended == ["bag leaks"] and seconds >= 60.0


def test_the_dry_pull_comes_first_and_once(planned):
    operator = person(1)
    _, first = waits(operator, planned)
    _, second = waits(operator, planned)
    assert (first.kind, second.kind) == (ActKind.DRY_PULL, ActKind.START)
    assert waits(person(1, dry_pull=False), planned)[1].kind is ActKind.START


def test_a_coat_without_a_bag_starts_without_a_dry_pull(planned):
    assert waits(person(1), at_stage(planned, "PLANNED", "START"))[1].kind is ActKind.START


def test_the_scale_tells_what_is_on_it(planned):
    _, act = waits(person(1), at_stage(planned, "FLASHOFF", "WEIGHED", told_utc=EVENING))
    assert act.values == {"mass_g": 1234.6, "what": "board"}


def test_three_refused_starts_in_a_row_are_enough(planned):
    operator = person(1, dry_pull=False)
    for accepted in (False, False, True, False, False, False):
        assert not operator.gives_up
        _, act = waits(operator, planned)
        operator.hears(Answer("somebody else's", False, "no"))
        operator.hears(Answer(act.id, accepted, "so be it"))
    assert operator.gives_up


def test_an_alarm_that_comes_back_for_a_quarter_of_an_hour_ends_the_heat(planned):
    operator = person(1)
    shown = at_stage(planned, "PREHEAT", alarms=(alarm("face probe lost"),))
    waits(operator, shown)
    stands = replace(shown, alarms=(replace(alarm("face probe lost"), state="acknowledged"),))
    seconds, act = waits(operator, stands)
    assert act.kind is ActKind.STOP and seconds > 900.0
    halted = at_stage(replace(planned, now=shown.now + 1200.0), "STOPPED", "RE-ARM", "ABANDON")
    assert halted.batch is not None
    halted = replace(halted, batch=replace(halted.batch, left="PREHEAT"))
    seconds, act = waits(operator, halted)
    assert act.kind is ActKind.ABANDON and 60.0 <= seconds <= 241.0


@pytest.mark.parametrize("act", ["LAMP ON", "LAMP OFF", "PUMP ON", "PUMP OFF"])
def test_one_who_stands_there_is_quick_at_a_switch(planned, act):
    times = [waits(person(seed), at_stage(planned, "SOAK", act)) for seed in range(40)]
    assert {pressed.kind for _, pressed in times} == {ActKind(act)}
    assert min(t for t, _ in times) >= 10.0 and max(t for t, _ in times) <= 51.0


def asked(shown: Snapshot, stage: str, *carried: str, due: bool = True) -> Snapshot:
    """The page that asks for a READING that carries this."""
    asks = dict.fromkeys(carried, "")
    press = Press(act="READING", says="", asks=asks, due=due, hold=False)
    return at_stage(shown, stage, press=press, told_utc=EVENING)


def test_a_face_is_told_for_itself_where_there_is_no_probe_and_beside_one_as_the_guns(planned):
    tools = {"gun": lambda: 43.21, "dial": lambda: 25_100.0}
    _, alone = waits(person(1, **tools), asked(planned, "PREHEAT", "role", "value_c", "value_pa"))
    _, beside = waits(person(1, **tools), asked(planned, "SOAK", "value_c"))
    assert alone.values == {"role": "face", "value_c": 43.2}
    assert beside.values == {"role": "gun", "value_c": 43.2}


def test_a_dial_is_read_within_the_hour_of_a_hold_and_within_minutes_of_a_pull(planned):
    open_now = asked(planned, "HOLD", "role", "value_c", "value_pa", due=False)
    for stage, least, most in (("HOLD", 900.0, 3601.0), ("PULLDOWN", 60.0, 241.0)):
        shown = replace(open_now, stage=stage)
        assert shown.batch is not None
        seconds, act = waits(person(4, dial=lambda: 25_100.0), shown)
        assert act.values == {"role": "bag", "value_pa": 25_100.0}
        assert least <= seconds <= most
    with pytest.raises(AssertionError, match="nothing was pressed"):
        waits(person(4), open_now)
