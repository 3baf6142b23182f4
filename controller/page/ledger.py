"""The page's own small database: who is paired, what falls due, which acts were answered.

Nothing here decides anything about the rig. It may be lost: phones pair again, due times come back
with the next snapshot, and control keeps its own answers.
"""

import logging
import sqlite3
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from controller.errors import InputError
from controller.store.trouble import of_the_disk

log = logging.getLogger(__name__)

DueState = Literal["coming", "due", "done"]

STEPS = (
    """
    CREATE TABLE pairing (
        token_hash TEXT PRIMARY KEY, name TEXT, paired_utc REAL NOT NULL,
        boot TEXT NOT NULL, ends_mono REAL NOT NULL, ends_utc REAL NOT NULL
    );
    CREATE TABLE due (
        batch TEXT NOT NULL, what TEXT NOT NULL, at_utc REAL NOT NULL, until_utc REAL,
        state TEXT NOT NULL CHECK (state IN ('coming', 'due', 'done')),
        PRIMARY KEY (batch, what)
    );
    CREATE TABLE act (
        id TEXT PRIMARY KEY, digest TEXT NOT NULL, received_utc REAL NOT NULL,
        accepted INTEGER, text TEXT
    );
    """,
)
"""Schema steps, applied in order and never edited."""

ACTS_KEPT = 2_000
"""Acts remembered for a repeated press; the newest stay. Own: a week of a busy shop."""
DONE_KEPT = 100
"""Due times of the past that are kept. Own."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """One paired phone."""

    token_hash: str
    """SHA-256 of its token; the token itself is kept nowhere."""
    name: str | None
    """What its owner calls it."""
    paired_utc: float
    """Wall time of the pairing, seconds since 1970."""
    boot: str
    """The boot of the machine in which it was paired."""
    ends_mono: float
    """When it ends on that boot's monotonic clock, [s]."""
    ends_utc: float
    """When it ends by the calendar; counts only after another boot."""


@dataclass(frozen=True, slots=True)
class DueTime:
    """One line of the calendar, in told time."""

    batch: str
    """Whose."""
    what: str
    """In the trade's words."""
    at_utc: float
    """Seconds since 1970."""
    until_utc: float | None
    """The late end, where it is a range."""
    state: DueState
    """Before its time, from then on, or no longer asked for."""


@dataclass(frozen=True, slots=True)
class Pressed:
    """One act that came through the page."""

    digest: str
    """Of its body: the same id with another body is refused."""
    received_utc: float
    """Wall time of its first receipt."""
    accepted: bool | None
    """What control said; None while no answer is known."""
    text: str | None
    """The sentence of the answer."""


class Ledger:
    """The page's database. Safe to call from any thread; each call is one short transaction."""

    def __init__(self, path: Path) -> None:
        """Opens or makes it. Raises InputError where the file is not ours to use."""
        self._lock = threading.Lock()
        # own choice: NORMAL, not FULL. A power cut may lose the last pairing, never the file.
        self._db = sqlite3.connect(path, check_same_thread=False, isolation_level=None)
        try:
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = NORMAL")
            self._grow(path)
        except sqlite3.DatabaseError as error:
            self._db.close()
            raise InputError(
                f"{path}: {error}; move the file away, the page makes a new one and phones pair"
                " again"
            ) from error
        except InputError:
            self._db.close()
            raise

    @classmethod
    def open(cls, path: Path) -> "Ledger":
        """The file's, or one in memory where its disk takes nothing: STOP must reach control all
        the same, and phones pair anew. Raises InputError where the file is not ours to use."""
        try:
            return cls(path)
        except InputError as error:
            if not isinstance(error.__cause__, sqlite3.Error) or not of_the_disk(error.__cause__):
                raise
            log.error("%s: %s; pairings are in memory only", path, error.__cause__)
            return cls(Path(":memory:"))

    def _grow(self, path: Path) -> None:
        (version,) = self._db.execute("PRAGMA user_version").fetchone()
        if version > len(STEPS):
            raise InputError(
                f"{path} was written by a newer warmdraw (step {version}, this one knows"
                f" {len(STEPS)}); install that one again, or move the file away"
            )
        for number, step in enumerate(STEPS[version:], start=version + 1):
            self._db.executescript(f"BEGIN; {step} PRAGMA user_version = {number}; COMMIT;")

    def close(self) -> None:
        """Lets go of the file. Safe to call twice."""
        with self._lock:
            self._db.close()

    # Pairings

    def pair(self, pairing: Pairing, most: int) -> None:
        """Adds a pairing; the oldest go when there are more than `most`."""
        with self._lock, self._db:
            self._db.execute("BEGIN")
            self._db.execute(
                "INSERT INTO pairing VALUES (?, ?, ?, ?, ?, ?)",
                (
                    pairing.token_hash,
                    pairing.name,
                    pairing.paired_utc,
                    pairing.boot,
                    pairing.ends_mono,
                    pairing.ends_utc,
                ),
            )
            self._db.execute(
                "DELETE FROM pairing WHERE rowid NOT IN"
                " (SELECT rowid FROM pairing ORDER BY rowid DESC LIMIT ?)",
                (most,),
            )

    def pairings(self) -> tuple[Pairing, ...]:
        """All of them, ended or not."""
        with self._lock:
            rows = self._db.execute(
                "SELECT token_hash, name, paired_utc, boot, ends_mono, ends_utc"
                " FROM pairing ORDER BY rowid"
            ).fetchall()
        return tuple(Pairing(*row) for row in rows)

    def unpair(self, token_hash: str) -> None:
        """Ends a pairing; one that is not there has ended already."""
        with self._lock:
            self._db.execute("DELETE FROM pairing WHERE token_hash = ?", (token_hash,))

    # Due times

    def due(self) -> tuple[DueTime, ...]:
        """Every line of the calendar, earliest first."""
        with self._lock:
            rows = self._db.execute(
                "SELECT batch, what, at_utc, until_utc, state FROM due ORDER BY at_utc, what"
            ).fetchall()
        return tuple(DueTime(*row) for row in rows)

    def write_due(self, lines: Iterable[DueTime]) -> None:
        """Adds or changes lines, and drops the oldest that are done."""
        with self._lock, self._db:
            self._db.execute("BEGIN")
            self._db.executemany(
                "INSERT OR REPLACE INTO due VALUES (?, ?, ?, ?, ?)",
                [(d.batch, d.what, d.at_utc, d.until_utc, d.state) for d in lines],
            )
            self._db.execute(
                "DELETE FROM due WHERE state = 'done' AND rowid NOT IN (SELECT rowid FROM due"
                " WHERE state = 'done' ORDER BY at_utc DESC LIMIT ?)",
                (DONE_KEPT,),
            )

    # Acts

    def pressed(self, act: str) -> Pressed | None:
        """What is known of an act that came before."""
        with self._lock:
            row = self._db.execute(
                "SELECT digest, received_utc, accepted, text FROM act WHERE id = ?", (act,)
            ).fetchone()
        if row is None:
            return None
        digest, received_utc, accepted, text = row
        return Pressed(digest, received_utc, None if accepted is None else bool(accepted), text)

    def press(self, act: str, digest: str, received_utc: float) -> None:
        """Writes down an act on its way to control."""
        with self._lock, self._db:
            self._db.execute("BEGIN")
            self._db.execute(
                "INSERT INTO act (id, digest, received_utc) VALUES (?, ?, ?)",
                (act, digest, received_utc),
            )
            self._db.execute(
                "DELETE FROM act WHERE rowid NOT IN"
                " (SELECT rowid FROM act ORDER BY rowid DESC LIMIT ?)",
                (ACTS_KEPT,),
            )

    def answer(self, act: str, accepted: bool, text: str) -> None:
        """Writes down what control said."""
        with self._lock:
            self._db.execute(
                "UPDATE act SET accepted = ?, text = ? WHERE id = ?", (accepted, text, act)
            )
