"""Outputs OFF first, whatever ends control; on lines that outlive it, as a Pi's do."""

import re
import signal
import time
from collections.abc import Callable

import pytest
from running import YES, Control, Stream, act, plan, soon

from controller.batch.snapshot import Snapshot
from controller.link import Off, Safe, SnapshotMessage
from controller.store.queries import LogReader

LAMP = 17


def lamp_on(control: Control, sheet: str) -> Stream:
    """A board under the lamp, and somebody watching."""
    stream = control.looking()
    assert stream.answer(plan(sheet)).accepted
    shown = stream.until(lambda shown: shown.batch is not None and shown.face.value is not None)
    answer = stream.answer(act("START", shown, values=YES))
    assert answer.accepted, answer.text

    def lit(shown: Snapshot) -> bool:
        return shown.lamp.on and control.line(LAMP) == "out 1"

    stream.until(lit)
    return stream


@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP", "SIGQUIT"])
def test_a_signal_puts_the_lamp_off_within_a_second_with_a_stream_open(
    real: Control, sheet: str, name: str
) -> None:
    stream = lamp_on(real, sheet)
    real.process.send_signal(getattr(signal, name))
    took = soon(lambda: real.line(LAMP) == "out 0", 1.0)
    assert took < 1.0
    assert real.ended() == (0, "")
    # let go of at OFF, and never turned into a floating input
    assert real.line(LAMP) == "out 0"
    while stream.line() is not None:
        pass


def test_the_lamp_stays_off_when_the_signal_comes_again_and_again(
    real: Control, sheet: str
) -> None:
    lamp_on(real, sheet)
    for _ in range(20):
        real.process.send_signal(signal.SIGTERM)
    soon(lambda: real.line(LAMP) == "out 0", 1.0)
    assert real.ended() == (0, "")
    assert real.line(LAMP) == "out 0"


def test_a_killed_control_leaves_the_lamp_on_and_safe_puts_it_off(
    real: Control, sheet: str, launch: Callable[..., Control]
) -> None:
    lamp_on(real, sheet)
    real.process.kill()
    real.process.wait()
    assert real.line(LAMP) == "out 1"
    code, complaints = launch("safe", standin=True).ended()
    assert (code, complaints) == (0, "")
    assert real.line(LAMP) == "out 0"


def test_safe_asks_a_control_that_lives_and_leaves_it_alive(
    real: Control, sheet: str, launch: Callable[..., Control]
) -> None:
    stream = lamp_on(real, sheet)
    began = time.monotonic()
    asking = launch("safe", standin=True)
    soon(lambda: real.line(LAMP) == "out 0", 10.0)
    assert asking.ended() == (0, "")
    assert time.monotonic() - began < 10.0
    shown = stream.until(lambda shown: shown.stage == "STOPPED")
    assert not shown.lamp.on
    assert real.process.poll() is None
    assert real.line(LAMP) == "out 0"


def test_safe_ends_a_control_that_hangs(
    real: Control, sheet: str, launch: Callable[..., Control]
) -> None:
    lamp_on(real, sheet)
    real.process.send_signal(signal.SIGSTOP)
    assert launch("safe", standin=True).ended() == (0, "")
    assert real.line(LAMP) == "out 0"
    assert real.process.wait(timeout=10) == -signal.SIGKILL


def test_off_is_said_only_when_the_lines_read_off(real: Control, sheet: str) -> None:
    lamp_on(real, sheet)
    asking = real.stream(Safe())
    asking.next(Off)
    assert real.line(LAMP) == "out 0"


def test_stop_is_switched_before_it_is_written_down(real: Control, sheet: str) -> None:
    stream = lamp_on(real, sheet)
    # no batch, no stage, no clock: STOP is taken all the same
    stream.say(act("STOP", received_utc=0.0))
    assert soon(lambda: real.line(LAMP) == "out 0", 1.0) < 1.0
    assert stream.until(lambda shown: shown.stage == "STOPPED").lamp.on is False
    assert real.line(LAMP) == "out 0"


def test_a_line_that_cannot_be_switched_ends_control(real: Control, sheet: str) -> None:
    lamp_on(real, sheet)
    (real.folder / "fail").write_text("gpio_write")
    code, complaints = real.ended()
    assert code == 1
    assert re.search(r"pull (its|the lamp.s) plug", complaints), complaints
    assert complaints.count("\n") == 1


HELD_UP = 5.0
"""How long control stands still, [s]: a tick is due each second, and 2 s late is too late."""


@pytest.mark.long
def test_a_control_that_stood_still_under_a_burning_lamp_cuts_it_and_says_so(
    real: Control, sheet: str
) -> None:
    """What ends one that goes on standing still is systemd's watchdog and the dead-man."""
    stream = lamp_on(real, sheet)
    real.process.send_signal(signal.SIGSTOP)
    until = time.monotonic() + HELD_UP
    soon(lambda: time.monotonic() >= until, 2 * HELD_UP)
    # a Pi's lines go on as they were; only the dead-man's contactor has opened
    assert real.line(LAMP) == "out 1"
    real.process.send_signal(signal.SIGCONT)
    late = stream.until(lambda shown: any(a.id == "controller late" for a in shown.alarms))
    assert late.stage == "STOPPED" and not late.lamp.on
    assert real.line(LAMP) == "out 0"
    assert late.ticks is not None and late.ticks.worst_late_s > 2.0
    for _ in range(15):
        shown = stream.next(SnapshotMessage).snapshot
        assert shown.stage == "STOPPED" and not shown.lamp.on
        assert real.line(LAMP) == "out 0"
    assert real.ask_to_end() == (0, "")
    # the person who looks at the record finds what happened
    lines = LogReader(real.folder / "state" / "log.db").events(limit=1000)
    told = [line.event.text for line in lines if line.event is not None]
    assert any("after its time; one is due each 1 s." in text for text in told)
