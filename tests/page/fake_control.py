"""A stand-in for control: snapshots built from the real dataclasses, and a link that answers."""

import asyncio
import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

from controller.batch.acts import Answer
from controller.batch.events import Event, EventKind
from controller.batch.snapshot import (
    AlarmShown,
    BagShown,
    BatchShown,
    Due,
    HeatShown,
    OutputShown,
    Press,
    Quantity,
    Sentence,
    SettingShown,
    Shown,
    Snapshot,
)
from controller.errors import BusyError, InputError
from controller.link import ActMessage
from controller.page.access import Doorkeeper
from controller.page.app import create_app
from controller.page.ledger import Ledger
from controller.page.live import Live
from controller.page.pairing import PinDesk
from controller.page.presses import Presses
from controller.page.sheets import SheetDesk
from controller.planning.answers.line import Line, Section, Told
from controller.planning.batch_plan import plan
from controller.planning.catalogue import Catalogue, built_in
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet
from controller.settings import Settings, default_settings_text, parse_settings
from controller.store.queries import BatchLine, Logged, StageTime
from controller.store.rows import WeighIn
from controller.store.samples import Bucket, Span

HOST = "rig.local:8420"
TOLD = 1_795_000_000.0
"""Told time of the pretended snapshots: November 2026."""
NOW = 16_200.0
"""Rig time of the pretended snapshots, [s]."""
HOLD_BEGAN = 9_000.0
"""Rig time the pretended hold began, [s]."""
OPEN_FROM = 60_000.0
"""Rig time the pretended bag may be opened from, [s]."""


def utc(at: float) -> float:
    """The told time of a rig time: what a clock in a sentence is, seconds since 1970 UTC."""
    return TOLD + at - NOW


def setting(**changes: Any) -> SettingShown:
    """A film two hours old, its gel still to come."""
    base = SettingShown(
        age_s=6_500.0,
        gel_early_at=20_000.0,
        gel_late_at=33_000.0,
        gelled=False,
        open_early_at=OPEN_FROM,
        open_late_at=84_000.0,
        may_open=False,
        conversion=0.2,
        cure="liquid",
        flash_share=None,
        flash_late_at=None,
        stalled=False,
    )
    return dataclasses.replace(base, **changes)


def batch(**changes: Any) -> BatchShown:
    """The washboard, held under its bag."""
    base = BatchShown(
        id="b7",
        name="Washboard, ash",
        shop="Eelgrass Boatworks",
        coat=1,
        coats=2,
        face="A",
        pieces=("washboard",),
        stage="HOLD",
        form="HELD",
        since=HOLD_BEGAN,
        left=None,
        place=None,
        outcome=None,
        setting=setting(),
    )
    return dataclasses.replace(base, **changes)


def make_snapshot(**changes: Any) -> Snapshot:
    """A simulated rig holding the washboard under vacuum, with one leak alarm; change what you
    need."""
    base = Snapshot(
        version=1,
        seq=41,
        now=NOW,
        told_utc=TOLD,
        time_zone="Europe/Berlin",
        simulated=True,
        pace=1200.0,
        rig="bench rig",
        stage="HOLD",
        sentence=Sentence(
            text="Holding at {bag}. May be opened from {open_from}.",
            values={
                "bag": Quantity(kind="vacuum", value=74_500.0),
                "open_from": Quantity(kind="clock", value=utc(OPEN_FROM)),
            },
        ),
        cautions=("Solvent under the film: no flame, no lamp in this zone.",),
        press=None,
        others=(
            Press(
                act="OPENED",
                says="The bag is open.",
                asks={"reason": "why it is opened before the open-from time"},
                due=False,
                hold=True,
            ),
            Press(
                act="RESEAL",
                says="The bag leaks and is sealed again.",
                asks={},
                due=False,
                hold=True,
            ),
        ),
        face=Shown(value=24.1, age_s=0.0, source="estimate"),
        back=Shown(value=None, age_s=None, source="lost"),
        room=Shown(value=19.4, age_s=1.2, source="probe"),
        film=Shown(value=23.6, age_s=0.9, source="probe"),
        bag=Shown(value=26_400.0, age_s=0.4, source="probe"),
        air_pa=100_900.0,
        lamp=OutputShown(on=False, wiring="wired", word="off, locked", why="coated work is here"),
        pump=OutputShown(on=True, wiring="wired", word="on", why="pulling back into the hold band"),
        zone_locked=True,
        zone_free_at=None,
        heat=HeatShown(
            band_low_c=43.0,
            band_high_c=45.0,
            window_low_c=32.0,
            window_high_c=38.0,
            mean_c=24.0,
            target_mean_c=40.5,
            soak_left_s=None,
            coat_now=False,
            opens_s=None,
            shuts_s=None,
            draw_left=0.06,
            presence_left_s=None,
        ),
        bagging=BagShown(
            target_pa=26_000.0,
            restart_pa=32_800.0,
            possible_pa=17_000.0,
            rise_pa_s=1.4,
            verdict="tight",
            asked_again_at=None,
        ),
        batch=batch(),
        aside=(
            batch(
                id="b6",
                name="Washboard, sapele",
                stage="FLASHOFF",
                form=None,
                since=1_000.0,
                place="loft, 6 m off",
                setting=setting(
                    gelled=True, may_open=True, flash_share=0.41, flash_late_at=190_000.0
                ),
            ),
        ),
        alarms=(
            AlarmShown(
                id="bag-leak",
                priority="P2",
                state="unacknowledged",
                since=15_900.0,
                follows=None,
                shelve=None,
                shelved_until=None,
                says=Sentence(
                    text="The bag rises {rise}.",
                    values={"rise": Quantity(kind="pressure_rate", value=4.1)},
                ),
                cause="A pleat under the tape.",
                do="Press the tape down along the edges, corners first.",
            ),
        ),
        blind=None,
        muted_until=None,
        due=(
            Due(what="let-up at the latest", at=20_000.0, until=None, batch="b7"),
            Due(what="may be opened", at=OPEN_FROM, until=84_000.0, batch="b7"),
        ),
    )
    return dataclasses.replace(base, **changes)


async def until(holds: Callable[[], object]) -> None:
    """Lets the other tasks run until it holds."""
    while not holds():  # noqa: ASYNC110  there is nothing to wait on but turns of the loop
        await asyncio.sleep(0)


class Hands:
    """A clock moved by hand."""

    def __init__(self, now: float) -> None:
        self.now = now

    def __call__(self) -> float:
        return self.now


class FakeLink:
    """What the page takes for its link: shows what it is told to, and answers each id once."""

    def __init__(self, clock: Hands) -> None:
        self.connected = True
        self.latest: Snapshot | None = None
        self.received: float | None = None
        self.sent: list[ActMessage] = []
        self.effects: dict[str, Answer] = {}
        self.refusal: str | None = None
        self.silent = False
        self.gate = asyncio.Event()
        self.gate.set()
        self._clock = clock
        self._news = asyncio.Event()

    def show(self, snapshot: Snapshot) -> None:
        self.latest = snapshot
        self.received = self._clock()
        self._news.set()
        self._news = asyncio.Event()

    async def run(self) -> None:
        await asyncio.Event().wait()

    async def changed(self, after: int) -> Snapshot:
        while self.latest is None or self.latest.seq == after:
            await self._news.wait()
        return self.latest

    async def press(self, message: ActMessage, within: float = 3.0) -> Answer:
        if not self.connected:
            raise BusyError("control is not there")
        self.sent.append(message)
        await self.gate.wait()
        if self.silent:
            raise BusyError("no answer in time")
        if self.refusal is not None:
            says, self.refusal = self.refusal, None
            raise InputError(says)
        if message.id not in self.effects:
            text = f"{message.kind}, effect {len(self.effects) + 1}."
            self.effects[message.id] = Answer(message.id, True, text)
        return self.effects[message.id]


class FakeRecord:
    """A record with one batch in it; `broken` makes it unreadable."""

    def __init__(self) -> None:
        self.broken = False

    def batches(self, limit: int = 200) -> tuple[BatchLine, ...]:
        if self.broken:
            raise InputError("log.db cannot be read: is control running?")
        line = BatchLine(
            id="b7",
            name="Washboard, ash",
            sheet='{"name": "Washboard, ash"}',
            planned_at=10.0,
            planned_utc=TOLD - 16_000,
            stage="HOLD",
            last_utc=TOLD,
        )
        return (line,)

    def events(
        self, batch: str | None = None, after_seq: int = 0, limit: int = 500
    ) -> tuple[Logged, ...]:
        event = Event(
            at=11.0,
            kind=EventKind.STAGE,
            batch="b7",
            stage="PREHEAT",
            text="Warming begins.",
            data={"face_c": 19.5},
        )
        clock = {"told_utc": TOLD, "mono": 5.0, "boot_id": "boot", "clock_trusted": True}
        lines = (
            Logged(seq=3, event=event, **clock),
            Logged(seq=4, event=None, **clock),
        )
        return tuple(line for line in lines if line.seq > after_seq)[:limit]

    def samples_thinned(
        self, batch: str | None, start: float, end: float, points: int = 600
    ) -> tuple[Bucket, ...]:
        face = Span(low=293.15, high=295.15, mean=294.15)
        bare = {"back": None, "room": None, "film": None, "mean": None, "air": None}
        return tuple(
            Bucket(
                at=start + n,
                width=1.0,
                told_utc=TOLD + n,
                count=1,
                face=face if n else None,
                bag=Span(low=2.6e4, high=2.8e4, mean=2.7e4),
                lamp=0.0,
                pump=0.5,
                **bare,
            )
            for n in range(3)
        )

    def span(self, batch: str) -> tuple[float, float] | None:
        return 10.0, 13.0

    def weigh_ins(self, batch: str) -> tuple[WeighIn, ...]:
        return (WeighIn(batch=batch, at=12.0, told_utc=TOLD, what="board", mass=1.2345),)

    def stage_times(self, batch: str) -> tuple[StageTime, ...]:
        return (StageTime(stage="PREHEAT", began=11.0, ended=None, began_utc=TOLD, recorded=11.0),)


@dataclasses.dataclass
class Page:
    """The whole page over a pretended control."""

    clock: Hands
    wall: Hands
    link: FakeLink
    record: FakeRecord
    ledger: Ledger
    live: Live
    door: Doorkeeper
    pins: PinDesk
    folder: Path
    app: FastAPI

    def show(self, **changes: Any) -> Snapshot:
        """Control shows a snapshot and the page hears of it."""
        snapshot = make_snapshot(**changes)
        self.link.show(snapshot)
        self.live.put(snapshot)
        return snapshot

    def client(
        self, address: str = "192.168.1.20", host: str = HOST, **headers: str
    ) -> httpx.AsyncClient:
        """A browser at an address, on the page's own origin."""
        sent = {"origin": f"http://{host}", "x-warmdraw": "1"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        return httpx.AsyncClient(
            transport=httpx.ASGITransport(app=self.app, client=(address, 50_000)),
            base_url=f"http://{host}",
            headers={name: value for name, value in sent.items() if value != "-"},
        )


def planned(
    description: Description, settings: Settings, catalogue: Catalogue
) -> tuple[BatchSheet, tuple[Section, ...]]:
    """The sheet, and one line made of it: what the sheet tells is tested in its own room."""
    sheet = plan(description, settings, catalogue)
    mass = Told("mass", sheet.coats[0].mix.total, "worked: area times coat weight")
    line = Line("cup.total", "mix", "Mix {mass}.", {"mass": mass}, care=True)
    return sheet, (Section("coat 1 cup", "Cup", "What do I weigh?", (line,)),)


def make_page(folder: Path, web: Path | None = None, answer: Any = planned) -> Page:
    """A page whose state is in `folder`, with one snapshot shown.

    answer: makes a sheet and what it tells
    """
    clock, wall = Hands(5_000.0), Hands(TOLD)
    link, record = FakeLink(clock), FakeRecord()
    ledger = Ledger(folder / "page.db")
    live = Live(link, monotonic=clock, gap=0.0)
    door = Doorkeeper(ledger, monotonic=clock, wall=wall, boot=lambda: "this boot")
    pins = PinDesk(folder, monotonic=clock)
    app = create_app(
        live=live,
        reader=record,
        ledger=ledger,
        door=door,
        pins=pins,
        presses=Presses(live, ledger, wall=wall),
        desk=SheetDesk(parse_settings(default_settings_text()), built_in(), answer),
        names=("rig.local",),
        web=web,
    )
    page = Page(clock, wall, link, record, ledger, live, door, pins, folder, app)
    page.show()
    return page
