"""The batch sheet on a phone: the form, what it comes to, and the way onto the rig."""

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.exceptions import HTTPException

from controller.batch.acts import ActKind
from controller.errors import ControllerError
from controller.link import ActMessage
from controller.page.access import Who
from controller.page.bodies import (
    AnswerTold,
    Choices,
    FaultTold,
    FieldTold,
    GroupTold,
    PlanTold,
    SectionTold,
    SheetAnswer,
    SheetStart,
    SheetTold,
)
from controller.page.live import Live
from controller.page.presses import Presses
from controller.planning.answers.line import Section
from controller.planning.catalogue import Catalogue
from controller.planning.description import description_of
from controller.planning.description_faults import tables_of
from controller.planning.examples import EXAMPLES, example
from controller.planning.form_blanks import GROUPS
from controller.planning.plan_act import plan_values
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_form import faults_of, form
from controller.planning.sheet_text import heading
from controller.settings import Settings

WAIT = 5.0
"""How long a sheet waits for the one before it, [s]: one is reckoned at a time, so that a crowd of
phones leaves the machine to control. Own."""
KEPT = 32
"""Sheets whose way onto the rig is remembered, for a press that is sent again. Own."""
NAME = "sheet"
Answers = tuple[BatchSheet, tuple[Section, ...]]


class SheetDesk:
    """Reckons descriptions for phones, one at a time. Belongs to one event loop."""

    def __init__(
        self,
        settings: Settings,
        catalogue: Catalogue,
        answer: Callable[..., Answers],
        *,
        wait: float = WAIT,
    ) -> None:
        """answer: makes a sheet and its sections of a description, settings and catalogue"""
        self.settings = settings
        self.catalogue = catalogue
        self._answer = answer
        self._wait = wait
        self._desk = asyncio.Lock()
        self._sent: OrderedDict[str, tuple[Mapping[str, Any], dict[str, str | float | bool]]] = (
            OrderedDict()
        )

    async def answers(self, tables: Mapping[str, Any]) -> Answers:
        """The sheet and what it tells.

        Raises ControllerError where the description has faults, HTTPException 503 where others
        are in front for too long.
        """
        try:
            async with asyncio.timeout(self._wait):
                await self._desk.acquire()
        except TimeoutError:
            raise HTTPException(503, "Other sheets are being reckoned: try again.") from None
        try:
            return await asyncio.to_thread(self._reckon, tables)
        finally:
            self._desk.release()

    async def values(
        self, id: str, tables: Mapping[str, Any], told_utc: float
    ) -> dict[str, str | float | bool]:
        """What the PLAN act of that id carries: the same for a press that is sent again."""
        if id in self._sent and self._sent[id][0] == tables:
            return self._sent[id][1]
        sheet, _ = await self.answers(tables)
        made = plan_values(sheet, told_utc)
        self._sent[id] = (tables, made)
        while len(self._sent) > KEPT:
            self._sent.popitem(last=False)
        return made

    def _reckon(self, tables: Mapping[str, Any]) -> Answers:
        description = description_of(dict(tables), NAME, self.catalogue)
        return self._answer(description, self.settings, self.catalogue)


def start_tables(today: date | None) -> dict[str, Any]:
    """The tables of an example, as JSON can carry them; its start is moved to today.

    today: by the shop's clock; None leaves the start out
    """
    tables: dict[str, Any] = tables_of(example(EXAMPLES[0]), EXAMPLES[0])
    times = {key: _plain(value) for key, value in tables.get("times", {}).items()}
    start = times.pop("start", None)
    if isinstance(start, str) and today is not None:
        hour = datetime.fromisoformat(start).time()
        times["start"] = datetime.combine(today, hour).isoformat(timespec="minutes")
    return tables | {"times": times}


def _plain(value: object) -> object:
    # TOML has dates and hours of its own, JSON has not
    if isinstance(value, datetime | time):
        return value.isoformat(timespec="minutes")
    return value


def routes(desk: SheetDesk, live: Live, presses: Presses) -> APIRouter:
    """The routes of the sheet."""
    router = APIRouter(prefix="/api/sheet")
    groups = [
        GroupTold(key=group.key, title=group.title, table=group.table, row=group.row)
        for group in GROUPS
    ]

    @router.get("/start")
    async def start() -> SheetStart:
        newest = live.link.latest
        zone = ZoneInfo(desk.settings.shop.time_zone)
        today = (
            None
            if newest is None
            else datetime.fromtimestamp(newest.told_utc, UTC).astimezone(zone).date()
        )
        found = desk.catalogue
        return SheetStart(
            description=start_tables(today),
            choices=Choices(
                woods=list(found.woods), resins=list(found.resins), thinners=list(found.thinners)
            ),
        )

    @router.post("")
    async def reckon(told: SheetTold) -> SheetAnswer:
        tables = told.description
        faults, sections = [], None
        try:
            _, made = await desk.answers(tables)
            sections = [
                SectionTold(**asdict(section) | {"title": heading(section)}) for section in made
            ]
        except ControllerError as error:
            found = faults_of(error, NAME, tables)
            faults = [FaultTold(key=fault.key, says=fault.says) for fault in found]
        return SheetAnswer(
            faults=faults,
            sections=sections,
            groups=groups,
            fields=[FieldTold(**asdict(field)) for field in form(tables, desk.catalogue)],
            time_zone=desk.settings.shop.time_zone,
        )

    @router.post("/plan")
    async def plan(told: PlanTold, caller: Who) -> AnswerTold:
        caller.must_be_paired()
        newest = live.link.latest
        if newest is None:
            raise HTTPException(503, "Control is not there: see to the rig, then press again.")
        try:
            values = await desk.values(told.id, told.description, newest.told_utc)
        except ControllerError as error:
            first = faults_of(error, NAME, told.description)[0]
            where = f"{first.key}: " if first.key else ""
            raise HTTPException(422, f"No sheet yet. {where}{first.says.rstrip('.')}.") from None
        answer = await presses.press(
            ActMessage(
                id=told.id,
                kind=ActKind.PLAN,
                batch=told.batch,
                stage=told.stage,
                by=caller.signature,
                values=values,
                seen_seq=told.seen_seq,
            )
        )
        return AnswerTold(act=answer.act, accepted=answer.accepted, text=answer.text)

    return router
