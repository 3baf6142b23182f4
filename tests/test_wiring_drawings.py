"""The wiring drawings are what their generator draws, and hardware.md says the same as both."""

import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

import pytest

from controller.hardware.raspberry_adc import (
    ADS1115_GAINS,
    ADS1115_STEPS,
    MCP3008_REFERENCE,
    MCP3008_STEPS,
    RAIL,
)
from controller.settings import default_settings_text, parse_settings
from controller.settings.gauges import MOST_SUPPLY, REACH

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "web" / "pictures"
TEXT = (ROOT / "hardware.md").read_text(encoding="utf-8")
PLACE = '[shop]\naltitude = "3 m"\ntime_zone = "Europe/Oslo"\n'
RIG = '[rig]\nbackend = "raspberry"\n'
TIMES = "\N{MULTIPLICATION SIGN}"
SMALLEST = 11.0
"""Text that is still read on a page, [px]; own."""


@pytest.fixture(scope="module")
def pictures() -> Iterator[dict[str, ModuleType]]:
    """The generator's modules: they are no package, and lie beside what they draw."""
    sys.path.insert(0, str(PICTURES))
    try:
        import wiring
        import wiring_lines
        import wiring_parts

        yield {"wiring": wiring, "lines": wiring_lines, "parts": wiring_parts}
    finally:
        sys.path.remove(str(PICTURES))


def snippets() -> list[str]:
    return re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)


def tables(text: str) -> Iterator[list[dict[str, str]]]:
    """Each table of a Markdown text, a row as its cells by their heads."""
    for block in re.findall(r"(?m)(?:^\|.*\n)+", text):
        rows = [[cell.strip() for cell in line[1:-2].split("|")] for line in block.splitlines(True)]
        yield [dict(zip(rows[0], row, strict=True)) for row in rows[2:]]


def table_with(*heads: str) -> list[dict[str, str]]:
    """The one table that has these heads."""
    (found,) = [rows for rows in tables(TEXT) if set(heads) <= set(rows[0])]
    return found


def test_the_drawings_kept_are_what_the_generator_draws(pictures):
    drawn = pictures["wiring"].drawn()
    assert sorted(drawn) == sorted(path.name for path in PICTURES.glob("wiring-*.svg"))
    for name, text in drawn.items():
        kept = (PICTURES / name).read_text(encoding="utf-8")
        assert kept == text, f"{name}: run .venv/bin/python web/pictures/wiring.py"


def test_each_drawing_is_shown_in_hardware_md_and_has_words_for_those_who_hear_it(pictures):
    shown = dict(re.findall(r"!\[([^\]]+)\]\(web/pictures/(wiring-[a-z-]+\.svg)\)", TEXT))
    assert sorted(shown.values()) == sorted(pictures["wiring"].DRAWINGS)
    for text in pictures["wiring"].drawn().values():
        root = ElementTree.fromstring(text)
        title, description = root[0], root[1]
        assert (title.tag[-5:], description.tag[-4:]) == ("title", "desc")
        assert title.text and description.text and len(description.text) > len(title.text)


def test_no_text_on_a_drawing_is_small_or_off_its_paper(pictures):
    for name, text in pictures["wiring"].drawn().items():
        assert min(float(size) for size in re.findall(r"(?:size|font):([0-9.]+)px", text)) >= (
            SMALLEST
        )
        root = ElementTree.fromstring(text)
        width, height = float(root.attrib["width"]), float(root.attrib["height"])
        for mark in root.iter("{http://www.w3.org/2000/svg}text"):
            assert mark.text
            # a letter of these fonts is some half its height wide, a strong one less than 0.6
            look = (mark.get("class") or "").split()
            size = 16 if "loud" in look else 11 if "small" in look else 12
            long = 0.55 * size * len(mark.text)
            shift = {None: 0.0, "middle": 0.5, "end": 1.0}[mark.get("text-anchor")]
            left = float(mark.attrib["x"]) - shift * long
            assert 8 <= left and left + long <= width - 4, f"{name}: {mark.text}"
            assert 12 <= float(mark.attrib["y"]) <= height - 8, f"{name}: {mark.text}"


def test_another_line_in_the_settings_moves_it_on_the_drawings(pictures):
    lines = pictures["lines"]
    moved = default_settings_text().replace("dead_man = 25", "dead_man = 18")
    draw = pictures["wiring"].DRAWINGS["wiring-dead-man.svg"]
    assert "GPIO18 (pin 12)" in draw(lines.lines(parse_settings(moved)))
    assert "GPIO25 (pin 22)" in draw(lines.example_lines())


def test_the_header_has_each_place_once(pictures):
    lines = pictures["lines"]
    places = [*lines.PINS.values(), *lines.THREE_VOLTS, *lines.FIVE_VOLTS, *lines.GROUNDS]
    assert sorted(places) == list(range(1, 41))
    assert sorted(lines.PINS) == list(range(28))


def test_the_table_of_lines_is_the_example_s(pictures):
    told = {
        (row["line"], int(row["BCM"]), int(row["pin"]), row["way"], row["goes to"])
        for row in table_with("BCM", "pin")
    }
    ways = {"output": "out", "input": "in", "bus": "bus"}
    assert told == {
        (line.name, line.bcm, line.pin, ways[line.use], line.goes_to)
        for line in pictures["lines"].example_lines()
    }


def test_each_snippet_is_settings_that_a_rig_can_have():
    found = snippets()
    assert len(found) >= 5
    for text in found:
        told = tomllib.loads(text)
        settings = parse_settings(
            text + (RIG if "rig" not in told else "") + (PLACE if "shop" not in told else "")
        )
        assert settings.rig.backend == "raspberry"
        assert settings.gauge.wired != "wired" or settings.gauge.adc is not None


def test_the_snippets_put_each_part_on_the_example_s_line(pictures):
    lines = pictures["lines"]
    whole = {(line.name, line.bcm) for line in lines.example_lines()}
    rigs = [text for text in snippets() if "[rig]" in text]
    used = [{(line.name, line.bcm) for line in lines.lines(parse_settings(t))} for t in rigs]
    assert len(rigs) == 3
    assert used[0] < used[1] < used[2] == whole


def test_only_a_rig_with_cut_out_and_dead_man_leaves_close_watch():
    for text in snippets():
        told = tomllib.loads(text)
        if told.get("rig", {}).get("close_watch") is False:
            assert "dead_man" in told["panel"] and "cut_out" in told["sense"]


def test_the_divider_keeps_its_volts_within_the_converter_s_reach(pictures):
    parts = pictures["parts"]
    assert parts.ADC_REFERENCE == MCP3008_REFERENCE
    assert parts.divider() * MOST_SUPPLY == pytest.approx(parts.most_on_input())
    assert parts.signal_on_input() < parts.most_on_input() < REACH["mcp3008"]
    low, high, most = parts.loop_volts()
    assert most < REACH["mcp3008"]
    for volts in (0.6 * 4.5, parts.most_on_input(), low, high, most, 2 / 3 * MOST_SUPPLY):
        assert f"{volts:.2f} V" in TEXT, volts
    # what hardware.md says does not fit
    assert 2 / 3 * MOST_SUPPLY > REACH["mcp3008"]
    used = {tomllib.loads(text).get("gauge", {}).get("divider", 0.6) for text in snippets()}
    assert used == {parts.divider()}


def test_the_converter_s_steps_are_what_hardware_md_says(pictures):
    parts = pictures["parts"]
    pascal_a_volt = 115e3 / 4.0
    coarse = MCP3008_REFERENCE / MCP3008_STEPS / parts.divider() * pascal_a_volt
    full = next(full for _, full in ADS1115_GAINS if parts.most_on_input() < RAIL * full)
    fine = full / ADS1115_STEPS / parts.divider() * pascal_a_volt
    assert f"One count of the MCP3008 is {coarse:.0f} Pa" in TEXT
    assert f"The ADS1115 makes {fine:.0f} Pa of it" in TEXT
    assert f"the divider's {parts.source_resistance() / 1e3:g} kΩ" in TEXT.replace("The d", "the d")
    assert parts.ADC_CAPACITOR / parts.MCP3008_SAMPLING == pytest.approx(5000)
    # a sample moves the input by less than the fifth of a count, rounded up, that is told
    assert MCP3008_STEPS / 5000 < 0.21
    worst = (parts.LOOP_SUPPLY - parts.ADC_REFERENCE - 0.6) / parts.LOOP_SERIES
    assert worst < 1e-3


def test_the_dead_man_opens_within_two_seconds_and_forgives_a_tick(pictures):
    parts = pictures["parts"]
    assert 1.3 < parts.shortest_hold() < parts.hold() < parts.longest_hold()
    assert parts.contactor_open() < 2.0
    reckoned = {row["time"]: row["reckoned"] for row in table_with("time", "reckoned")}
    assert list(reckoned.values()) == [
        f"{seconds:.2f} s"
        for seconds in (
            parts.hold(),
            parts.shortest_hold(),
            parts.longest_hold(),
            parts.contactor_open(),
        )
    ]
    assert f"{parts.timing_resistance() / 1e6:.2f} MΩ {TIMES} 1 µF" in TEXT
    # one of the two timing resistors broken
    assert f"hold {2 * parts.hold():.1f} s" in TEXT


def test_an_edge_empties_the_timing_capacitor_and_switching_on_does_not(pictures):
    parts = pictures["parts"]
    assert f"draws {parts.emptying_reserve():.0f} times the charge" in TEXT
    assert parts.emptying_reserve(gain=30) > 3
    assert f"by {parts.at_switch_on():.2f} V and not by the 0.5 V" in TEXT
    assert parts.at_switch_on() < 0.5


def test_the_dead_man_s_parts_are_those_drawn(pictures):
    parts = pictures["parts"]
    (rows,) = [t for t in tables(TEXT) if set(t[0]) == {"part", "value", "why"}]
    value = {row["part"]: row["value"] for row in rows}
    ohms, farads = parts.ohms, parts.farads
    for part, wanted in {
        "pull-down, series": (ohms(parts.PULL_DOWN), ohms(parts.SERIES)),
        "coupling": (f"2 {TIMES} {farads(parts.COUPLING)}",),
        "trigger": (ohms(parts.TRIGGER_BASE), ohms(parts.TRIGGER_LEAK)),
        "inverter": (
            ohms(parts.INVERTER_COLLECTOR),
            ohms(parts.INVERTER_FEED),
            farads(parts.INVERTER_STORE),
        ),
        "timing": (
            farads(parts.TIMING_CAPACITOR),
            f"two of {ohms(parts.TIMING_RESISTOR)}",
            ohms(parts.EMPTYING),
        ),
        "driver": (ohms(parts.DRIVER_BASE), ohms(parts.PULL_DOWN)),
    }.items():
        for text in wanted:
            assert text in value[part], (part, text)


def test_the_fuses_follow_from_the_lamps():
    steps = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10)
    rows = table_with("lamps", "mains", "running")
    assert len(rows) == 4
    for row in rows:
        count, power = (int(n) for n in re.findall(r"[0-9]+", row["lamps"]))
        running = count * power / int(row["mains"].removesuffix(" V"))
        assert row["running"] == f"{running:.1f} A"
        cold = int(row["cold, at 15 times"].removesuffix(" A"))
        assert abs(cold - 15 * running) <= 0.5
        fuse = next(step for step in steps if step >= 1.25 * running)
        assert row["fuse F1, lamp's share"] == f"{fuse:g} A slow"


def test_what_the_values_make_is_worked_in_their_docstrings(pictures):
    import doctest

    found = doctest.testmod(pictures["parts"])
    assert found.failed == 0 and found.attempted >= 4


def test_the_syringe_s_example_is_right():
    assert "at 101 kPa, 60 mL that lift the bag by 2.0 kPa make 3.0 L" in TEXT
    assert round(101 * 0.060 / 2.0, 1) == 3.0
