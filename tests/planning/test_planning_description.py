"""A batch description becomes SI, or every fault of it at once."""

import pytest

from controller.errors import InputError
from controller.planning.description import parse_description, read_description
from controller.planning.examples import EXAMPLES, example

ASH = example("washboard-ash")


def faults(text: str) -> list[str]:
    with pytest.raises(InputError) as refused:
        parse_description(text)
    first, *lines = str(refused.value).split("\n")
    assert first == f"batch.toml: {len(lines)} fault" + ("s" if len(lines) > 1 else "")
    return [line.removeprefix("batch.toml: ") for line in lines]


def test_the_ash_washboard_is_read_in_si():
    batch = parse_description(ASH)
    piece, coat = batch.pieces[0], batch.coats[0]
    assert (piece.length, piece.width, piece.thickness) == pytest.approx((0.45, 0.3, 0.02))
    assert (piece.moisture, piece.ends, piece.back) == (pytest.approx(0.08), "sealed", "sealed")
    assert (coat.weight, coat.thinner_share) == pytest.approx((0.2, 0.08))
    assert batch.room == pytest.approx(293.15)


def test_the_sapele_washboards_are_typed_in_other_units_and_end_without_thinner():
    batch = parse_description(example("washboard-sapele"))
    assert batch.pieces[0].thickness == pytest.approx(0.022225)
    assert batch.room == pytest.approx(293.15)
    first, second = batch.coats
    assert (first.bagged, second.bagged) == (True, False)
    assert (second.thinner, second.thinner_share) == ("none", 0.0)


def test_ounces_per_square_foot_are_a_coat_weight():
    batch = parse_description(ASH.replace("200 g/m2", "0.5 oz/ft2"))
    assert batch.coats[0].weight == pytest.approx(0.5 * 0.0283495 / 0.0929030, rel=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "lines"),
    [
        ('wood = "white ash"', 'wood = "balsa"', [
            'pieces 1 wood = "balsa": no such wood; there is white ash, sapele, hard maple, '
            "red maple, black walnut, white oak, red oak, black cherry, teak",
        ]),
        ('"200 g/m2"', "200", [
            "coats 1 weight = 200: no coat weight; say e.g. '200 g/m2' or '0.6 oz/ft2'",
        ]),
        ('"200 g/m2"', '"2 kg/m2"', [
            'coats 1 weight = "2 kg/m2": allowed: 20 g/m2 to 500 g/m2',
        ]),
        ('"20 mm"', '"20"', [
            "pieces 1 thickness = \"20\": no unit; say e.g. '500 mm' or '20 in'",
        ]),
        ('moisture = "8 %"', 'moisture = "30 %"', [
            'pieces 1 moisture = "30 %": allowed: 3 % to 16 %',
        ]),
        ("bagged", "baged", ["coats 1 baged: no such key; did you mean bagged?"]),
        ("bagged = true", 'bagged = "yes"', ['coats 1 bagged = "yes": allowed: true or false']),
        ('["washboard"]', '["tiller"]', ["coats: coat 1 asks for tiller; there is washboard"]),
        ('thinner_share = "8 %"', 'thinner_share = "30 %"', [
            "coats: coat 1 asks for 30 % thinner; laminating 2:1 slow bears up to 20 %",
        ]),
        ('thinner = "ethanol"', 'thinner = "none"', [
            'coats 1 thinner_share = "8 %": allowed: 0 % without a thinner; name it, '
            "thinner = 'ethanol'",
        ]),
        ('back = "lined"', 'band_top = "55 C"', [
            'heat band_top = "55 C": allowed: 15.0 °C (59 °F) to 50.0 °C (122 °F)',
        ]),
        ('back = "lined"', 'soak = "1 h"', [
            "heat soak: no such key; known here: back, band_top, coat_low, coat_high, "
            "handling_time",
        ]),
        ("22 inHg vacuum", "22 inHg", [
            "bag target = \"22 inHg\": say '22 inHg vacuum' (26.8 kPa abs at sea level) or "
            "'22 inHg abs' (74.5 kPa abs)",
        ]),
        ('name = "Washboard in ash"\n', 'name = "the {board}"\n', [
            'name = "the {board}": allowed: a name without { and }',
        ]),
        (ASH, "", [
            'name: missing; e.g. name = "Washboard in ash"',
            'resin: missing; e.g. resin = "laminating 2:1 slow"',
            "pieces: missing; e.g. a table [[pieces]]",
            "coats: missing; e.g. a table [[coats]]",
        ]),
        (ASH, "name = 3\nresin = []\npieces = [1]\ncoats = []", [
            "name = 3: allowed: text in quotes",
            "resin: allowed: text in quotes",
            "pieces 1: allowed: a table",
            "coats: allowed: at least one",
        ]),
    ],
)  # fmt: skip
def test_a_bad_file_is_answered_with_its_lines(old, new, lines):
    assert old in ASH
    assert faults(ASH.replace(old, new, 1)) == lines


def test_a_name_given_twice_is_a_fault():
    piece = ASH[ASH.index("[[pieces]]") : ASH.index("[[coats]]")]
    twice = ASH.replace(piece, piece + piece)
    assert faults(twice) == ["pieces: allowed: another name for each piece; twice: washboard"]


def test_what_is_no_toml_is_told_with_its_line(tmp_path):
    file = tmp_path / "batch.toml"
    file.write_text('name = "x"\nresin = \n')
    with pytest.raises(InputError, match="line 2: not TOML"):
        read_description(file)
    file.write_bytes(b'name = "x"\nresin = "\xff"\n')
    with pytest.raises(InputError, match="line 2: not UTF-8"):
        read_description(file)
    with pytest.raises(InputError, match="No such file"):
        read_description(tmp_path / "nowhere.toml")


def test_a_good_file_is_read(tmp_path):
    file = tmp_path / "batch.toml"
    file.write_text(ASH)
    assert read_description(file) == parse_description(ASH)


def test_an_unknown_example_is_told_what_there_is():
    with pytest.raises(InputError, match=", ".join(EXAMPLES)):
        example("washboard-teak")
