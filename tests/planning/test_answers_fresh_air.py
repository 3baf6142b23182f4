"""The air that a coat's solvent takes."""

from dataclasses import replace

import pytest
from cases import SAPELE, all_cases, case, keys, line, read

from controller.planning.answers.fresh_air import HOUR, MIXING, liquid_of, section
from controller.planning.catalogue import Thinner, built_in

ACETONE = ('thinner = "ethanol"', 'thinner = "acetone"')
NEAT = (
    ('thinner = "ethanol"', 'thinner = "none"'),
    ('thinner_share = "8 %"', 'thinner_share = "0 %"'),
)


def volume(told: str) -> tuple[str, str]:
    return ('# volume = "60 m3"', f'volume = "{told}"')


def test_a_mix_without_solvent_takes_no_air():
    assert section(case(*NEAT)) is None


# To a quarter of what burns, for 10 g: acetone 646 L, ethanol 612, isopropanol 785; limits of
# NFPA 497, worked apart to the last digit.
@pytest.mark.parametrize(
    ("thinner", "litres"), [("acetone", 646), ("ethanol", 612), ("isopropanol", 785)]
)
def test_ten_grams_take_the_worked_air_against_fire(thinner: str, litres: float):
    found = section(case(('thinner = "ethanol"', f'thinner = "{thinner}"')))
    mass = line(found, "fresh_air.solvent").figures["mass"].value
    fire = line(found, "fresh_air.fire").figures["air"].value
    assert 1e3 * fire * 0.010 / mass == pytest.approx(litres, rel=0.002)


def test_breathing_takes_26_times_as_much_for_acetone():
    # 10 g of acetone to the 250 ppm of the stricter limit: 16.6 m3, 26 times the air against fire
    found = section(case(ACETONE))
    mass = line(found, "fresh_air.solvent").figures["mass"].value
    breathing = line(found, "fresh_air.breathing").figures
    assert breathing["air"].value * 0.010 / mass == pytest.approx(16.6, rel=0.005)
    assert breathing["times"].value == pytest.approx(26, abs=0.5)


def test_all_the_solvent_of_the_cup_counts_waste_and_all():
    # 31.05 g of mix, 8 % of it ethanol
    mass = line(section(case()), "fresh_air.solvent").figures["mass"].value
    assert 1e3 * mass == pytest.approx(2.484, abs=0.001)


def test_a_resin_that_comes_with_its_solvent_counts_it():
    sealer = case(("laminating 2:1 slow", "solvent-borne sealer"), *NEAT)
    found = line(section(sealer), "fresh_air.solvent")
    assert found.figures["mass"].value == pytest.approx(sealer.coat.mix.carried)
    assert "acetone" in found.text


def test_air_changes_only_where_the_room_is_told():
    untold = line(section(case()), "fresh_air.changes")
    assert "shop.volume" in untold.text and "changes" not in untold.figures
    air = line(section(case()), "fresh_air.breathing").figures["air"].value
    assert untold.figures["flow"].value == pytest.approx(MIXING * air / HOUR)
    told = line(section(case(volume("5 m3"))), "fresh_air.changes")
    assert told.figures["changes"].value == pytest.approx(MIXING * air / 5)


def test_a_small_closed_shop_is_a_warning_and_a_big_one_is_not():
    small = line(section(case(ACETONE, volume("5 m3"))), "fresh_air.changes")
    big = line(section(case(ACETONE, volume("500 m3"))), "fresh_air.changes")
    assert small.care and "open on two sides" in small.text
    assert not big.care


def test_the_lamp_the_lungs_and_the_pump_are_warned_of():
    found = section(case())
    for key in ("fresh_air.lamp", "fresh_air.mask", "fresh_air.exhaust"):
        assert line(found, key).care
    assert "local code" in line(found, "fresh_air.mask").text
    assert "Unplug" in line(found, "fresh_air.lamp").text
    # NFPA 497: ethanol's vapour lights from 13 C on
    assert "13.0 °C" in read(line(found, "fresh_air.lamp"))
    assert "fresh_air.exhaust" not in keys(section(case(("bagged = true", "bagged = false"))))


def test_a_mixture_of_solvents_counts_its_parts():
    known = built_in()
    row = Thinner(
        name="thinner of the shop", solvent=None, mixture="lacquer thinner",
        families=("aromatic", "ketone", "alcohol"), note="For lacquer.", source="own",
    )  # fmt: skip
    catalogue = replace(known, thinners={**known.thinners, row.name: row})
    made = case(('thinner = "ethanol"', f'thinner = "{row.name}"'), catalogue=catalogue)
    assert liquid_of(made) is not None
    found = section(made)
    mixed = line(found, "fresh_air.breathing").figures["air"].value
    mass = line(found, "fresh_air.solvent").figures["mass"].value
    # by hand for 1 kg at 24.055 m3/kmol: toluene .40 / 92.14 / 100 ppm, acetone .25 / 58.08 / 250,
    # isopropanol .15 / 60.1 / 400, MEK .10 / 72.11 / 200, xylene .10 / 106.17 / 100
    by_hand = 24.055e6 * (
        0.40 / 92.14 / 100
        + 0.25 / 58.08 / 250
        + 0.15 / 60.1 / 400
        + 0.10 / 72.11 / 200
        + 0.10 / 106.17 / 100
    )
    assert mixed / mass == pytest.approx(by_hand, rel=0.002)


def test_each_coat_has_its_own():
    first, second = all_cases(of=SAPELE)
    found = section(first)
    assert found is not None and found.key == "coat 1 fresh_air"
    assert "acetone" in line(found, "fresh_air.solvent").text
    assert section(second) is None
