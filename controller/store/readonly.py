"""The log as another process opens it, without ever being in the writer's way.

Rule 1: read-only, one connection a question, each statement on its own and never a transaction
left open: a reader that stays in one lets the write-ahead file grow without end.
Rule 2: after a clean stop of the writer no write-ahead file stands beside the log. Opened in the
usual way it would then be refused to another user, or get a fresh one that is in the writer's way
later. So it is read as a file that does not change; and if a write-ahead file stands there
afterwards, the writer came back meanwhile and the question is asked again.
"""

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from controller.errors import BusyError, InputError
from controller.store import schema

PATIENCE = 2.0
"""How long a question waits for a lock, [s]. Own."""
TRIES = 3
"""How often a question is asked when the writer comes or goes meanwhile. Own."""


class ReadOnly:
    """The file of a log, for reading; nothing of it is kept open between two questions."""

    def __init__(self, path: Path) -> None:
        """path: of the log; it need not be there yet."""
        self.path = path

    def rows(self, sql: str, values: Sequence[Any] | Mapping[str, Any] = ()) -> list[Any]:
        """All rows of one statement.

        Raises InputError when the log cannot be read, BusyError when its writer came and went.
        """
        wal = self.path.with_name(self.path.name + "-wal")
        for _ in range(TRIES):
            if not self.path.exists():
                raise InputError(f"no log at {self.path}; has control run here yet?")
            still = not wal.exists()
            try:
                found = self._once("immutable=1" if still else "mode=ro", sql, values)
            except sqlite3.Error as error:
                # Worth another try only when the writer went or came meanwhile.
                if wal.exists() is not still:
                    raise InputError(
                        f"{self.path}: cannot be read ({error}); is control running?"
                    ) from error
                continue
            if not (still and wal.exists()):
                return found
        raise BusyError(f"{self.path}: the log is being opened and closed; try again")

    def _once(self, how: str, sql: str, values: Sequence[Any] | Mapping[str, Any]) -> list[Any]:
        address = f"{self.path.resolve().as_uri()}?{how}"
        with closing(
            sqlite3.connect(address, uri=True, timeout=PATIENCE, isolation_level=None)
        ) as connection:
            schema.read_flipped_bits(connection)
            schema.refuse_strangers(connection, str(self.path))
            schema.refuse_old(connection, str(self.path))
            return connection.execute(sql, values).fetchall()
