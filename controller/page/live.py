"""The live stream: one newest snapshot, handed to every phone that looks.

A phone that is slow gets the newest frame when it is ready for one and never a queue of old ones,
so what is kept does not grow with its slowness.
"""

import asyncio
import json
import time
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from typing import Protocol

from fastapi.sse import ServerSentEvent

from controller.batch.acts import ActKind, Answer
from controller.batch.snapshot import Snapshot
from controller.errors import BusyError
from controller.link import ActMessage, snapshot_json

STREAMS = 32
"""Streams open at once. Own: more phones than a shop has people."""
STREAMS_PER_ADDRESS = 8
"""Of them from one address. Own: a browser opens six connections to a host."""
GAP = 0.25
"""Shortest time between two frames of a stream, [s]: at most 4 a second. Own."""
BEAT = 5.0
"""A stream without a frame for this long gets a sign of life, [s]. Own."""
GLANCE = 0.5
"""How often the link is looked at while no snapshot comes, [s]. Own."""
FRESH = 10.0
"""What came to the page longer ago than this may not be acted on, [s]. Own."""
REMEMBERED = 256
"""Snapshots remembered by number; at 4 a second FRESH needs 40. Own."""
RETRY = 2000
"""When a browser shall ask again after a stream has ended, [ms]. Own."""

IN_ANY_STAGE = frozenset(
    {
        ActKind.PRESENT,
        ActKind.LAMP_OFF,
        ActKind.PUMP_OFF,
        ActKind.STOP,
        ActKind.ACKNOWLEDGE,
        ActKind.SHELVE,
        ActKind.MUTE,
    }
)
"""Acts that mean the same whatever the batch has moved on to."""


class Link(Protocol):
    """What the page needs of the link to control."""

    @property
    def connected(self) -> bool:
        """The link is up."""

    @property
    def latest(self) -> Snapshot | None:
        """The newest snapshot, also after the link has gone."""

    @property
    def received(self) -> float | None:
        """When it came, on the monotonic clock, [s]."""

    async def run(self) -> None:
        """Keeps the link up until cancelled."""

    async def changed(self, after: int) -> Snapshot:
        """Waits for a snapshot whose number is not `after`."""

    async def press(self, message: ActMessage, within: float = 3.0, /) -> Answer:
        """Sends an act and waits for its answer `within` so many [s].

        Raises BusyError where none came, InputError where control refused the message.
        """


@dataclass(slots=True, eq=False)
class Place:
    """One open stream."""

    address: str
    """Of the phone."""
    news: asyncio.Event = field(default_factory=asyncio.Event)
    """Set when there is a frame it has not had."""


class Live:
    """The newest snapshot and the streams that carry it. Belongs to one event loop."""

    def __init__(
        self,
        link: Link,
        *,
        monotonic: Callable[[], float] = time.monotonic,
        gap: float = GAP,
        beat: float = BEAT,
    ) -> None:
        """link: to control        gap, beat: as GAP and BEAT, [s]"""
        self.link = link
        self._monotonic = monotonic
        self._gap = gap
        self._beat = beat
        self._places: list[Place] = []
        self._ended = False
        self._came: dict[int, float] = {}
        self._written: tuple[int, str] | None = None

    @property
    def streams(self) -> int:
        """How many streams are open."""
        return len(self._places)

    async def follow(self, heard: Callable[[Snapshot], None]) -> None:
        """Takes snapshots off the link until cancelled, and tells `heard` of each."""
        seq, connected = -1, self.link.connected
        while True:
            try:
                async with asyncio.timeout(GLANCE):
                    snapshot = await self.link.changed(seq)
            except TimeoutError:
                if self.link.connected != connected:
                    connected = self.link.connected
                    self._wake()
                continue
            seq, connected = snapshot.seq, self.link.connected
            self.put(snapshot)
            heard(snapshot)

    def put(self, snapshot: Snapshot) -> None:
        """Makes this the newest."""
        self._came.pop(snapshot.seq, None)
        self._came[snapshot.seq] = self._monotonic()
        while len(self._came) > REMEMBERED:
            del self._came[next(iter(self._came))]
        self._wake()

    def age(self) -> float | None:
        """How long ago the newest snapshot came, [s]."""
        received = self.link.received
        return None if received is None else max(0.0, self._monotonic() - received)

    def frame(self) -> str:
        """What a phone is shown now, as JSON: connected, age_s, snapshot."""
        snapshot = self.link.latest
        if snapshot is None:
            text = "null"
        elif self._written is not None and self._written[0] == snapshot.seq:
            text = self._written[1]
        else:
            text = snapshot_json(snapshot).decode().strip()
            self._written = snapshot.seq, text
        return f'{self._head()[:-1]},"snapshot":{text}}}'

    def _head(self) -> str:
        age = self.age()
        told = {
            "connected": self.link.connected,
            "age_s": None if age is None else round(age, 2),
        }
        return json.dumps(told, separators=(",", ":"))

    def out_of_date(
        self, kind: ActKind, batch: str | None, stage: str | None, seen_seq: int
    ) -> str | None:
        """Why the screen an act was pressed on no longer holds, in one sentence; None if it does.

        seen_seq: number of the snapshot that was on the screen

        Only what the screen showed is judged here; whether the act is allowed, control says.
        """
        snapshot = self.link.latest
        came = self._came.get(seen_seq)
        if snapshot is None or came is None or self._monotonic() - came > FRESH:
            return "What was on the screen is too old to act on: look again, then press."
        shown = {b.id: b for b in (snapshot.batch, *snapshot.aside) if b is not None}
        if batch is not None and batch not in shown:
            return "That batch is not at this rig any more: look again, then press."
        now = snapshot.stage if batch is None else shown[batch].stage
        if stage is not None and stage != now and kind not in IN_ANY_STAGE:
            return f"The batch has moved on to {now}: look again, then press."
        return None

    def enter(self, address: str) -> Place:
        """A place for one more stream. Raises BusyError when there is none."""
        mine = sum(place.address == address for place in self._places)
        if self._ended or len(self._places) >= STREAMS or mine >= STREAMS_PER_ADDRESS:
            raise BusyError("Too many screens are open: close one, or ask /api/snapshot instead.")
        place = Place(address)
        self._places.append(place)
        return place

    def leave(self, place: Place) -> None:
        """Gives the place back."""
        self._places.remove(place)

    async def stream(self, place: Place) -> AsyncIterator[ServerSentEvent]:
        """Frames for one phone until the page ends: one at once, then each newest one."""
        place.news.set()
        while not self._ended:
            try:
                async with asyncio.timeout(self._beat):
                    await place.news.wait()
            except TimeoutError:
                yield ServerSentEvent(event="alive", raw_data=self._head())
                continue
            place.news.clear()
            latest = self.link.latest
            yield ServerSentEvent(
                raw_data=self.frame(),
                id=None if latest is None else str(latest.seq),
                retry=RETRY,
            )
            await asyncio.sleep(self._gap)

    def end(self) -> None:
        """Ends every stream; no more are begun."""
        self._ended = True
        self._wake()

    def _wake(self) -> None:
        for place in self._places:
            place.news.set()
