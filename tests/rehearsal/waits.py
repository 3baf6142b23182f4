"""Work that never ends, for whoever wants to see what becomes of it."""

import os
import signal
import sys
from collections.abc import Sequence

from controller.rehearsal.cores import share_groups
from controller.rehearsal.many import Played


def waits(names: Sequence[str]) -> Sequence[Played]:
    """Say which process this is, and wait for a signal."""
    sys.stdout.write(f"{os.getpid()}\n")
    sys.stdout.flush()
    signal.pause()
    return []


def main() -> None:
    """Share it over one core."""
    share_groups(["one"], lambda names, cores: [names], waits, Played, cores=1)
