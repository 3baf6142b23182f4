"""The same work for many names, shared over the cores and kept line by line as it ends.

What was done is a line of JSON in a file; a run that was broken off goes on where it stood.
"""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter
from typing import Generic, Protocol, TypeVar

from pydantic import TypeAdapter, ValidationError

from controller.errors import InputError


class Named(Protocol):
    """What came out for one name."""

    @property
    def name(self) -> str:
        """Asked for by it."""


Done = TypeVar("Done", bound=Named)


@dataclass(frozen=True, slots=True)
class Shared(Generic[Done]):
    """What came out of all of it."""

    all: tuple[Done, ...]
    """In the order they were asked for."""
    wall_s: float
    """From start to end of this run, [s]."""
    fresh: int
    """How many were done in this run; the others were kept from an earlier one."""
    cores: int
    """On how many cores."""


def share(
    names: Sequence[str],
    work: Callable[[str], Done],
    kind: TypeAdapter[Done],
    kept: Path | None = None,
    tell: Callable[[Done], None] = lambda done: None,
    cores: int | None = None,
) -> Shared[Done]:
    """Do the work for each name once.

    work: a function of a module, which a fresh interpreter can find
    kind: what it makes
    kept: a file of what was done; those in it are not done again, the others are added
    tell: hears of each as it ends      cores: all there are for None

    Raises InputError for a file that holds something else.
    """
    cores = cores or os.cpu_count() or 1
    done = {} if kept is None or not kept.exists() else _read(kept, kind)
    missing = [name for name in dict.fromkeys(names) if name not in done]
    started = perf_counter()
    # a fresh interpreter each: nothing of this process, its threads or signal handlers goes along
    with ProcessPoolExecutor(min(cores, len(missing)) or 1, get_context("spawn")) as pool:
        for each in pool.map(work, missing):
            done[each.name] = each
            if kept is not None:
                with kept.open("a", encoding="utf-8") as file:
                    file.write(kind.dump_json(each).decode() + "\n")
            tell(each)
    wall = perf_counter() - started
    return Shared(tuple(done[name] for name in dict.fromkeys(names)), wall, len(missing), cores)


def _read(kept: Path, kind: TypeAdapter[Done]) -> dict[str, Done]:
    found = {}
    for number, line in enumerate(kept.read_text(encoding="utf-8").splitlines(), 1):
        try:
            each = kind.validate_json(line)
        except ValidationError as error:
            raise InputError(
                f"{kept}, line {number}: not a story that was played; name another file"
            ) from error
        found[each.name] = each
    return found
