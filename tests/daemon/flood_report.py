"""Tells how control fares while its page is flooded and the disk takes nothing. Run it as a script.

    python tests/daemon/flood_report.py [SECONDS] [STOPS] [REQUESTS A SECOND]

The real two processes on the simulated rig at the world's own pace; 120 s, 6 STOPs and 200 requests
a second where nothing else is said. Exit code 1 when a target is missed.
"""

import contextlib
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE), str(HERE.parent / "batch")]

from flooded import Came, Shop, Stopped, stopped_under_flood  # noqa: E402
from running import Control, start  # noqa: E402

from controller.batch.snapshot import Snapshot  # noqa: E402
from controller.planning.batch_plan import plan  # noqa: E402
from controller.planning.description import parse_description  # noqa: E402
from controller.planning.examples import example  # noqa: E402
from controller.planning.sheet_json import sheet_to_json  # noqa: E402
from controller.settings import default_settings_text, parse_settings  # noqa: E402

TICK_MOST = 0.5
"""What a tick may be late at 99.9 %, [s]: one is due each second, the next within 1.5 s of it."""
STOP_MOST = 1.0
"""How long STOP may take, [s]."""


def played(seconds: float, count: int, rate: float) -> tuple[Came, list[Stopped], Snapshot]:
    """What came of a flood of so many seconds, with so many STOPs, at so many requests a second."""
    text = parse_description(example("washboard-ash"), "washboard-ash")
    sheet = sheet_to_json(plan(text, parse_settings(default_settings_text())))
    with TemporaryDirectory() as folder, contextlib.ExitStack() as away:

        def launch(*command: str) -> Control:
            process = start(Path(folder), *command)
            away.callback(process.away)
            return process

        return stopped_under_flood(Shop(Path(folder), launch), sheet, rate, seconds, count)


def lines(came: Came, stops: list[Stopped], last: Snapshot) -> list[str]:
    """The report."""
    assert last.ticks is not None
    told = sum(came.statuses.values())
    refused = came.statuses[503]
    off = [stopped.off for stopped in stops]
    answered = [stopped.answered for stopped in stops]
    ticks = last.ticks
    few = ", the worst because they are fewer than 1000" if ticks.count < 1000 else ""
    return [
        f"asked      {came.begun / came.seconds:.0f} requests/s for {came.seconds:.0f} s, answered"
        f" {told / came.seconds:.0f}/s; {came.left_out} not begun, {came.unanswered} unanswered",
        "answers    " + ", ".join(f"{n} of {code}" for code, n in sorted(came.statuses.items())),
        f"5xx        {refused} honest 503, {len(came.bad)} other",
        f"streams    {came.frames} lines",
        f"ticks      {ticks.count}; worst {ticks.worst_late_s:.3f} s late; 99.9 % within"
        f" {ticks.most_late_s:.3f} s{few} (target {TICK_MOST} s)",
        f"STOP       {len(stops)} pressed; outputs off within"
        f" {', '.join(f'{took:.2f}' for took in off)} s (target {STOP_MOST:.0f} s),"
        f" answered within {max(answered):.2f} s: {stops[-1].status} {stops[-1].says}",
    ]


def main() -> int:
    """Play and print; 1 when a target is missed."""
    given = [float(word) for word in sys.argv[1:]]
    seconds, count, rate = [*given, *(120.0, 6.0, 200.0)[len(given) :]]
    came, stops, last = played(seconds, int(count), rate)
    sys.stdout.write("\n".join(lines(came, stops, last)) + "\n")
    assert last.ticks is not None
    met = last.ticks.most_late_s <= TICK_MOST and max(s.off for s in stops) <= STOP_MOST
    return 0 if met and not came.bad else 1


if __name__ == "__main__":
    sys.exit(main())
