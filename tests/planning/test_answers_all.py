"""The sheet as a whole: sections in order, a figure in every gap, a source to each figure."""

import re

import pytest
from cases import SAPELE, described, read, rig

from controller.planning.answers.all_answers import answers
from controller.planning.answers.line import Section
from controller.planning.batch_plan import plan
from controller.planning.examples import EXAMPLES, example
from controller.quantities import KINDS

TAGS = (
    "[1] ",
    "own",
    "common practice, no source",
    "from memory, to be checked",
    "told",
    "row ",
    "worked: ",
)
"""What a source begins with."""


@pytest.fixture(scope="module", params=EXAMPLES)
def told(request) -> tuple[Section, ...]:
    return answers(described(of=example(request.param)), rig())[1]


def test_the_sections_come_in_the_order_of_the_work():
    keys = [section.key for section in answers(described(of=SAPELE), rig())[1]]
    assert keys[0] == "boards"
    assert keys[-1] == "cautions"
    first = [key for key in keys if key.startswith("coat 1 ")]
    assert first == [
        f"coat 1 {what}"
        for what in ("warmth", "cup", "thinness", "draw", "vacuum", "let_up", "clocks", "fresh_air")
    ]
    # the second coat has neither bag nor solvent
    second = [key for key in keys if key.startswith("coat 2 ")]
    assert second == [f"coat 2 {what}" for what in ("warmth", "cup", "thinness", "draw", "clocks")]


def test_the_sheet_beside_the_answers_is_the_planned_one():
    assert answers(described(), rig())[0] == plan(described(), rig())


def test_each_gap_has_its_figure_and_each_figure_its_gap(told):
    for section in told:
        assert section.question.endswith("?")
        for line in section.lines:
            gaps = re.findall(r"\{([a-z][a-z0-9_]*)\}", line.text)
            assert set(gaps) == set(line.figures), (section.key, line.key)
            assert read(line)
            assert re.match(r"[A-Z0-9{]", line.text), line.text
            assert line.text.endswith("."), line.text


def test_each_figure_has_a_known_kind_and_a_source(told):
    for section in told:
        for line in section.lines:
            for name, figure in line.figures.items():
                where = (line.key, name, figure.source)
                assert figure.kind in KINDS, where
                assert figure.source.startswith(TAGS), where


def test_no_two_lines_of_a_section_have_one_key(told):
    for section in told:
        found = [line.key for line in section.lines]
        assert len(found) == len(set(found)), section.key
    assert len({section.key for section in told}) == len(told)


def test_every_caution_of_the_sheet_is_a_line_that_warns():
    sheet, sections = answers(described(), rig())
    lines = sections[-1].lines
    assert [line.text for line in lines] == list(sheet.cautions)
    assert all(line.care for line in lines)
