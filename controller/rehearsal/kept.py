"""A file of what was played, a line of JSON each: what was broken off goes on where it was."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar, cast

from pydantic import TypeAdapter, ValidationError

from controller.errors import InputError


class Named(Protocol):
    """What was played, under a name of its own."""

    @property
    def name(self) -> str:
        """Plays it again."""


T = TypeVar("T", bound=Named)


class KeptFile(Generic[T]):
    """The file, or none where nothing is to be kept."""

    def __init__(self, path: Path | None, of: type[T]) -> None:
        """of: the dataclass of a line"""
        self._path = path
        self._lines = TypeAdapter(of)

    def read(self) -> dict[str, T]:
        """What is in it by name; nothing where it is not there yet.

        Raises InputError for a file that holds something else.
        """
        if self._path is None or not self._path.exists():
            return {}
        found = {}
        for number, line in enumerate(self._path.read_text(encoding="utf-8").splitlines(), 1):
            try:
                each = self._lines.validate_json(line)
            except ValidationError as error:
                raise InputError(
                    f"{self._path}, line {number}: not a story that was played; name another file"
                ) from error
            found[each.name] = each
        return found

    def add(self, each: T) -> None:
        """Put one more at its end."""
        if self._path is not None:
            with self._path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(cast(Any, each))) + "\n")
