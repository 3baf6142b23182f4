"""Pairing: the six digits a person types once, and how often they may be tried.

`warmdraw pair` writes the digits into the page's own folder; the page reads them there. Both ask
the monotonic clock of this boot, so a wall clock that is set does not lengthen the ten minutes.
"""

import hmac
import json
import os
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from controller.errors import InputError
from controller.whole_files import half_file, into_place

PIN_LIFE = 600.0
"""How long a PIN is good for, [s]: common practice, no source."""
TRIES_PER_ADDRESS = 5
"""Tries one address has in PIN_LIFE. Own."""
TRIES_PER_HOUR = 20
"""Tries all addresses have together in an hour. Own: 20 in 10^6 PINs, 1 in 50 000."""
HOUR = 3600.0
LOCK = 900.0
"""How long nobody may try once TRIES_PER_HOUR are used up, [s]. Own. STOP knows nothing of it."""

FILE = "pairing.json"


def this_boot() -> str:
    """The name of this boot of the machine, under which its monotonic clock has a meaning."""
    return Path("/proc/sys/kernel/random/boot_id").read_text().strip()


def open_pairing(state_folder: Path, monotonic: Callable[[], float] = time.monotonic) -> str:
    """A fresh six-digit PIN, good once within ten minutes; any earlier one is void.

    state_folder: the page's        monotonic: the clock of this boot, [s]

    The file holds the digits as they are: a hash of six digits hides nothing, its mode (0600,
    owner as the folder's) does. Raises InputError where the folder is not there or not ours.
    """
    pin = f"{secrets.randbelow(10**6):06}"
    path = state_folder / FILE
    text = json.dumps({"pin": pin, "boot": this_boot(), "opened_mono": monotonic()})
    try:
        owner = state_folder.stat()
        with half_file(path, 0o600) as fresh:
            fresh.write_text(text, encoding="ascii")
            if os.geteuid() == 0:  # the command may be run with sudo; the page is not root
                os.chown(fresh, owner.st_uid, owner.st_gid)
            into_place(fresh, path)
    except OSError as error:
        raise InputError(
            f"{path}: {error.strerror}; run `warmdraw pair` as the user of the page, or with sudo"
        ) from error
    return pin


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a try at pairing came to."""

    paired: bool
    """The PIN was right."""
    says: str
    """One sentence."""
    wait: float | None = None
    """Seconds until another try is allowed, where there were too many."""


@dataclass(slots=True)
class PinDesk:
    """Where PINs are tried. Lives with the page; it keeps at most an hour of tries."""

    folder: Path
    monotonic: Callable[[], float] = time.monotonic
    _tries: deque[tuple[float, str]] = field(default_factory=deque)
    _locked_until: float = 0.0

    def is_open(self) -> bool:
        """Somebody ran `warmdraw pair` within the last ten minutes."""
        return self._pin() is not None

    def attempt(self, pin: str, address: str) -> Verdict:
        """Tries a PIN from an address, and closes the pairing when it is right."""
        wait = self._wait(address)
        if wait > 0:
            return Verdict(False, "Too many tries: wait, then run `warmdraw pair` again.", wait)
        wanted = self._pin()
        if wanted is None:
            return Verdict(False, "Pairing is not open: run `warmdraw pair` at the rig.")
        now = self.monotonic()
        self._tries.append((now, address))
        if hmac.compare_digest(wanted.encode(), pin.encode()):
            self._close()
            return Verdict(True, "Paired.")
        if sum(at > now - HOUR for at, _ in self._tries) >= TRIES_PER_HOUR:
            self._locked_until = now + LOCK
            self._tries.clear()
            self._close()
        return Verdict(False, "That is not the PIN: look again at what `warmdraw pair` shows.")

    def _wait(self, address: str) -> float:
        now = self.monotonic()
        while self._tries and self._tries[0][0] <= now - HOUR:
            self._tries.popleft()
        if now < self._locked_until:
            return self._locked_until - now
        mine = [at for at, by in self._tries if by == address and at > now - PIN_LIFE]
        if len(mine) >= TRIES_PER_ADDRESS:
            return mine[-TRIES_PER_ADDRESS] + PIN_LIFE - now
        return 0.0

    def _pin(self) -> str | None:
        try:
            told = json.loads((self.folder / FILE).read_text())
            age = self.monotonic() - float(told["opened_mono"])
            good = told["boot"] == this_boot() and 0 <= age < PIN_LIFE
            return str(told["pin"]) if good else None
        except (FileNotFoundError, PermissionError, ValueError, KeyError, TypeError):
            # a file that is not there, not ours or makes no sense opens nothing
            return None

    def _close(self) -> None:
        (self.folder / FILE).unlink(missing_ok=True)
