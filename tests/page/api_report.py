"""What each route of the page was asked, and how often it had a fault, as a table.

`python tests/page/api_report.py [EXAMPLES] [STAGE]`: so many requests of each kind to each route,
by a stranger and by a paired phone, with the batch kept in that stage: PREHEAT or PULLDOWN.
"""

import logging
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from api_cases import ROUTES
from api_tried import ROLES, Bench
from rich.console import Console
from rich.table import Table

from controller.batch.stages import Stage


def main() -> int:
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    stage = Stage(sys.argv[2]) if len(sys.argv) > 2 else Stage.PREHEAT
    # a refused pairing is logged, and here most are
    logging.disable(logging.WARNING)
    table = Table("route", "who", "requests", "2xx", "4xx", "5xx", "wrong")
    console = Console(width=100)
    wrong: list[str] = []
    total = 0
    with TemporaryDirectory(prefix="warmdraw-") as folder:
        bench = Bench(Path(folder), stage)
        for route in ROUTES:
            for role in ROLES:
                tally = bench.try_route(route, role, examples)
                hundreds = [0] * 6
                for status, count in tally.statuses.items():
                    hundreds[status // 100] += count
                counts = (tally.requests, hundreds[2], hundreds[4], tally.faults, len(tally.wrong))
                table.add_row(route, role, *(f"{count}" for count in counts))
                total += tally.requests
                wrong += tally.wrong
        bench.close()
    console.print(table)
    console.print(f"{total} requests in {stage}; {len(wrong)} answers or effects were wrong.")
    for fault in wrong[:20]:
        console.print(fault[:600], markup=False)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
