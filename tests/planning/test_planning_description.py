"""A batch description becomes SI, or every fault of it at once."""

import re

import pytest

from controller.errors import InputError
from controller.planning.catalogue import built_in, read_catalogue
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
    assert batch.shop.room == pytest.approx(293.15)


def test_the_sapele_washboards_are_typed_in_other_units_and_end_without_thinner():
    batch = parse_description(example("washboard-sapele"))
    assert batch.pieces[0].thickness == pytest.approx(0.022225)
    assert batch.shop.room == pytest.approx(293.15)
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
            f'pieces 1 wood = "balsa": no such wood; there is {", ".join(built_in().woods)}',
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
            "heat soak: no such key; known here: back, distance, band_top, coat_low, "
            "coat_high, handling_time",
        ]),
        ("22 inHg vacuum", "22 inHg", [
            "bag target = \"22 inHg\": say '22 inHg vacuum' (26.8 kPa abs at sea level) or "
            "'22 inHg abs' (74.5 kPa abs)",
        ]),
        ('room = "20 C"', 'coat_low = "30 C"', [
            "shop coat_low: no such key; it belongs in [heat]",
        ]),
        ('waste = "15 %"', 'room = "20 C"', [
            "room: no such key; it belongs in [shop]",
        ]),
        ('waste = "15 %"', 'part = "heartwood"', [
            "part: no such key; it belongs in [[pieces]]",
        ]),
        ("[bag]", "[poured]\ncoat = 0\na = '19 g'\n[bag]", [
            "poured coat = 0: allowed: 1 or more",
            'poured b: missing; e.g. b = "10.2 g"',
        ]),
        ("[bag]", "[poured]\ncoat = 21\na = '19 g'\nb = '9 g'\n[bag]", [
            "poured coat = 21: allowed: 20 or less",
        ]),
        ("[bag]", "[poured]\ncoat = 2\na = '19 g'\nb = '9 g'\n[bag]", [
            "poured coat = 2: there is 1 coat",
        ]),
        ('"Washboard in ash"', '"the {board}"', [
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


def test_the_keys_an_example_shows_as_comments_can_all_be_taken_in():
    whole = re.sub(r"(?m)^# (?=\[|\w+ = )", "", ASH)
    batch = parse_description(whole)
    assert batch.data_sheet is not None
    assert batch.data_sheet.pot_life == pytest.approx(2400.0)
    assert batch.poured is not None
    assert batch.resin_in(built_in()).weight_ratio == pytest.approx(0.47)


def test_every_key_of_the_whole_example_is_explained():
    keys = [line for line in ASH.splitlines() if re.match(r"(# )?\w+ = ", line)]
    assert len(keys) > 40
    for line in keys:
        assert re.search(r" # [\w\"]", line), line


def test_names_are_looked_up_in_the_catalogue_that_is_handed_in(tmp_path):
    (tmp_path / "woods.toml").write_text(
        '["rosewood"]\nbasic_gravity = 0.75\nshrinkage_share = 0.085\ngrain = "semi-open"\n'
        'sapwood = "slow"\nheartwood = "shut"\nbleeds_in = []\noily = true\n'
        'note = "Wipe it."\nsource = "own"\n'
    )
    text = ASH.replace('wood = "white ash"', 'wood = "rosewood"')
    theirs = read_catalogue(tmp_path)
    assert parse_description(text, catalogue=theirs).pieces[0].wood == "rosewood"
    with pytest.raises(InputError, match="rosewood"):
        parse_description(text)


@pytest.mark.parametrize("typed", ["22.30", "half past ten", "25:00", "2230"])
def test_a_bedtime_that_could_be_read_wrong_is_asked_again(typed):
    told = faults(ASH.replace('bedtime = "22:30"', f'bedtime = "{typed}"', 1))
    assert told == [f"times bedtime = \"{typed}\": say e.g. '22:30'"]
