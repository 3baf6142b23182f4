"""The demo: both processes, a batch to its record, and an end that leaves nothing behind."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import controller
from controller.batch.acts import ActKind
from controller.demo.show import rig_toml
from controller.link import ActMessage, Hello, ask
from controller.settings import parse_settings
from controller.store.queries import LogReader

ROOT = Path(controller.__file__).parents[1]
Demo = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Demo]:
    """Starts demos in one folder, and sees to their end."""
    started: list[subprocess.Popen[str]] = []
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for desktop in ("DISPLAY", "WAYLAND_DISPLAY"):
        environment.pop(desktop, None)

    def start(*options: str, folder: Path = tmp_path) -> "subprocess.Popen[str]":
        command = [sys.executable, "-W", "error", "-m", "controller.cli", "demo"]
        process = subprocess.Popen(
            [*command, "--state", str(folder), *options],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            preexec_fn=hears_ctrl_c,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        # its own two processes go with it
        process.terminate()
        process.communicate(timeout=30)


def hears_ctrl_c() -> None:
    """What a shell starts in the background ignores Ctrl-C, and so do its children."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def said_until(process: "subprocess.Popen[str]", words: str) -> str:
    """All it says up to the line with these words."""
    assert process.stdout is not None and process.stderr is not None
    said = ""
    for line in process.stdout:
        said += line
        if words in line:
            return said
    pytest.fail(f"ended without {words!r}: {said} {process.stderr.read()}")


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


@pytest.mark.long
def test_a_batch_is_played_to_its_record(demo: Demo, tmp_path: Path) -> None:
    # faster, a look each quarter of a second may come too late for PRESENT
    process = demo("--speed", "2", "--port", "0", "--no-open", "--exit")
    said, complaints = process.communicate(timeout=300)
    assert (process.returncode, complaints) == (0, "")
    stages = [line.split()[2] for line in said.splitlines() if re.match(r"[A-Z][a-z]{2} \d", line)]
    order = ["PREHEAT", "SOAK", "COOLDOWN", "COAT", "BAG", "PULLDOWN", "HOLD", "FLASHOFF"]
    assert [stage for stage in stages if stage in order] == order
    assert stages[-1] == "FINISHED"
    record = re.search(r"FINISHED: its record is (\S+)", said)
    assert record is not None
    page = Path(record[1]).read_text(encoding="utf-8")
    assert "SIMULATED" in page and "Washboard in ash" in page
    lines = LogReader(tmp_path / "state" / "log.db").events(limit=1000)
    assert not [line for line in lines if line.event is None]
    assert (tmp_path / "control.log").read_text() == ""
    assert (tmp_path / "page.log").read_text() == ""


@pytest.mark.long
def test_a_batch_that_is_given_up_is_no_success(demo: Demo, tmp_path: Path) -> None:
    process = demo("--port", "0", "--no-open", "--exit")
    said_until(process, "DRYPULL")
    for kind in (ActKind.STOP, ActKind.ABANDON):
        shown = ask(tmp_path / "run" / "control.sock", Hello(who="shell", wants="snapshots"))
        assert shown.batch is not None
        told = ActMessage(
            id=f"test-{kind}",
            kind=kind,
            batch=shown.batch.id,
            stage=None,
            by="shell",
            ago_s=0.0,
            values={},
            seen_seq=shown.seq,
            received_utc=time.time(),
        )
        answer = ask(tmp_path / "run" / "control.sock", told)
        assert answer.accepted, answer.text
    said, complaints = process.communicate(timeout=30)
    assert (process.returncode, complaints) == (1, "")
    assert "ABANDONED: its record is" in said and said.endswith("take a lower --speed.\n")


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM"])
def test_ctrl_c_ends_both_processes_and_says_so(demo: Demo, tmp_path: Path, name: str) -> None:
    process = demo("--speed", "20", "--port", "0", "--no-open")
    said = said_until(process, "PLANNED")
    assert "SIMULATED rig; its page is on http://127.0.0.1:" in said
    control = int((tmp_path / "run" / "control.lock").read_text())
    shown = ask(tmp_path / "run" / "control.sock", Hello(who="shell", wants="snapshots"))
    assert shown.simulated
    process.send_signal(getattr(signal, name))
    out, complaints = process.communicate(timeout=30)
    assert (process.returncode, complaints) == (0, "")
    assert out.endswith("Ended; outputs are off.\n")
    assert gone(control)
    assert not (tmp_path / "run" / "control.sock").exists()
    assert (tmp_path / "control.log").read_text() == ""
    assert (tmp_path / "page.log").read_text() == ""


def test_a_second_demo_in_the_same_folder_is_one_line(demo: Demo) -> None:
    said_until(demo("--port", "0", "--no-open"), "page is on")
    second = demo("--port", "0", "--no-open")
    _, complaints = second.communicate(timeout=60)
    assert second.returncode == 2
    assert re.fullmatch(r"warmdraw: control runs already \(process \d+\).*\n", complaints)


def test_a_port_that_is_taken_is_one_line(demo: Demo, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        process = demo("--port", str(port), "--no-open")
        _, complaints = process.communicate(timeout=60)
    assert process.returncode == 2
    assert re.fullmatch(rf"warmdraw: port {port} on 127\.0\.0\.1 is taken.*\n", complaints)
    assert not (tmp_path / "run" / "control.sock").exists()


def test_a_folder_that_cannot_be_made_is_one_line(demo: Demo, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    process = demo("--no-open", folder=tmp_path / "file" / "under")
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 2
    assert complaints.startswith("warmdraw: ") and complaints.count("\n") == 1


def test_a_speed_out_of_range_is_one_line(demo: Demo) -> None:
    process = demo("--speed", "1000", "--port", "0", "--no-open")
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 2
    assert complaints == "warmdraw: speed 1000: give 0.01 to 20\n"


def test_with_hands_on_nothing_is_pressed_for_the_person(demo: Demo, tmp_path: Path) -> None:
    process = demo("--hands-on", "--speed", "20", "--port", "0", "--no-open")
    said = said_until(process, "PLANNED")
    assert "Yours are the hands" in said
    run = tmp_path / "run" / "control.sock"
    first = ask(run, Hello(who="shell", wants="snapshots"))
    second = ask(run, Hello(who="shell", wants="snapshots"))
    assert (first.stage, first.pace) == ("PLANNED", 0.0)
    # rig time waits for START
    assert second.now == first.now


def test_the_demo_runs_the_real_drivers_in_its_own_folder(tmp_path: Path) -> None:
    odd = tmp_path / 'a "quoted" \\folder'
    settings = parse_settings(rig_toml(odd))
    assert settings.rig.backend == "mock"
    assert settings.rig.state_folder == odd / "state"
    assert settings.rig.run_folder == odd / "run"
