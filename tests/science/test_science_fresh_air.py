"""Fresh air against printed limits and tables, and the laws it must keep."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.fresh_air import (
    ROOM,
    air_changes,
    air_to_exposure_limit,
    air_to_quarter_limit,
    airflow,
    all_vapour,
    ppm_of,
    ppm_to_mg_per_m3,
)
from controller.science.solvent import (
    ACETONE,
    ETHANOL,
    ISOPROPANOL,
    SOLVENTS,
    TOLUENE,
    WATER,
    Solvent,
    vapour_volume,
)
from controller.science.solvent_mixture import (
    LACQUER_THINNER,
    LIQUIDS,
    Liquid,
    Mixture,
    le_chatelier_limit,
    mole_shares,
    parts_of,
)

FOOT = 0.3048  # exact
PINT, GALLON = 0.473176473e-3, 3.785411784e-3  # US, NIST SP 811, 2008, appendix B.8, [m3]
SEVENTY_F = 294.26  # [K]
burning = st.sampled_from([LIQUIDS[name] for name in sorted(LIQUIDS) if name != "water"])
masses = st.floats(1e-4, 10)


# The form of 29 CFR 1910.94(c)(6)(ii) and NFPA 86; from memory, to be checked. To 0.5 litre.
@pytest.mark.parametrize(
    ("row", "litres"),
    [(ACETONE, 646.1), (ETHANOL, 612.0), (ISOPROPANOL, 784.6), (TOLUENE, 938.9)],
)
def test_ten_grams_need_this_much_air_against_fire(row: Solvent, litres: float) -> None:
    assert 1000 * air_to_quarter_limit(row, 0.010) == pytest.approx(litres, abs=0.5)


@given(liquid=burning, mass=masses)
@settings(deadline=None)
def test_the_form_for_air_is_a_quarter_of_the_limit_within_three_per_cent(
    liquid: Liquid, mass: float
) -> None:
    # The published form thins to the limit first and then four times: a little short of a quarter.
    vapour = all_vapour(liquid, mass)
    share = vapour / (vapour + air_to_quarter_limit(liquid, mass))
    assert share == pytest.approx(le_chatelier_limit(mole_shares(liquid)) / 4, rel=0.03)


# NIOSH REL of acetone, 250 ppm, as on OSHA's page of the substance: derived, to 0.03 m3.
def test_ten_grams_of_acetone_need_a_small_room_to_be_fit_to_breathe() -> None:
    assert air_to_exposure_limit(ACETONE, 0.010) == pytest.approx(16.57, abs=0.03)
    # 26 times the air against fire, by the same two printed limits; to 1 %.
    ratio = air_to_exposure_limit(ACETONE, 0.010) / air_to_quarter_limit(ACETONE, 0.010)
    assert ratio == pytest.approx(25.64, rel=0.01)


@given(liquid=burning, mass=masses)
@settings(deadline=None)
def test_breathing_takes_eight_to_thirty_times_the_air_against_fire(
    liquid: Liquid, mass: float
) -> None:
    ratio = air_to_exposure_limit(liquid, mass) / air_to_quarter_limit(liquid, mass)
    assert 8 < ratio < 30


@given(liquid=burning, mass=masses)
@settings(deadline=None)
def test_in_air_to_the_exposure_limit_the_parts_make_up_one_limit(
    liquid: Liquid, mass: float
) -> None:
    air = air_to_exposure_limit(liquid, mass)
    total = 0.0
    for part, share in parts_of(liquid):
        assert part.exposure_limit is not None
        total += ppm_of(part, share * mass, air) / part.exposure_limit
    assert total == pytest.approx(1)


@given(liquid=burning, mass=masses, other=masses)
@settings(deadline=None)
def test_twice_the_thinner_needs_twice_the_air(liquid: Liquid, mass: float, other: float) -> None:
    for air in (air_to_quarter_limit, air_to_exposure_limit, all_vapour):
        assert air(liquid, mass + other) == pytest.approx(air(liquid, mass) + air(liquid, other))


def test_a_mixture_counts_each_part_against_its_own_limit() -> None:
    half = Mixture("half", ((ACETONE, 0.5), (TOLUENE, 0.5)), "made up for a test")
    apart = air_to_exposure_limit(ACETONE, 0.005) + air_to_exposure_limit(TOLUENE, 0.005)
    assert air_to_exposure_limit(half, 0.010) == pytest.approx(apart)
    # Toluene, its largest part, drives lacquer thinner: more air than acetone alone needs.
    assert air_to_exposure_limit(LACQUER_THINNER, 0.01) > air_to_exposure_limit(ACETONE, 0.01)


# Printed pairs of acetone limits on OSHA's page: 500 ppm = 1187 mg/m3 to 1; 1000 ppm = 2400, which
# is rounded to the hundred and misses by 26.
@pytest.mark.parametrize(("ppm", "milligrams", "off"), [(500, 1187, 1), (1000, 2400, 30)])
def test_printed_limits_in_ppm_and_in_milligrams_agree(
    ppm: float, milligrams: float, off: float
) -> None:
    assert ppm_to_mg_per_m3(ppm, 0.058_08) == pytest.approx(milligrams, abs=off)


# Ideal gas at 20 degC and one atmosphere: 24.055 L/mol, from memory, to be checked; to 0.001.
@pytest.mark.parametrize("row", sorted(SOLVENTS.values(), key=lambda row: row.name))
def test_a_mole_of_any_vapour_takes_24_litres(row: Solvent) -> None:
    assert 1000 * all_vapour(row, row.molar_mass) == pytest.approx(24.055, abs=0.001)


# ACGIH, Industrial Ventilation: vapour of a US pint in ft3 at 70 degF = 403 SG / MW, seen on a
# printed formula sheet; 403 is rounded, so 1 %.
@pytest.mark.parametrize("row", [ACETONE, ETHANOL, TOLUENE])
def test_a_pint_makes_the_vapour_of_the_ventilation_manual(row: Solvent) -> None:
    feet = vapour_volume(row, PINT * row.density, SEVENTY_F, STANDARD_ATMOSPHERE) / FOOT**3
    manual = 403 * (row.density / 1000) / (1000 * row.molar_mass)
    assert feet == pytest.approx(manual, rel=0.01)


def test_a_pint_of_acetone_makes_five_and_a_half_cubic_feet() -> None:
    feet = vapour_volume(ACETONE, PINT * 790, SEVENTY_F, STANDARD_ATMOSPHERE) / FOOT**3
    assert feet == pytest.approx(5.4816, abs=0.06)


# 29 CFR 1910.94 table G-11, cubic feet of vapour from a US gallon at 70 degF; from memory, to be
# checked, and known to be met within 1.3 %. A row's density may be off by 0.2 % more.
@pytest.mark.parametrize(("row", "feet"), [(ACETONE, 44.0), (ETHANOL, 55.2), (TOLUENE, 30.4)])
def test_a_gallon_makes_the_vapour_of_the_regulations_table(row: Solvent, feet: float) -> None:
    volume = vapour_volume(row, GALLON * row.density, SEVENTY_F, STANDARD_ATMOSPHERE)
    assert volume / FOOT**3 == pytest.approx(feet, rel=0.015)


def test_vapour_in_a_room_by_hand() -> None:
    # 4.142 litres in 30 m3 are 138 millionths.
    assert ppm_of(ACETONE, 0.010, 30) == pytest.approx(138.1, abs=0.1)
    assert pytest.approx(ZERO_CELSIUS + 20) == ROOM


@given(air=st.floats(0.1, 1e4), room=st.floats(1, 1e4), hours=st.floats(0.1, 100))
@settings(deadline=None)
def test_air_comes_in_by_changes_or_by_flow_alike(air: float, room: float, hours: float) -> None:
    assert air_changes(air, room) * room == pytest.approx(air)
    assert airflow(air, 3600 * hours, mixing=1) * 3600 * hours == pytest.approx(air)
    assert airflow(air, 3600 * hours, mixing=5) == pytest.approx(5 * airflow(air, 3600 * hours, 1))


def test_what_needs_no_air_or_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="does not burn"):
        air_to_quarter_limit(WATER, 0.010)
    with pytest.raises(RangeError, match="no exposure limit"):
        air_to_exposure_limit(WATER, 0.010)
    for air in (air_to_quarter_limit, air_to_exposure_limit, all_vapour):
        with pytest.raises(RangeError, match="no vapour volume"):
            air(ACETONE, -0.010)
    with pytest.raises(RangeError, match="above 0"):
        ppm_of(ACETONE, 0.010, 0)
    for ppm, molar_mass in ((-1, 0.058), (1, 0)):
        with pytest.raises(RangeError, match="negative or nothing"):
            ppm_to_mg_per_m3(ppm, molar_mass)
    for air_volume, room in ((-1, 30), (10, 0)):
        with pytest.raises(RangeError, match="measure it anew"):
            air_changes(air_volume, room)
    for seconds, mixing, says in ((0, 3, "the time"), (60, 0.5, "mixing"), (60, 11, "mixing")):
        with pytest.raises(RangeError, match=says):
            airflow(10, seconds, mixing)
