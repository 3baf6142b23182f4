"""Tells what control holds after days of a bag on the simulated rig. Run it as a script.

    python tests/daemon/soak_report.py [DAYS]

The daemon's own parts in one process, as fast as they go: the simulated rig, the runner, the log
with its thread, and a snapshot encoded for the page at each tick; 14 days where nothing is said.
Exit code 1 when memory grows by more than 5 MiB a day after the first, or files or threads do.
`grows.py` plays the same on a bench that costs next to nothing, with presses and set clocks.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE), str(HERE.parent / "batch")]

from grows import DAY, held  # noqa: E402
from standing import UTC, InFront, at_start, put_down, state_in  # noqa: E402

from controller.batch.acts import ActKind  # noqa: E402
from controller.batch.stages import Stage  # noqa: E402
from controller.daemon.gate import Gate  # noqa: E402
from controller.daemon.rigs import open_pretend  # noqa: E402
from controller.link import SnapshotMessage, encode  # noqa: E402
from controller.rehearsal.scenario import scenario  # noqa: E402
from controller.runner import Runner  # noqa: E402
from controller.settings import default_settings_text, parse_settings  # noqa: E402
from controller.store.writer import LogWriter  # noqa: E402

GROWS_MOST = 5.0
"""What memory may grow by in a day after the first, [MiB]."""
MIB = 2.0**20


def soaked(folder: Path, days: int) -> list[dict[str, int]]:
    """What was held at the end of each day of a hold."""
    settings = parse_settings(default_settings_text())
    rig = settings.rig.model_copy(update={"run_folder": folder, "state_folder": folder})
    settings = settings.model_copy(update={"rig": rig})
    writer = LogWriter.open(folder / "log.db")
    put_down(writer, state_in(Stage.HOLD))
    writer.close()
    writer = LogWriter.open(folder / "log.db")
    start = at_start(writer.last_at or 0.0, UTC + 5.0)
    opened = open_pretend(settings, scenario("good-night"), 1)
    gate = Gate(opened.rig)
    front = InFront(Runner(gate, writer, opened.facts, start), start)
    found = []
    for _ in range(days):
        until = front.now.rig + DAY
        ticks = 0
        while front.now.rig < until:
            run = front.runner.engine.rig.run
            assert run is not None
            acts = [front.act(ActKind.RESUME)] if run.stage is Stage.INTERRUPTED else []
            front.go(*acts, seconds=max(front.runner.engine.tick, 1.0))
            shown = front.runner.snapshot(front.now, "Europe/Copenhagen", "bench", None)
            encode(SnapshotMessage(snapshot=shown))
            ticks += 1
            if ticks % 100 == 0:
                writer.flush()
        writer.flush()
        found.append({**held(writer), "ticks": ticks, "hold": shown.stage == "HOLD"})
    gate.close()
    writer.close()
    return found


def slope(days: list[dict[str, int]]) -> float:
    """Growth of the memory after the first day by least squares, [MiB a day]."""
    memory = [day["memory"] / MIB for day in days[1:]]
    if len(memory) < 2:
        return 0.0
    middle, mean = (len(memory) - 1) / 2, sum(memory) / len(memory)
    over = sum((n - middle) ** 2 for n in range(len(memory)))
    return sum((n - middle) * (size - mean) for n, size in enumerate(memory)) / over


def main() -> int:
    """Play and print; 1 when something grows that must not."""
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 14
    with TemporaryDirectory() as folder:
        found = soaked(Path(folder), days)
    for n, day in enumerate(found, start=1):
        sys.stdout.write(
            f"day {n:2}: {day['memory'] / MIB:.1f} MiB, {day['files']} files, {day['threads']}"
            f" threads, {day['waiting']} waiting, {day['ticks']} ticks,"
            f" {'holding' if day['hold'] else 'not holding'}\n"
        )
    grown = slope(found)
    steady = len({(day["files"], day["threads"]) for day in found}) == 1
    sys.stdout.write(
        f"memory grows by {grown:.2f} MiB a day after the first (target {GROWS_MOST:.0f});"
        f" files and threads {'stay' if steady else 'CHANGE'}\n"
    )
    return 0 if steady and grown <= GROWS_MOST else 1


if __name__ == "__main__":
    sys.exit(main())
