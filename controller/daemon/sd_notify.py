"""What the service manager is told: that control is ready, alive, or on its way out."""

import os
import socket
from collections.abc import Callable

from controller.daemon.clock import boottime

ALIVE_EACH = 1.0
"""Signs of life are at least this far apart, [s]; a tenth of the unit's WatchdogSec. Own."""


class Notifier:
    """Tells systemd over the socket it named; says nothing where there is none.

    The protocol: [1] systemd, manual page sd_notify(3).
    """

    def __init__(self, address: str | None = None) -> None:
        """address: of the socket; the one in NOTIFY_SOCKET when left out"""
        given = os.environ.get("NOTIFY_SOCKET", "") if address is None else address
        # a leading @ stands for the zero byte of an abstract address
        self._address = "\0" + given[1:] if given.startswith("@") else given
        self._last_alive = float("-inf")

    def ready(self) -> None:
        """The first whole tick is done."""
        self._say("READY=1")

    def alive(self, status: Callable[[], str]) -> None:
        """A whole good tick is done; `status` makes one line for `systemctl status`."""
        now = boottime()
        if now - self._last_alive >= ALIVE_EACH:
            self._last_alive = now
            self._say(f"WATCHDOG=1\nSTATUS={status()}")

    def stopping(self) -> None:
        """Outputs are off, and the rest is being put away."""
        self._say("STOPPING=1")

    def _say(self, text: str) -> None:
        if not self._address:
            return
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as out:
                # a manager that does not listen must not hold the lamp's loop
                out.setblocking(False)
                out.sendto(text.encode(), self._address)
        except OSError:
            # not heard, it takes control for dead and starts it anew: it needs no word of ours
            return
