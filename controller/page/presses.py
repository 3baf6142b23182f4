"""Acts on their way from a phone to control: one effect and one answer for each id.

The page judges only what it alone can know (the screen was old, the id came before with another
body); whether an act is allowed is control's word. STOP passes by all of it.
"""

import asyncio
import hashlib
import json
import logging
import sqlite3
import time
from collections.abc import Callable, Coroutine

from starlette.exceptions import HTTPException

from controller.batch.acts import ActKind, Answer
from controller.errors import BusyError, InputError
from controller.link import ActMessage
from controller.page.access import Caller
from controller.page.complaint import Complaint
from controller.page.ledger import Ledger
from controller.page.live import Live

log = logging.getLogger(__name__)

ANSWER_TIME = 8.0
"""How long control may take to answer an act, [s]: the record must be on disk first. Own."""
STOP_TIME = 3.0
"""How long control may take to answer STOP, [s]; its effect waits for nothing. Own."""
PULL_THE_PLUG = "Control does not answer: pull the lamp's plug."


class Presses:
    """The acts under way. Belongs to one event loop."""

    def __init__(
        self, live: Live, ledger: Ledger, *, wall: Callable[[], float] = time.time
    ) -> None:
        """wall: the clock the receipt is stamped with, seconds since 1970"""
        self._live = live
        self._ledger = ledger
        self._wall = wall
        self._unkept = Complaint(log)
        self._desk = asyncio.Lock()
        self._under_way: dict[str, asyncio.Task[Answer]] = {}
        self._stops: dict[str, asyncio.Task[Answer]] = {}

    async def press(self, message: ActMessage) -> Answer:
        """Control's answer to an act.

        message: complete but for received_utc, which is the first receipt of this id

        Raises HTTPException: 409 the screen was out of date or control refused it, 422 the id
        came with another body, 503 control is not there or silent.
        """
        digest = _digest(message)
        async with self._desk:
            known = await asyncio.to_thread(self._ledger.pressed, message.id)
            if known is not None and known.digest != digest:
                raise HTTPException(422, "This id was used for another press: make a new one.")
            if known is not None and known.accepted is not None:
                return Answer(message.id, known.accepted, known.text or "")
            task = self._under_way.get(message.id)
            if task is None:
                if known is None:
                    self._judge(message)
                received = self._wall() if known is None else known.received_utc
                message = message.model_copy(update={"received_utc": received})
                if known is None:
                    await asyncio.to_thread(self._ledger.press, message.id, digest, received)
                task = self._set_out(self._carry(message), self._under_way, message.id)
        try:
            return await asyncio.shield(task)
        except BusyError:
            raise HTTPException(503, "Control has not answered yet: press again.") from None
        except InputError as error:
            raise HTTPException(409, f"{error}") from None

    async def stop(self, act: str, caller: Caller) -> Answer:
        """Control's answer to STOP from anyone; presses by one sender in flight share one message.

        Raises HTTPException 503 when control is not there, and for nothing else.
        """
        task = self._stops.get(caller.signature)
        if task is None:
            message = ActMessage(
                id=act, kind=ActKind.STOP, by=caller.signature, received_utc=self._wall()
            )
            sending = self._live.link.press(message, STOP_TIME)
            task = self._set_out(sending, self._stops, caller.signature)
        try:
            answer = await asyncio.shield(task)
        except (BusyError, InputError):
            raise HTTPException(503, PULL_THE_PLUG) from None
        return Answer(act, answer.accepted, answer.text)

    def _judge(self, message: ActMessage) -> None:
        if not self._live.link.connected:
            raise HTTPException(503, "Control is not there: see to the rig, then press again.")
        stale = self._live.out_of_date(
            message.kind, message.batch, message.stage, message.seen_seq or 0
        )
        if stale is not None:
            raise HTTPException(409, stale)

    async def _carry(self, message: ActMessage) -> Answer:
        answer = await self._live.link.press(message, ANSWER_TIME)
        try:
            await asyncio.to_thread(self._ledger.answer, message.id, answer.accepted, answer.text)
        except sqlite3.Error as error:
            # the act has had its effect and control keeps its answer: the person shall hear it
            self._unkept.came(f"page.db: the answer to {message.id} is not kept: {error}")
        return answer

    def _set_out(
        self,
        sending: Coroutine[object, object, Answer],
        under_way: dict[str, asyncio.Task[Answer]],
        key: str,
    ) -> asyncio.Task[Answer]:
        """Starts it as a task of its own, so that a phone that hangs up cannot recall it."""
        task = asyncio.create_task(sending)
        under_way[key] = task

        def back(done: asyncio.Task[Answer]) -> None:
            del under_way[key]
            if not done.cancelled():
                done.exception()  # looked at here, also when every phone has hung up

        task.add_done_callback(back)
        return task


def _digest(message: ActMessage) -> str:
    told = message.model_dump(mode="json", exclude={"by", "received_utc"})
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
