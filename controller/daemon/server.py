"""Control's end of the socket: who is connected, what they say, and what they are owed.

Nobody at the other end can hold the loop: a line is taken or refused at once, and what a client
does not read is skipped or costs it its connection.
"""

import asyncio
import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack, suppress
from dataclasses import replace
from pathlib import Path

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.lamp_acts import ARMS, no_record
from controller.batch.snapshot import Snapshot
from controller.daemon.clients import Client, listening
from controller.errors import InputError
from controller.link import (
    MAX_LINE,
    ActMessage,
    AnswerMessage,
    Hello,
    Off,
    Refused,
    Safe,
    SnapshotMessage,
    act_in,
    decode_inbound,
    encode,
    peer_name,
    read_line,
)
from controller.planning.sheet_json import sheet_from_json
from controller.runner import Reply
from controller.store.rows import Kept

OLDEST_ACT = 5.0
"""Wall time from the page's receipt after which an act is refused, [s]. Own."""
CONNECTIONS = 32
"""Clients at once; beyond that the oldest that is no page goes. Own."""
LAST_WORDS = 0.2
"""How long a client has to take what is left for it at the end, [s]. Own."""
STOP_WAIT = 0.3
"""How long the answer to STOP waits for the disk, [s]; then it is given without. Own: longer than a
healthy card needs, and well within the second in which a person wants to hear of it."""
WAITING = 64
"""Acts that may wait for the next tick. Own: nobody presses that fast."""
UNWRITTEN = 256
"""Answers that may wait for a disk that takes nothing; each is kept in memory. Own: more than
anybody presses in the days until somebody has seen to it."""


class LinkServer:
    """The socket, its clients, and the acts that wait for the next tick."""

    def __init__(
        self,
        known: Callable[[str], Kept | None],
        off: Callable[[], bool],
        wake: Callable[[], None],
        trouble: Callable[[], str | None],
    ) -> None:
        """known: the answer an act has had already

        off: outputs OFF at once; True when they are    wake: the next tick shall come at once
        trouble: one line while the disk takes nothing, None when all is well
        """
        self._known = known
        self._off = off
        self._wake = wake
        self._trouble = trouble
        self._clients: dict[Client, None] = {}
        self._acts: list[Act] = []
        self._replies: list[Reply] = []
        self._stops: dict[str, float] = {}
        """Ids of the STOPs that are not on disk, each with when it came, [s, monotonic]."""
        self._latest: bytes | None = None
        self._server: asyncio.Server | None = None
        self._path: Path | None = None
        self._tasks: set[asyncio.Task[None]] = set()

    async def start(self, path: Path) -> None:
        """Listen at `path`, for its owner and its group.

        Raises InputError where the socket cannot be made.
        """
        with ExitStack() as undo:
            try:
                listener = undo.enter_context(listening(path))
                self._server = await asyncio.start_unix_server(
                    self._serve, sock=listener, limit=MAX_LINE
                )
            except OSError as error:
                words = error.strerror or error
                raise InputError(f"{path}: {words}; control listens there") from error
            undo.pop_all()
        self._path = path

    async def close(self) -> None:
        """Hang up on everybody and take the socket away."""
        if self._server is not None:
            self._server.close()
        for client in list(self._clients):
            client.writer.close()
        if self._tasks:
            await asyncio.wait(self._tasks, timeout=LAST_WORDS)
        for client in list(self._clients):
            client.writer.transport.abort()
        if self._tasks:
            await asyncio.wait(self._tasks, timeout=LAST_WORDS)
        if self._path is not None:
            self._path.unlink(missing_ok=True)

    # --- the loop's side

    def take(self) -> list[Act]:
        """The acts that came in since the last tick, in order."""
        acts, self._acts = self._acts, []
        return acts

    def owes(self) -> bool:
        """Somebody waits for an answer that waits for the disk."""
        return any(self._awaited(reply.answer.act) for reply in self._replies)

    def owe(self, replies: Sequence[Reply]) -> None:
        """Answers to give, each once what it rests on is on disk; to STOP a little later anyway."""
        self._replies += replies

    def give(self, durable: int) -> None:
        """Give the answers whose entries are on disk, those up to number `durable`.

        The answer to a STOP is given without that, because a person must hear that the outputs are
        off; it then says that it is in no record yet.
        """
        ready = [reply for reply in self._replies if reply.seq <= durable]
        self._replies = [reply for reply in self._replies if reply.seq > durable]
        for reply in ready:
            self._stops.pop(reply.answer.act, None)
            self._answer(reply.answer)
        for reply in self._replies:
            came = self._stops.get(reply.answer.act)
            if came is not None and time.monotonic() - came >= STOP_WAIT:
                self._answer(_unwritten(reply.answer, self._trouble() is not None))

    def show(self, snapshot: Snapshot) -> None:
        """Show everybody who looks and has taken the last one."""
        self._latest = encode(SnapshotMessage(snapshot=snapshot))
        for client in list(self._clients):
            if client.looks and client.unread() == 0:
                client.send(self._latest)

    # --- a client's side

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        if task is not None:
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        client = Client(writer, "nobody known")
        self._make_room()
        self._clients[client] = None
        try:
            client.peer = peer_name(writer.get_extra_info("socket"))
            while (line := await read_line(reader)) is not None:
                self._heard(client, line)
                # one line, then the others' turn: a flood holds up nobody but itself
                await asyncio.sleep(0)
        except InputError as error:
            client.send(encode(Refused(text=str(error))))
        except OSError:
            # it is gone, whatever the kernel calls that; what it said stands, with nobody to tell
            pass
        finally:
            del self._clients[client]
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()

    def _make_room(self) -> None:
        if len(self._clients) >= CONNECTIONS:
            oldest = list(self._clients)
            spared = [client for client in oldest if client.who != "page"]
            (spared or oldest)[0].writer.transport.abort()

    def _heard(self, client: Client, line: bytes) -> None:
        try:
            message = decode_inbound(line)
        except InputError as error:
            client.send(encode(Refused(text=str(error), act=act_in(line))))
            return
        if isinstance(message, Hello):
            client.who, client.looks = message.who, message.wants == "snapshots"
            if client.looks and self._latest is not None:
                client.send(self._latest)
        elif isinstance(message, Safe):
            self._safe(client)
        else:
            self._act(client, message)

    def _safe(self, client: Client) -> None:
        """OFF now, and STOP for the engine, which would switch on again."""
        off = self._off()
        self._acts.append(_signed(_stop("warmdraw safe"), client))
        self._wake()
        if off:
            client.send(encode(Off()))

    def _act(self, client: Client, message: ActMessage) -> None:
        known = self._known(message.id)
        if message.kind is ActKind.STOP:
            self._off()
            self._wake()
            if known is not None:
                # the same answer, and all the same another STOP
                self._acts.append(_signed(_stop(message.by), client))
        if message.id in client.owed:
            return
        if known is not None:
            client.owed.add(message.id)
            if all(reply.answer.act != message.id for reply in self._replies):
                self._replies.append(Reply(known.answer, known.seq))
            return
        refusal = self._refusal(message)
        if refusal is not None:
            client.send(encode(AnswerMessage(act=message.id, accepted=False, text=refusal)))
            return
        client.owed.add(message.id)
        if all(act.id != message.id for act in self._acts):
            self._acts.append(_signed(message, client))
            if message.kind is ActKind.STOP:
                self._stops[message.id] = time.monotonic()

    def _refusal(self, message: ActMessage) -> str | None:
        """Why an act does not even reach the engine; None when it does.

        Such an answer is not written down, so the same id may be pressed again.
        """
        if message.kind is ActKind.STOP:
            return None
        age = time.time() - (message.received_utc or time.time())
        if age > OLDEST_ACT:
            return f"this was pressed {age:.0f} s ago: look again, and press again"
        trouble = self._trouble()
        if message.kind in ARMS and trouble is not None:
            # the engine would say the same, and its answer would wait for the disk
            return no_record(trouble)
        if trouble is not None and len(self._replies) >= UNWRITTEN:
            return f"{UNWRITTEN} presses wait for the record: nothing but STOP is heard. {trouble}"
        if len(self._acts) >= WAITING:
            return "too many presses at once: look again, and press again"
        if message.kind is ActKind.PLAN:
            try:
                sheet_from_json(str(message.values.get("sheet", "")))
            except InputError as error:
                return str(error)[:500]
        return None

    def _awaited(self, act: str) -> bool:
        return any(act in client.owed for client in self._clients)

    def _answer(self, answer: Answer) -> None:
        if not self._awaited(answer.act):
            return
        line = encode(AnswerMessage.of(answer))
        for client in list(self._clients):
            if answer.act in client.owed:
                client.owed.discard(answer.act)
                client.send(line)


def _stop(by: str) -> ActMessage:
    return ActMessage(id=f"stop-{time.monotonic_ns()}", kind=ActKind.STOP, by=by)


def _unwritten(answer: Answer, trouble: bool) -> Answer:
    """The answer to a STOP that the disk has not taken yet."""
    why = "the disk takes nothing" if trouble else "the disk is slow"
    return replace(answer, text=f"Stopped. {answer.text} Not yet in the record: {why}.")


def _signed(message: ActMessage, client: Client) -> Act:
    """The act with its sender as the kernel names it."""
    act = message.act()
    return replace(act, by=f"{act.by} ({client.peer})")
