"""Control at its socket: who may, what is answered, and who can hold up whom."""

import os
import signal
import socket
import stat
import time
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread

import pytest
from running import YES, Control, act, plan, rig_toml

from controller.batch.acts import Answer
from controller.batch.snapshot import Snapshot
from controller.daemon import server as server_module
from controller.daemon.clients import Client
from controller.daemon.loop import FRAME
from controller.daemon.server import STOP_WAIT, UNWRITTEN, WAITING, LinkServer
from controller.link import (
    AnswerMessage,
    Hello,
    Refused,
    SnapshotMessage,
    decode_outbound,
    encode,
)
from controller.planning.sheet_json import sheet_from_json
from controller.runner import Reply
from controller.store.queries import LogReader


def planned(shown: Snapshot) -> bool:
    return shown.batch is not None


def test_the_socket_is_for_its_owner_and_its_group(pretend: Control) -> None:
    assert stat.S_IMODE(pretend.socket.stat().st_mode) == 0o660
    assert stat.S_IMODE((pretend.folder / "run").stat().st_mode) == 0o750
    assert stat.S_IMODE((pretend.folder / "state").stat().st_mode) == 0o750


def test_a_second_control_is_refused_in_one_line(
    pretend: Control, launch: Callable[..., Control]
) -> None:
    code, complaints = launch("control").ended()
    assert code == 2
    assert complaints == (
        f"warmdraw: control runs already (process {pretend.process.pid});"
        " stop it first (as a service: sudo systemctl stop warmdraw-control), or look with"
        " warmdraw status\n"
    )
    assert pretend.looking().next(SnapshotMessage)


def test_a_clean_end_takes_the_socket_away_and_lets_another_start(
    pretend: Control, launch: Callable[..., Control]
) -> None:
    assert pretend.ask_to_end() == (0, "")
    assert not pretend.socket.exists()
    launch("control").up()


def test_a_socket_left_by_a_killed_control_is_no_hindrance(
    pretend: Control, launch: Callable[..., Control]
) -> None:
    pretend.process.kill()
    pretend.process.wait()
    assert pretend.socket.exists()
    assert launch("control").up().looking().next(SnapshotMessage)


def test_the_same_id_gets_the_same_answer_and_has_one_effect(pretend: Control, sheet: str) -> None:
    stream = pretend.looking()
    assert stream.answer(plan(sheet)).accepted
    shown = stream.until(planned)
    first = stream.answer(act("START", shown, name="start-1", values=YES))
    assert first.accepted
    # in PREHEAT another START is refused; this one is the old one
    again = pretend.stream().answer(act("START", shown, name="start-1", values=YES))
    assert again == first
    other = stream.answer(act("START", shown, name="start-2", values=YES))
    assert not other.accepted


def test_an_answer_is_in_the_log_before_it_is_given(pretend: Control, sheet: str) -> None:
    stream = pretend.stream(Hello(who="shell"))
    assert stream.answer(plan(sheet, "ash-7")).accepted
    pretend.process.kill()
    pretend.process.wait()
    kept = LogReader(pretend.folder / "state" / "log.db").batch("ash-7")
    assert kept.name == sheet_from_json(sheet).name


def test_the_sender_is_named_by_the_kernel_too(pretend: Control, sheet: str) -> None:
    stream = pretend.stream()
    stream.answer(plan(sheet))
    events = LogReader(pretend.folder / "state" / "log.db").events()
    said = [line.event.text for line in events if line.event is not None]
    assert any(text.startswith("PLAN from Kim (") for text in said), said


def test_an_act_older_than_five_seconds_is_refused_but_never_stop(
    pretend: Control, sheet: str
) -> None:
    stream = pretend.looking()
    stream.answer(plan(sheet))
    shown = stream.until(planned)
    old = time.time() - 6.0
    late = stream.answer(act("START", shown, name="late", values=YES, received_utc=old))
    assert not late.accepted and "look again" in late.text
    # it was not written down: pressed again, the same id counts
    assert stream.answer(act("START", shown, name="late", values=YES)).accepted
    assert stream.answer(act("STOP", received_utc=old)).accepted
    assert stream.until(lambda shown: shown.stage == "STOPPED")


def test_a_stop_that_is_said_again_later_stops_again(pretend: Control, sheet: str) -> None:
    stream = pretend.looking()
    stream.answer(plan(sheet))
    shown = stream.until(planned)
    first = stream.answer(act("STOP", name="stop-1"))
    stopped = stream.until(lambda shown: shown.stage == "STOPPED")
    assert stream.answer(act("RESUME", stopped)).accepted
    stream.until(lambda now: now.seq > shown.seq and now.stage == "PLANNED")
    assert stream.answer(act("STOP", name="stop-1")) == first
    assert stream.until(lambda shown: shown.stage == "STOPPED")


def test_stop_is_answered_without_the_disk_and_nothing_else_is(steady: Control, sheet: str) -> None:
    stream = steady.looking()
    assert stream.answer(plan(sheet)).accepted
    shown = stream.until(planned)
    steady.disk_takes_nothing()
    muted = act("MUTE", shown, name="mute-1")
    stream.say(muted)
    stream.until(lambda shown: any(alarm.id == "record not written" for alarm in shown.alarms))
    stopped = stream.answer(act("STOP", name="stop-1"))
    assert stopped.accepted
    assert stopped.text == (
        "Stopped. Lamp and pump are off. Not yet in the record: the disk takes nothing."
    )
    assert stream.until(lambda shown: shown.stage == "STOPPED")
    # said again, it is the same STOP, and heard as soon
    assert stream.answer(act("STOP", name="stop-1")) == stopped
    steady.disk_takes_nothing(False)
    heard = stream.next(AnswerMessage)
    assert (heard.act, heard.accepted) == ("mute-1", True), "said once it is on disk, not before"
    assert stream.answer(act("STOP", name="stop-1")).text == "Lamp and pump are off."


@pytest.mark.parametrize(
    ("trouble", "why"),
    [("The log cannot be written.", "the disk takes nothing"), (None, "the disk is slow")],
)
def test_an_early_answer_to_stop_says_what_keeps_it_from_the_record(
    trouble: str | None, why: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = 100.0
    monkeypatch.setattr(server_module.time, "monotonic", lambda: now)
    heard = Heard()
    server = LinkServer(lambda act: None, lambda: True, lambda: None, lambda: trouble)
    client = Client(heard, "kim")  # type: ignore[arg-type]
    server._clients[client] = None
    for message in (act("MUTE", name="mute-1"), act("STOP", name="stop-1")):
        server._heard(client, encode(message))
    server.owe([Reply(Answer(one.id, True, "Noted."), 7) for one in server.take()])
    server.give(6)
    assert heard.said == [] and server.owes()
    now += STOP_WAIT + 0.01
    for _ in range(3):
        server.give(6)
    assert heard.said == [("stop-1", f"Stopped. Noted. Not yet in the record: {why}.")]
    assert server.owes()
    server.give(7)
    assert heard.said[1:] == [("mute-1", "Noted.")]
    assert not server.owes() and not server._stops and not server._replies


@pytest.mark.parametrize(
    ("trouble", "heard_all"), [("The log cannot be written.", False), (None, True)]
)
def test_presses_do_not_fill_the_memory_while_the_disk_takes_nothing(
    trouble: str | None, heard_all: bool
) -> None:
    heard = Heard()
    server = LinkServer(lambda act: None, lambda: True, lambda: None, lambda: trouble)
    client = Client(heard, "kim")  # type: ignore[arg-type]
    server._clients[client] = None

    def press(kind: str, name: str) -> int:
        server._heard(client, encode(act(kind, name=name)))
        taken = server.take()
        server.owe([Reply(Answer(one.id, True, "Noted."), 7) for one in taken])
        return len(taken)

    assert all(press("MUTE", f"mute-{count:04}") == 1 for count in range(UNWRITTEN))
    assert press("MUTE", "one-more") == heard_all
    assert press("STOP", "stop-1") == 1, "STOP is always heard"
    if not heard_all:
        assert heard.said == [
            ("one-more", f"256 presses wait for the record: nothing but STOP is heard. {trouble}")
        ]


def test_presses_beyond_what_a_tick_can_take_are_refused_and_stop_is_not() -> None:
    heard = Heard()
    server = LinkServer(lambda act: None, lambda: True, lambda: None, lambda: None)
    client = Client(heard, "kim")  # type: ignore[arg-type]
    server._clients[client] = None
    for count in range(WAITING + 1):
        server._heard(client, encode(act("MUTE", name=f"mute-{count:04}")))
    server._heard(client, encode(act("STOP", name="stop-1")))
    assert [kind.id for kind in server.take()][-2:] == [f"mute-{WAITING - 1:04}", "stop-1"]
    refused = "too many presses at once: look again, and press again"
    assert heard.said == [(f"mute-{WAITING:04}", refused)]


class Heard:
    """The writing end of somebody's connection, with the answers written to it."""

    def __init__(self) -> None:
        self.said: list[tuple[str, str]] = []
        self.transport = self

    def get_write_buffer_size(self) -> int:
        return 0

    def is_closing(self) -> bool:
        return False

    def write(self, line: bytes) -> None:
        answer = decode_outbound(line)
        assert isinstance(answer, AnswerMessage)
        self.said.append((answer.act, answer.text))


NONSENSE = (
    b"\n",
    b"nonsense\n",
    b"[1]\n",
    b'{"v":1,"type":"act","kind":"EXPLODE"}\n',
    b'{"v":9,"type":"hello","who":"page"}\n',
    b"\xff\xfe\n",
)


def test_a_line_that_makes_no_sense_is_refused_and_the_next_is_heard(
    pretend: Control, sheet: str
) -> None:
    stream = pretend.stream()
    for line in NONSENSE:
        stream.socket.sendall(line)
        assert stream.next(Refused).text
    assert stream.answer(plan(sheet)).accepted


def test_a_refusal_names_the_act_it_is_of(pretend: Control) -> None:
    stream = pretend.stream()
    stream.socket.sendall(b'{"v":1,"type":"act","id":"press-0001","kind":"NO SUCH ACT","by":"x"}\n')
    assert stream.next(Refused).act == "press-0001"


def test_a_line_without_an_end_costs_its_sender_the_connection(pretend: Control) -> None:
    stream = pretend.stream()
    try:
        stream.socket.sendall(b"x" * 200_000)
    except (BrokenPipeError, ConnectionResetError):
        # it was hung up on before it had said all of it
        pass
    assert pretend.looking().next(SnapshotMessage)


def test_a_plan_that_is_none_is_answered_and_control_lives(pretend: Control) -> None:
    stream = pretend.looking()
    for text in ("", "{}", "no sheet at all", '{"name": "x"}'):
        assert not stream.answer(plan(text)).accepted
    assert stream.next(SnapshotMessage)


def test_acts_that_carry_nonsense_do_not_end_control(pretend: Control, sheet: str) -> None:
    stream = pretend.looking()
    stream.answer(plan(sheet))
    shown = stream.until(planned)
    kinds = ["START", "MIXED", "THINNED", "SEALED", "WEIGHED", "READING", "ACKNOWLEDGE", "MUTE"]
    nonsense = {"a_g": "much", "mass_g": "heavy", "what": 4.0, "value_c": "hot", "role": 1e300}
    for kind in kinds:
        stream.answer(act(kind, shown, values=nonsense))
    stream.next(SnapshotMessage)
    assert pretend.process.poll() is None


def test_a_new_client_is_shown_the_rig_at_once_and_four_times_a_second_at_most(
    launch: Callable[..., Control], tmp_path: Path
) -> None:
    rig_toml(tmp_path, "simulated")
    stream = launch("control", "--speed", "10").up().looking()
    seen = [time.monotonic()]
    for _ in range(8):
        stream.next(SnapshotMessage)
        seen.append(time.monotonic())
    assert seen[-1] - seen[1] >= 7 * FRAME - 0.05
    shown = stream.next(SnapshotMessage).snapshot
    assert shown.simulated and shown.pace == pytest.approx(600.0)


def worst_gap(control: Control, beats: int) -> float:
    """The longest wait for a snapshot on a rig that ticks once a second, [s]."""
    stream = control.looking()
    stream.next(SnapshotMessage)
    last, worst = time.monotonic(), 0.0
    for _ in range(beats):
        stream.next(SnapshotMessage)
        now = time.monotonic()
        last, worst = now, max(worst, now - last)
    return worst


def test_clients_that_read_nothing_and_flood_hold_up_nobody(steady: Control) -> None:
    done = Event()

    def flood() -> None:
        stream = socket.socket(socket.AF_UNIX)
        stream.connect(str(steady.socket))
        stream.settimeout(0.1)
        stream.sendall(b'{"v":1,"type":"hello","who":"page","wants":"snapshots"}\n')
        line = b'{"v":1,"type":"act","id":"x","kind":"MUTE","by":"flood"}\n'
        while not done.is_set():
            try:
                stream.sendall(line * 50)
            except TimeoutError:
                continue
            except OSError:
                break
        stream.close()

    floods = [Thread(target=flood) for _ in range(3)]
    for thread in floods:
        thread.start()
    try:
        assert worst_gap(steady, 4) < 1.5
    finally:
        done.set()
        for thread in floods:
            thread.join(timeout=10)
    assert steady.process.poll() is None


def test_a_client_that_is_killed_or_stopped_holds_up_nobody(steady: Control) -> None:
    readers = [steady.looking() for _ in range(3)]
    child = os.fork()
    if child == 0:
        # holds a copy of the open connections and never reads them
        signal.pause()
        os._exit(0)
    try:
        os.kill(child, signal.SIGSTOP)
        readers[0].close()
        assert worst_gap(steady, 3) < 1.5
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    assert worst_gap(steady, 2) < 1.5


def test_more_clients_than_there_is_room_for_push_out_the_oldest(pretend: Control) -> None:
    first = pretend.stream(Hello(who="shell"))
    page = pretend.looking()
    page.next(SnapshotMessage)
    for _ in range(32):
        pretend.stream(Hello(who="shell")).say(act("MUTE"))
    assert first.line() is None
    assert page.answer(act("MUTE")).accepted


def test_a_press_among_many_is_refused_rather_than_kept_without_end(pretend: Control) -> None:
    stream = pretend.stream()
    for _ in range(100):
        stream.say(act("MUTE"))
    answers = [stream.next(AnswerMessage) for _ in range(100)]
    refused = [answer for answer in answers if not answer.accepted]
    assert refused and "too many" in refused[0].text
    assert sum(answer.accepted for answer in answers) >= 64
