"""A play in a process of its own, and the lines of JSON it tells."""

import json
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any


def lines_of(
    script: Path, args: Iterable[object], places: Iterable[Path], longest: float
) -> list[dict[str, Any]]:
    """What the script says, warnings being errors there too.

    places: it imports from      longest: it may take, [s]
    """
    done = subprocess.run(
        [sys.executable, "-W", "error", str(script), *map(str, args)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, places))},
        capture_output=True,
        text=True,
        timeout=longest,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]
