"""The machine's own clocks: the one that only goes forward, and whether the calendar is to be
believed."""

import time
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
SYNCED = Path("/run/systemd/timesync/synchronized")
"""systemd-timesyncd leaves this file once it has set the clock since this boot: [1] systemd, manual
page systemd-timesyncd.service(8), section Files, from memory, to be checked."""


def boottime() -> float:
    """Seconds since the machine was booted, sleep included; whatever sets the clock, forward."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def boot_id() -> str:
    """The name of this boot, under which `boottime` has a meaning."""
    return BOOT_ID.read_text(encoding="ascii").strip()


def clock_trusted() -> bool:
    """The calendar was set since this boot by something that knows the time.

    Errs towards no: another time service leaves no such file, and a clock battery cannot be seen.
    The kernel's own word, adjtimex, is not asked, because the unit's system call filter kills a
    process that calls it.
    """
    return SYNCED.exists()
