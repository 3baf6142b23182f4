"""A batch worked through by a process that is killed on the way, again and again.

Run as a program: `python kills.py FOLDER WHERE N...`, with WHERE one of
  before, after   the N-th call of SQLite is never made, or is made and never returns
  byte            the write that takes a file beyond N bytes is cut there, in the middle of a frame
Each N is a process of its own, forked from this one, with the real runner and the real writer, its
thread included. What it was answered for comes through a pipe before it dies. Then the log is
opened again and looked through, and one JSON object a line says what was found.
"""

import json
import os
import resource
import signal
import sqlite3
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from made import made_sheet
from standing import HELD, UTC, YES, Stand, at_start

from controller.batch.acts import Act, ActKind
from controller.instant import resume_at
from controller.planning.sheet_json import sheet_to_json
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.writer import LogWriter

NAME = "log.db"
WAIT = 20.0
"""Nothing here takes this long, [s]."""


class Deadly(sqlite3.Connection):
    """Kills its own process at the N-th call, counted over all connections."""

    calls = 0
    nth = 0
    after = False

    def execute(self, *args, **kwargs):
        return self._called(super().execute, args, kwargs)

    def executemany(self, *args, **kwargs):
        return self._called(super().executemany, args, kwargs)

    def _called(self, call, args, kwargs):
        Deadly.calls += 1
        hit = Deadly.calls == Deadly.nth
        if hit and not Deadly.after:
            os.kill(os.getpid(), signal.SIGKILL)
        done = call(*args, **kwargs)
        if hit:
            os.kill(os.getpid(), signal.SIGKILL)
        return done


def work(folder: Path, say: Callable[[str], None]) -> None:
    """From the plan to the hold; what is durable is said, and each tick before it is made."""
    writer = LogWriter(Log.open(folder / NAME, connection=Deadly))
    start, _ = resume_at(writer, UTC, True)
    stand = Stand(writer, at_start(start))
    for acts in story(stand):
        say(f"tick {stand.now.rig + 1.0}")
        done = stand.go(*acts)
        settle(writer)
        for reply in done.replies:
            if reply.seq <= writer.durable_seq:
                say(f"acked {reply.answer.act}")
        say(f"stage {stage(stand)}")
    writer.close(WAIT)


def story(stand: Stand) -> Iterator[list[Act]]:
    """The acts of each tick."""
    yield [stand.act(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-1")]
    yield [stand.act(ActKind.START, **YES)]
    yield from ([] for _ in range(5))
    yield [stand.act(ActKind.PRESENT)]
    yield [stand.act(ActKind.STOP)]
    yield from ([] for _ in range(12))
    yield [stand.act(ActKind.RE_ARM, **YES)]
    yield [stand.act(ActKind.STOP), stand.act(ActKind.ACKNOWLEDGE)]
    yield [stand.act(ActKind.ABANDON)]
    yield from ([] for _ in range(32))


def settle(writer: LogWriter) -> None:
    """Wait until the thread has done all that is due, so that each run goes the same way."""
    with writer._changed:
        writer._changed.wait_for(
            lambda: not writer._entries and not writer._samples_due() and not writer._in_flight,
            WAIT,
        )


def stage(stand: Stand) -> str:
    run = stand.rig.run
    return "none" if run is None else str(run.stage)


def killed(folder: Path, where: str, n: int) -> dict[str, object]:
    """One process killed at one point, and what is left of its work."""
    folder.mkdir()
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        arm(where, n)
        work(folder, lambda line: os.write(writer, f"{line}\n".encode()))
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader) as pipe:
        lines = pipe.read().splitlines()
    _, status = os.waitpid(child, 0)
    return {"n": n, "killed": os.WIFSIGNALED(status), **left(folder, lines)}


def arm(where: str, n: int) -> None:
    if where == "byte":
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (n, n))
    else:
        Deadly.nth, Deadly.after = n, where == "after"


def left(folder: Path, lines: list[str]) -> dict[str, object]:
    """What the next start finds."""
    acked = [line.split(" ", 1)[1] for line in lines if line.startswith("acked")]
    ticks = [line.split() for line in lines if line.startswith("tick")]
    stages = [line.split()[1] for line in lines if line.startswith("stage")]
    log = Log.open(folder / NAME)
    events = LogReader(folder / NAME).events(limit=10_000)
    acts = [
        str(line.event.data["id"])
        for line in events
        if line.event is not None and line.event.data.get("id") is not None
    ]
    last = float(ticks[-1][1]) if ticks else 0.0
    row = log._connection.execute("SELECT max(at_ms) FROM sample").fetchone()
    durable = "none"
    if log.last_checkpoint is not None:
        run = json.loads(log.last_checkpoint.state)["run"]
        durable = "none" if run is None else run["stage"]
    start, _ = resume_at(log, UTC + 1000.0, True)
    stand = Stand(log, at_start(start, UTC + 1000.0, "boot-2"))
    stand.bench.bag = HELD
    first = stand.go()
    found = {
        "notes": list(log.notes),
        "damaged": sum(line.event is None for line in events),
        "acked": len(acked),
        "lost": [act for act in acked if act not in acts or log.answered(act) is None],
        "doubled": len(acts) - len(set(acts)),
        "behind_s": last - (row[0] or 0) / 1000,
        "ticks": len(ticks),
        "on": first.applied.lamp or first.applied.pump or first.applied.dead_man,
        "durable": durable,
        "stages": stages,
        "stage": stage(stand),
    }
    log.close()
    return found


def main() -> None:
    folder, where = Path(sys.argv[1]), sys.argv[2]
    for n in map(int, sys.argv[3:]):
        sys.stdout.write(json.dumps(killed(folder / f"{where}-{n}", where, n)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
