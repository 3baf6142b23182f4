"""Outputs OFF from outside, on lines that outlive their owner."""

import fcntl
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import monotonic

import pytest
from pretend_pi import LAMP_ON, OWNER, Bench

from controller.cli.safety import held
from controller.errors import OutputError
from controller.hardware.claimed import process_started, write_outputs
from controller.hardware.safe import safe
from controller.hardware.sounding import sound

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")


def nobody(seconds: float) -> bool:
    assert seconds == 1.0
    return False


def gone() -> bool:
    """Control is not there again."""
    return False


def left_by(bench: Bench, pid: int, **other: object) -> None:
    """outputs.json as a control that is gone left it."""
    note = {"label": "pinctrl-bcm2711", "lines": {"lamp": 17, "pump": 27}, "pid": pid, "started": 1}
    (bench.run / "outputs.json").write_text(json.dumps(note | other))


def lamp_left_on(bench: Bench) -> None:
    for line in (17, 27):
        (bench.folder / f"line-0-{line}").write_text("out 1\n")


def test_a_control_that_answers_is_left_alone(tmp_path: Path) -> None:
    result = safe(tmp_path, lambda seconds: True)
    assert (result.ok, result.code) == (True, 0)
    assert result.says == "control switched its outputs OFF"


@pytest.mark.usefixtures("lgpio_here")
def test_a_killed_owner_leaves_the_lamp_on_and_safe_turns_it_off(bench: Bench) -> None:
    owner = bench.start(LAMP_ON)
    assert owner.stdout is not None and owner.stdout.readline() == "on\n"
    owner.kill()
    owner.communicate()
    assert bench.line(17) == "out 1"

    result = safe(bench.run, nobody)
    assert result.says == "outputs OFF: lamp on GPIO17, pump on GPIO27 (control did not answer)"
    assert (result.ok, result.code) == (True, 0)
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 0")
    assert not [call for call in bench.calls(17) if "claim_input" in call]


@pytest.mark.usefixtures("lgpio_here")
def test_a_hung_owner_is_ended_and_its_lines_are_driven_low(bench: Bench) -> None:
    owner = bench.start(LAMP_ON)
    assert owner.stdout is not None and owner.stdout.readline() == "on\n"

    result = safe(bench.run, nobody)
    assert f"its process {owner.pid} was ended" in result.says
    assert result.ok
    assert owner.wait(timeout=10) == -9
    assert bench.line(17) == "out 0"


@pytest.mark.usefixtures("lgpio_here")
def test_a_process_that_was_given_the_dead_owners_number_is_spared(bench: Bench) -> None:
    lamp_left_on(bench)
    stranger = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    bench_started = process_started(stranger.pid)
    assert bench_started is not None
    left_by(bench, stranger.pid, started=bench_started - 1)
    result = safe(bench.run, nobody)
    assert result.ok
    assert stranger.poll() is None
    assert bench.line(17) == "out 0"
    stranger.communicate(b"\n")


@pytest.mark.usefixtures("lgpio_here")
def test_a_line_held_by_someone_else_means_pull_the_plug(bench: Bench) -> None:
    lamp_left_on(bench)
    holder = bench.start(OWNER.replace("lamp=17", "lamp=None") + "input()")
    while not (bench.run / "outputs.json").exists():
        assert holder.poll() is None, holder.communicate()
    left_by(bench, 2**22)
    result = safe(bench.run, nobody)
    assert result.says.startswith("pull the lamp's plug: control did not answer; pump on GPIO27 is")
    assert (result.ok, result.code) == (False, 1)
    # the other line was still taken
    assert bench.line(17) == "out 0"


@pytest.mark.usefixtures("lgpio_here")
@pytest.mark.parametrize("call", ["gpio_claim_output", "gpio_read", "gpio_write"])
def test_a_kernel_that_refuses_means_pull_the_plug(bench: Bench, call: str) -> None:
    lamp_left_on(bench)
    left_by(bench, 2**22)
    (bench.folder / "fail").write_text(call)
    result = safe(bench.run, nobody)
    assert result.says.startswith("pull the lamp's plug")
    assert result.code == 1 and "\n" not in result.says


@pytest.mark.usefixtures("lgpio_here")
def test_another_chip_than_the_one_claimed_means_pull_the_plug(bench: Bench) -> None:
    left_by(bench, 2**22, label="pinctrl-rp1")
    result = safe(bench.run, nobody)
    assert result.says.startswith("pull the lamp's plug") and "pinctrl-rp1" in result.says


@pytest.mark.parametrize("text", [None, "", "{", '{"label": "pinctrl-rp1"}', "\0"])
def test_without_a_usable_outputs_json_nothing_is_claimed_to_be_off(
    tmp_path: Path, text: str | None
) -> None:
    if text is not None:
        (tmp_path / "outputs.json").write_text(text)
    result = safe(tmp_path, nobody)
    assert result.says.startswith("pull the lamp's plug: control did not answer, and ")
    assert (result.ok, result.code) == (False, 1)


def test_an_ask_that_fails_is_no_answer(tmp_path: Path) -> None:
    def broken(seconds: float) -> bool:
        raise ConnectionRefusedError(111, "Connection refused")

    result = safe(tmp_path, broken)
    assert not result.ok
    assert "control could not be asked ([Errno 111] Connection refused)" in result.says


@pytest.mark.parametrize("label", ["mock", "simulated"])
def test_pretended_outputs_end_with_their_process(tmp_path: Path, label: str) -> None:
    write_outputs(tmp_path, label, {"lamp": 17})
    result = safe(tmp_path, nobody)
    assert (result.ok, result.code) == (True, 0)
    assert result.says.endswith(f"its outputs were only {label}")


def test_a_rig_worked_by_hand_has_nothing_to_claim(tmp_path: Path) -> None:
    write_outputs(tmp_path, "pinctrl-rp1", {})
    assert safe(tmp_path, nobody).says.endswith("no output is wired")


def test_safe_never_ends_itself(tmp_path: Path) -> None:
    write_outputs(tmp_path, "simulated", {})
    assert json.loads((tmp_path / "outputs.json").read_text())["pid"] == os.getpid()
    assert safe(tmp_path, nobody).ok


@pytest.mark.usefixtures("lgpio_here")
def test_the_sounder_calls_in_beats_and_is_quiet_when_it_ends(bench: Bench) -> None:
    left_by(bench, os.getpid(), lines={"lamp": 17, "sounder": 24})
    heard: list[str] = []
    says = sound(bench.run, lambda seconds: heard.append(f"{seconds:g} s {bench.line(24)}"), gone)
    assert heard[:3] == ["1 s out 1", "1 s out 0", "1 s out 1"]
    assert len(heard) == 600
    assert bench.line(24) == "out 0"
    assert says == "called for 10 min with the sounder on GPIO24"


@pytest.mark.usefixtures("lgpio_here")
def test_a_call_that_is_broken_off_leaves_the_sounder_quiet(bench: Bench) -> None:
    left_by(bench, os.getpid(), lines={"sounder": 24})

    def ended(seconds: float) -> None:
        raise SystemExit(0)

    with pytest.raises(SystemExit):
        sound(bench.run, ended, gone)
    assert bench.line(24) == "out 0"


@pytest.mark.usefixtures("lgpio_here")
def test_a_call_ends_when_control_is_back_and_lets_it_have_the_line(bench: Bench) -> None:
    left_by(bench, os.getpid(), lines={"sounder": 24})
    heard: list[float] = []
    says = sound(bench.run, heard.append, lambda: len(heard) >= 5)
    assert says == "called for 5 s, until control was there again"
    assert len(heard) == 5
    assert bench.line(24) == "out 0" and bench.calls(24)[-1] == "gpio_free"


def test_nobody_is_called_while_control_is_there(tmp_path: Path) -> None:
    write_outputs(tmp_path, "pinctrl-bcm2711", {"sounder": 24})
    says = sound(tmp_path, lambda seconds: None, lambda: True)
    assert says == "control is there again: nobody is called"


@pytest.mark.usefixtures("lgpio_here")
def test_a_sounder_that_cannot_be_switched_is_one_line(bench: Bench) -> None:
    left_by(bench, os.getpid(), lines={"sounder": 24})

    def refuse(seconds: float) -> None:
        (bench.folder / "fail").write_text("gpio_write:24")

    with pytest.raises(OutputError, match=r"^sounder on GPIO24 could not be switched [^\n]*$"):
        sound(bench.run, refuse, gone)


@pytest.mark.parametrize(
    ("label", "lines"), [("pinctrl-bcm2711", {"lamp": 17}), ("mock", {"sounder": 24})]
)
def test_a_rig_without_a_sounder_says_so(tmp_path: Path, label: str, lines: dict[str, int]) -> None:
    write_outputs(tmp_path, label, lines)
    assert "no sounder is wired" in sound(tmp_path, lambda seconds: None, gone)


SAFE_SOUND = """
import sys
from controller.cli import main
sys.exit(main(['safe', '--sound', '--run', sys.argv[1]]))
"""


def until(true: Callable[[], bool]) -> None:
    """Wait for something another process does."""
    late = monotonic() + 30.0
    while not true():
        assert monotonic() < late


def test_asked_to_end_a_call_ends_with_the_sounder_off(bench: Bench) -> None:
    lamp_left_on(bench)
    left_by(bench, 2**22, lines={"lamp": 17, "pump": 27, "sounder": 24, "dead_man": 25})
    call = bench.start(SAFE_SOUND)
    assert call.stdout is not None
    said = call.stdout.readline()
    assert said == (
        "outputs OFF: lamp on GPIO17, pump on GPIO27, sounder on GPIO24, dead-man on GPIO25"
        " (control did not answer)\n"
    )
    until(lambda: bench.line(24) == "out 1")
    call.terminate()
    assert call.communicate(timeout=30) == ("", "")
    assert call.returncode == 0
    assert [bench.line(line) for line in (17, 27, 24, 25)] == ["out 0"] * 4


def test_a_call_is_broken_off_by_the_lock_of_a_living_control(bench: Bench) -> None:
    left_by(bench, 2**22, lines={"sounder": 24})
    call = bench.start(SAFE_SOUND)
    until(lambda: (bench.folder / "line-0-24").exists() and bench.line(24) == "out 1")
    with (bench.run / "control.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        lock.write(f"{os.getpid()}\n")
        lock.flush()
        out, _ = call.communicate(timeout=30)
    assert "until control was there again" in out
    assert bench.line(24) == "out 0"


def test_a_call_that_knows_no_line_says_so_in_a_line_each(bench: Bench) -> None:
    call = bench.start(SAFE_SOUND)
    out, err = call.communicate(timeout=30)
    assert (out, call.returncode) == ("", 1)
    assert len(err.splitlines()) == 2 and err.count("outputs.json is not there") == 2


def test_a_lock_is_held_by_who_lives_and_holds_it(tmp_path: Path) -> None:
    lock = tmp_path / "control.lock"
    assert not held(lock)
    lock.write_text("")
    assert not held(lock)
    # a dead control's: not so much as touched
    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        file.write(f"{2**22}\n")
        file.flush()
        assert not held(lock)
        file.truncate(0)
        file.seek(0)
        file.write(f"{os.getpid()}\n")
        file.flush()
        assert held(lock)
    # its number given to another, who holds nothing
    assert not held(lock)
