"""Scenarios as files, and what the pretend shop makes of them."""

import pytest

from controller.batch.acts import ActKind
from controller.errors import InputError
from controller.hardware.plant import Plant
from controller.hardware.simulated import SimulatedRig
from controller.rehearsal.rig import do_by_hand, plant_for, settings_for, sheet_for
from controller.rehearsal.run import rehearse
from controller.rehearsal.scenario import parse_scenario, scenario, shipped

MADE_UP = """
name = "made-up"
says = "Nothing much."
starts_at = 2027-04-09T15:30:00-04:00
batch = "washboard-ash"

[evening]
start = "20 degC"
night_low = "17 degC"
day_high = "21 degC"
"""


def test_every_scenario_that_ships_is_named_like_its_file():
    assert {"good-night", "cold-shop", "seam-leak", "sensor-off", "power-cut"} <= set(shipped())
    assert [scenario(name).name for name in shipped()] == list(shipped())


def test_an_unknown_scenario_is_answered_with_those_there_are():
    with pytest.raises(InputError, match="no scenario 'best-night': there are cold-shop"):
        scenario("best-night")


def test_all_faults_of_a_scenario_file_are_told_at_once():
    text = MADE_UP.replace('"20 degC"', '"20 inHg"').replace("says =", "tells =")
    with pytest.raises(InputError) as found:
        parse_scenario(text, "made-up.toml")
    assert "made-up.toml is no scenario" in str(found.value)
    assert "evening.start" in str(found.value) and "tells" in str(found.value)


def test_what_is_not_toml_is_said_so():
    with pytest.raises(InputError, match=r"made-up\.toml: not TOML"):
        parse_scenario("name =", "made-up.toml")


def test_the_plant_is_the_sheets_board_and_still_not_what_the_sheet_believes():
    story = scenario("good-night")
    settings = settings_for(story)
    sheet = sheet_for(story, settings)
    plants = [plant_for(sheet, story, settings, seed).parameters for seed in range(20)]
    piece = sheet.pieces[0]
    for plant in plants:
        assert plant.board.length * plant.board.width == pytest.approx(piece.length * piece.width)
        assert abs(plant.lamp.flux / settings.lamp.absorbed - 1) <= 0.12
    assert len({plant.lamp.flux for plant in plants}) == 20
    assert plant_for(sheet, story, settings, 3).parameters == plants[3]


def test_each_coat_goes_on_with_its_own_resin_and_thinner():
    story = scenario("two-coats")
    sheet = sheet_for(story, settings_for(story))
    first, second = sheet.coats
    rig = SimulatedRig(Plant())
    do_by_hand(rig, ActKind.COATED, first)
    thinned = rig.truth().solvent_left
    assert thinned == pytest.approx(first.mix.coat * first.mix.thinner / first.mix.total)
    do_by_hand(rig, ActKind.COATED, second)
    assert rig.truth().solvent_left == pytest.approx(thinned)


@pytest.mark.parametrize("record", ["out of date", "none"])
def test_without_a_record_in_date_start_is_refused_and_the_operator_goes_home(record):
    story = parse_scenario(MADE_UP.replace("[evening]", f'record = "{record}"\n[evening]'), "m")
    outcome = rehearse(story)
    assert outcome.outcome == "REFUSED"
    assert not outcome.as_expected
    assert outcome.story.refused == ["the rig has no bench record in date: run warmdraw check"] * 3
    assert {name for name, _, _ in outcome.story.stages} == {"PLANNED", "DRYPULL"}
    assert outcome.simulated_s < 3600.0
    assert outcome.unsafe == ()


def test_a_story_may_be_about_a_refused_start():
    extra = 'record = "none"\nexpected = "REFUSED"\ndry_pull = false\n[evening]'
    outcome = rehearse(parse_scenario(MADE_UP.replace("[evening]", extra), "m"))
    assert outcome.as_expected
    assert "DRYPULL" not in [name for name, _, _ in outcome.story.stages]
