"""The same kind of work for many names, shared over the cores and kept line by line as it ends.

What was done is a line of JSON in a file; a run that was broken off goes on where it stood.
"""

import os
import traceback
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context, parent_process
from multiprocessing.connection import wait
from pathlib import Path
from threading import Thread
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
    """Do the work for each name once, each by itself; the rest as `share_groups` has it."""
    alone = partial(_alone, work)
    return share_groups(
        names, lambda missing, _: [[name] for name in missing], alone, of, kept, tell, cores
    )


def _alone(work: Callable[[str], Done], names: Sequence[str]) -> list[Done]:
    return [work(name) for name in names]


def share_groups(
    names: Sequence[str],
    groups: Callable[[Sequence[str], int], Sequence[Sequence[str]]],
    work: Callable[[Sequence[str]], Sequence[Done]],
    of: type[Done],
    kept: Path | None = None,
    tell: Callable[[Done], None] = lambda done: None,
    cores: int | None = None,
) -> Shared[Done]:
    """Do the work for each name once, that of a group in one go.

    groups: of the names that are not done yet, for so many cores, the first to be begun first
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
    parts = groups(missing, cores)
    started = perf_counter()
    # a fresh interpreter each: nothing of this process, its threads or signal handlers goes along
    spawned = get_context("spawn")
    with ProcessPoolExecutor(min(cores, len(parts)) or 1, spawned, end_with_parent) as pool:
        for ended in as_completed([pool.submit(work, part) for part in parts]):
            for each in ended.result():
                done[each.name] = each
                file.add(each)
                tell(each)
    wall = perf_counter() - started
    return Shared(tuple(done[name] for name in dict.fromkeys(names)), wall, len(missing), cores)


def end_with_parent() -> None:
    """Let this process end when the one that began it has, also by a kill: nobody else would."""
    parent = parent_process()
    if parent is not None:
        Thread(target=_end_after, args=(parent.sentinel,), name="parent", daemon=True).start()


def _end_after(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


def crash_told(error: Exception) -> str:
    """An error as one line: what it is and where it was raised."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {error} ({Path(last.filename).name}:{last.lineno})"
