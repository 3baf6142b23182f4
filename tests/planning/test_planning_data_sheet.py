"""The tin in hand outranks its class, line by line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from controller.planning.catalogue import GUESSED_GEL, ResinClass, built_in
from controller.planning.data_sheet import DataSheetLines, as_the_tin_says
from controller.science.cure import energy_for_doubling

HOUR, MINUTE = 3600.0, 60.0
SLOW = built_in().resin("laminating 2:1 slow")
TIMES = ("pot_life", "gel_early", "gel_late", "open_early", "open_late")


def tin(**lines: str) -> DataSheetLines:
    return DataSheetLines.model_validate(lines)


def told(row: ResinClass = SLOW, **lines: str) -> ResinClass:
    return as_the_tin_says(row, tin(**lines))


def refusal(**lines: str) -> str:
    with pytest.raises(ValidationError) as refused:
        tin(**lines)
    (fault,) = refused.value.errors()
    return f"{fault['loc'][0]}: {fault['ctx']['error']}"


def test_a_tin_that_says_nothing_changes_nothing():
    assert as_the_tin_says(SLOW, None) is SLOW
    assert told() is SLOW
    # a temperature alone tells nothing
    assert told(at="30 C") is SLOW


def test_the_name_stays_and_the_source_says_what_was_told():
    row = told(pot_life="40 min", ratio="2:1 by volume")
    assert row.name == SLOW.name
    assert row.source.startswith("told: data_sheet (ratio, pot_life); the rest, row laminating")
    assert row.source.endswith(SLOW.source)


# Trade writing prints the same resin as 2:1 by volume and 100:47 by weight, 1:1 and 100:83.
@pytest.mark.parametrize(("by_weight", "b_to_a"), [("100:47", 0.47), ("100:83", 0.83)])
def test_a_ratio_by_weight_is_weighed_as_it_is_written(by_weight, b_to_a):
    row = told(ratio=f"{by_weight} by weight")
    assert row.weight_ratio == pytest.approx(b_to_a)
    assert row.share_of_a == pytest.approx(1 / (1 + b_to_a))


def test_a_ratio_by_volume_is_weighed_through_the_tins_own_densities():
    # 100 x 0.98 / (2 x 1.16), arithmetic
    row = told(ratio="2 : 1 by volume", density_a="1.16 g/mL", density_b="0.98 g/mL")
    assert 100 * row.weight_ratio == pytest.approx(42.24, abs=0.01)


@given(a=st.floats(50, 1000), b=st.floats(50, 100), basis=st.sampled_from(["volume", "weight"]))
def test_either_way_of_writing_a_ratio_has_the_same_parts(a, b, basis):
    row = told(ratio=f"{a:.3f}:{b:.3f} by {basis}")
    parts = row.ratio_a / row.ratio_b
    if basis == "weight":
        parts = 1 / row.weight_ratio
    assert parts == pytest.approx(float(f"{a:.3f}") / float(f"{b:.3f}"))


def test_told_times_hold_at_the_tins_temperature():
    row = told(
        at="25 C",
        pot_life="40 min",
        pot_mass="150 g",
        gel_early="4 h",
        gel_late="6 h",
        open_early="12 h",
        open_late="20 h",
    )
    assert row.reference == pytest.approx(298.15)
    assert [getattr(row, key) for key in TIMES] == pytest.approx(
        [40 * MINUTE, 4 * HOUR, 6 * HOUR, 12 * HOUR, 20 * HOUR]
    )
    assert (row.pot_mass, row.gel_is_guess) == (pytest.approx(0.150), False)


def test_times_that_are_not_told_are_carried_to_the_tins_temperature():
    row = told(at="33 C", gel_early="2 h", gel_late="3 h")
    # the shop's rule: 10 K warmer, half the time; 55 kJ/mol is a little more than that
    energy = energy_for_doubling(296.15, 306.15)
    assert SLOW.activation_energy == pytest.approx(energy, rel=0.06)
    assert row.open_early == pytest.approx(SLOW.open_early / 2, rel=0.06)
    assert row.pot_life == pytest.approx(SLOW.pot_life / 2, rel=0.06)
    assert row.pot_mass == SLOW.pot_mass


def test_a_pot_life_alone_makes_the_gel_a_guess():
    row = told(pot_life="30 min")
    assert row.gel_is_guess
    assert (row.gel_early, row.gel_late) == pytest.approx(
        [times * 30 * MINUTE for times in GUESSED_GEL]
    )
    assert not told(pot_life="30 min", gel_early="3 h").gel_is_guess
    assert not told(built_in().resin("laminating 1:1 slow"), gel_late="3 h").gel_is_guess
    # an opening time says nothing of the gel
    assert told(open_early="10 h").gel_is_guess == SLOW.gel_is_guess


def test_one_end_of_a_pair_brings_the_other():
    early, late = told(gel_early="2 h", at="23 C"), told(gel_late="14 h", at="23 C")
    assert early.gel_late == pytest.approx(2 * HOUR * SLOW.gel_late / SLOW.gel_early)
    assert late.gel_early == pytest.approx(14 * HOUR * SLOW.gel_early / SLOW.gel_late)


def test_what_is_not_told_makes_way_for_what_is():
    # a pot life of 8 h: gel guessed at 16 to 48 h, and the bag cannot be opened before that
    late = told(pot_life="8 h", at="23 C")
    assert late.open_early == pytest.approx(48 * HOUR)
    # gelled after 20 min: the class's three quarters of an hour in the cup cannot be
    fast = told(gel_early="20 min", gel_late="40 min", at="23 C")
    assert fast.pot_life == pytest.approx(20 * MINUTE)
    # hard enough after 3 h: the class's gel of 4 h cannot be
    hard = told(open_early="3 h", at="23 C")
    assert hard.gel_late == pytest.approx(3 * HOUR)


MINUTES = st.one_of(st.none(), st.integers(10, 5000))


@given(
    name=st.sampled_from(sorted(built_in().resins)),
    at=st.integers(15, 40),
    told_times=st.tuples(MINUTES, MINUTES, MINUTES, MINUTES, MINUTES),
)
def test_the_times_stand_in_their_order_and_the_told_ones_stand(name, at, told_times):
    given_times = [minutes for minutes in told_times if minutes is not None]
    rising = iter(sorted(given_times))
    lines = {
        key: f"{max(next(rising), 60 if 'open' in key else 10)} min"
        for key, minutes in zip(TIMES, told_times, strict=True)
        if minutes is not None
    }
    if "pot_life" in lines and int(lines["pot_life"].split()[0]) > 1440:
        del lines["pot_life"]
    row = as_the_tin_says(built_in().resin(name), tin(at=f"{at} C", **lines))
    times = [getattr(row, key) for key in TIMES]
    assert times == sorted(times)
    for key, text in lines.items():
        assert getattr(row, key) == pytest.approx(MINUTE * int(text.split()[0]))


def test_viscosity_is_carried_to_the_temperature_the_times_hold_at():
    # the class halves every 7 K: told at 30 C, twice as thick at its 23 C
    assert told(viscosity="400 cP", at="30 C").viscosity == pytest.approx(0.8)
    assert told(viscosity="400 cP", at="30 C").reference == SLOW.reference
    # with a time told, everything holds at the tin's own temperature
    row = told(viscosity="400 cP", pot_life="30 min", at="30 C")
    assert (row.viscosity, row.reference) == pytest.approx((0.4, 303.15))
    assert told(pot_life="30 min", at="30 C").viscosity == pytest.approx(SLOW.viscosity / 2)


def test_a_thinned_mix_that_was_measured_goes_with_its_viscosity():
    row = told(viscosity="400 cP", thinned_share="8 %", thinned_viscosity="150 cP", at="30 C")
    assert (row.thinned_share, row.thinned_viscosity) == pytest.approx((0.08, 0.3))


def test_limits_are_taken_as_told():
    row = told(coldest="60 degF", largest_thinner="5 %")
    assert (row.coldest, row.largest_thinner) == pytest.approx((288.706, 0.05), abs=0.001)
    assert row.pot_life == SLOW.pot_life


@pytest.mark.parametrize(
    ("lines", "line"),
    [
        ({"ratio": "2 to 1"}, "ratio: 2 to 1: say e.g. '2:1 by volume' or '100:43 by weight'"),
        ({"ratio": "2:1"}, "ratio: 2:1: say e.g. '2:1 by volume' or '100:43 by weight'"),
        (
            {"ratio": "2.1.5:1 by volume"},
            "ratio: 2.1.5:1 by volume: one of the two parts is no number",
        ),
        ({"ratio": "1:43 by weight"}, "ratio: allowed: half to twenty parts of A to one of B"),
        ({"ratio": "1:0 by weight"}, "ratio: allowed: half to twenty parts of A to one of B"),
        ({"density_a": "1.15 kg/m3"}, "density_a: allowed: 0.8 g/mL to 2 g/mL"),
        ({"gel_early": "6 h", "gel_late": "4 h"}, "gel_late: allowed: not before gel_early, 6 h"),
        ({"pot_life": "3 h", "gel_late": "1 h"}, "gel_late: allowed: not before pot_life, 3 h"),
        (
            {"gel_late": "20 h", "open_early": "12 h"},
            "open_early: allowed: not before gel_late, 20 h",
        ),
        ({"pot_mass": "50 g"}, "pot_mass: allowed: only beside pot_life, which it belongs to"),
        (
            {"thinned_share": "8 %"},
            "thinned_viscosity: allowed: thinned_share and thinned_viscosity, both or neither",
        ),
        (
            {"thinned_share": "8 %", "thinned_viscosity": "300 cP"},
            "thinned_viscosity: allowed: only beside viscosity, of the mix without thinner",
        ),
        (
            {"viscosity": "300 cP", "thinned_share": "8 %", "thinned_viscosity": "300 cP"},
            "thinned_viscosity: allowed: less than viscosity, of the mix without thinner",
        ),
    ],
)
def test_a_sheet_misread_is_one_line(lines, line):
    assert refusal(**lines) == line
