"""The page's routes. They translate and never decide: control decides, over the link."""

import contextlib
import logging
import re
import secrets
import sqlite3
from collections.abc import AsyncIterator, Iterable
from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from fastapi.sse import EventSourceResponse, ServerSentEvent
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Scope

from controller.batch.acts import ActKind
from controller.errors import BusyError, InputError
from controller.link import ActMessage, Feed
from controller.page import phones, records, sheets
from controller.page.access import Doorkeeper, Who
from controller.page.bodies import (
    ActTold,
    AnswerTold,
    DueList,
    DueTold,
    Frame,
    Me,
    Trouble,
)
from controller.page.complaint import Complaint
from controller.page.gate import API, Gate
from controller.page.ledger import Ledger
from controller.page.live import Live, Place
from controller.page.pairing import PinDesk
from controller.page.presses import Presses
from controller.planning.catalogue import built_in
from controller.settings import default_settings_text, parse_settings
from controller.store.queries import LogReader

log = logging.getLogger(__name__)
WORTH_PACKING = 2000
"""Shortest answer that is packed for a phone that takes it, [bytes]; own: shorter ones fit one
packet or two as they are."""


class WebFiles(StaticFiles):
    """The built page: its own files, and the front page for any other address a person types."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, or index.html. Raises HTTPException 404 for /api and for missing files."""
        try:
            response = await super().get_response(path, scope)
        except HTTPException as error:
            if error.status_code != 404 or path.startswith("api") or "." in path:
                raise
            response = await super().get_response("index.html", scope)
        # names under assets/ change with their content, the others do not
        kept = "max-age=31536000, immutable" if path.startswith("assets/") else "no-cache"
        response.headers["cache-control"] = kept
        return response


def web_folder() -> Path | None:
    """Where the built page lies: in the wheel, or in the clone of an editable install."""
    package = Path(__file__).parents[1]
    for folder in (package / "_web", package.parent / "web" / "dist"):
        if (folder / "index.html").is_file():
            return folder
    return None


def create_app(
    *,
    live: Live,
    reader: records.Reader,
    ledger: Ledger,
    door: Doorkeeper,
    pins: PinDesk,
    presses: Presses,
    desk: sheets.SheetDesk,
    names: Iterable[str] = (),
    web: Path | None = None,
) -> FastAPI:
    """The page as an ASGI application.

    names: hosts it answers to beside loopback and its own address
    web: the built page; None answers `/` with what to do about it
    """
    app = FastAPI(
        title="Warmdraw page",
        version=str(API),
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        responses={"4XX": {"model": Trouble}, "5XX": {"model": Trouble}},
    )
    # a sheet and its sources are 70 kB as text; the live stream is left as it is, a line at a time
    app.add_middleware(GZipMiddleware, minimum_size=WORTH_PACKING, compresslevel=5)
    app.add_middleware(Gate, names=names)
    _say_errors(app)

    app.state.door = door

    @app.get("/api/snapshot", response_model=Frame)
    async def snapshot() -> Response:
        return Response(live.frame(), media_type="application/json")

    async def place(caller: Who) -> AsyncIterator[Place]:
        taken = live.enter(caller.address)
        try:
            yield taken
        finally:
            live.leave(taken)

    @app.get("/api/live", response_class=EventSourceResponse)
    async def stream(place: Annotated[Place, Depends(place)]) -> AsyncIterator[ServerSentEvent]:
        async for event in live.stream(place):
            yield event

    @app.get("/api/me")
    def me(caller: Who) -> Me:
        return Me(
            role="control" if caller.may_act else "watch",
            why=caller.why,
            name=caller.name,
            left_s=caller.left,
            pairing_open=pins.is_open(),
            api=API,
        )

    @app.get("/api/due")
    def due() -> DueList:
        newest = live.link.latest
        return DueList(
            told_utc=None if newest is None else newest.told_utc,
            due=[
                DueTold(
                    batch=line.batch,
                    what=line.what,
                    at_utc=line.at_utc,
                    until_utc=line.until_utc,
                    state=line.state,
                )
                for line in ledger.due()
            ],
        )

    app.include_router(records.routes(reader))

    @app.post("/api/acts")
    async def act(told: ActTold, caller: Who) -> AnswerTold:
        caller.must_be_paired()
        if told.kind is ActKind.STOP:
            answer = await presses.stop(told.id, caller)
        else:
            answer = await presses.press(
                ActMessage(
                    id=told.id,
                    kind=told.kind,
                    batch=told.batch,
                    stage=told.stage,
                    by=caller.signature,
                    ago_s=told.ago_s,
                    values=told.values,
                    seen_seq=told.seen_seq,
                )
            )
        return AnswerTold(act=answer.act, accepted=answer.accepted, text=answer.text)

    @app.post("/api/stop")
    async def stop(request: Request, caller: Who) -> AnswerTold:
        answer = await presses.stop(_id_in(await request.body()), caller)
        return AnswerTold(act=answer.act, accepted=answer.accepted, text=answer.text)

    app.include_router(sheets.routes(desk, live, presses))
    app.include_router(phones.routes(door, pins))

    if web is not None:
        app.mount("/", WebFiles(directory=web, html=True))
    else:

        @app.get("/", include_in_schema=False)
        async def unbuilt() -> Response:
            raise HTTPException(503, "The page is not built: install warmdraw again with pip.")

    return app


def openapi_schema() -> dict[str, Any]:
    """The schema of the routes, from which the web page's TypeScript types are made."""
    nowhere = Path("nowhere")
    live = Live(Feed(nowhere))
    with contextlib.closing(Ledger(Path(":memory:"))) as ledger:
        app = create_app(
            live=live,
            reader=LogReader(nowhere),
            ledger=ledger,
            door=Doorkeeper(ledger),
            pins=PinDesk(nowhere),
            presses=Presses(live, ledger),
            desk=sheets.SheetDesk(parse_settings(default_settings_text()), built_in(), _unasked),
        )
        return app.openapi()


def _unasked(*given: object) -> sheets.Answers:
    raise NotImplementedError("a schema plans no batch")


def _id_in(body: bytes) -> str:
    """The id a STOP brought, or a new one: nothing about its body can be wrong."""
    found = re.search(rb'"id"\s*:\s*"([A-Za-z0-9_-]{8,64})"', body)
    return found[1].decode() if found else secrets.token_hex(16)


def _one_line(text: str) -> str:
    """The text with a ? for each sign that a screen cannot show in a line."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def _say_errors(app: FastAPI) -> None:
    """Makes every error one sentence of JSON."""
    disk = Complaint(log)

    def said(status: int, says: str, headers: dict[str, str] | None = None) -> JSONResponse:
        return JSONResponse({"error": says}, status, headers)

    @app.exception_handler(HTTPException)
    async def refused(request: Request, error: HTTPException) -> Response:
        says = {
            404: "There is nothing at this address: go to the front page.",
            405: "This address is not asked that way: reload the page.",
        }.get(error.status_code, error.detail)
        if error.detail.endswith("."):
            says = error.detail
        return said(error.status_code, says, dict(error.headers or {}))

    @app.exception_handler(RequestValidationError)
    async def unusable(request: Request, error: RequestValidationError) -> Response:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"][1:]) or "the request"
        # both may repeat what was sent, line ends and half characters included
        where, says = _one_line(where[:80]), _one_line(str(first["msg"])[:200])
        return said(422, f"Cannot use {where}: {says}; put it right and send again.")

    @app.exception_handler(InputError)
    @app.exception_handler(BusyError)
    async def unready(request: Request, error: Exception) -> Response:
        return said(503, f"{error}")

    @app.exception_handler(sqlite3.Error)
    async def full(request: Request, error: Exception) -> Response:
        disk.came(f"page.db: {error}")
        return said(503, f"The page cannot write to its own disk ({error}): see to its space.")

    @app.exception_handler(Exception)
    async def broken(request: Request, error: Exception) -> Response:
        return said(500, "The page has a fault: reload it; STOP and the rig's buttons still work.")
