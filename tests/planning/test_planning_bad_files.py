"""Each bad description is answered with lines a person can act on: what, where, what to do."""

import re
from pathlib import Path

import pytest

from controller.cli import main
from controller.planning.catalogue import built_in
from controller.settings import default_settings_text

BAD = Path(__file__).parent / "bad"
FILES = sorted(BAD.glob("*.toml"))
WOODS, THINNERS = (", ".join(names) for names in (built_in().woods, built_in().thinners))
ANSWERS = {
    "missing-unit": [
        "waste = 0.15: write it as text with its unit; say e.g. '10 %'",
        "pieces 1 length = 450: write it as text with its unit; say e.g. '500 mm' or '20 in'",
        "pieces 1 width = \"300\": no unit; say e.g. '500 mm' or '20 in'",
        "pieces 1 thickness = \"0,75 in\": say '0.75 in' or '075 in'",
        "coats 1 weight = \"200 g\": no coat weight; say e.g. '200 g/m2' or '0.6 oz/ft2'",
        "shop room = \"68\": no unit; say e.g. '35 C' or '95 degF'",
    ],
    "not-toml": [
        "line 6: not TOML: Expected newline or end of document after a statement: room = 20 C; "
        "text and quantities stand in quotes",
    ],
    "pressure-without-a-word": [
        "bag target = \"22 inHg\": say '22 inHg vacuum' (26.8 kPa abs at sea level) or "
        "'22 inHg abs' (74.5 kPa abs)",
        "bag volume = \"3\": no unit; say e.g. '60 mL' or '2 fl oz'",
    ],
    "coat-of-no-board": [
        "coats: coat 1 asks for lower washboard; there is upper, lower",
    ],
    "same-piece-twice": [
        "pieces: allowed: another name for each piece; twice: washboard",
    ],
    "thinner-half-told": [
        'coats 1 thinner_share = "8 %": allowed: 0 % without a thinner; name it, '
        "thinner = 'ethanol'",
        "coats 2 thinner_share = \"0 %\": allowed: more than 0 % of ethanol; or thinner = 'none'",
        f'coats 3 thinner = "petrol": no such thinner; there is {THINNERS}',
    ],
    "thinner-over-the-limit": [
        "coats: coat 1 asks for 30 % thinner; laminating 2:1 slow bears up to 20 %",
    ],
    "tin-misread": [
        "data_sheet ratio = \"2 to 1\": say e.g. '2:1 by volume' or '100:43 by weight'",
        'data_sheet gel_late = "4 h": allowed: not before gel_early, 6 h',
        'data_sheet thinned_viscosity = "3000 cP": allowed: less than viscosity, of the mix '
        "without thinner",
    ],
    "unknown-key": [
        'pieces 1 length: missing; e.g. length = "450 mm"',
        "pieces 1 lenght: no such key; did you mean length?",
        "coats 1 baged: no such key; did you mean bagged?",
        "room: no such key; it belongs in [shop]",
        "customer: no such key; known here: name, resin, data_sheet, waste, pieces, coats, shop, "
        "times, bench, heat, bag, poured",
    ],
    "unknown-wood": [
        'resin = "laminating 2:1 extra slow": no such resin; did you mean laminating 2:1 slow or '
        "laminating 5:1 slow?",
        f'pieces 1 wood = "balsa": no such wood; there is {WOODS}',
        'pieces 2 wood = "White Ash": no such wood; did you mean white ash?',
    ],
    "upside-down-window": [
        'heat coat_high = "32 C": allowed: above coat_low, 38.0 °C (100 °F)',
    ],
    "weather-misread": [
        'shop night_low = "-20 C": allowed: -10.0 °C (14 °F) to 30.0 °C (86 °F)',
        "shop humidity = \"55\": no unit; say e.g. '10 %'",
        "shop barometer = \"22 inHg vacuum\": that is the bag's gauge; say the weather report's, "
        "'1016 hPa' or '30.0 inHg'",
        "times start = \"next Saturday at four\": say e.g. '2026-05-02 16:00'",
        'poured b: missing; e.g. b = "10.2 g"',
    ],
    "weighed-another-board": [
        "pieces washboard mass: 9000 g in this size is 3.09 times as dense as water; wood has 0.2 "
        "to 1.2. Weigh or measure anew",
    ],
    "window-above-the-rigs": [
        "coat window 40.0 °C (104 °F) to 38.0 °C (100 °F): it must open upwards and end at or "
        "under the band's limit, 50.0 °C (122 °F)",
    ],
}
"""What each file of tests/planning/bad is answered, as a person reads it."""
WHERE = r"(line [0-9]+|coat window|[a-z_]+( [0-9]+)?( [a-z_]+)*)"
WHAT_TO_DO = (
    "allowed: ",
    "bears up to ",
    "did you mean ",
    "it belongs in ",
    "it must ",
    "known here: ",
    "missing; e.g. ",
    "say ",
    "stand in quotes",
    "there is ",
    "Weigh or measure anew",
)


def answer(file: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, list[str]]:
    """The exit code, and the lines without the file's name: of the example rig, whoever asks."""
    rig = folder / "rig.toml"
    rig.write_text(default_settings_text(), encoding="utf-8")
    code = main(["plan", str(file), "--config", str(rig)])
    told = capsys.readouterr()
    assert told.out == ""
    first, *lines = told.err.removesuffix("\n").split("\n")
    first = first.removeprefix("warmdraw: ")
    if not lines:
        # what only the rig can tell is told after all else is right, in one line
        return code, [first]
    assert first == f"{file}: {len(lines)} fault" + ("s" if len(lines) > 1 else "")
    assert all(line.startswith(str(file)) for line in lines)
    return code, [line.removeprefix(str(file)).removeprefix(":").lstrip() for line in lines]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_bad_file_is_answered_with_these_lines(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    assert answer(file, tmp_path, capsys) == (2, ANSWERS[file.stem])


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_line_says_where_and_what_to_do(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    for line in answer(file, tmp_path, capsys)[1]:
        assert re.match(rf"{WHERE}(:| = | [0-9.]+ °C)", line), line
        assert any(words in line for words in WHAT_TO_DO), line


def test_every_answer_has_its_bad_file():
    assert len(FILES) >= 10
    assert {file.stem for file in FILES} == set(ANSWERS)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_bad_file_says_at_its_head_what_is_wrong_with_it(file: Path):
    first = file.read_text(encoding="utf-8").split("\n")[0]
    assert re.fullmatch(r"# [A-Z].+", first)
