"""The sheet as a page to print: everything is on it, it needs nothing, and pretence is said."""

import re
from html.parser import HTMLParser

from controller.planning.answers.line import Line, Section, Told
from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import example
from controller.quantities import People
from controller.report.sheet_page import sheet_html
from controller.settings import default_settings_text, parse_settings

RIG = parse_settings(default_settings_text())
SHEET = plan(parse_description(example("washboard-ash").replace("in ash", "<b>&")), RIG)
MASS = Told("mass", 0.0194, "worked: <area> times coat weight")
SECTIONS = (
    Section(
        "coat 1 cup",
        "The cup",
        "How much & what?",
        (
            Line("cup.a", "weigh", "Weigh {a} of A.", {"a": MASS}),
            Line("cup.scale", "scale", "Scale < part.", care=True),
        ),
    ),
)


def written(units: People | None = None, *, simulated: bool = True, note: str | None = None) -> str:
    return sheet_html(SHEET, SECTIONS, units or People(), simulated=simulated, note=note)


class Balance(HTMLParser):
    """Counts what is opened and closed, and what is fetched."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag != "meta":
            self.open.append(tag)
        self.fetched += [value or "" for name, value in attrs if name in ("src", "href")]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_it_is_one_whole_file_that_fetches_nothing() -> None:
    page = Balance()
    page.feed(written(note="For another rig."))
    assert (page.open, page.fetched) == ([], [])
    assert "url(" not in written() and "<script" not in written()


def test_a_pretended_rig_is_said_at_the_top_on_every_printed_page_and_in_the_title() -> None:
    pretended, real = written(), written(simulated=False)
    assert pretended.count("SIMULATED") >= 3
    assert 'class="each-page"' in pretended
    assert "SIMULATED" not in real and 'class="each-page"' not in real


def test_what_people_wrote_is_text_and_no_markup() -> None:
    page = written(note="a < b")
    assert "Washboard &lt;b&gt;&amp;" in page
    assert "How much &amp; what?" in page and "Scale &lt; part." in page
    assert "worked: &lt;area&gt;" in page and "a &lt; b" in page


def test_a_warning_has_a_word_and_the_sources_stand_folded_below_by_line_and_figure() -> None:
    page = written()
    assert re.search(r'<div class="care"><dt>scale</dt><dd><b>CARE\.</b> Scale', page)
    (folded,) = re.findall(r"<details>.*?</details>", page)
    assert folded.count("<li>") == 1
    assert "<li>weigh, 19.4 g: worked:" in folded


def test_lines_under_one_label_are_a_list_and_only_the_one_that_warns_has_the_word() -> None:
    rows = (Line("a.1", "at", "Shallow."), Line("a.2", "at", "Deep.", care=True))
    page = sheet_html(SHEET, (Section("a", "A", "?", rows),), People(), simulated=False)
    assert (
        '<div class="care"><dt>at</dt>'
        "<dd><ul><li>Shallow.</li><li><b>CARE.</b> Deep.</li></ul></dd></div>"
    ) in page
    assert "<details>" not in page


def test_figures_of_one_line_and_source_share_a_place_in_the_fold() -> None:
    told = {"least": MASS, "most": Told("mass", 0.03, MASS.source), "bag": Told("mass", 1, "own")}
    rows = (Line("a.1", "mix", "{least} to {most}, {bag}.", told),)
    page = sheet_html(SHEET, (Section("a", "A", "?", rows),), People(), simulated=False)
    (folded,) = re.findall(r"<details>.*?</details>", page)
    assert re.findall(r"<li>(.*?): ", folded) == ["mix, 19.4 g, 30.0 g", "mix, 1000 g"]


def test_figures_are_in_the_units_asked_for_and_stay_with_their_unit() -> None:
    assert "Weigh 19.4\N{NO-BREAK SPACE}g of A." in written()
    assert "Weigh 0.68\N{NO-BREAK SPACE}oz of A." in written(People(mass="oz"))
