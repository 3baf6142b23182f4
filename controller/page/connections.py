"""Connections that ask for nothing: how long one may take to say what it wants, and how many stay.

uvicorn waits without end for the head of a request, reads the rest of a body nobody wants, and
turns everybody away, STOP too, where too many connections are open. Here whoever is slow goes, and
whoever is new is heard.
"""

import asyncio
from typing import cast

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_TIME = 5.0
"""How long the head of a request may take, from the connection's begin or the last answer, [s]. The
rest of a body that was answered without it has as long. Own."""
CONNECTIONS = 700
"""Connections open at once; beyond them the one goes that has been there longest without asking for
anything. Own: two thirds of the 1024 files a process may open where nobody said otherwise, and some
seconds of a flood, so that who came in a burst is read before it is pushed out by the next."""


class Asking(H11Protocol):
    """One connection, which has to ask for something to stay."""

    head_time = HEAD_TIME
    most = CONNECTIONS
    came: float
    """When it began, on the loop's clock, [s]."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """A phone has connected: there is room for it, whoever has to go."""
        self.came = self.loop.time()
        self._timer: asyncio.TimerHandle | None = None
        self._make_room()
        super().connection_made(transport)
        self._look()

    def connection_lost(self, exc: Exception | None) -> None:
        """It has gone."""
        super().connection_lost(exc)
        self._forget()

    def data_received(self, data: bytes) -> None:
        """Some bytes: of a head, which has its time, or of what comes after it."""
        super().data_received(data)
        self._look()

    def on_response_complete(self) -> None:
        """An answer is out: the next head has its time."""
        super().on_response_complete()
        self._look()

    def asks(self) -> bool:
        """A request is here, and its answer is not out yet."""
        return self.cycle is not None and not self.cycle.response_complete

    def _look(self) -> None:
        if self.asks() or self.transport.is_closing():
            self._forget()
        elif self._timer is None:
            # counted from here and not from the last byte, or a drop a second would keep it alive
            self._timer = self.loop.call_later(self.head_time, self.transport.abort)

    def _forget(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _make_room(self) -> None:
        # uvicorn takes one out only in a later turn of the loop
        here = [
            one for one in cast("set[Asking]", self.connections) if not one.transport.is_closing()
        ]
        if len(here) >= self.most:
            min(here, key=lambda one: (one.asks(), one.came)).transport.abort()
