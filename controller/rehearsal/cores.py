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
from typing import Generic, TypeVar

from controller.rehearsal.kept import KeptFile, Named

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
    of: type[Done],
    kept: Path | None = None,
    tell: Callable[[Done], None] = lambda done: None,
    cores: int | None = None,
) -> Shared[Done]:
    """Do the work for each name once.

    work: a function of a module, which a fresh interpreter can find
    of: the dataclass of what it makes
    kept: a file of what was done; those in it are not done again, the others are added
    tell: hears of each as it ends      cores: all there are for None

    Raises InputError for a file that holds something else.
    """
    cores = cores or os.cpu_count() or 1
    file = KeptFile(kept, of)
    done = file.read()
    missing = [name for name in dict.fromkeys(names) if name not in done]
    started = perf_counter()
    # a fresh interpreter each: nothing of this process, its threads or signal handlers goes along
    with ProcessPoolExecutor(min(cores, len(missing)) or 1, get_context("spawn")) as pool:
        for each in pool.map(work, missing):
            done[each.name] = each
            file.add(each)
            tell(each)
    wall = perf_counter() - started
    return Shared(tuple(done[name] for name in dict.fromkeys(names)), wall, len(missing), cores)
