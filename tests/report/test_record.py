"""The record: everything of a batch on one page, and nothing made up."""

from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from sqlite3 import connect
from xml.etree import ElementTree

import pytest
import washboard
from washboard import ID, sheet

from controller.errors import InputError
from controller.quantities import People
from controller.report.record import record_html
from controller.store.queries import LogReader

ZONE = "America/New_York"
VOID = {"meta", "br", "hr", "img", "link", "input"}


class Nesting(HTMLParser):
    """Follows the tags of a page and collects its words."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open += [] if tag in VOID else [tag]
        self.addresses += [str(value) for name, value in attrs if name in ("src", "href")]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One that closes itself opens nothing."""

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> LogReader:
    return LogReader(washboard.keep(tmp_path_factory.mktemp("log") / "log.db"))


@pytest.fixture(scope="module")
def page(log: LogReader) -> str:
    return record_html(log, ID, People(), ZONE)


def read(page: str) -> Nesting:
    nesting = Nesting()
    nesting.feed(page)
    nesting.close()
    return nesting


def figure(page: str, name: str) -> str:
    return page.partition(f"<dt>{name}</dt><dd>")[2].partition("</dd>")[0]


def test_every_tag_is_closed_and_the_drawing_is_xml_by_itself(page: str) -> None:
    assert read(page).open == []
    svg = page[page.index("<svg") : page.index("</svg>") + 6]
    assert ElementTree.fromstring(svg).tag == "{http://www.w3.org/2000/svg}svg"


def test_the_file_needs_nothing_beside_it(page: str) -> None:
    assert read(page).addresses == []
    assert "<script" not in page
    assert "@import" not in page
    assert "http" not in page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert page.count("url(") == page.count("url(#coat1-")


def test_a_simulated_record_says_so_at_the_top_and_on_each_printed_page(page: str) -> None:
    assert page.index("<strong>SIMULATED</strong>") < page.index("<h1>")
    edge = page.partition('<div class="each-page"')[2].partition("</div>")[0]
    assert "SIMULATED" in edge
    assert "position:fixed" in page.partition(".each-page{display:flex;")[2][:40]
    assert "<title>SIMULATED: Washboard in ash" in page


def test_a_record_that_does_not_tell_the_rig_says_that_instead(tmp_path: Path) -> None:
    reader = LogReader(washboard.keep(tmp_path / "log.db", simulated=None))
    assert "<strong>RIG NOT SAID</strong>" in record_html(reader, ID, People(), ZONE)
    real = record_html(reader, ID, People(), ZONE, simulated=False)
    assert 'class="banner"' not in real
    assert "SIMULATED" not in real
    assert 'class="each-page"' not in real


def test_a_simulated_log_stays_simulated_when_a_later_line_says_real(tmp_path: Path) -> None:
    path = washboard.keep(tmp_path / "log.db", simulated=True)
    log = washboard.Log.open(path, throwaway=True)
    late = washboard.event(washboard.END, washboard.EventKind.RESTART, "FLASHOFF", "Back.")
    late = replace(late, data={"simulated": False})
    log.write(washboard.Entry(stamp=washboard.stamp(washboard.END), events=(late,)))
    log.close()
    assert "<strong>SIMULATED</strong>" in record_html(LogReader(path), ID, People(), ZONE)


def test_the_figures_stand_there_with_their_units(page: str) -> None:
    assert figure(page, "Lamp on, in all") == "35 min"
    assert figure(page, "Lamp-off to first stroke") == "2 min 40 s"
    assert figure(page, "Mix on the board") == "84.0 g, 280 g/m²"
    assert figure(page, "Pump starts, from sealing on") == "13"
    assert figure(page, "Over 36.0 kPa abs before gel") == "10 min"
    assert figure(page, "Deepest vacuum in the hold") == "21.6 inHg vacuum"


def test_the_units_are_the_readers_own(log: LogReader) -> None:
    page = record_html(log, ID, People("F", "mbar", "oz"), "Europe/Berlin")
    assert figure(page, "Deepest vacuum in the hold") == "730 mbar vacuum"
    assert figure(page, "Hottest face") == "114 °F"
    assert ">°F</text>" in page
    assert ">mbar vacuum</text>" in page
    assert figure(page, "Opened") == "Wed 07:14"


def test_a_stage_told_late_begins_when_it_was_true_and_shows_both_times(page: str) -> None:
    stages = page.partition("<h3>Stages</h3>")[2]
    row = stages.partition(">BAG</td>")[2].partition("</tr>")[0]
    assert "11:52:40" in row
    assert "recorded 11:54:40" in row
    late = page.partition("<h2>Told late</h2>")[2].partition("</table>")[0]
    assert "COATED" in late
    assert "11:52:40" in late
    assert "11:54:40" in late
    assert "2 min" in late


def test_only_a_batch_that_was_told_late_has_a_column_for_it(tmp_path: Path) -> None:
    log = washboard.Log.open(tmp_path / "log.db", throwaway=True)
    log.write(washboard.planned())
    log.close()
    page = record_html(LogReader(tmp_path / "log.db"), ID, People(), ZONE)
    stages = page.partition("<h3>Stages</h3>")[2].partition("</table>")[0]
    assert "Tue 4 Nov 11:00:00" in stages
    assert "Told late" not in stages


def test_a_loss_of_less_than_a_gram_shows_on_a_heavy_board(tmp_path: Path, page: str) -> None:
    assert ">4220.0 g<" in page
    assert ">-10.0 g<" in page
    assert "WEIGHED from Ida. Mass: 4210.0 g, what: board." in page
    path = washboard.keep(tmp_path / "log.db")
    ounces = record_html(LogReader(path), ID, People(mass="oz"), ZONE)
    assert ">148.856 oz<" in ounces
    assert ">-0.353 oz<" in ounces


def test_the_levels_of_the_drawing_and_of_the_sheet_are_counted_against_one_air(page: str) -> None:
    drawn = page.partition(">possible that day, ")[2].partition("<")[0]
    assert drawn
    assert f">{drawn} (20.0 kPa abs)<" in page


def test_an_alarm_stands_with_what_was_done_about_it(page: str) -> None:
    alarms = page.partition("<h2>Alarms</h2>")[2].partition("</table>")[0]
    words = " ".join(read(f"{alarms}</table></div>").words)
    assert "P2 vacuum lost. Look at hose and pump" in words
    assert "Jonas, after 3 min" in words
    assert "after 10 min" in words
    assert "READING from Jonas" in words
    assert "▲ A1</text>" in page


def test_a_hole_in_the_samples_is_told_and_drawn_as_one(page: str) -> None:
    assert "Nothing was sampled for 60 min in all (19:21:00 to 20:21:00)" in page
    assert "no data</text>" in page


def test_no_line_is_drawn_across_a_hole(page: str) -> None:
    svg = ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])
    shades = [rect for rect in svg.iter() if "-cross" in rect.get("style", "")]
    shaded = [(float(r.get("x", 0)), float(r.get("width", 0))) for r in shades]
    assert len(shaded) == 2
    for path in svg.iter("{http://www.w3.org/2000/svg}path"):
        if path.get("class") not in ("t-bag", "t-film", "t-room"):
            continue
        for piece in path.get("d", "").split("M")[1:]:
            xs = [float(point.split()[0]) for point in piece.split("L")]
            for left, width in shaded:
                assert max(xs) <= left + 1.5 or min(xs) >= left + width - 1.5


def test_every_line_can_be_told_without_colour(page: str) -> None:
    style = page.partition("<svg")[2].partition("</style>")[0]
    dashes = {}
    for name in ("face", "mean", "film", "room"):
        rule = style.partition(f".t-{name}{{")[2].partition("}")[0]
        dashes[name] = rule.partition("stroke-dasharray:")[2]
    assert len(set(dashes.values())) == 4
    words = ("face probe", "estimated mean", "film", "room", "bag", "preheat band", "coat window")
    for each in words:
        assert f">{each}" in page


def test_names_with_angle_brackets_and_ampersands_are_only_words(tmp_path: Path) -> None:
    nasty = 'Oak & "Ash" <b>bold</b>'
    path = washboard.keep(tmp_path / "log.db", of=sheet(nasty, cautions=("<i>x</i> & y",)))
    page = record_html(LogReader(path), ID, People(), ZONE)
    assert read(page).open == []
    assert "<b>bold" not in page
    assert "<i>x" not in page
    assert "Oak &amp; &quot;Ash&quot; &lt;b&gt;bold&lt;/b&gt;" in page
    ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])


def test_a_damaged_line_is_told_and_not_used(tmp_path: Path) -> None:
    path = washboard.keep(tmp_path / "log.db")
    with connect(path) as connection:
        seq = connection.execute("SELECT seq FROM event WHERE text LIKE 'SEALED%'").fetchone()[0]
        connection.execute("UPDATE event SET text = 'SEALED by a ghost' WHERE seq = ?", (seq,))
    connection.close()
    page = record_html(LogReader(path), ID, People(), ZONE)
    assert f"Line {seq} is damaged" in page
    assert f"do not agree with their checksum (number {seq})" in page
    assert "ghost" not in page
    assert figure(page, "Mix on the board") == ""


def test_without_a_barometer_the_air_it_is_counted_against_is_told(tmp_path: Path) -> None:
    reader = LogReader(washboard.keep(tmp_path / "log.db", barometer=False))
    page = record_html(reader, ID, People(), ZONE, air_pressure=95_000.0)
    assert "No barometer was read" in page
    assert "95.0 kPa abs" in page
    assert figure(page, "Deepest vacuum in the hold") == "20.1 inHg vacuum"
    assert "at sea level, 101.3 kPa abs" in record_html(reader, ID, People(), ZONE)


def test_a_batch_that_was_only_planned_has_a_record(tmp_path: Path) -> None:
    log = washboard.Log.open(tmp_path / "log.db", throwaway=True)
    log.write(washboard.planned())
    log.close()
    page = record_html(LogReader(tmp_path / "log.db"), ID, People(), ZONE)
    assert read(page).open == []
    assert "Nothing was sampled." in page


def test_an_unknown_batch_or_zone_is_refused_in_one_line(log: LogReader) -> None:
    with pytest.raises(InputError, match="no batch 'oak-9'"):
        record_html(log, "oak-9", People(), ZONE)
    with pytest.raises(InputError):
        record_html(log, ID, People(), "Mars/Olympus")


def test_a_lamp_switched_again_and_again_takes_one_row(tmp_path: Path) -> None:
    path = washboard.keep(tmp_path / "log.db")
    log = washboard.Log.open(path, throwaway=True)
    for second in range(6):
        told = washboard.output(washboard.END + second, "FLASHOFF", "lamp", second % 2 == 0)
        log.write(washboard.Entry(stamp=washboard.stamp(told.at), events=(told,)))
    log.close()
    page = record_html(LogReader(path), ID, People(), ZONE)
    assert page.count("Lamp switched 6 times until 01:14:25, each in the CSV.") == 1
    # the pump's starts lie an hour apart and are told one by one
    assert page.count("Pump on.") == 13
