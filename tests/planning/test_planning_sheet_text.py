"""The sheet as a person reads it on a terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.planning.answers.line import Line, Section, Told
from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import example
from controller.planning.sheet_text import heading, sheet_lines
from controller.quantities import People
from controller.settings import default_settings_text, parse_settings

SHEET = plan(parse_description(example("washboard-ash")), parse_settings(default_settings_text()))
MASS = Told("mass", 0.0194, "worked: area times coat weight")
BAG = Told("vacuum", 74500.0, "told: bag.target")
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
    Section(
        "coat 1 vacuum",
        "Coat 1: the vacuum",
        "How deep?",
        (Line("vacuum.set", "set", "Set {bag}.", {"bag": BAG}),),
    ),
)


def lines(units: People | None = None, **more: bool) -> list[str]:
    return sheet_lines(SHEET, SECTIONS, units or People(), **more)


def test_title_headings_questions_and_lines_stand_in_their_order():
    assert lines() == [
        "Washboard in ash - Eelgrass Boatworks",
        "=====================================",
        "",
        "Coat 1: the cup",
        "---------------",
        "  How much do I mix?",
        "  weigh             Weigh 19.4 g of A, and 19.4 g more.",
        "! scale             This scale is too coarse.",
        "",
        "Coat 1: the vacuum",
        "------------------",
        "  How deep?",
        "  set               Set 22.0 inHg vacuum.",
    ]


def test_figures_are_in_the_units_asked_for():
    text = "\n".join(lines(People(vacuum="kPa", mass="oz")))
    assert "Weigh 0.68 oz of A" in text and "Set 74.5 kPa vacuum." in text


def test_numbered_figures_lead_to_the_list_of_sources_and_one_source_has_one_number():
    text = lines(numbered=True)
    assert "  weigh             Weigh 19.4 g [s1] of A, and 19.4 g [s1] more." in text
    assert "  set               Set 22.0 inHg vacuum [s2]." in text
    assert text[-4:] == [
        "Sources",
        "-------",
        "  s1    worked: area times coat weight",
        "  s2    told: bag.target",
    ]


LONG = st.text(st.sampled_from("abc 1.,°-"), min_size=1, max_size=400).filter(str.strip)


@given(LONG, st.text("xyz ", min_size=1, max_size=30).filter(str.strip), st.booleans())
def test_lines_fit_a_terminal_and_only_what_needs_care_is_marked(text, label, care):
    section = Section("a", "A", "What?", (Line("a.b", label, text, care=care),))
    said = sheet_lines(SHEET, (section,), People())
    assert all(len(line) <= 100 and line == line.rstrip() for line in said)
    assert sum(line.startswith("! ") for line in said) == care


def test_a_label_too_long_for_its_column_has_a_line_of_its_own():
    line = Line("a.b", "a label longer than that", "Text.", care=True)
    said = sheet_lines(SHEET, (Section("a", "A", "What?", (line,)),), People())
    assert said[-2:] == ["! a label longer than that", " " * 20 + "Text."]


def test_a_number_stays_on_one_line_with_its_unit():
    line = Line("a.b", "a", "x" * 76 + " {t}.", {"t": Told("temperature", 318.15, "own")})
    said = sheet_lines(SHEET, (Section("a", "A", "What?", (line,)),), People())
    assert said[-1].strip() == "45.0 °C."


@pytest.mark.parametrize(
    ("key", "title", "above"),
    [
        ("boards", "Boards", "Boards"),
        ("coat 2 cup", "The cup", "Coat 2: the cup"),
        ("coat 2 draw", "Coat 2: the draw", "Coat 2: the draw"),
    ],
)
def test_a_coats_heading_names_the_coat_once(key, title, above):
    assert heading(Section(key, title, "?", ())) == above


def test_lines_under_one_label_are_a_list_and_each_keeps_its_own_mark():
    rows = (
        Line("a.1", "if set at", "Shallow."),
        Line("a.2", "if set at", "Deep: " + "x " * 45 + "x", care=True),
        Line("a.3", "else", "Other."),
    )
    said = sheet_lines(SHEET, (Section("a", "A", "What?", rows),), People())
    assert said[-4:] == [
        "  if set at         - Shallow.",
        "!                   - Deep: " + "x " * 35 + "x",
        "                      " + "x " * 9 + "x",
        "  else              Other.",
    ]


def test_the_same_label_further_on_is_said_again():
    rows = tuple(Line(f"a.{n}", label, "So.") for n, label in enumerate(["size", "use", "size"]))
    said = sheet_lines(SHEET, (Section("a", "A", "What?", rows),), People())
    assert [line.split() for line in said[-3:]] == [
        ["size", "So."],
        ["use", "So."],
        ["size", "So."],
    ]
