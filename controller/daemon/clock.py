"""The machine's own clocks: the one that only goes forward, and whether the calendar is to be
believed."""

import ctypes
import time
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
SYNCED = Path("/run/systemd/timesync/synchronized")
"""systemd-timesyncd leaves this file once it has set the clock: [1] systemd, manual page
systemd-timesyncd.service(8), section Files."""
TIME_ERROR = 5
"""What adjtimex answers while the kernel's clock is not synchronised: [1] Linux man-pages,
adjtimex(2), section Return value."""
TIMEX_SIZE = 512
"""Room for the kernel's struct timex, [bytes]; own: twice its size on any machine."""


def boottime() -> float:
    """Seconds since the machine was booted, sleep included; whatever sets the clock, forward."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def boot_id() -> str:
    """The name of this boot, under which `boottime` has a meaning."""
    return BOOT_ID.read_text(encoding="ascii").strip()


def clock_trusted() -> bool:
    """The calendar was set by something that knows the time, and still agrees with it.

    A clock battery counts only through the kernel's own word: whether one is fitted and charged
    cannot be read.
    """
    if SYNCED.exists():
        return True
    # asks and changes nothing: every mode bit is 0
    asked = ctypes.create_string_buffer(TIMEX_SIZE)
    state = int(ctypes.CDLL(None).adjtimex(asked))
    return 0 <= state < TIME_ERROR
