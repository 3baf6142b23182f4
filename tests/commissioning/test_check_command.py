"""`warmdraw check` as it is typed: what it writes, and how it ends."""

import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from running import Control, rig_toml, start

from controller.cli import checking, main
from controller.commissioning.record import read_bench_record
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.hardware.rig import wired_probes
from controller.settings import read_settings

LAST_BUT_ONE = ("", "yes", "", "LAMP", *["skip"] * 14, "this shop", "the switch")
"""Somebody who leaves out what they can, and goes away at the check's last question."""
ON_THE_REAL_BACK_END = """
import sys
from functools import partial
from pathlib import Path
from controller.hardware import raspberry
raspberry.RaspberryRig = partial(raspberry.RaspberryRig, w1_folder=Path(sys.argv[1]))
from controller.cli import main
sys.exit(main(sys.argv[2:]))
"""
"""The real rig, but for where its 1-Wire bus is."""


def config(folder: Path) -> str:
    from controller.settings import default_settings_text

    text = default_settings_text()
    for old, new in (("/var/lib/warmdraw", "state"), ("/run/warmdraw", "run")):
        text = text.replace(f'"{old}"', f'"{folder}/{new}"')
    (folder / "rig.toml").write_text(text)
    return str(folder / "rig.toml")


def test_a_rehearsal_ends_with_a_record_that_is_marked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = config(tmp_path)
    assert main(["check", "--rehearse", "--config", rig]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Bench check of washboard rig, SIMULATED: about 40 min.\n")
    headings = [line for line in said.splitlines() if " of 15, " in line]
    assert len(headings) == 15
    assert all(line.startswith("SIMULATED ") for line in headings)
    assert "\nSIMULATED, for this wiring, until 20" in said
    assert "SIMULATED bench check of 20" in (tmp_path / "state" / "bench-record.txt").read_text()
    record = read_bench_record(tmp_path / "state")
    assert record is not None and record.simulated
    assert record.name.startswith("SIMULATED bench check of 20")
    assert main(["check", "--rehearse", "--only", "proof", "--config", rig]) == 0
    again = capsys.readouterr().out
    assert "SIMULATED 7 of 7, float." in again
    assert "Have at hand: a hot-air gun.\n" in again and "syringe" not in again


def test_a_rehearsal_of_the_example_rig_says_that_nothing_stays(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("controller.cli.places.CONFIG", tmp_path / "none.toml")
    assert main(["check", "--rehearse"]) == 0
    assert capsys.readouterr().out.endswith("and its record is gone again.\n")


def test_what_is_wired_is_listed_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--list", "--config", config(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "  dead-man: GPIO25\n" in said and "  gauge reads 101" in said
    assert not (tmp_path / "state").exists()


def test_one_step_alone_wants_a_record_to_renew(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = config(tmp_path)
    assert main(["check", "--only", "gauge", "--config", rig]) == 2
    assert "run the whole of warmdraw check" in capsys.readouterr().err
    assert main(["check", "--only", "gouge", "--config", rig]) == 2
    assert "no step 'gouge'" in capsys.readouterr().err


class Terminal:
    """Somebody at the keyboard: their lines, then Enter for ever, or an end."""

    def __init__(self, *lines: str, ends: bool = False) -> None:
        self._lines, self._ends = list(lines), ends

    def readline(self) -> str:
        if self._lines:
            return f"{self._lines.pop(0)}\n"
        return "" if self._ends else "\n"


def test_a_check_that_fails_withdraws_what_it_was_to_renew(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rig = config(tmp_path)
    state = tmp_path / "state"
    assert main(["check", "--rehearse", "--config", rig]) == 0
    monkeypatch.setattr("sys.stdin", Terminal("", "no"))
    assert main(["check", "--only", "sounder", "--config", rig]) == 1
    told = capsys.readouterr()
    assert "sounder was not passed" in told.err and "is out of force" in told.out
    assert "to go on: warmdraw check --only sounder\n" in told.err
    assert read_bench_record(state) is None
    assert len(list(state.glob("bench-attempt-*.json"))) == 1
    # mended: the rest of that check still stands
    monkeypatch.setattr("sys.stdin", Terminal("", "yes"))
    assert main(["check", "--only", "sounder", "--config", rig]) == 0
    record = read_bench_record(state)
    assert record is not None and len(record.results) == 15 and record.passed("sounder")


def test_a_whole_check_that_fails_takes_the_old_record_out_of_force(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rig = config(tmp_path)
    assert main(["check", "--rehearse", "--config", rig]) == 0
    # plugs pulled, and the relays hum; then everything that asks is left out
    monkeypatch.setattr("sys.stdin", Terminal("", "no", *["skip"] * 60))
    assert main(["check", "--config", rig]) == 1
    told = capsys.readouterr()
    assert "outputs was not passed" in told.err and "is out of force" in told.out
    assert read_bench_record(tmp_path / "state") is None


def test_steps_that_are_left_out_neither_give_nor_take(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rig = config(tmp_path)
    assert main(["check", "--rehearse", "--config", rig]) == 0
    before = read_bench_record(tmp_path / "state")
    monkeypatch.setattr("sys.stdin", Terminal(*["skip"] * 60))
    assert main(["check", "--only", "STOP", "--config", rig]) == 1
    assert "no step was done, and nothing is written" in capsys.readouterr().err
    assert main(["check", "--config", rig]) == 1
    assert "STOP was not passed" in capsys.readouterr().err
    assert read_bench_record(tmp_path / "state") == before


@pytest.mark.parametrize("lines", [(), ("", "yes", "", "LAMP"), LAST_BUT_ONE])
def test_a_terminal_that_goes_away_ends_it_and_writes_nothing(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    lines: tuple[str, ...],
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal(*lines, ends=True))
    assert main(["check", "--config", config(tmp_path)]) == 2
    told = capsys.readouterr()
    assert "the check was broken off: outputs are OFF" in told.err
    assert ("15 of 15, room" in told.out) == (lines is LAST_BUT_ONE)
    assert not (tmp_path / "state").exists()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_it_with_nothing_written(tmp_path: Path, number: signal.Signals) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "controller.cli", "check", "--config", config(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Bench check of")
    process.send_signal(number)
    _, complaint = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "the check was broken off: outputs are OFF" in complaint
    assert not (tmp_path / "state").exists()


def test_it_leaves_a_rig_alone_that_control_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import fcntl

    rig = config(tmp_path)
    (tmp_path / "run").mkdir()
    with (tmp_path / "run" / "control.lock").open("w") as lock:
        lock.write("4711\n")
        lock.flush()
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert main(["check", "--config", rig]) == 2
    said = capsys.readouterr().err
    assert "control runs already (process 4711)" in said and "sudo systemctl stop" in said


def test_nobody_answers_for_a_person_at_a_real_rig(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = Path(config(tmp_path))
    text = rig.read_text().replace('backend = "simulated"', 'backend = "raspberry"')
    rig.write_text(text.replace('[gauge]\nwired = "wired"', '[gauge]\nwired = "by hand"', 1))
    assert main(["check", "--rehearse", "--config", str(rig)]) == 2
    assert "a real rig is checked by somebody who looks" in capsys.readouterr().err


def test_a_second_signal_does_not_break_off_the_end() -> None:
    ended = []
    before = signal.getsignal(signal.SIGTERM)
    with pytest.raises(KeyboardInterrupt), checking._ended_by_signals():
        try:
            signal.raise_signal(signal.SIGTERM)
        finally:
            for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
                signal.raise_signal(number)
            ended.append("outputs OFF")
    assert ended == ["outputs OFF"]
    assert signal.getsignal(signal.SIGTERM) == before


@pytest.fixture
def real(tmp_path: Path) -> Iterator[Control]:
    """A check of the real back end, over lines that outlive it; it has begun."""
    gauge = {'[gauge]\nwired = "wired"': '[gauge]\nwired = "by hand"'}
    path = rig_toml(tmp_path, "raspberry", gauge)
    (tmp_path / "chips").write_text("0 pinctrl-bcm2711\n")
    (tmp_path / "grounded").write_text("13 16 22 26")
    for chip in wired_probes(read_settings(path)).values():
        PretendChip(tmp_path / "w1" / chip).converted(20 * 16)
    # a bad record is what a check mends
    (tmp_path / "state").mkdir()
    (tmp_path / "state" / "bench-record.json").write_text("{}")
    check = start(tmp_path, "check", standin=True, code=ON_THE_REAL_BACK_END)
    yield check
    check.away()


def test_a_real_rig_is_claimed_at_off_and_let_go_of_at_off(real: Control, tmp_path: Path) -> None:
    out = real.process.stdout
    assert out is not None
    assert out.readline().startswith("Bench check of washboard rig: about 40 min.")
    assert [real.line(line) for line in (17, 27, 24, 25)] == ["out 0"] * 4
    refused = start(tmp_path, "check", standin=True, code=ON_THE_REAL_BACK_END)
    code, complaint = refused.ended()
    assert (code, "control runs already" in complaint) == (2, True)
    code, complaint = real.ask_to_end()
    assert (code, "outputs are OFF" in complaint) == (130, True)
    levels = [real.line(line).split()[-1] for line in (17, 27, 24, 25)]
    assert levels == ["0"] * 4
    assert (tmp_path / "state" / "bench-record.json").read_text() == "{}"
