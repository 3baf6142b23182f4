"""Each reason and each rule of the onlooker stands alone: without it, one story goes unseen."""

from collections.abc import Callable

import pytest
from onlooked import act
from onlooked import seen as at
from tale import YES

from controller import invariants
from controller.batch.acts import Act, ActKind
from controller.batch.events import Event, EventKind
from controller.batch.signals import Sample
from controller.invariants import RULES, STOPPED, TERMS, Breach, Invariants, Seen

DAY = 86400.0


def dark(now: float, **more: object) -> Seen:
    return at(now, **({"lamp": False} | more))


def told(*said: tuple[float, Act]) -> Invariants:
    """Somebody who saw a dark lamp all along, and heard START at 1 s and then this."""
    onlooker = Invariants()
    onlooker.see(dark(0.0, stage="PLANNED"))
    for now, heard in [(1.0, act(ActKind.START, **YES)), *said]:
        onlooker.heard(now, heard)
        onlooker.see(dark(now))
    return onlooker


def lit(onlooker: Invariants, seen: Seen) -> list[Breach]:
    onlooker.see(seen)
    return onlooker.unsafe


def latched() -> list[Breach]:
    onlooker = told()
    data = {"alarm": "probe fell", "priority": "P1"}
    onlooker.happened(Event(2.0, EventKind.ALARM_RAISED, "b", "PREHEAT", "", data))
    return lit(onlooker, at(3.0))


def an_hour_under_the_lamp() -> list[Breach]:
    onlooker = told()
    for now in range(2, 3720, 50):
        onlooker.heard(float(now), act(ActKind.PRESENT))
        onlooker.see(at(float(now)))
    return onlooker.unsafe


def wet(*said: tuple[float, ActKind]) -> Invariants:
    """Thinner was opened at 2 s, then this, and somebody is there at 500 s."""
    heard = [(now, act(kind)) for now, kind in said]
    return told((2.0, act(ActKind.THINNED)), *heard, (500.0, act(ActKind.PRESENT)))


TIDIED, OUT = ActKind.TIDIED, ActKind.MOVED_OUT
UNSEEN_TERM: dict[str, Callable[[], list[Breach]]] = {
    "stage": lambda: lit(told(), at(2.0, stage="COOLDOWN")),
    "word": lambda: lit(told(), at(901.1)),
    "sample": lambda: lit(told(), at(2.0, face=None)),
    "sample's age": lambda: lit(told(), at(20.0, face=Sample(313.0, 14.9))),
    "sheet's trip": lambda: lit(told(), at(2.0, face=Sample(330.0, 2.0))),
    "highest trip": lambda: lit(told(), at(2.0, face=Sample(333.15, 2.0), trip=400.0)),
    "close watch's trip": lambda: lit(told(), at(2.0, face=Sample(323.0, 2.0), close_watch=True)),
    "tidied": lambda: lit(wet((3.0, OUT)), at(700.0)),
    "moved out": lambda: lit(wet((3.0, TIDIED)), at(700.0)),
    "purged": lambda: lit(wet((3.0, OUT), (400.0, TIDIED)), at(579.9)),
    "settled": lambda: lit(wet((3.0, TIDIED), (4.0, OUT)), at(603.9)),
    "latch": latched,
    "lamp time": an_hour_under_the_lamp,
    "record": lambda: lit(told(), at(2.0, record_in_date=False)),
    "day's check": lambda: lit(told((DAY, act(ActKind.PRESENT))), at(DAY + 1.1)),
}
"""Term of S1: a story in which it alone does not hold."""


@pytest.fixture
def quick_to_settle(monkeypatch: pytest.MonkeyPatch) -> None:
    """A zone that is aired for longer than it has to wait; in life the wait is the longer one."""
    monkeypatch.setattr(invariants, "SETTLE_TIME", 60.0)


def take_out(monkeypatch: pytest.MonkeyPatch, table: str, name: str) -> None:
    """Let the onlooker go on without the row of that name."""
    rows = getattr(invariants, table)
    left = tuple(row for row in rows if row.name != name)
    assert len(left) == len(rows) - 1
    monkeypatch.setattr(invariants, table, left)


def prepared(request: pytest.FixtureRequest, name: str) -> Callable[[], list[Breach]]:
    if name == "purged":
        request.getfixturevalue("quick_to_settle")
    return UNSEEN_TERM[name]


@pytest.mark.parametrize("name", UNSEEN_TERM)
def test_a_story_in_which_one_reason_is_missing_is_a_breach(request, name):
    (breach,) = prepared(request, name)()
    why = next(term.why for term in TERMS if term.name == name)
    assert breach.what.partition(": ")[2] == why.format(stage="COOLDOWN", latches="probe fell")
    assert breach.rule == ("S2" if name == "lamp time" else "S1")


@pytest.mark.parametrize("name", UNSEEN_TERM)
def test_without_its_term_that_story_goes_unseen(request, monkeypatch, name):
    story = prepared(request, name)
    take_out(monkeypatch, "TERMS", name)
    assert story() == []


def test_every_term_has_its_story():
    assert set(UNSEEN_TERM) == {term.name for term in TERMS}


# --- just inside the limit all is well: the limits are the safety page's own


@pytest.mark.parametrize(
    ("story", "seen"),
    [
        (told, at(2.0, stage="SOAK")),
        (told, at(901.0)),
        (told, at(301.0, close_watch=True)),
        (told, at(20.0, face=Sample(313.0, 15.0))),
        (told, at(2.0, face=Sample(329.9, 2.0))),
        (told, at(2.0, face=Sample(333.1, 2.0), trip=400.0)),
        (lambda: wet((3.0, TIDIED), (4.0, OUT)), at(604.0)),
        (lambda: wet((3.0, OUT), (4.0, TIDIED)), at(604.0)),
        (lambda: told((DAY, act(ActKind.PRESENT))), at(DAY + 1.0)),
    ],
)
def test_at_the_limit_a_lamp_may_still_burn(story, seen):
    assert lit(story(), seen) == []


def test_three_minutes_of_airing_are_enough_where_the_wait_is_over(quick_to_settle):
    assert lit(wet((3.0, OUT), (400.0, TIDIED)), at(580.0)) == []


def test_an_hour_of_lamp_is_allowed_and_no_more():
    for spent, breaches in ((3600.0, []), (3600.1, ["S1"])):
        onlooker = told()
        onlooker.burned["A"] = spent
        assert [breach.rule for breach in lit(onlooker, at(2.0))] == breaches


def test_half_a_days_check_is_none():
    onlooker = Invariants()
    onlooker.see(dark(0.0, stage="PLANNED"))
    onlooker.heard(1.0, act(ActKind.START, plug_in_reach=True, aired=True, smoke_alarm="yes"))
    onlooker.see(dark(1.0))
    assert lit(onlooker, at(2.0))[0].what.endswith("the day's check is missing or a day old")


# --- the rules, and what STOP darkens


def never_armed() -> list[Breach]:
    onlooker = told()
    onlooker.restarted(9.0)
    onlooker.heard(2.0, act(ActKind.PRESENT))
    return lit(onlooker, at(2.0))


def goes_on_without_a_sample() -> list[Breach]:
    onlooker = told()
    for now in (2.0, 3.0, 4.0, 5.0, 5.1):
        onlooker.see(at(now, face=Sample(313.0, now) if now < 3.0 else None))
    return onlooker.unsafe


UNSEEN_RULE: dict[str, Callable[[], list[Breach]]] = {
    "S4": never_armed,
    "S1": UNSEEN_TERM["sample"],
    "S2": goes_on_without_a_sample,
}
"""Rule: a story that breaks it and no other."""


@pytest.mark.parametrize("name", UNSEEN_RULE)
def test_a_story_that_breaks_one_rule_is_seen_by_it_alone(monkeypatch, name):
    assert [breach.rule for breach in UNSEEN_RULE[name]()] == [name]
    take_out(monkeypatch, "RULES", name)
    assert UNSEEN_RULE[name]() == []


def test_every_rule_has_its_story():
    assert set(UNSEEN_RULE) == {rule.name for rule in RULES}


def after_stop(**on: bool) -> list[Breach]:
    """Something is on a good second after STOP, though the batch never left its stage."""
    onlooker = told((2.0, act(ActKind.STOP)))
    onlooker.see(dark(3.0, **on))
    assert onlooker.unsafe == []
    return lit(onlooker, dark(3.1, **on))


ON = {"lamp": {"lamp": True}, "pump": {"pump": True}, "dead-man line": {"dead_man": True}}


@pytest.mark.parametrize("output", ON)
def test_stop_without_one_of_its_outputs_overlooks_that_one(monkeypatch, output):
    assert [breach.rule for breach in after_stop(**ON[output])] == ["STOP"]
    left = {name: on for name, on in STOPPED.items() if name != output}
    monkeypatch.setattr(invariants, "STOPPED", left)
    assert after_stop(**ON[output]) == []


def test_stop_knows_every_output():
    assert set(ON) == set(STOPPED)


# --- what people said and did


def test_a_pull_after_a_stop_between_two_batches_is_no_breach():
    onlooker = told((2.0, act(ActKind.STOP)), (60.0, act(ActKind.DRY_PULL)))
    assert lit(onlooker, dark(70.0, pump=True, stage="DRYPULL")) == []


def test_what_a_lost_batch_left_in_the_zone_may_be_moved_out_by_the_next_one():
    said = (
        (2.0, act(ActKind.COATING, "first")),
        (3.0, act(ActKind.PLAN, "first", id="second")),
        (4.0, act(ActKind.MOVED_OUT, "first but one")),
        (5.0, act(ActKind.TIDIED, "second")),
        (700.0, act(ActKind.PRESENT)),
    )
    assert lit(told(*said), at(701.0))[0].what.endswith("the zone is not clear")
    moved = [*said[:4], (6.0, act(ActKind.MOVED_OUT, "second")), said[4]]
    assert lit(told(*moved), at(701.0)) == []


def test_the_first_way_out_counts_and_a_later_one_starts_no_new_wait():
    onlooker = wet((3.0, TIDIED), (4.0, OUT))
    onlooker.heard(590.0, act(ActKind.MOVED_OUT))
    assert lit(onlooker, at(604.0)) == []


@pytest.mark.parametrize("kind", [ActKind.NEXT_COAT, ActKind.PLAN])
def test_a_new_coat_begins_with_a_fresh_face_a(kind):
    onlooker = told((2.0, act(ActKind.FLIPPED)))
    onlooker.burned = {"A": 4000.0, "B": 4000.0}
    onlooker.heard(3.0, act(kind))
    assert onlooker.burned == {} and onlooker.side == "A"
    assert lit(onlooker, at(4.0)) == []
    onlooker.see(at(14.0))
    assert onlooker.burned == {"A": 10.0}


def test_a_restart_forgets_that_the_lamp_burned_and_counts_no_lamp_time_over_it():
    onlooker = told()
    onlooker.see(at(2.0, dead_man=True))
    onlooker.restarted(9.0)
    onlooker.heard(501.0, act(ActKind.RE_ARM, **YES))
    onlooker.see(dark(501.0, dead_man=True, face=None))
    assert onlooker.burned == {}
    assert [breach.rule for breach in onlooker.unsafe] == ["S1"]


@pytest.mark.parametrize("energised", [{"lamp": True}, {"lamp": False, "dead_man": True}])
def test_what_is_energised_at_the_first_look_of_all_has_just_begun(energised: dict) -> None:
    onlooker = Invariants()
    onlooker.heard(1.0, act(ActKind.START, **YES))
    assert [breach.rule for breach in lit(onlooker, at(1.0, face=None, **energised))] == ["S1"]


@pytest.mark.parametrize(
    ("kind", "stage"), [(EventKind.STAGE, "PLANNED"), (EventKind.OUTPUT, "FINISHED")]
)
def test_nothing_but_the_end_of_the_flash_off_says_that_the_solvent_is_out(
    kind: EventKind, stage: str
) -> None:
    onlooker = wet((3.0, TIDIED))
    data = {"from": "FLASHOFF"}
    onlooker.happened(Event(4.0, kind, "b", stage, "", data))
    (breach,) = lit(onlooker, at(900.0))
    assert breach.what.endswith("the zone is not clear")


@pytest.mark.parametrize(("away", "breaches"), [(500.0, 0), (None, 1)])
def test_the_days_check_outlives_an_outage_only_where_a_clock_tells_its_length(away, breaches):
    onlooker = told()
    onlooker.restarted(away)
    onlooker.heard(501.0, act(ActKind.RE_ARM))
    assert len(lit(onlooker, at(501.0))) == breaches


def test_a_breach_that_ends_and_comes_again_is_told_again():
    onlooker = told()
    for now, on in ((2.0, True), (3.0, True), (4.0, False), (5.0, True)):
        onlooker.see(at(now, lamp=on, record_in_date=False))
    assert [breach.at for breach in onlooker.unsafe] == [2.0, 5.0]


def test_a_reason_that_comes_back_in_time_starts_the_two_seconds_anew():
    onlooker = told()
    for now in (2.0, 3.0, 4.5, 5.0, 6.0, 7.9):
        onlooker.see(at(now, record_in_date=now in (2.0, 5.0)))
    assert onlooker.unsafe == []
