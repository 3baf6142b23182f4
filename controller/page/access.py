"""Who may look and who may act.

Looking needs no role. Acting needs one: a paired phone, or a browser on the rig's own machine.
STOP needs none.
"""

import hashlib
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection

from controller.page.gate import address_of
from controller.page.ledger import Ledger, Pairing
from controller.page.pairing import this_boot

COOKIE = "warmdraw"
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
            self._pairings.pop(caller.token_hash, None)
            self._ledger.unpair(caller.token_hash)

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


def _token(request: HTTPConnection) -> str | None:
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and token:
        return token.strip()
    return request.cookies.get(COOKIE)


def _passed_on(headers: Headers) -> bool:
    return any(name in headers for name in ("x-forwarded-for", "forwarded", "x-real-ip", "via"))
