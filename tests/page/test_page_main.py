"""The page as a process: it listens, it streams, and it goes when it is told to."""

import contextlib
import http.client
import json
import os
import resource
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from fake_control import make_snapshot

from controller.errors import BusyError, InputError
from controller.link import AnswerMessage, SnapshotMessage, decode_inbound, encode
from controller.link.messages import ActMessage
from controller.page.ledger import Ledger
from controller.page.main import bind, own_names

RUN = """
import sys
from pathlib import Path
from controller.page.main import run_page
from controller.settings import default_settings_text, parse_settings

folder = Path(sys.argv[1])
run_page(
    parse_settings(default_settings_text()),
    folder=folder / "page",
    control=folder / "control.sock",
    record=folder / "log.db",
    port=0,
    ready=lambda address: print(address, flush=True),
)
print("left", flush=True)
"""
LEAVES_IN = 5.0
"""How long the page may take to go, [s]: its unit's TimeoutStopSec. The stock server never goes."""


class Control(threading.Thread):
    """A control that shows one snapshot to whoever connects and says yes to every act."""

    def __init__(self, path: Path) -> None:
        super().__init__(daemon=True)
        self.acts: list[ActMessage] = []
        self._listener = socket.socket(socket.AF_UNIX)
        self._listener.bind(str(path))
        self._listener.listen()

    def run(self) -> None:
        connection, _ = self._listener.accept()
        with connection, connection.makefile("rb") as lines:
            connection.sendall(encode(SnapshotMessage(snapshot=make_snapshot())))
            for line in lines:
                said = decode_inbound(line)
                if isinstance(said, ActMessage):
                    self.acts.append(said)
                    answer = AnswerMessage(act=said.id, accepted=True, text="Off.")
                    connection.sendall(encode(answer))
        self._listener.close()


@pytest.fixture
def control(tmp_path: Path) -> Iterator[Control]:
    made = Control(tmp_path / "control.sock")
    made.start()
    yield made
    made.join(timeout=5)
    assert not made.is_alive()


@pytest.fixture
def process(control: Control, tmp_path: Path) -> Iterator["subprocess.Popen[str]"]:
    command = [sys.executable, "-c", RUN, str(tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        yield running
        if running.poll() is None:
            running.kill()


def port_of(process: "subprocess.Popen[str]") -> int:
    assert process.stdout is not None
    return int(process.stdout.readline().rpartition(":")[2])


@contextlib.contextmanager
def stream(port: int) -> Iterator[http.client.HTTPResponse]:
    """An open stream, its first frame with a snapshot read."""
    with contextlib.closing(
        http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    ) as connection:
        connection.request("GET", "/api/live")
        with connection.getresponse() as response:
            line = b""
            while not (line.startswith(b"data:") and json.loads(line[5:])["snapshot"]):
                line = response.readline()
            yield response


def leaves(process: "subprocess.Popen[str]", number: int) -> None:
    told = time.monotonic()
    process.send_signal(number)
    assert process.wait(timeout=LEAVES_IN) == 0
    assert time.monotonic() - told < LEAVES_IN
    assert process.stdout is not None
    assert process.stdout.read() == "left\n"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_the_page_leaves_at_once_with_a_stream_open_and_ends_it(
    process: "subprocess.Popen[str]", number: int
) -> None:
    with stream(port_of(process)) as response:
        leaves(process, number)
        assert not response.read().startswith(b"HTTP")  # the rest, to its proper end


def test_a_phone_that_reads_nothing_does_not_keep_the_page(
    process: "subprocess.Popen[str]",
) -> None:
    port = port_of(process)
    with socket.socket() as phone:
        phone.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1)
        phone.connect(("127.0.0.1", port))
        request = b"GET /api/snapshot HTTP/1.1\r\nHost: localhost\r\n\r\n"
        phone.sendall(request * 2_000)
        with stream(port):
            leaves(process, signal.SIGTERM)


def test_stop_goes_through_to_control_and_its_answer_comes_back(
    process: "subprocess.Popen[str]", control: Control
) -> None:
    port = port_of(process)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    with stream(port), contextlib.closing(connection):
        connection.request("POST", "/api/stop")
        answer = json.loads(connection.getresponse().read())
    assert answer == {"act": control.acts[0].id, "accepted": True, "text": "Off."}
    assert [act.kind for act in control.acts] == ["STOP"]
    leaves(process, signal.SIGTERM)


def test_stop_does_not_wait_for_a_body_that_does_not_come(
    process: "subprocess.Popen[str]", control: Control
) -> None:
    port = port_of(process)
    with stream(port), socket.create_connection(("127.0.0.1", port), timeout=10) as phone:
        phone.sendall(b"POST /api/stop HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9\r\n\r\n")
        assert phone.recv(100).startswith(b"HTTP/1.1 200")
    assert len(control.acts) == 1


def test_a_port_that_is_taken_is_said_in_one_line() -> None:
    with bind("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        assert first.proto == socket.IPPROTO_TCP  # else asyncio leaves Nagle's 40 ms in
        with pytest.raises(BusyError, match=f"port {port} .* is taken: .*--port"):
            bind("127.0.0.1", port)


def test_a_host_that_cannot_be_had_is_said_in_one_line() -> None:
    with pytest.raises(InputError, match="cannot listen on 192"):
        bind("192.0.2.1", 0)


def test_the_page_answers_to_the_machine_s_name_and_the_configured_ones() -> None:
    name = socket.gethostname().lower()
    assert own_names(["Bench.example"]) == {"bench.example", name, f"{name}.local"}


def test_a_ledger_of_a_newer_version_or_of_another_make_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "page.db"
    path.write_bytes(b"not a database" * 100)
    with pytest.raises(InputError, match="move the file away"):
        Ledger(path)
    path.unlink()
    ledger = Ledger(path)
    ledger._db.execute("PRAGMA user_version = 99")
    ledger.close()
    with pytest.raises(InputError, match="newer warmdraw"):
        Ledger(path)


def test_a_page_on_a_disk_that_takes_nothing_keeps_its_ledger_in_memory(tmp_path: Path) -> None:
    path = tmp_path / "page.db"
    Ledger(path).close()
    # what stands in for a full disk: the write-ahead file cannot be made
    (tmp_path / "page.db-wal").mkdir()
    with contextlib.closing(Ledger.open(path)) as ledger:
        ledger.press("press-0001", "digest", 5.0)
        assert ledger.pressed("press-0001") is not None
    (tmp_path / "page.db-wal").rmdir()
    path.write_bytes(b"not a database" * 100)
    with pytest.raises(InputError, match="move the file away"):
        Ledger.open(path)


def test_a_page_on_a_full_disk_passes_stop_on(control: Control, tmp_path: Path) -> None:
    (tmp_path / "page").mkdir()
    Ledger(tmp_path / "page" / "page.db").close()
    with subprocess.Popen(
        [sys.executable, "-c", RUN, str(tmp_path)],
        stdout=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY)),
    ) as process:
        port = port_of(process)
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        with stream(port), contextlib.closing(connection):
            connection.request("POST", "/api/stop")
            assert json.loads(connection.getresponse().read())["accepted"]
        leaves(process, signal.SIGTERM)


def test_a_ledger_opens_again_with_what_was_in_it(tmp_path: Path) -> None:
    ledger = Ledger(tmp_path / "page.db")
    ledger.press("press-0001", "digest", 5.0)
    ledger.answer("press-0001", False, "Not now.")
    ledger.close()
    again = Ledger(tmp_path / "page.db")
    pressed = again.pressed("press-0001")
    again.close()
    assert pressed is not None
    assert (pressed.accepted, pressed.text, pressed.received_utc) == (False, "Not now.", 5.0)
    assert os.path.exists(tmp_path / "page.db")
