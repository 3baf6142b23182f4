"""What each scenario that ships promises, on its own seed; more seeds are behind `long`."""

import json

import pytest

from controller.rehearsal.outcome import Outcome
from controller.rehearsal.rig import settings_for, sheet_for
from controller.rehearsal.run import rehearse
from controller.rehearsal.scenario import scenario, shipped

HOUR = 3600.0
DAYS = {"two-coats"}
ONE_NIGHT = sorted(set(shipped()) - DAYS)
"""Scenarios of one board and one coat."""
QUICK = ["good-night", "seam-leak", "sensor-off"]
"""Those of every run; the others are behind `long`, for a night takes ten seconds to play."""
NIGHTS = [pytest.param(name, marks=() if name in QUICK else pytest.mark.long) for name in ONE_NIGHT]
WHOLE = [
    "PLANNED",
    "DRYPULL",
    "PLANNED",
    "PREHEAT",
    "SOAK",
    "COOLDOWN",
    "COAT",
    "BAG",
    "PULLDOWN",
    "HOLD",
    "FLASHOFF",
    "FINISHED",
]
"""The order of work, nothing going wrong."""


def stages(outcome: Outcome) -> list[str]:
    return [name for name, _, _ in outcome.story.stages]


def told(outcome: Outcome) -> str:
    """The JSON, but for how long the machine took."""
    return json.dumps({k: v for k, v in outcome.as_json().items() if k != "wall_s"}, indent=1)


@pytest.mark.parametrize("name", NIGHTS)
def test_it_ends_as_it_should_and_nothing_is_ever_unsafe(played, name):
    outcome = played(name).outcome
    assert outcome.unsafe == ()
    assert outcome.outcome == scenario(name).expected
    assert outcome.as_expected
    assert outcome.story.refused == []


@pytest.mark.parametrize("name", [each for each in NIGHTS if each.values != ("sensor-off",)])
def test_the_first_stroke_comes_two_to_four_minutes_after_the_lamp(played, name):
    night = played(name)
    assert 120.0 <= night.began("COAT") - night.began("COOLDOWN") <= 220.0
    assert 32.0 <= night.outcome.story.truth["face_at_first_stroke_c"] <= 38.0


def test_a_good_night_is_three_days_without_an_alarm(played):
    outcome = played("good-night").outcome
    assert outcome.simulated_s >= 72 * HOUR
    assert outcome.story.alarms == []
    assert stages(outcome) == WHOLE


def test_the_seam_leak_is_told_before_the_bag_leaves_its_band(played):
    night = played("seam-leak")
    story = scenario("seam-leak")
    sheet = sheet_for(story, settings_for(story))
    opened = night.began("HOLD") + story.faults[0].after
    told_at = night.alarm("bag leaks")["at_s"]
    assert opened < told_at < opened + 600.0
    waiting = [row.bag for row in night.samples() if opened <= row.at <= told_at]
    assert len(waiting) >= 10
    assert max(waiting) <= sheet.coats[0].bag.restart + 5e3


def test_a_mended_seam_holds_until_the_morning(played):
    night = played("seam-leak")
    assert [alarm["id"] for alarm in night.outcome.story.alarms] == ["bag leaks"]
    assert night.alarm("bag leaks")["cleared_s"] is not None


def test_the_lamp_is_off_within_5_s_of_the_bus_going_silent(played):
    night = played("sensor-off")
    silent = night.began("PREHEAT") + scenario("sensor-off").faults[0].after
    rows = night.samples()
    assert any(row.lamp for row in rows if silent - 10 <= row.at < silent)
    assert not any(row.lamp for row in rows if row.at >= silent + 5.0)
    assert night.alarm("face probe lost")["priority"] == "P2"


@pytest.mark.long
def test_after_a_power_cut_in_the_preheat_the_lamp_waits_for_a_person(played):
    night = played("power-cut")
    assert stages(night.outcome)[3:6] == ["PREHEAT", "INTERRUPTED", "PREHEAT"]
    back, armed = night.began("INTERRUPTED"), night.began("PREHEAT", nth=1)
    between = [row for row in night.samples() if back <= row.at < armed]
    assert between and not any(row.lamp for row in between)
    acts = [e.event for e in night.events() if e.event is not None]
    assert [a.at for a in acts if a.data.get("act") == "RE-ARM"] == [armed]


@pytest.mark.long
def test_after_a_power_cut_in_the_hold_the_pump_comes_back_when_the_gauge_proves_the_bag(played):
    night = played("power-cut")
    cut = night.began("HOLD") + scenario("power-cut").outages[1].after
    back = cut + 12 * 60.0
    assert "INTERRUPTED" not in stages(night.outcome)[stages(night.outcome).index("HOLD") :]
    proofs = [e.event.at for e in night.events() if e.event and "proves the bag" in e.event.text]
    assert len(proofs) == 1
    assert back <= proofs[0] <= back + 60.0
    rows = night.samples()
    assert not any(cut < row.at < back for row in rows)
    assert not any(row.pump for row in rows if back <= row.at < proofs[0])
    assert any(row.pump for row in rows if proofs[0] <= row.at < proofs[0] + 6 * HOUR)
    assert night.alarm("power was away")["at_s"] == back


@pytest.mark.long
def test_a_cold_shop_opens_later_and_says_why(played):
    cold, good = played("cold-shop"), played("good-night")
    late, usual = (n.outcome.story.truth["opened_at_s"] for n in (cold, good))
    assert late > usual + 4 * HOUR
    why = [s.now for s in cold.shown if "Too cold to set: it opens later" in s.sentence.text]
    assert why and cold.began("HOLD") < why[0] < late
    assert not any("Too cold" in shown.sentence.text for shown in good.shown)


@pytest.mark.long
def test_a_cold_shop_wakes_nobody(played):
    found = played("cold-shop").outcome.story.alarms
    assert {alarm["priority"] for alarm in found} == {"P3"}


@pytest.mark.long
def test_a_fallen_probe_cuts_the_lamp_until_it_is_armed_again(played):
    night = played("probe-fell")
    fell = night.began("PREHEAT") + scenario("probe-fell").faults[0].after
    alarm = night.alarm("probe fell")
    assert alarm["priority"] == "P1"
    assert fell < alarm["at_s"] <= fell + 30.0
    assert night.began("STOPPED") == alarm["at_s"]
    armed = night.began("PREHEAT", nth=1)
    between = [row for row in night.samples() if alarm["at_s"] <= row.at < armed]
    assert between and not any(row.lamp for row in between)


@pytest.mark.long
def test_with_the_phone_away_the_lamp_is_off_when_the_last_word_is_15_minutes_old(played):
    night = played("phone-away")
    told_at, back = night.alarm("nobody there")["at_s"], night.alarm("nobody there")["cleared_s"]
    acts = [e.event for e in night.events() if e.event is not None]
    words = [a.at for a in acts if a.data.get("act") in ("START", "PRESENT")]
    last = max(at for at in words if at < told_at)
    assert 300.0 <= told_at - last <= 902.0
    assert not any(row.lamp for row in night.samples() if told_at <= row.at < back)
    assert back in words
    assert any(row.lamp for row in night.samples() if row.at > back)


def test_the_same_seed_tells_the_same_story_to_the_byte(played):
    first, again = played("sensor-off").outcome, rehearse(scenario("sensor-off"))
    assert told(again) == told(first)
    assert told(rehearse(scenario("sensor-off"), 2)) != told(first)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 4))
@pytest.mark.parametrize("name", ONE_NIGHT)
def test_it_ends_as_it_should_on_other_seeds_too(name, seed):
    outcome = rehearse(scenario(name), seed)
    assert outcome.unsafe == ()
    assert outcome.as_expected


@pytest.mark.long
@pytest.mark.parametrize("name", ONE_NIGHT)
def test_every_story_is_the_same_to_the_byte_when_it_is_played_again(played, name):
    assert told(rehearse(scenario(name))) == told(played(name).outcome)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(1, 4))
def test_a_second_coat_follows_the_first_when_its_solvent_is_out(seed):
    outcome = rehearse(scenario("two-coats"), seed)
    assert outcome.as_expected
    assert outcome.unsafe == ()
    second = ["PLANNED", "PREHEAT", "SOAK", "COOLDOWN", "COAT", "HOLD", "FINISHED"]
    assert stages(outcome) == WHOLE + second
