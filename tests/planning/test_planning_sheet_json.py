"""The sheet as it is kept as JSON, read back, and sent with a PLAN act."""

import json
from dataclasses import replace

import pytest

from controller.errors import InputError
from controller.planning.answers.all_answers import answers
from controller.planning.answers.line import Line, Section, Told
from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import EXAMPLES, example
from controller.planning.plan_act import plan_values
from controller.planning.sheet_json import (
    Answered,
    answers_from_json,
    answers_json,
    sheet_from_json,
    sheet_to_json,
)
from controller.quantities import KINDS
from controller.settings import default_settings_text, parse_settings

RIG = parse_settings(default_settings_text())
SHEET = plan(parse_description(example("washboard-ash")), RIG)
MASS = Told("mass", 0.0194, "worked: area times coat weight")
SECTIONS = (
    Section(
        "coat 1 cup",
        "The cup",
        "How much do I mix?",
        (
            Line("cup.a", "weigh", "Weigh {a} of A, and {a} more.", {"a": MASS}),
            Line("cup.scale", "scale", "This scale is too coarse.", care=True),
        ),
    ),
)


def test_answers_are_read_back_as_they_were_written_and_the_sheet_alone_from_either():
    text = answers_json(SHEET, SECTIONS)
    assert answers_from_json(text) == Answered(SHEET, SECTIONS)
    assert sheet_from_json(text) == SHEET == sheet_from_json(sheet_to_json(SHEET))
    assert answers_from_json(sheet_to_json(SHEET)).sections == ()


def test_a_figure_in_the_json_has_its_kind_value_and_source():
    found = json.loads(answers_json(SHEET, SECTIONS))
    assert set(found) == {"sheet", "sections"}
    line = found["sections"][0]["lines"][0]
    assert line["figures"]["a"] == {
        "kind": "mass",
        "value": 0.0194,
        "source": "worked: area times coat weight",
    }
    assert line["figures"]["a"]["kind"] in KINDS


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_example_with_all_it_tells_survives_as_json(name):
    sheet, sections = answers(parse_description(example(name)), RIG)
    assert answers_from_json(answers_json(sheet, sections)) == Answered(sheet, sections)


NO_SHEETS = ["", "no json", "[]", "3", "{}", '{"sheet": {}}', '{"sections": []}']


@pytest.mark.parametrize("text", [*NO_SHEETS, '{"sheet": 1, "sections": 2}'])
def test_what_is_no_sheet_is_refused(text):
    with pytest.raises(InputError, match="no batch sheet"):
        sheet_from_json(text)


# --- as a PLAN act


@pytest.mark.parametrize(
    ("name", "id"),
    [
        ("Washboard in ash", "washboard-in-ash-20261117-170000"),
        ("Tür (2)", "t-r-2-20261117-170000"),
        ("---", "batch-20261117-170000"),
    ],
)
def test_a_plan_carries_the_sheet_and_an_id_of_its_name_and_hour(name, id):
    # 17 Nov 2026 17:00 UTC
    values = plan_values(replace(SHEET, name=name), 1794934800.0)
    assert values["id"] == id
    assert sheet_from_json(str(values["sheet"])).name == name
