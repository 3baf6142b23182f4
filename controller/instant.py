"""One moment on all three clocks, and where rig time goes on after control was away."""

from dataclasses import dataclass

from controller.store.log import Record
from controller.store.rows import Stamp


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment on all three clocks."""

    rig: float
    """Rig time, [s]; only forward."""
    told_utc: float
    """The calendar, seconds since 1970 UTC."""
    mono: float
    """The machine's own clock since boot, [s]."""
    boot_id: str
    """Of the machine's present boot."""
    trusted: bool
    """The calendar is synced or battery-backed."""

    def stamp(self) -> Stamp:
        """The moment as the record keeps it."""
        return Stamp(
            at=self.rig,
            told_utc=self.told_utc,
            mono=self.mono,
            boot_id=self.boot_id,
            clock_trusted=self.trusted,
        )


def resume_at(
    record: Record, calendar: float, trusted: bool, boot: tuple[str, float] = ("", 0.0)
) -> tuple[float, float | None]:
    """Rig time to go on from, and the outage's length: (rig [s], outage [s] or None).

    calendar: now, seconds since 1970 UTC        trusted: it is synced or battery-backed
    boot: the machine's present boot, and its own clock now, [s]

    An outage counts only with a trusted clock on both sides of it, or within one boot of the
    machine; otherwise rig time goes on from where it stood, and the length is unknown.
    """
    checkpoint = record.last_checkpoint
    last = max(record.last_at or 0.0, checkpoint.stamp.at if checkpoint else 0.0)
    if checkpoint is None:
        return last, None
    stamp = checkpoint.stamp
    gone = calendar - stamp.told_utc
    if not (trusted and stamp.clock_trusted) or gone < 0:
        if boot[0] != stamp.boot_id or boot[1] < stamp.mono:
            return last, None
        gone = boot[1] - stamp.mono
    return max(last, stamp.at + gone), gone
