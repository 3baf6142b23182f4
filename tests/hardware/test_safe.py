"""Outputs OFF from outside, on lines that outlive their owner."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from pretend_pi import LAMP_ON, OWNER, Bench

from controller.hardware.claimed import process_started, write_outputs
from controller.hardware.safe import safe

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")


def nobody(seconds: float) -> bool:
    assert seconds == 1.0
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
