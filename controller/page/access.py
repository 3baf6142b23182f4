"""Who may look and who may act.

Looking needs no role. Acting needs one: a paired phone, or a browser on the rig's own machine.
STOP needs none.
"""

import hashlib
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection

from controller.page.gate import address_of
from controller.page.ledger import Ledger, Pairing
from controller.page.pairing import this_boot

COOKIE = "warmdraw"
ID_LENGTH = 16
"""Letters of a pairing's id. Own: of PAIRINGS at most, no two begin alike."""
CONTROL_LIFE = 12 * 3600.0
"""How long a pairing lasts, [s]: common practice, no source; a long day in the shop."""
PAIRINGS = 32
"""Pairings kept; the oldest go. Own."""
TOKEN_BYTES = 32
"""256 bits; 128 are asked for. [1] OWASP, ASVS 5.0, 2025, section V7.2.3."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Who sent a request."""

    address: str
    """Where from."""
    may_act: bool
    """Has the control role."""
    why: str
    """'at the rig', 'paired' or 'not paired'."""
    name: str | None = None
    """What the owner of a paired phone calls it."""
    left: float | None = None
    """How long the pairing still lasts, [s]."""
    token_hash: str | None = None
    """Of the pairing."""

    @property
    def signature(self) -> str:
        """How the record names the sender of an act."""
        if not self.may_act:
            return f"unpaired {self.address}"
        return f"paired: {self.name}" if self.name else self.why

    def must_be_paired(self) -> None:
        """Raises HTTPException 401 for a caller without the control role."""
        if not self.may_act:
            says = "This phone is not paired: run `warmdraw pair` at the rig."
            raise HTTPException(401, says)


@dataclass(frozen=True, slots=True)
class Standing:
    """A pairing that has not run out."""

    pairing: Pairing
    """Whose."""
    left: float
    """How long it still lasts, [s]."""

    @property
    def id(self) -> str:
        """What to call it by: the start of the hash, which opens nothing."""
        return self.pairing.token_hash[:ID_LENGTH]


def token_hash(token: str) -> str:
    """How a token is kept: SHA-256 is enough for a random one."""
    return hashlib.sha256(token.encode()).hexdigest()


class Doorkeeper:
    """Knows the callers: makes pairings and reads them back off a request.

    The pairings are held in memory as well, so that asking who calls never waits for a disk.
    """

    def __init__(
        self,
        ledger: Ledger,
        *,
        monotonic: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
        boot: Callable[[], str] = this_boot,
    ) -> None:
        self._ledger = ledger
        self._monotonic = monotonic
        self._wall = wall
        self._boot = boot
        self._pairings = {p.token_hash: p for p in ledger.pairings()}

    def pair(self, name: str | None) -> str:
        """A new token for a phone, good for CONTROL_LIFE; known to nobody else afterwards."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        pairing = Pairing(
            token_hash=token_hash(token),
            name=name,
            paired_utc=self._wall(),
            boot=self._boot(),
            ends_mono=self._monotonic() + CONTROL_LIFE,
            ends_utc=self._wall() + CONTROL_LIFE,
        )
        self._ledger.pair(pairing, PAIRINGS)
        self._pairings[pairing.token_hash] = pairing
        while len(self._pairings) > PAIRINGS:
            del self._pairings[next(iter(self._pairings))]
        return token

    def unpair(self, caller: Caller) -> None:
        """Ends the caller's pairing, if there is one."""
        if caller.token_hash is not None:
            self._end(caller.token_hash)

    def paired(self) -> tuple[Standing, ...]:
        """The pairings that have not run out, oldest first."""
        found = ((pairing, self._left(pairing)) for pairing in self._pairings.values())
        return tuple(Standing(pairing, left) for pairing, left in found if left > 0)

    def revoke(self, id: str | None, name: str | None) -> tuple[str, ...]:
        """Ends the pairing of that id, or all of that name; the token hashes of those ended."""
        ended = tuple(
            standing.pairing.token_hash
            for standing in self.paired()
            if (standing.id == id if id is not None else standing.pairing.name == name)
        )
        for token in ended:
            self._end(token)
        return ended

    def _end(self, token: str) -> None:
        self._pairings.pop(token, None)
        self._ledger.unpair(token)

    def caller(self, request: HTTPConnection) -> Caller:
        """Who sent this.

        A client on loopback is at the rig and may act (own choice): whoever can run a browser or
        open a tunnel there can run `warmdraw press` as well, so a PIN would stop nobody. What a
        proxy passed on is not at the rig.
        """
        address = request.client.host if request.client else "unknown"
        token = _token(request)
        if token is not None:
            pairing = self._pairings.get(token_hash(token))
            left = 0.0 if pairing is None else self._left(pairing)
            if pairing is not None and left > 0:
                return Caller(address, True, "paired", pairing.name, left, pairing.token_hash)
        where = address_of(address)
        if where is not None and where.is_loopback and not _passed_on(request.headers):
            return Caller(address, True, "at the rig")
        return Caller(address, False, "not paired")

    def _left(self, pairing: Pairing) -> float:
        # within one boot the monotonic clock counts; a wall clock that is set changes nothing
        if pairing.boot == self._boot():
            return pairing.ends_mono - self._monotonic()
        return pairing.ends_utc - self._wall()


async def _caller(request: Request) -> Caller:
    door: Doorkeeper = request.app.state.door
    return door.caller(request)


Who = Annotated[Caller, Depends(_caller)]
"""The caller, as a route asks for it."""


def _token(request: HTTPConnection) -> str | None:
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and token:
        return token.strip()
    return request.cookies.get(COOKIE)


def _passed_on(headers: Headers) -> bool:
    return any(name in headers for name in ("x-forwarded-for", "forwarded", "x-real-ip", "via"))
