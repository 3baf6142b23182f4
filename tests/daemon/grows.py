"""Two weeks of a rig at work in one process, and what it holds at the end of each day.

Run as a program: `python grows.py FOLDER DAYS`. One JSON object a day: memory in use [bytes], open
files, threads, entries and samples that wait. Ticks are ten seconds apart, as in a hold; somebody
presses something each hour, and is refused each other time.
"""

import gc
import json
import os
import sys
import threading
from pathlib import Path

from standing import Stand, at_start, put_in, state_in

from controller.batch.acts import ActKind
from controller.batch.stages import Stage
from controller.store.writer import LogWriter

TICK = 10.0
DAY = 86400.0
PRESSES = (ActKind.MUTE, ActKind.START)


def day(stand: Stand) -> None:
    for n in range(int(DAY / TICK)):
        acts = [] if n % 360 else [stand.act(PRESSES[n // 360 % 2])]
        # the calendar is set now and then, by a little and by much
        stand.go(*acts, seconds=TICK, clock=3600.0 if n == 4000 else 0.0)
        stand.runner.snapshot(stand.now, "Europe/Copenhagen", "bench", None)
        if n % 100 == 0:
            stand.record.flush()


def held(writer: LogWriter) -> dict[str, int]:
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return {
        "memory": pages * os.sysconf("SC_PAGE_SIZE"),
        "files": len(os.listdir("/proc/self/fd")),
        "threads": threading.active_count(),
        "waiting": len(writer._entries) + len(writer._samples),
        "answers": len(writer._answers),
        "objects": len(gc.get_objects()),
    }


def main() -> None:
    writer = LogWriter.open(Path(sys.argv[1]) / "log.db")
    stand = Stand(writer, at_start())
    put_in(stand, state_in(Stage.HOLD))
    stand.bench.bag, stand.bench.leak = 28e3, 2.0
    for n in range(int(sys.argv[2])):
        if n == 2:
            put_in(stand, state_in(Stage.FLASHOFF))
            stand.bench.bag = 101_325.0
        day(stand)
        writer.flush()
        sys.stdout.write(json.dumps(held(writer)) + "\n")
        sys.stdout.flush()
    writer.close()


if __name__ == "__main__":
    main()
