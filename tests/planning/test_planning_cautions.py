"""Each caution comes with its reason, and stays away without it."""

import re
from dataclasses import replace

import pytest
from cases import ASH, changed, rig

from controller.planning.batch_plan import plan
from controller.planning.catalogue import Catalogue, Thinner, built_in
from controller.planning.cautions import ACETONE_BOILS
from controller.planning.description import parse_description
from controller.planning.examples import EXAMPLES, example
from controller.science.solvent import ACETONE, boiling_temperature
from controller.settings import Settings

NEAT = (
    ('thinner = "ethanol"', 'thinner = "none"'),
    ('thinner_share = "8 %"', 'thinner_share = "0 %"'),
)
FINE = ('scale = "1 g"', 'scale = "0.01 g"')
AGAIN = (
    "\n[heat]",
    '\n[[coats]]\npieces = ["washboard"]\nweight = "80 g/m2"\nthinner = "ethanol"\n'
    'thinner_share = "5 %"\n\n[heat]',
)


def said(
    *changes: tuple[str, str], on: Settings | None = None, catalogue: Catalogue | None = None
) -> tuple[str, ...]:
    known = catalogue or built_in()
    description = parse_description(changed(ASH, *changes), catalogue=known)
    return plan(description, on or rig(), known).cautions


def beside(wood: str, thickness: str = "20 mm") -> tuple[tuple[str, str], ...]:
    """Another piece in the same coat."""
    piece = (
        f'[[pieces]]\nname = "other"\nwood = "{wood}"\nlength = "300 mm"\nwidth = "200 mm"\n'
        f'thickness = "{thickness}"\nends = "sealed"\nback = "sealed"\n\n[[coats]]'
    )
    return ("[[coats]]", piece), ('["washboard"]', '["washboard", "other"]')


# (what the caution says, what brings it)
CAUSES: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("a guess from the pot life", (("2:1 slow", "1:1 slow"),)),
    ("comes with its solvent", (("laminating 2:1 slow", "solvent-borne sealer"), *NEAT)),
    ("Between coats", (AGAIN,)),
    ("colder than this resin sets", (('room = "20 C"', 'room = "8 C"'),)),
    ("The night comes down to 4.0 °C (39 °F)", (('night_low = "16 C"', 'night_low = "4 C"'),)),
    (
        "keep the shop warmer all night",
        (('night_low = "16 C"', "#"), ('room = "20 C"', 'room = "15 C"')),
    ),
    ("wets what is under", (('humidity = "50 %"', 'humidity = "80 %"'),)),
    (
        "brings blush",
        (('humidity = "50 %"', 'humidity = "75 %"'), ('night_low = "16 C"', 'night_low = "20 C"')),
    ),
    ("Teak is oily", (('"white ash"', '"teak"'),)),
    ("is damp at 14 %", (('moisture = "8 %"', 'moisture = "14 %"'),)),
    (
        "heartwood of white oak is shut",
        (('"white ash"', '"white oak"'), ('part = "mixed"', 'part = "heartwood"')),
    ),
    ("Bare ends", (('ends = "sealed"', 'ends = "bare"'),)),
    ("A bare back", (('back = "sealed" ', 'back = "bare" '),)),
    ("thinner pieces are ready sooner", beside("white ash", "12 mm")),
    ("dissolves the colour of African padauk", (('"white ash"', '"African padauk"'),)),
    ("runs into the other wood", beside("African padauk")),
    ("carries colour from one wood", beside("hard maple")),
    ("over a tenth of thinner", (('_share = "8 %"', '_share = "15 %"'),)),
    ("less thinner or none", (AGAIN,)),
    ("acetone boils at 56.0 °C (133 °F)", (('thinner = "ethanol"', 'thinner = "acetone"'),)),
    ("half a step of your scale", (('scale = "1 g"', 'scale = "5 g"'),)),
    ("heats itself in a cup", (('"450 mm"', '"2.5 m"'),)),
    (
        "would boil",
        (('thinner = "ethanol"', 'thinner = "acetone"'), ('"22 inHg', '"26 inHg')),
    ),
)  # fmt: skip


@pytest.mark.parametrize(("words", "changes"), CAUSES, ids=[words for words, _ in CAUSES])
def test_a_caution_comes_with_its_reason_and_not_without(
    words: str, changes: tuple[tuple[str, str], ...]
):
    assert any(words in line for line in said(*changes))
    assert not any(words in line for line in said(FINE))


def test_over_a_fifth_of_thinner_is_called_a_stain():
    rows = {n: replace(row, largest_thinner=0.4) for n, row in built_in().resins.items()}
    known = replace(built_in(), resins=rows)
    found = said(('_share = "8 %"', '_share = "30 %"'), catalogue=known)
    assert any("over a fifth" in line for line in found)
    assert not any("over a tenth" in line for line in found)


def test_acetone_boils_where_its_row_says():
    assert boiling_temperature(ACETONE, 101_325) == pytest.approx(ACETONE_BOILS, abs=0.5)


def test_a_mixture_that_flashes_has_its_own_words():
    known = built_in()
    row = Thinner(
        name="shop thinner", solvent=None, mixture="lacquer thinner",
        families=("aromatic", "ketone", "alcohol"), note="For lacquer.", source="own",
    )  # fmt: skip
    catalogue = replace(known, thinners={**known.thinners, row.name: row})
    found = said(('thinner = "ethanol"', 'thinner = "shop thinner"'), catalogue=catalogue)
    assert any("quick part of this thinner" in line for line in found)


def test_padauk_is_offered_a_thinner_that_leaves_its_colour_alone_or_none():
    (line,) = [line for line in said(('"white ash"', '"African padauk"')) if "dissolves" in line]
    wood = built_in().wood("African padauk")
    named = re.search(r"thin with (.+?) or not at all", line)
    if named:
        assert not set(built_in().thinner(named[1]).families) & set(wood.bleeds_in)
    else:
        assert "warm the resin" in line
    # teak's colour goes in all three families, so nothing is offered
    (teak,) = [line for line in said(('"white ash"', '"teak"')) if "dissolves" in line]
    assert "warm the resin" in teak


def test_a_wood_whose_colour_stays_is_not_warned_of():
    assert not any("dissolves" in line for line in said())
    assert not any("dissolves" in line for line in said(('"white ash"', '"African padauk"'), *NEAT))


def test_a_mix_that_is_weighed_finely_has_no_word_of_the_scale():
    # 9.1 g of B: half of 1 g is 5.5 % of it, over 2.5 %; half of 0.1 g is 0.5 %
    assert any("part B is 9.1 g" in line and "5 %" in line for line in said())
    assert not any("scale" in line for line in said(('scale = "1 g"', 'scale = "0.1 g"')))


def test_a_pump_or_wood_that_holds_the_bag_up_is_named():
    weak = rig(('"27 inHg vacuum" ', '"15 inHg vacuum" '))
    assert any("the pump here cannot pull deeper" in line for line in said(on=weak))
    assert not any("less vacuum" in line for line in said())


def test_at_altitude_the_same_bag_has_less_and_says_so():
    high = rig(('altitude = "3 m"', 'altitude = "1600 m"'))
    assert any("less vacuum than asked" in line for line in said(on=high))


def test_the_driest_air_in_the_coldest_shop_has_a_dew_point_to_reckon_with():
    found = said(('humidity = "50 %"', 'humidity = "5 %"'), ('room = "20 C"', 'room = "5 C"'))
    assert not any("wets" in line for line in found)


@pytest.mark.parametrize("name", EXAMPLES)
def test_cautions_are_whole_sentences_said_once_and_short(name: str):
    found = plan(parse_description(example(name)), rig()).cautions
    assert len(set(found)) == len(found)
    for line in found:
        assert line.endswith(".") and not re.search(r"[{}]", line)
        # a word of the person's own row may follow ours
        assert len(re.findall(r"[.!?](?: |$)", line)) <= 5, line
