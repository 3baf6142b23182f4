"""Whichever call to a socket fails: the rig is watched on, and nobody is told what is not kept."""

import asyncio
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from nth_calls import EIO, EMFILE, EPIPE, Nth, Raised
from nth_link import Evening, of_control, played, to_the_manager

from controller.daemon import loop

PRESSED = {"PLAN", "START", "STOP"}
Record = Callable[[str, object], None]


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    """A service manager that listens."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(tmp_path / "manager"))
        listening.setblocking(False)
        yield listening


@pytest.fixture
def play(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, manager: socket.socket
) -> Callable[..., Evening]:
    # what asyncio waits before it takes another connection once it had no more files
    monkeypatch.setattr(asyncio.constants, "ACCEPT_RETRY_DELAY", 0.01)
    monkeypatch.setattr(loop, "FRAME", 0.0)
    place = tmp_path / "control.sock", str(tmp_path / "manager")
    return lambda **more: asyncio.run(played(*place, **more))


def sound(evening: Evening, *, sticky: bool) -> str:
    """What must not be; empty when all is well."""
    faults = [*evening.notes]
    if evening.left_on:
        faults.append("an output was left on")
    if evening.kept != {*evening.answered}:
        faults.append(f"answered and not kept: {({*evening.answered}) - evening.kept}")
    if "STOP" in evening.answered and not evening.dark:
        faults.append("STOP was answered and the lamp burned")
    if not sticky and not evening.refused and {*evening.answered} != PRESSED:
        faults.append(f"never answered: {PRESSED - {*evening.answered}}")
    return "; ".join(faults)


@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
@pytest.mark.parametrize(
    ("name", "error"),
    [
        ("accept", EMFILE),
        ("bind", EIO),
        ("listen", EIO),
        ("recv", EPIPE),
        ("recv", EIO),
        ("send", EPIPE),
        ("send", EIO),
        ("getsockopt", EIO),
    ],
    ids=lambda value: value if isinstance(value, str) else str(value().errno),
)
def test_whichever_call_to_a_client_fails_the_rig_is_watched_on(
    play: Callable[..., Evening],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    record_property: Record,
    name: str,
    error: Raised,
    sticky: bool,
) -> None:
    calls = Nth(error)
    calls.put_over(monkeypatch, socket.socket, name, ours=of_control(tmp_path / "control.sock"))
    clean = play()
    assert {*clean.answered} == PRESSED and clean.lit and clean.dark
    total, found = calls.calls, {}
    assert total >= 1
    # sticky, whoever comes after the first few is lost the same way
    for n in range(1, min(total, 3 if sticky else 20) + 1):
        calls.arm(n, sticky=sticky)
        # nobody is ever taken in: there is nothing to wait for
        evening = play(patience=0.02) if sticky and name == "accept" else play()
        if calls.hit:
            found[n] = sound(evening, sticky=sticky)
        if name in ("bind", "listen"):
            assert "control.sock" in evening.refused and not evening.answered
    record_property("nth", (f"socket {name}", total, len(found), sum(map(bool, found.values()))))
    assert {n: wrong for n, wrong in found.items() if wrong} == {}
    assert found


@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_a_service_manager_that_cannot_be_told_holds_up_nothing(
    play: Callable[..., Evening],
    monkeypatch: pytest.MonkeyPatch,
    manager: socket.socket,
    record_property: Record,
    sticky: bool,
) -> None:
    calls = Nth(EMFILE)
    calls.put_over(monkeypatch, socket.socket, "__init__", "sendto", ours=to_the_manager)
    play()
    total = calls.calls
    assert total >= 4 and manager.recv(100) == b"READY=1"
    for n in range(1, total + 1):
        calls.arm(n, sticky=sticky)
        evening = play()
        assert calls.hit and {*evening.answered} == PRESSED and evening.lit
        assert sound(evening, sticky=False) == ""
    record_property("nth", ("sd_notify", total, total, 0))
