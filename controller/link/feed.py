"""Control as the page sees it."""

import asyncio
import time
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from controller.batch.acts import Answer
from controller.batch.snapshot import Snapshot
from controller.errors import BusyError, InputError
from controller.link.lines import GONE, nobody, read_line
from controller.link.messages import (
    MAX_LINE,
    ActMessage,
    AnswerMessage,
    Hello,
    Outbound,
    Refused,
    SnapshotMessage,
    decode_outbound,
    encode,
)


class Feed:
    """Control as the page sees it: the latest snapshot, and a way to press; it reconnects."""

    def __init__(self, path: Path, *, retry: float = 0.2, retry_most: float = 5.0) -> None:
        """path: of control's socket      retry, retry_most: first and longest wait, [s]"""
        self._path = path
        self._retry = retry
        self._retry_most = retry_most
        self._writer: asyncio.StreamWriter | None = None
        self._pending: dict[str, asyncio.Future[Answer]] = {}
        self._news = asyncio.Condition()
        self.latest: Snapshot | None = None
        self.received: float | None = None
        self.trouble: str | None = None

    @property
    def connected(self) -> bool:
        """Control is listening now."""
        return self._writer is not None

    async def run(self) -> None:
        """Keep the connection up until cancelled."""
        wait = self._retry
        while True:
            before = self.received
            try:
                await self._listen()
                self.trouble = GONE
            except InputError as error:
                self.trouble = str(error)
            except OSError as error:
                self.trouble = nobody(self._path, error)
            finally:
                self._lose(BusyError(GONE))
            if self.received != before:
                wait = self._retry
            await asyncio.sleep(wait)
            wait = min(2 * wait, self._retry_most)

    async def changed(self, after: int) -> Snapshot:
        """The latest snapshot, once it is another than the one numbered `after`."""
        async with self._news:
            while self.latest is None or self.latest.seq == after:
                await self._news.wait()
            return self.latest

    async def press(self, message: ActMessage, timeout: float = 3.0) -> Answer:  # noqa: ASYNC109
        """Control's answer to an act. The same id may be pressed again after a BusyError.

        Raises BusyError when control is not there or gives no answer in `timeout` [s],
        InputError when it refuses the message.
        """
        line = encode(message)
        if self._writer is None:
            raise BusyError(self.trouble or f"control is not connected on {self._path}")
        try:
            async with asyncio.timeout(timeout):
                if message.id in self._pending:
                    return await asyncio.shield(self._pending[message.id])
                answer = self._pending[message.id] = asyncio.Future()
                try:
                    self._writer.write(line)
                    return await asyncio.shield(answer)
                finally:
                    del self._pending[message.id]
        except TimeoutError as error:
            raise BusyError(f"control did not answer in {timeout:.0f} s; press again") from error

    async def _listen(self) -> None:
        reader, writer = await asyncio.open_unix_connection(self._path, limit=MAX_LINE)
        try:
            writer.write(encode(Hello(who="page", wants="snapshots")))
            self._writer = writer
            self.trouble = None
            while (line := await read_line(reader)) is not None:
                await self._heard(decode_outbound(line))
        finally:
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()

    async def _heard(self, message: Outbound) -> None:
        if isinstance(message, SnapshotMessage):
            async with self._news:
                self.latest, self.received = message.snapshot, time.monotonic()
                self._news.notify_all()
        elif isinstance(message, AnswerMessage):
            waiting = self._pending.get(message.act)
            if waiting is not None and not waiting.done():
                waiting.set_result(message.answer())
        elif isinstance(message, Refused):
            # Without an id it may mean any line, so everybody who waits hears it.
            whose = self._pending if message.act is None else {message.act}
            self._fail(InputError(f"control refused: {message.text}"), whose)

    def _lose(self, why: BusyError) -> None:
        self._writer = None
        self._fail(why, self._pending)

    def _fail(self, why: BusyError | InputError, whose: Iterable[str]) -> None:
        for act in whose:
            waiting = self._pending.get(act)
            if waiting is not None and not waiting.done():
                waiting.set_exception(why)
