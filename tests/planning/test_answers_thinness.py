"""What the sheet says of the mix's thinness, in the cup and on the warm face."""

import pytest
from cases import C, case, keys, line, read
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.planning.answers.thinness import measured, section, thinness_at
from controller.planning.catalogue import built_in
from controller.science.solvent_mixture import LIQUIDS, parts_of
from controller.science.viscosity import THINNER_VISCOSITY

NEAT = (('thinner = "ethanol"', 'thinner = "none"'), ('thinner_share = "8 %"', ""))
MEASURED = (
    "# [data_sheet]",
    '[data_sheet]\nat = "23 C"\nviscosity = "850 cP"\nthinned_share = "8 %"\n'
    'thinned_viscosity = "300 cP"\n#',
)


def test_ordinary_mixes_are_as_thick_as_four_of_them_were_found():
    # 725 to 975 mPa s at room temperature, 20 to 25 C: trade writing, no closer source; the row's
    # own halving moves that by a third, and half again is allowed
    for name, row in built_in().resins.items():
        if name.startswith("laminating"):
            found = thinness_at(case(('"laminating 2:1 slow"', f'"{name}"')), C + 23).neat
            assert 725e-3 / 1.5 < found < 975e-3 * 1.5, row.name


def test_warmth_thins_and_the_row_says_by_how_much():
    asked = case(*NEAT)
    halving = asked.resin.halving
    assert thinness_at(asked, C + 20 + halving).neat == pytest.approx(
        thinness_at(asked, C + 20).neat / 2
    )


def test_a_tenth_of_solvent_is_said_to_leave_a_third_and_it_lies_inside_the_band():
    # common practice, no source
    asked = case(
        ('thinner = "ethanol"', 'thinner = "acetone"'), ('"8 %"               #', '"10 %" #')
    )
    assert asked.coat.mix.thinner / asked.coat.mix.total == pytest.approx(0.10)
    found = thinness_at(asked, C + 25)
    assert found.low < found.neat / 3 < found.high
    assert "inside ours" in line(section(asked), "thinness.trade").text


@given(share=st.integers(1, 19), more=st.integers(1, 10), celsius=st.floats(15, 45))
@settings(max_examples=25, deadline=None)
def test_more_thinner_is_never_thicker(share, more, celsius):
    def at(per_cent):
        changed = ('thinner_share = "8 %"', f'thinner_share = "{per_cent} %"')
        return thinness_at(case(changed), C + celsius)

    less, more_of_it = at(share), at(min(share + more, 20))
    assert more_of_it.low <= less.low < less.neat
    assert more_of_it.high <= less.high < less.neat
    assert more_of_it.low <= more_of_it.high


def test_a_measured_point_replaces_the_band_and_is_met():
    asked = case(MEASURED)
    assert measured(asked)
    found = thinness_at(asked, C + 23)
    assert found.low == found.high == pytest.approx(0.300)
    assert line(section(asked), "thinness.thinned").text.count("{") == 3


def test_a_measured_point_that_cannot_be_is_not_used():
    # thinner than the thinner itself: 1 cP in ethanol of 1.08 cP
    asked = case((MEASURED[0], MEASURED[1].replace("300 cP", "1 cP")))
    assert not measured(asked)
    assert thinness_at(asked, C + 23).low < thinness_at(asked, C + 23).high


def test_a_neat_coat_has_no_band_and_no_trade_figure():
    found = keys(section(case(*NEAT)))
    assert "thinness.thinned" not in found
    assert "thinness.trade" not in found
    assert "thinness.ladder" in found


def test_close_grain_wants_it_thinner_and_warmth_comes_before_thinner():
    tight = section(case(*NEAT, ('wood = "white ash"', 'wood = "hard maple"')))
    advice = line(tight, "thinness.advice")
    assert "Warmth first" in advice.text
    assert advice.figures["warm"].value < line(tight, "thinness.cup").figures["neat"].value
    assert advice.text.index("Warmth first") < advice.text.index("thinner last")
    assert "Thin enough" in line(section(case(*NEAT)), "thinness.advice").text


def test_bottles_colder_than_the_rule_are_sent_to_be_warmed():
    cold = line(
        section(
            case(('room = "20 C"', 'room = "6 C"'), ('night_low = "16 C"', 'night_low = "6 C"'))
        ),
        "thinness.cup",
    )
    assert cold.care
    assert "Warm the bottles" in cold.text
    assert "10.0 °C" in read(cold)


def test_a_resin_hardly_thicker_than_its_thinner_still_has_an_answer():
    thin = case(("# [data_sheet]", '[data_sheet]\nviscosity = "5 cP"\n#'))
    found = thinness_at(thin, C + 50)
    assert 0 < found.low <= found.high == found.neat


def test_thinner_is_called_needless_where_warmth_does_and_not_where_it_does_not():
    # ash wants 500 mPa s, and the neat mix has under 200 on the warm face
    assert "warmth alone" in line(section(case()), "thinness.advice").text
    # on a close grain nothing of the kind is said of the same mix
    tight = line(section(case(('wood = "white ash"', 'wood = "hard maple"'))), "thinness.advice")
    assert "warmth alone" not in tight.text and "too thick" in tight.text


def test_every_thinner_in_the_catalogue_has_a_viscosity():
    for row in built_in().thinners.values():
        if row.solvent or row.mixture:
            for part, _ in parts_of(LIQUIDS[row.solvent or row.mixture or ""]):
                assert part.name in THINNER_VISCOSITY
