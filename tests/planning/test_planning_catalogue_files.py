"""Rows of one's own: laid over ours, or every fault of all three files at once."""

from pathlib import Path

import pytest

from controller.cli import main
from controller.errors import InputError
from controller.planning.catalogue import built_in, read_catalogue
from controller.science.solvent_mixture import LIQUIDS
from controller.settings import default_settings_text

OURS = built_in()

ROSEWOOD = """
["rosewood"]
basic_gravity = 0.75
shrinkage_share = 0.085
grain = "semi-open"
sapwood = "slow"
heartwood = "shut"
bleeds_in = ["alcohol", "ketone"]
oily = true
note = "Weighed and measured in the shop."
source = "own: three boards, oven-dried"
"""


def folder(path: Path, **files: str) -> Path:
    for name, text in files.items():
        (path / f"{name}.toml").write_text(text, encoding="utf-8")
    return path


def faults(path: Path) -> list[str]:
    with pytest.raises(InputError) as refused:
        read_catalogue(path)
    first, *lines = str(refused.value).split("\n")
    assert first == f"{path}: {len(lines)} fault" + ("s" if len(lines) > 1 else "")
    return lines


def test_a_folder_of_one_file_adds_to_what_is_built_in(tmp_path):
    theirs = read_catalogue(folder(tmp_path, woods=ROSEWOOD))
    assert theirs.wood("rosewood").basic_gravity == pytest.approx(0.75)
    assert theirs.wood("rosewood").bleeds_in == ("alcohol", "ketone")
    assert {name: theirs.woods[name] for name in OURS.woods} == OURS.woods
    assert (theirs.resins, theirs.thinners) == (OURS.resins, OURS.thinners)
    assert "rosewood" not in built_in().woods


def test_a_known_name_changes_only_the_columns_given(tmp_path):
    text = '["laminating 2:1 slow"]\nviscosity_mpas = 620\nsource = "own: flow cup, May"\n'
    row, ours = read_catalogue(folder(tmp_path, resins=text)), OURS.resin("laminating 2:1 slow")
    found = row.resin("laminating 2:1 slow")
    assert found.viscosity == pytest.approx(0.620)
    assert found.source == "own: flow cup, May"
    assert (found.pot_life, found.ratio_a, found.says) == (ours.pot_life, ours.ratio_a, ours.says)


def test_a_resin_may_carry_a_thinned_mix_that_was_measured(tmp_path):
    text = (
        '["laminating 2:1 slow"]\nthinned_share = 0.08\nthinned_viscosity_mpas = 300.0\n'
        'source = "own: flow cup, May"\n'
    )
    row = read_catalogue(folder(tmp_path, resins=text)).resin("laminating 2:1 slow")
    assert (row.thinned_share, row.thinned_viscosity) == pytest.approx((0.08, 0.300))
    assert OURS.resin("laminating 2:1 slow").thinned_share is None


def test_a_thinner_of_ones_own_is_a_solvent_that_is_known(tmp_path):
    text = (
        '["toluene"]\nsolvent = "toluene"\nfamilies = ["aromatic"]\n'
        'note = "For a dye that acetone lifts."\nsource = "own"\n'
    )
    assert read_catalogue(folder(tmp_path, thinners=text)).thinner("toluene").solvent == "toluene"
    there = ", ".join(LIQUIDS)
    assert faults(folder(tmp_path, thinners=text.replace('= "toluene"', '= "petrol"'))) == [
        f'thinners.toml toluene solvent = "petrol": allowed: {there}, or "" for none'
    ]


def test_every_fault_of_all_three_files_has_its_line(tmp_path):
    woods = (
        'teak = "dear"\n'
        '["white ash"]\nbasic_gravity = 5.5\ngrian = "open"\nsource = "own"\n'
        '["sapele"]\nshrinkage_share = 14.0\n'
        '["whit ash"]\nbasic_gravity = 0.55\nsource = "own"\n'
    )
    resins = (
        '["laminating 1:1 fast"]\npot_life_min = 30.0\nsource = "own"\n'
        '["laminating 2:1 slow"]\ngel_early_h = 8.0\nsource = "own"\n'
        '["laminating 3:1 slow"]\nviscosity_mpas = "620 cP"\nsource = "own"\n'
        '["solvent-borne sealer"]\ncarrier = ""\nsource = "own"\n'
    )
    lines = faults(folder(tmp_path, woods=woods, resins=resins, thinners="[acetone\n"))
    assert lines == [
        'woods.toml teak: allowed: a table, ["teak"] and its columns under it',
        "woods.toml sapele source: missing; say where the new figures come from",
        "woods.toml whit ash: a new wood needs every column; missing: shrinkage_share, grain, "
        "sapwood, heartwood, bleeds_in, oily, note; or did you mean white ash?",
        "woods.toml white ash basic_gravity = 5.5: allowed: 0.2 to 1.2",
        "woods.toml white ash grian: no such key; did you mean grain?",
        "woods.toml sapele shrinkage_share = 14.0: allowed: 0.03 to 0.25",
        "resins.toml laminating 1:1 fast gel_is_guess: a guess from 30 min in the cup is "
        "gel_early_h = 1, gel_late_h = 3; or give your own with gel_is_guess = false",
        "resins.toml laminating 2:1 slow gel_late_h: allowed: more than gel_early_h; here 8 h and "
        "then 7 h",
        'resins.toml laminating 3:1 slow viscosity_mpas = "620 cP": allowed: a number, without '
        "quotes",
        'resins.toml solvent-borne sealer carrier and carrier_share: both, or carrier = "" and '
        "carrier_share = 0.0",
        "thinners.toml line 1: not TOML: Expected ']' at the end of a table declaration: [acetone; "
        "text and quantities stand in quotes",
    ]


@pytest.mark.parametrize(
    ("columns", "line"),
    [
        ("ratio_a = 50.0", "ratio_a to ratio_b: allowed: half to twenty parts of A to one of B"),
        ("thinned_share = 0.05", "thinned_share and thinned_viscosity_mpas: both or neither"),
        (
            "thinned_share = 0.05\nthinned_viscosity_mpas = 900.0",
            "thinned_viscosity_mpas = 900: allowed: less than viscosity_mpas, 850",
        ),
        (
            "open_early_h = 5.0",
            "open_early_h: allowed: more than gel_late_h; here 7 h and then 5 h",
        ),
        ("density_a_kg_m3 = 1.15", "density_a_kg_m3 = 1.15: allowed: 800 to 2000"),
        ("pot_life_min = nan", "pot_life_min = nan: allowed: 2 to 1440"),
        ('says = "{a}"', 'says = "{a}": allowed: a sentence on one line, no { or }'),
    ],
)
def test_a_resin_whose_columns_do_not_agree_is_refused(tmp_path, columns, line):
    text = f'["laminating 2:1 slow"]\n{columns}\nsource = "own"\n'
    assert faults(folder(tmp_path, resins=text)) == [f"resins.toml laminating 2:1 slow {line}"]


@pytest.mark.parametrize("name", ["", " ", "a{b}", "x" * 61, "two\\nlines"])
def test_a_name_that_no_sheet_could_print_is_refused(tmp_path, name):
    (line,) = faults(folder(tmp_path, woods=ROSEWOOD.replace('["rosewood"]', f'["{name}"]')))
    assert line.endswith(": allowed: a name of 1 to 60 characters on one line, no { or }")


def test_a_missing_folder_and_an_empty_one_are_one_line_each(tmp_path):
    with pytest.raises(InputError, match=r"nowhere: no such folder; is \[shop\] catalogue .*\?$"):
        read_catalogue(tmp_path / "nowhere")
    with pytest.raises(InputError, match=r"nothing to read; put one of woods.toml, resins.toml"):
        read_catalogue(tmp_path)


def test_a_file_that_cannot_be_read_is_a_fault(tmp_path):
    (tmp_path / "woods.toml").write_bytes(b'["white ash"]\nnote = "\xff"\n')
    (tmp_path / "resins.toml").mkdir()
    assert faults(tmp_path) == [
        "woods.toml line 2: not UTF-8 text",
        "resins.toml: Is a directory",
    ]


def test_the_folder_that_the_rigs_settings_name_is_planned_from(tmp_path, capsys):
    rig, rows = tmp_path / "rig.toml", tmp_path / "rows"
    rows.mkdir()
    folder(rows, woods='["white ash"]\nbasic_gravity = 5.5\nsource = "own: weighed"\n')
    told = default_settings_text().replace("# catalogue = ", f'catalogue = "{rows}" # ')
    assert told != default_settings_text()
    rig.write_text(told, encoding="utf-8")
    assert main(["plan", "washboard-ash", "--config", str(rig)]) == 2
    assert capsys.readouterr().err.splitlines() == [
        f"warmdraw: {rows}: 1 fault",
        "woods.toml white ash basic_gravity = 5.5: allowed: 0.2 to 1.2",
    ]
