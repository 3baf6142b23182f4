"""Drawn preheats: what is drawn, what the guards catch of it and how soon, and the table of it."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from controller.cli import main
from controller.rehearsal.preheat_draws import CASES, FLUX, LAG, ROOM, THICKNESS, drawn
from controller.rehearsal.preheat_table import as_json, false_trips, markdown, rows
from controller.rehearsal.preheat_tally import (
    PreheatPlayed,
    play_preheats,
    preheat_played,
)
from controller.rehearsal.preheats import can_reach, play

PULSE_ENDS = 76.0
"""A probe that never saw the lamp is known within this, [s]: safety's own figure."""
SOON = 4
"""Number of a preheat whose board is warm within the minute."""


def test_a_number_is_one_board_in_every_case_and_within_the_ranges() -> None:
    for number in range(1, 13):
        healthy = drawn("healthy", number)
        board, lamp = healthy.truth.board, healthy.truth.lamp
        assert FLUX[0] <= lamp.flux <= FLUX[1]
        assert THICKNESS[0] <= board.thickness <= THICKNESS[1]
        assert LAG[0] <= healthy.lag <= LAG[1]
        assert ROOM[0] <= healthy.truth.shop.start <= ROOM[1]
        for case in CASES:
            other = drawn(case, number)
            assert (other.truth, other.lag, other.sheet) == (
                healthy.truth,
                healthy.lag,
                healthy.sheet,
            )


def test_what_the_settings_are_told_is_not_what_is_so() -> None:
    preheats = [drawn("healthy", number) for number in range(1, 13)]
    faces = [preheat.settings.probes.face for preheat in preheats]
    told = [face.lag for face in faces if face is not None]
    assert len(told) == len(preheats) and 0 < told.count(20.0) < len(told)
    assert all(lag != preheat.lag for lag, preheat in zip(told, preheats, strict=True))
    assert all(p.settings.lamp.absorbed != p.truth.lamp.flux for p in preheats)


@pytest.mark.parametrize("number", range(1, 4))
def test_a_probe_off_from_the_start_is_always_known_after_the_pulse(number: int) -> None:
    heated = play(drawn("off", number), cut_out=False)
    assert heated.ended == "lamp not seen"
    assert heated.ended_at - heated.lamp_on_at <= PULSE_ENDS
    assert heated.off_at - heated.lamp_on_at <= 31.0, "dark again after its pulse"


def test_a_board_no_lamp_like_this_warms_is_known_as_one() -> None:
    weak = drawn("healthy", SOON)
    assert can_reach(weak)
    lamp = replace(weak.truth.lamp, flux=20.0)
    assert not can_reach(replace(weak, truth=replace(weak.truth, lamp=lamp)))


def test_a_heat_tells_of_its_fault_from_the_lamp_on() -> None:
    told = preheat_played("off/1")
    assert (told.case, told.came, told.caught, told.ended) == ("off", True, True, "lamp not seen")
    assert told.lamp_off_s is not None and told.spoke_s is not None
    assert told.lamp_off_s < told.spoke_s <= PULSE_ENDS


def made(name: str, **changes: object) -> PreheatPlayed:
    """One that was played, made up."""
    played = PreheatPlayed(
        name=name,
        ended="soaked",
        came=True,
        reachable=True,
        lamp_off_s=None,
        spoke_s=None,
        face_max_c=45.0,
        with_cut_out_c=45.0,
        cut_out_opened=False,
        closures=5,
        gain=1.0,
    )
    return replace(played, **changes)  # type: ignore[arg-type]


def test_the_table_counts_what_was_caught_ended_and_missed() -> None:
    fell = [
        made("falls/1", ended="probe fell", lamp_off_s=12.0, spoke_s=13.0, face_max_c=50.0),
        made("falls/2", ended="no rise", lamp_off_s=40.0, spoke_s=41.0, face_max_c=60.0),
        made("falls/3", ended="lamp time spent", face_max_c=90.0, with_cut_out_c=70.0),
        made("falls/4"),
        made("falls/5", came=False, face_max_c=99.0),
    ]
    (row,) = rows(fell)
    assert (row.runs, row.caught, row.budget, row.missed) == (4, 2, 1, 1)
    assert row.by == {"probe fell": 1, "no rise": 1}
    assert (row.lamp_off_s, row.spoke_s) == ((26.0, 40.0), 41.0)
    assert (row.face_c, row.with_cut_out_c) == ((55.0, 90.0), 70.0)
    assert markdown(fell)[2].startswith("| probe falls off | 4 | 2 | probe fell 1, no rise 1 | 1")
    (none,) = rows([made("falls/1", came=False)])
    assert none.runs == 0 and none.face_c is None and none.lamp_off_s is None


def test_a_false_trip_is_a_healthy_heat_of_a_board_that_reaches_its_band() -> None:
    played = [
        made("healthy/1"),
        made("healthy/2", ended="no rise", reachable=False),
        made("healthy/3", ended="probe fell"),
        made("healthy/4", ended="lamp time spent"),
        made("falls/5", ended="probe fell"),
    ]
    assert [each.name for each in false_trips(played)] == ["healthy/3", "healthy/4"]
    told = as_json(played)
    assert told["preheats"] == 5
    assert [each["name"] for each in told["false_trips"]] == ["healthy/3", "healthy/4"]  # type: ignore[attr-defined]


def kept_ones(tmp_path: Path, numbers: range, **changes: object) -> Path:
    """A file as if every case of these numbers had been played."""
    kept = tmp_path / "kept.jsonl"
    with kept.open("w", encoding="utf-8") as file:
        for number in numbers:
            for case in CASES:
                told = made(f"{case}/{number}", **(changes if case == "healthy" else {}))
                plain = {name: getattr(told, name) for name in PreheatPlayed.__slots__}
                file.write(json.dumps(plain) + "\n")
    return kept


def test_what_was_kept_is_not_played_again(tmp_path: Path) -> None:
    done = play_preheats(2, 5, kept_ones(tmp_path, range(5, 7)), cores=1)
    assert done.fresh == 0
    assert len(done.all) == 2 * len(CASES)


def test_the_command_tells_the_table_and_complains_of_false_trips(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = kept_ones(tmp_path, range(7, 8))
    asked = ["simulate", "--preheats", "1", "--first", "7", "--kept", str(kept)]
    assert main(asked) == 0
    said = capsys.readouterr().out
    assert f"{len(CASES)} preheats, SIMULATED" in said
    assert all(case.says in said for case in CASES.values())
    kept_ones(tmp_path, range(7, 8), ended="probe fell")
    assert main([*asked, "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["preheats"] == len(CASES)
    assert "healthy/7" in err and "warmdraw simulate --preheats 1 --first 7" in err
    assert main(["simulate", "--preheats", "0"]) == 2
