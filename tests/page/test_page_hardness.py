"""Who is slow, endless or many at the page's port, and that STOP is heard beside them.

Raw sockets, and the limits as short as a test wants them; nothing waits longer than a limit.
"""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Awaitable
from dataclasses import dataclass, field
from typing import Any

import pytest
import uvicorn
from fake_control import until

from controller.page import gate as gate_module
from controller.page.connections import CONNECTIONS, Asking
from controller.page.gate import BODY_MOST, Gate
from controller.page.main import PageServer, bind

SHORT = 0.1
"""A limit that is waited out, [s]."""
LONG = 20.0
"""Nothing here takes this long, [s]; where it must not run out it is the limit."""
HEAD = b"Host: localhost\r\nOrigin: http://localhost\r\nX-Warmdraw: 1\r\n"
STOP = b"POST /api/stop HTTP/1.1\r\n" + HEAD + b"Content-Length: 2\r\n\r\n{}"
STREAM = b"GET /api/live HTTP/1.1\r\n" + HEAD + b"\r\n"
ACT = b"POST /api/acts HTTP/1.1\r\n" + HEAD + b"Content-Type: application/json\r\n"


@dataclass
class App:
    """An application behind the page's gate: a stream that goes on, and an answer to all else."""

    bodies: list[bytes] = field(default_factory=list)
    """What came through, whole."""
    streams: int = 0
    """Streams that are open."""

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        start = {"type": "http.response.start", "status": 200, "headers": []}
        if scope["path"] == "/api/live":
            self.streams += 1
            await send(start)
            await send({"type": "http.response.body", "body": b"data: 1\n\n", "more_body": True})
            while (await receive())["type"] != "http.disconnect":
                pass
            self.streams -= 1
            return
        self.bodies.append((await receive())["body"])
        body = json.dumps(len(self.bodies)).encode()
        start["headers"] = [(b"content-length", str(len(body)).encode())]
        await send(start)
        await send({"type": "http.response.body", "body": body})


@dataclass
class Port:
    """A page at a port, for as long as a test plays."""

    app: App
    server: PageServer
    number: int

    async def phone(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        return await asyncio.open_connection("127.0.0.1", self.number)

    async def asked(self, request: bytes) -> bytes:
        """The head of the answer to a request on a connection of its own."""
        reader, writer = await self.phone()
        writer.write(request)
        head = await reader.readuntil(b"\r\n\r\n")
        writer.close()
        return head

    def open(self) -> int:
        connections: Any = self.server.server_state.connections
        return sum(not one.transport.is_closing() for one in connections)


@contextlib.asynccontextmanager
async def port(head_time: float, most: int = CONNECTIONS) -> AsyncIterator[Port]:
    app = App()
    kind = type("Limited", (Asking,), {"head_time": head_time, "most": most})
    config = uvicorn.Config(
        Gate(app, ()), http=kind, lifespan="off", ws="none", log_config=None, access_log=False
    )
    server = PageServer(config, lambda: None)
    with contextlib.closing(bind("127.0.0.1", 0)) as listener:
        serving = asyncio.create_task(server.serve([listener]))
        here = Port(app, server, listener.getsockname()[1])
        await until(lambda: server.started)
        try:
            yield here
        finally:
            server.leave()
            server._insist()
            await serving


def played(story: Awaitable[None]) -> None:
    async def within() -> None:
        async with asyncio.timeout(2 * LONG):
            await story

    asyncio.run(within())


async def ends(reader: asyncio.StreamReader) -> bytes:
    """What is still said before the connection ends, which it has to."""
    said = b""
    with contextlib.suppress(ConnectionError):
        async with asyncio.timeout(LONG):
            while more := await reader.read(65536):
                said += more
    return said


@pytest.mark.parametrize("said", [b"", b"GET /api/snap", STOP[:-2][:40]])
def test_a_connection_that_does_not_say_what_it_wants_goes(said: bytes) -> None:
    async def story() -> None:
        async with port(SHORT) as page:
            reader, writer = await page.phone()
            writer.write(said)
            assert await ends(reader) == b""
            await until(lambda: page.open() == 0)
            writer.close()

    played(story())


def test_a_drop_now_and_then_does_not_keep_a_connection_alive() -> None:
    async def story() -> None:
        async with port(SHORT) as page:
            reader, writer = await page.phone()
            writer.write(b"GET / HTTP/1.1\r\n")
            ending = asyncio.create_task(ends(reader))
            drops = 0
            while not ending.done():
                writer.write(b"X: y\r\n" if drops < 500 else b"")
                drops += 1
                await asyncio.sleep(0)
            assert await ending == b""
            assert page.app.bodies == []
            writer.close()

    played(story())


def test_after_an_answer_the_next_head_has_its_time_and_no_more() -> None:
    async def story() -> None:
        async with port(SHORT) as page:
            reader, writer = await page.phone()
            writer.write(STOP + b"POST /api/st")
            assert (await reader.readuntil(b"\r\n\r\n")).startswith(b"HTTP/1.1 200")
            assert await ends(reader) == b"1"
            writer.close()

    played(story())


def test_a_request_under_way_is_given_all_the_time_it_takes() -> None:
    async def story() -> None:
        async with port(SHORT) as page:
            reader, writer = await page.phone()
            writer.write(STREAM)
            await reader.readuntil(b"data: 1")
            # a connection that says nothing has come and gone meanwhile
            silent, other = await page.phone()
            await ends(silent)
            assert page.app.streams == 1
            other.close()
            writer.close()

    played(story())


@pytest.mark.parametrize(
    "length", [b"Content-Length: 100000000", b"Transfer-Encoding: chunked"], ids=["told", "endless"]
)
def test_a_body_of_a_hundred_megabytes_is_not_taken(length: bytes) -> None:
    """Told or endless, it is read to the limit, refused, and then hung up on."""

    async def story() -> None:
        async with port(LONG) as page:
            _, writer = await page.phone()
            writer.write(ACT + length + b"\r\n\r\n")
            sent, piece = 0, b"8000\r\n" + b"x" * 0x8000 + b"\r\n"
            with contextlib.suppress(ConnectionError):
                while sent < 100_000_000:
                    writer.write(piece)
                    await writer.drain()
                    sent += len(piece)
            # what the two ends' buffers hold and no more
            assert sent < 20_000_000
            await until(lambda: page.open() == 0)
            assert page.app.bodies == []
            writer.close()

    played(story())


def test_too_long_a_body_is_told_so_where_the_phone_listens() -> None:
    async def story() -> None:
        async with port(LONG) as page:
            reader, writer = await page.phone()
            writer.write(ACT + b"Content-Length: 100000000\r\n\r\n" + b"x" * (BODY_MOST + 1))
            said = await ends(reader)
            assert said.startswith(b"HTTP/1.1 413") and b"\r\nconnection: close\r\n" in said
            writer.close()

    played(story())


def test_stop_is_obeyed_whatever_is_sent_after_it() -> None:
    async def story() -> None:
        async with port(LONG) as page:
            reader, writer = await page.phone()
            head = STOP.replace(b"Content-Length: 2", b"Content-Length: 100000000")
            writer.write(head + b"x" * (BODY_MOST + 1))
            said = await ends(reader)
            assert said.startswith(b"HTTP/1.1 200") and b"\r\nconnection: close\r\n" in said
            assert page.app.bodies == [b""]
            writer.close()

    played(story())


def test_a_body_that_does_not_come_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate_module, "BODY_TIME", SHORT)

    async def story() -> None:
        async with port(LONG) as page:
            reader, writer = await page.phone()
            writer.write(ACT + b"Content-Length: 9\r\n\r\n")
            assert (await ends(reader)).startswith(b"HTTP/1.1 408")
            writer.close()

    played(story())


def test_the_rest_of_a_body_that_was_refused_unread_has_its_time_and_no_more() -> None:
    async def story() -> None:
        async with port(SHORT) as page:
            reader, writer = await page.phone()
            head = ACT.replace(b"Origin: http://localhost", b"Origin: http://elsewhere")
            writer.write(head + b"Content-Length: 100000000\r\n\r\n")
            ending = asyncio.create_task(ends(reader))
            while not ending.done():
                writer.write(b"x" * 100)
                await asyncio.sleep(0)
            assert (await ending).startswith(b"HTTP/1.1 403")
            writer.close()

    played(story())


def test_whoever_is_new_is_heard_and_who_waits_longest_for_nothing_goes() -> None:
    async def story() -> None:
        async with port(LONG, most=8) as page:
            reader, writer = await page.phone()
            writer.write(STREAM)
            await reader.readuntil(b"data: 1")
            idle = [await page.phone() for _ in range(40)]
            assert (await page.asked(STOP)).startswith(b"HTTP/1.1 200")
            await until(lambda: page.open() <= 8)
            assert page.app.streams == 1, "it asked for something, so it stays"
            for first, _ in idle[:30]:
                assert await ends(first) == b""
            for _, one in idle:
                one.close()
            writer.close()

    played(story())


def test_where_everybody_asks_for_something_the_oldest_goes() -> None:
    async def story() -> None:
        async with port(LONG, most=4) as page:
            looking = []
            for _ in range(6):
                reader, writer = await page.phone()
                writer.write(STREAM)
                await reader.readuntil(b"data: 1")
                looking.append((reader, writer))
            assert (await page.asked(STOP)).startswith(b"HTTP/1.1 200")
            assert await ends(looking[0][0]) is not None
            for _, one in looking:
                one.close()

    played(story())


def test_hundreds_of_connections_more_than_there_is_room_for_leave_stop_alone() -> None:
    async def story() -> None:
        async with port(LONG, most=150) as page:
            idle = []
            for _ in range(400):
                idle.append(await page.phone())
            assert (await page.asked(STOP)).startswith(b"HTTP/1.1 200")
            await until(lambda: page.open() <= 150)
            for _, one in idle:
                one.close()

    played(story())
