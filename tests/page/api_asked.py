"""One request put straight to the page's ASGI application, to the byte, and what came back.

Nothing between: no client library that would refuse to send a bad header, and an event stream is
hung up on after its first frame.
"""

import asyncio
import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import unquote

from fastapi import FastAPI
from starlette.types import Message

PORT = 8420
PATIENCE = 20.0
"""No answer takes this long, [s]."""


@dataclass(frozen=True)
class Asked:
    """A request as its bytes."""

    method: str
    target: str
    """Path and query, escaped."""
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""

    def __str__(self) -> str:
        return f"{self.method} {self.target[:200]} {dict(self.headers)} {self.body[:300]!r}"


@dataclass(frozen=True)
class Answered:
    """What the page said to it."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    crash: str | None = None
    """What the application raised after it had answered; the server would only log it."""

    def sentence(self) -> str | None:
        """The one sentence of a refusal; None where it is no such thing."""
        try:
            said = json.loads(self.body)
        except ValueError:
            return None
        text = said.get("error") if isinstance(said, dict) and list(said) == ["error"] else None
        return text if isinstance(text, str) and text.strip() and "\n" not in text else None


async def ask(app: FastAPI, asked: Asked, address: str) -> Answered:
    """What the page answers to a request from `address`."""
    path, _, query = asked.target.partition("?")
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": asked.method,
        "scheme": "http",
        "path": unquote(path, errors="replace"),
        "raw_path": path.encode("ascii", "replace"),
        "query_string": query.encode("ascii", "replace"),
        "root_path": "",
        "headers": [
            (name.lower().encode("latin-1"), value.encode("latin-1", "replace"))
            for name, value in asked.headers.items()
        ],
        "client": (address, 50_000),
        "server": ("192.168.1.2", PORT),
    }
    sent: list[Message] = []
    parts = [asked.body]
    has_had_enough = asyncio.Event()

    async def receive() -> Message:
        if parts:
            return {"type": "http.request", "body": parts.pop(), "more_body": False}
        await has_had_enough.wait()
        return {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)
        if message.get("body"):
            has_had_enough.set()

    crash = None
    try:
        async with asyncio.timeout(PATIENCE):
            await app(scope, receive, send)
    except Exception as error:
        if not sent:
            raise
        crash = f"{type(error).__name__}: {error}"
    status = next(m["status"] for m in sent if m["type"] == "http.response.start")
    headers = {
        name.decode("latin-1"): value.decode("latin-1")
        for m in sent
        if m["type"] == "http.response.start"
        for name, value in m["headers"]
    }
    body = b"".join(m.get("body", b"") for m in sent)
    # an event stream that was hung up on is half a file
    if headers.get("content-encoding") == "gzip":
        body = zlib.decompressobj(16 + zlib.MAX_WBITS).decompress(body)
    return Answered(status, headers, body, crash)
