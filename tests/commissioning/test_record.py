"""The bench record: what puts it in force, what takes it out, and the command that writes it."""

import os
from pathlib import Path

import pytest
from benches import settings

from controller.batch.signals import Corrections
from controller.commissioning.record import (
    IN_DATE,
    PROOF_IN_DATE,
    BenchRecord,
    Result,
    as_text,
    keep,
    keep_attempt,
    read_attempt,
    read_bench_record,
    wiring,
    withdraw,
)
from controller.commissioning.walk import STEPS, chosen, missing, renewed, whole
from controller.daemon.facts import real_facts
from controller.errors import InputError
from controller.instant import Instant
from controller.settings import Settings

NOW = 1_800_000_000.0
"""A moment, seconds since 1970 UTC."""
DAY = 86400.0


def passes(**other: str) -> tuple[Result, ...]:
    """A result of each step, passed but where told otherwise."""
    verdicts = {step.name: "pass" for step in STEPS} | other
    return tuple(
        Result.model_validate({"step": name, "verdict": verdict, "says": "seen"})
        for name, verdict in verdicts.items()
    )


def made(told: Settings, **other: object) -> BenchRecord:
    return whole(told, passes(), NOW, simulated=False).model_copy(update=other)


def at(told_utc: float) -> Instant:
    return Instant(0.0, told_utc, 0.0, "boot", True)


def test_a_record_is_read_back_as_it_was_kept_and_the_one_before_it_stays(tmp_path: Path) -> None:
    told = settings(tmp_path)
    assert read_bench_record(tmp_path) is None
    first = made(told)
    keep(first, tmp_path)
    assert read_bench_record(tmp_path) == first
    assert (tmp_path / "bench-record.txt").read_text() == as_text(first)
    second = made(told, made_utc=NOW + 1.0)
    keep(second, tmp_path)
    assert read_bench_record(tmp_path) == second
    (older,) = tmp_path.glob("bench-record-2*.json")
    assert BenchRecord.model_validate_json(older.read_text()) == first
    assert withdraw(tmp_path, NOW) == tmp_path / "bench-record-withdrawn-20270115T080000Z.json"
    assert read_bench_record(tmp_path) is None
    assert not (tmp_path / "bench-record.txt").exists()
    assert withdraw(tmp_path, NOW) is None


def test_a_record_that_cannot_be_withdrawn_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(made(settings(tmp_path)), tmp_path)

    def refused(self: Path, target: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "rename", refused)
    with pytest.raises(InputError, match=r"could not be put out of force \(Permission denied\)"):
        withdraw(tmp_path, NOW)


def test_its_text_says_what_was_found_and_measured_and_on_which_wiring(tmp_path: Path) -> None:
    found = Result(
        step="dead-man", verdict="pass", says="contactor open", figures={"dead_man_low_s": 1.45}
    )
    skipped = Result(step="bag", verdict="skipped", says="not done this time")
    text = as_text(made(settings(tmp_path), results=(found, skipped), proof_utc=NOW + 40 * DAY))
    assert text.startswith(
        "bench check of 2027-01-15, of washboard rig, simulated\n"
        "checked 2027-01-15; cut-out, dead-man, STOP and the rest proved 2027-02-24\n"
    )
    assert "dead-man: PASS: contactor open\n    dead_man_low_s 1.45\nbag: SKIPPED: not" in text
    assert "It holds for this wiring:\n" in text and "\n    dead-man: 25\n" in text


def test_the_newest_check_that_failed_is_the_one_gone_on_from(tmp_path: Path) -> None:
    told = settings(tmp_path)
    assert read_attempt(tmp_path) is None
    for number in (2, 1):
        keep_attempt(made(told, name=f"check {number}"), tmp_path, NOW + number * DAY)
    newest = read_attempt(tmp_path)
    assert newest is not None and newest.name == "check 2"
    assert read_bench_record(tmp_path) is None


def test_a_record_that_cannot_be_written_leaves_the_one_in_force(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = made(settings(tmp_path))
    keep(first, tmp_path)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device", "bench-record.json")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left on device"):
        keep(made(settings(tmp_path), made_utc=NOW + 1.0), tmp_path)
    assert read_bench_record(tmp_path) == first
    with pytest.raises(InputError, match="could not be written"):
        keep_attempt(first, tmp_path, NOW)
    assert not list(tmp_path.glob(".bench-*"))


@pytest.mark.parametrize("text", ["", "{}", '{"version": 1}', "\x00" * 50])
def test_a_record_that_is_none_is_said_and_not_gone_by(tmp_path: Path, text: str) -> None:
    (tmp_path / "bench-record.json").write_text(text)
    with pytest.raises(InputError, match="move it away and run warmdraw check"):
        read_bench_record(tmp_path)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("gpio = 17", "gpio = 18"),
        ("dead_man = 25", "dead_man = 20"),
        ("cut_out = 16", ""),
        ('id = "28-0000000000fa"', 'id = "28-0000000000fb"'),
        ('high_volts = "4.5 V"', 'high_volts = "4.6 V"'),
        ('# adc = "mcp3008"', 'adc = "mcp3008"'),
    ],
)
def test_another_wiring_is_another_rig(tmp_path: Path, old: str, new: str) -> None:
    told = settings(tmp_path)
    other = settings(tmp_path, {old: new})
    assert made(told).in_date(told, NOW)
    assert not made(told).in_date(other, NOW)


def test_it_holds_a_year_and_its_proof_a_month(tmp_path: Path) -> None:
    told = settings(tmp_path)
    record = made(told)
    assert record.in_date(told, NOW + IN_DATE - DAY)
    assert not record.in_date(told, NOW + IN_DATE)
    assert not record.in_date(told, NOW - 2 * DAY)
    assert not record.proof_due(NOW + PROOF_IN_DATE - DAY)
    assert record.proof_due(NOW + PROOF_IN_DATE)


def test_a_rig_without_proved_cut_out_and_dead_man_is_watched_closely(tmp_path: Path) -> None:
    told = settings(tmp_path, {"close_watch = true": "close_watch = false"})

    def close(record: BenchRecord | None, told_utc: float = NOW) -> bool:
        return real_facts(told, record)(at(told_utc)).close_watch

    assert not close(made(told))
    assert close(made(told), NOW + PROOF_IN_DATE)
    assert close(made(told, results=passes(**{"cut-out": "not fitted"})))
    assert close(made(told, results=passes(**{"dead-man": "not fitted"})))
    always = settings(tmp_path)
    assert real_facts(always, made(always))(at(NOW)).close_watch


def test_corrections_reach_the_facts_of_a_real_rig(tmp_path: Path) -> None:
    told = settings(tmp_path)
    found = (
        Result(step="points", verdict="pass", says="", corrections={"face": -0.7, "film": 0.6}),
        Result(step="gauge", verdict="pass", says="", corrections={"bag": 1200.0}),
    )
    facts = real_facts(told, made(told, results=found))(at(NOW))
    assert facts.corrections == Corrections(face=-0.7, film=0.6, bag=1200.0)


def test_another_probe_has_another_error_and_another_wiring_is_not_proved(tmp_path: Path) -> None:
    told = settings(tmp_path, {"close_watch = true": "close_watch = false"})
    found = (
        *passes(),
        Result(step="points", verdict="pass", says="", corrections={"face": -0.7}),
    )
    record = made(told, results=found)
    rig = real_facts(told, record)(at(NOW))
    assert (rig.corrections.face, rig.close_watch, rig.record_in_date) == (-0.7, False, True)
    id_of_another = {"close_watch = true": "close_watch = false", "0000fa": "0000fb"}
    rig = real_facts(settings(tmp_path, id_of_another), record)(at(NOW))
    assert (rig.corrections, rig.close_watch, rig.record_in_date) == (Corrections(), True, False)


def test_a_simulated_record_arms_no_real_rig(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is SIMULATED and this rig is real"):
        real_facts(settings(tmp_path), made(settings(tmp_path), simulated=True))


def test_what_arming_needs_is_passed_or_not_fitted() -> None:
    assert missing(passes()) == {}
    assert missing(passes(bag="skipped")) == {}
    for step in STEPS:
        if step.needed is not None:
            assert list(missing(passes(**{step.name: "fail"}))) == [step.name]
            assert list(missing(passes(**{step.name: "skipped"}))) == [step.name]
            assert missing(passes(**{step.name: "not fitted"})) == {}
    assert "wired" in missing(())


def test_one_step_again_changes_that_step_and_not_the_year(tmp_path: Path) -> None:
    told = settings(tmp_path)
    again = Result(step="gauge", verdict="pass", says="anew", corrections={"bag": 5.0})
    record = renewed(made(told), (again,), NOW + DAY)
    assert (record.made_utc, record.proof_utc) == (NOW, NOW)
    assert record.corrections().bag == 5.0
    assert [found.step for found in record.results] == [step.name for step in STEPS]
    proof = tuple(found for found in passes() if found.step in {s.name for s in chosen(["proof"])})
    assert renewed(made(told), proof, NOW + DAY).proof_utc == NOW + DAY


def test_a_step_that_is_skipped_this_time_stays_as_it_was(tmp_path: Path) -> None:
    told = settings(tmp_path)
    proof = {step.name for step in chosen(["proof"])}
    again = tuple(found for found in passes(NEXT="skipped") if found.step in proof)
    record = renewed(made(told), again, NOW + DAY)
    assert record.passed("NEXT")
    # not the whole of the proof
    assert record.proof_utc == NOW


def test_steps_are_named_and_come_in_their_order() -> None:
    assert chosen(None) == STEPS
    assert [step.name for step in chosen(["stop", "Gauge"])] == ["gauge", "STOP"]
    proof = [step.name for step in chosen(["proof"])]
    assert proof == ["cut-out", "dead-man", "STOP", "NEXT", "sounder", "tilt", "float"]
    assert [step.name for step in chosen(["room", "proof"])] == [*proof, "room"]
    with pytest.raises(InputError, match="no step 'gouge': there are wired, outputs"):
        chosen(["gauge", "gouge"])


def test_the_wiring_is_text_of_all_a_check_looks_at(tmp_path: Path) -> None:
    told = wiring(settings(tmp_path))
    assert {"lamp", "pump", "gauge", "dead-man", "STOP button", "face", "infrared"} <= told.keys()
