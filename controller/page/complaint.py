"""A line for the journal that may be due many times a second, and is wanted now and then."""

import logging
import time
from collections.abc import Callable

EACH = 60.0
"""The same complaint is made at most so often, [s]. Own: the journal lies on that same disk."""


class Complaint:
    """One thing to complain of, with how often it came since the last line of it."""

    def __init__(
        self, log: logging.Logger, *, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._log = log
        self._monotonic = monotonic
        self._said_at = float("-inf")
        self._unsaid = 0

    def came(self, text: str) -> None:
        """It is there again."""
        now = self._monotonic()
        if now - self._said_at < EACH:
            self._unsaid += 1
            return
        more = f" ({self._unsaid} times more since the last line)" if self._unsaid else ""
        self._log.error("%s%s", text, more)
        self._said_at, self._unsaid = now, 0
