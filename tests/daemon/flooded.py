"""The real two processes on the simulated rig, a full disk under both, and a flood at the page.

A flood is requests begun at a steady rate whatever becomes of those before: reads, bad bodies and
acts, each on a connection of its own, beside as many event streams as the page gives places.
"""

import asyncio
import itertools
import json
import signal
import socket
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from running import LONG, YES, Control, Stream, act, plan, rig_toml, soon

from controller.batch.snapshot import Snapshot
from controller.page.gate import BODY_MOST
from controller.page.live import STREAMS_PER_ADDRESS

STEADY = "0.0167"
"""Speed at which the simulated rig heats in the world's own seconds, a tick each second."""
ADDRESSES = tuple(f"127.0.0.{n}" for n in range(1, 5))
"""Of the phones, all at the rig: four times eight streams are all the page gives."""
AT_ONCE = 400
"""Requests that may be open at a time; beyond it one that is due is left out and counted."""
LIT = 3.0
"""How long the lamp burns on a full disk before STOP, [s]: after its proof, half a minute, it goes
dark, and it would stay so."""
GIVES_UP = 10.0
"""How long a phone waits for an answer, [s]."""

HEAD = "Host: localhost\r\nConnection: close\r\n"
OWN = "Origin: http://localhost\r\nX-Warmdraw: 1\r\nContent-Type: application/json\r\n"


def request(way: str, path: str, body: bytes | None = None, own: str = OWN) -> bytes:
    """A request as it goes over the wire."""
    if body is None:
        return f"{way} {path} HTTP/1.1\r\n{HEAD}\r\n".encode()
    length = f"Content-Length: {len(body)}\r\n"
    return f"{way} {path} HTTP/1.1\r\n{HEAD}{own}{length}\r\n".encode() + body


BAD = (
    request("POST", "/api/acts", b"{nonsense"),
    request("POST", "/api/acts", b"[" * 9000),
    request("POST", "/api/acts", b"x" * (BODY_MOST + 1)),
    request("POST", "/api/acts", b'{"id": "x", "kind": "EXPLODE", "seen_seq": -1}'),
    request("POST", "/api/acts", b"{}", OWN.replace("localhost", "elsewhere.example")),
    request("POST", "/api/sheet", b'{"description": 7}'),
    request("POST", "/api/unpair", b"\xff\xfe"),
)
READS = tuple(
    request("GET", path)
    for path in ("/api/snapshot", "/api/batches", "/api/snapshot", "/api/due", "/", "/api/me")
)


@dataclass
class Came:
    """What came of a flood."""

    seconds: float = 0.0
    """How long it lasted."""
    begun: int = 0
    """Requests sent."""
    left_out: int = 0
    """Requests that were due while too many were open."""
    unanswered: int = 0
    """Requests that got no whole answer."""
    statuses: Counter[int] = field(default_factory=Counter)
    """Answers, by status."""
    bad: list[bytes] = field(default_factory=list)
    """Answers of 500 and above that do not say in a sentence what to do."""
    frames: int = 0
    """Lines of the event streams."""

    def heard(self, answer: bytes) -> None:
        """Sort in one answer."""
        head, _, body = answer.partition(b"\r\n\r\n")
        words = head.split(b" ", 2)
        if len(words) < 3 or not words[1].isdigit():
            self.unanswered += 1
            return
        status = int(words[1])
        self.statuses[status] += 1
        if status >= 500 and not (status == 503 and _says(body)):
            self.bad.append(answer[:500])


def _says(body: bytes) -> bool:
    try:
        return len(str(json.loads(body)["error"])) > 10
    except (ValueError, KeyError, TypeError):
        return False


class Flood:
    """Requests at a rate, from a thread of its own, until it is ended."""

    def __init__(self, port: int, rate: float, seen: Callable[[], int]) -> None:
        """rate: requests a second      seen: number of the newest snapshot, for the acts"""
        self.came = Came()
        self._port = port
        self._rate = rate
        self._seen = seen
        self._end = threading.Event()
        self._numbers = itertools.count()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._run()))

    def __enter__(self) -> "Flood":
        self._thread.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._end.set()
        self._thread.join()

    async def _run(self) -> None:
        began = time.monotonic()
        streams = [
            asyncio.create_task(self._stream(address))
            for address in ADDRESSES
            for _ in range(STREAMS_PER_ADDRESS)
        ]
        under_way: set[asyncio.Task[None]] = set()
        for n in itertools.count():
            await asyncio.sleep(began + n / self._rate - time.monotonic())
            if self._end.is_set():
                break
            if len(under_way) >= AT_ONCE:
                self.came.left_out += 1
                continue
            self.came.begun += 1
            task = asyncio.create_task(self._ask(self._one(n), ADDRESSES[n % 4]))
            under_way.add(task)
            task.add_done_callback(under_way.discard)
        self.came.seconds = time.monotonic() - began
        for task in streams:
            task.cancel()
        await asyncio.gather(*streams, *under_way, return_exceptions=True)

    def _one(self, n: int) -> bytes:
        """Half reads, a fifth bad bodies, and acts."""
        if n % 10 < 5:
            return READS[n // 10 % len(READS)]
        if n % 10 < 7:
            return BAD[n // 10 % len(BAD)]
        kind = ("MUTE", "PRESENT", "ACKNOWLEDGE")[n % 10 - 7]
        told = {"id": f"flood-{next(self._numbers):08}", "kind": kind, "seen_seq": self._seen()}
        return request("POST", "/api/acts", json.dumps(told).encode())

    async def _ask(self, said: bytes, address: str) -> None:
        try:
            async with asyncio.timeout(GIVES_UP):
                reader, writer = await asyncio.open_connection(
                    "127.0.0.1", self._port, local_addr=(address, 0)
                )
                try:
                    writer.write(said)
                    self.came.heard(await reader.read(-1))
                finally:
                    writer.close()
        except (OSError, TimeoutError):
            self.came.unanswered += 1

    async def _stream(self, address: str) -> None:
        reader, writer = await asyncio.open_connection(
            "127.0.0.1", self._port, local_addr=(address, 0)
        )
        try:
            writer.write(request("GET", "/api/live"))
            while await reader.readline():
                self.came.frames += 1
        finally:
            writer.close()


@dataclass
class Stopped:
    """One STOP, pressed on the page with the disk full."""

    status: int
    """Of its answer."""
    says: str
    """What the answer said."""
    answered: float
    """From the press to the answer, [s]."""
    off: float
    """From the press until control showed its outputs off, [s]."""


class Shop:
    """Control, the page and somebody who looks at control itself."""

    def __init__(self, folder: Path, launch: Callable[..., Control]) -> None:
        rig_toml(folder, "simulated")
        self.control = launch("control", "--speed", STEADY).up()
        self.page = launch("page", "--port", "0")
        assert self.page.process.stdout is not None
        self.port = int(self.page.process.stdout.readline().rpartition(":")[2])
        for process in (self.control.process, self.page.process):
            # nobody else reads it, and a full pipe would hold the process up
            threading.Thread(target=process.stderr.read, daemon=True).start()  # type: ignore[union-attr]
        self._stream = self.control.looking()
        self.newest = 0

    def disk_takes_nothing(self, nothing: bool = True) -> None:
        """The same card for both of them."""
        self.control.disk_takes_nothing(nothing)
        self.page.disk_takes_nothing(nothing)

    def ended(self) -> tuple[int, int]:
        """Exit codes of control and page, asked to end."""
        for process in (self.page.process, self.control.process):
            process.send_signal(signal.SIGTERM)
        return self.control.process.wait(LONG), self.page.process.wait(LONG)

    def until(self, true: Callable[[Snapshot], bool]) -> Snapshot:
        """The first snapshot of which this is true."""

        def looked(shown: Snapshot) -> bool:
            self.newest = shown.seq
            return true(shown)

        return self._stream.until(looked, 4 * LONG)

    def watch(self, seconds: float) -> Snapshot:
        """Look for so long [s]; the last snapshot."""
        until = time.monotonic() + seconds
        return self.until(lambda shown: time.monotonic() >= until)

    def heat(self, sheet: str) -> None:
        """A board under a lamp that burns."""
        own = self.control.stream()
        shown = self.until(lambda shown: shown.face.value is not None)
        if shown.batch is None:
            assert own.answer(plan(sheet)).accepted
            shown = self.until(lambda shown: shown.batch is not None)
        self._arm(own, "START" if shown.stage == "PLANNED" else "RE-ARM")
        self.until(lambda shown: shown.lamp.on)

    def _arm(self, own: Stream, kind: str) -> None:
        """Pressed again and again, because a disk that was full is believed only after a write."""

        def accepted() -> bool:
            shown = self.until(lambda shown: True)
            return bool(own.answer(act(kind, shown, values=YES)).accepted)

        soon(accepted, 4 * LONG)

    def stop(self) -> Stopped:
        """STOP on the page, the outputs on; how soon they were off, and how soon it was said."""
        answer = b""
        took = 0.0
        began = time.monotonic()

        def press() -> None:
            nonlocal answer, took
            with closing(socket.create_connection(("127.0.0.1", self.port), LONG)) as phone:
                phone.sendall(request("POST", "/api/stop", b"{}"))
                while more := phone.recv(65536):
                    answer += more
            took = time.monotonic() - began

        pressing = threading.Thread(target=press)
        pressing.start()
        self.until(lambda shown: not (shown.lamp.on or shown.pump.on))
        off = time.monotonic() - began
        pressing.join()
        head, _, body = answer.partition(b"\r\n\r\n")
        told = json.loads(body)
        return Stopped(int(head.split()[1]), told.get("text") or told["error"], took, off)


def stopped_under_flood(
    shop: Shop, sheet: str, rate: float, seconds: float, stops: int
) -> tuple[Came, list[Stopped], Snapshot]:
    """A flood of so many seconds, the disk full for most of it, with STOP pressed now and then.

    rate: requests a second [1/s]

    What came of it, each STOP, and the last snapshot. The disk takes writes again only while the
    lamp is armed anew for the next STOP.
    """
    found = []
    with Flood(shop.port, rate, lambda: shop.newest) as flood:
        for _ in range(stops):
            shop.disk_takes_nothing(False)
            shop.heat(sheet)
            shop.disk_takes_nothing()
            shop.watch(LIT)
            found.append(shop.stop())
            shop.watch(max(seconds / stops - LIT, 0.0))
        last = shop.until(lambda shown: True)
    return flood.came, found, last
