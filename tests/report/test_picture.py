"""The picture of a night: complete by itself, on paper of its own, and marked where it must be."""

from pathlib import Path
from xml.etree import ElementTree

import pytest
import washboard
from washboard import ID

from controller.errors import InputError
from controller.quantities import People
from controller.report.picture import night_picture
from controller.store.queries import LogReader

ZONE = "America/New_York"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> LogReader:
    return LogReader(washboard.keep(tmp_path_factory.mktemp("night") / "log.db"))


def test_it_is_one_file_that_needs_nothing_and_covers_all_of_its_ground_in_white(
    kept: LogReader,
) -> None:
    text = night_picture(kept, ID, People(), ZONE)
    svg = ElementTree.fromstring(text)
    assert "http" not in text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "<script" not in text
    ground = svg.find(f"{SVG}rect")
    assert ground is not None
    assert svg.get("viewBox") == " ".join(
        ground.get(side, "") for side in ("x", "y", "width", "height")
    )
    assert ".t-empty{fill:#fff;" in text


def test_its_letters_can_be_read_at_900_px(kept: LogReader) -> None:
    svg = ElementTree.fromstring(night_picture(kept, ID, People(), ZONE))
    width = float(svg.get("viewBox", "").split()[2])
    style = svg.find(f"{SVG}style")
    assert style is not None
    assert style.text is not None
    letters = [float(part.partition("px")[0]) for part in style.text.split("font-size:")[1:]]
    assert min(letters) * 900 / width > 10.5


def test_it_says_what_it_shows_and_that_it_was_pretended(kept: LogReader, tmp_path: Path) -> None:
    words = list(ElementTree.fromstring(night_picture(kept, ID, People(), ZONE)).itertext())
    assert "SIMULATED" in words
    assert "Washboard in ash, coat 1: the night of Tue 4 Nov 2025" in words
    assert {"heat and coating", "night under vacuum", "gelled", "▲ A1"} <= set(words)
    silent = LogReader(washboard.keep(tmp_path / "log.db", simulated=None))
    assert ">RIG NOT SAID<" in night_picture(silent, ID, People(), ZONE)
    real = night_picture(kept, ID, People(), ZONE, simulated=False)
    assert "SIMULATED" not in real
    assert "RIG NOT SAID" not in real


def test_a_coat_or_batch_that_has_no_night_is_refused_in_one_line(
    kept: LogReader, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="coat 2"):
        night_picture(kept, ID, People(), ZONE, coat=2)
    with pytest.raises(InputError, match="no batch"):
        night_picture(kept, "oak-9", People(), ZONE)
    log = washboard.Log.open(tmp_path / "log.db", throwaway=True)
    log.write(washboard.planned())
    log.close()
    with pytest.raises(InputError, match="nothing was sampled"):
        night_picture(LogReader(tmp_path / "log.db"), ID, People(), ZONE)
