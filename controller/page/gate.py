"""What is asked of every request before a route sees it: from where, by which name, how large.

No try limit, lock or missing header holds up STOP; only what no phone that shows the page can send
(a foreign Host or Origin, a public address) is refused for STOP too.
"""

import asyncio
import json
from collections.abc import Iterable
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

API = 1
"""Version of the API; a page that was loaded from an older one is told to reload."""
BODY_MOST = 60_000
"""Largest request body, [bytes]: a batch sheet, within one line of the link. Own."""
BODY_TIME = 5.0
"""How long a body may take to arrive, [s]. Own."""
STOP_BODY_TIME = 0.3
"""How long the body of a STOP is waited for, [s]; it goes on without. Own."""
STOP_PATH = "/api/stop"

PRIVATE = tuple(
    ip_network(text)
    for text in (
        "127.0.0.0/8",
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)
"""Loopback, private and link-local addresses. [1] RFC 1918; RFC 3927; RFC 4193; RFC 4291."""

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})

RULES = {
    "content-security-policy": (
        "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none';"
        " form-action 'self'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
}
"""Headers of every answer: nothing from elsewhere, nothing to elsewhere, in nobody's frame."""


def address_of(text: str | None) -> IPv4Address | IPv6Address | None:
    """The address in `text`, an IPv4 address written as IPv6 unwrapped; None when it is none."""
    try:
        address = ip_address(text or "")
    except ValueError:
        return None
    if isinstance(address, IPv6Address) and address.ipv4_mapped is not None:
        return address.ipv4_mapped
    return address


def is_private(text: str | None) -> bool:
    """The address is of this machine, a home network or a link.

    >>> [is_private(a) for a in ("192.168.1.7", "::ffff:10.0.0.2", "8.8.8.8", "fd00::1")]
    [True, True, False, True]
    """
    address = address_of(text)
    # a scoped fe80::1%eth0 is in no network for ipaddress: judged without its scope
    if isinstance(address, IPv6Address) and address.scope_id is not None:
        address = IPv6Address(str(address).partition("%")[0])
    return address is not None and any(
        address.version == network.version and address in network for network in PRIVATE
    )


class Gate:
    """ASGI middleware in front of everything: address, Host, Origin, kind and size of a body."""

    def __init__(self, app: ASGIApp, names: Iterable[str]) -> None:
        """names: hosts this page answers to beside loopback and the address it is asked on"""
        self._app = app
        self._names = LOOPBACK_NAMES | {name.lower() for name in names}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
                return
            await self._app(scope, receive, send)
            return

        whole = True

        async def marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(RULES)
                if not whole:
                    # what is still on its way is not read to its end
                    headers["connection"] = "close"
                if scope["path"].startswith("/api/"):
                    headers.setdefault("cache-control", "no-store")
            await send(message)

        refusal = self._refusal(scope)
        body = b""
        if refusal is None and scope["method"] not in ("GET", "HEAD"):
            stop = scope["path"] == STOP_PATH
            try:
                async with asyncio.timeout(STOP_BODY_TIME if stop else BODY_TIME):
                    whole = False
                    body, whole = await _read(receive, BODY_MOST)
            except TimeoutError:
                refusal = None if stop else (408, "The request did not arrive in time: send again.")
            if len(body) > BODY_MOST:
                body = b""
                refusal = None if stop else (413, f"At most {BODY_MOST} bytes: send less.")
        if refusal is not None:
            await _refuse(marked, *refusal)
            return
        await self._app(scope, _replay(body, receive), marked)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        source = scope["client"][0] if scope.get("client") else None
        behind = ",".join(headers.getlist("x-forwarded-for")).split(",")
        if not is_private(source) or not all(is_private(a.strip()) for a in behind if a.strip()):
            return 403, "This page is for the shop's own network: use a VPN from outside."
        if not self._knows(headers.getlist("host"), scope):
            return 400, "This name is not the rig's: use its own name or address."
        if scope["method"] in ("GET", "HEAD"):
            return None
        origin = headers.get("origin")
        if origin is not None and origin.lower() not in (
            f"http://{headers['host'].lower()}",
            f"https://{headers['host'].lower()}",
        ):
            return 403, "Another web page asked for this: press on the rig's own page."
        if scope["path"] == STOP_PATH:
            return None
        bearer = headers.get("authorization", "").lower().startswith("bearer ")
        if origin is None and not bearer:
            return 403, "No Origin was sent: press on the rig's own page."
        version = headers.get("x-warmdraw")
        if version is None:
            return 403, "The X-Warmdraw header is missing: press on the rig's own page."
        if version != str(API):
            return 409, "The page has been renewed since it was loaded: reload it."
        if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
            return 415, "Send application/json."
        return None

    def _knows(self, hosts: list[str], scope: Scope) -> bool:
        if len(hosts) != 1:
            return False
        name, port = _split(hosts[0].lower())
        if not (port is None or port.isdecimal()):
            return False
        if name in self._names:
            return True
        # the very address the request came in on cannot be a name somebody rebound
        literal = address_of(name.strip("[]"))
        local = scope["server"][0] if scope.get("server") else None
        return literal is not None and literal == address_of(local)


def _split(host: str) -> tuple[str, str | None]:
    if host.endswith("]"):
        return host, None
    name, colon, port = host.rpartition(":")
    return (name, port) if colon else (host, None)


async def _read(receive: Receive, most: int) -> tuple[bytes, bool]:
    """The body, and whether it ended there; longer than `most` when it was, but never much."""
    body = b""
    while len(body) <= most:
        message = await receive()
        body += message.get("body", b"")
        if message["type"] == "http.disconnect" or not message.get("more_body", False):
            return body, True
    return body, False


def _replay(body: bytes, receive: Receive) -> Receive:
    first = True

    async def again() -> Message:
        nonlocal first
        if first:
            first = False
            return {"type": "http.request", "body": body, "more_body": False}
        return await receive()

    return again


async def _refuse(send: Send, status: int, says: str) -> None:
    body = json.dumps({"error": says}).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
