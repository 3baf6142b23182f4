"""What is handed in to the log: entries, which are never lost, and samples, which may be."""

from dataclasses import dataclass

from controller.batch.acts import Answer
from controller.batch.events import Event
from controller.batch.stages import Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """One moment on every clock there is."""

    at: float
    """Rig time, [s]."""
    told_utc: float
    """The calendar for people, seconds since 1970 UTC."""
    mono: float
    """The machine's clock since it was booted, [s]."""
    boot_id: str
    """Which boot that clock belongs to."""
    clock_trusted: bool
    """The calendar was synced or battery-backed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewBatch:
    """A batch that was planned, or planned anew."""

    id: str
    """Its id."""
    name: str
    """What people call it."""
    sheet: str
    """The batch sheet as JSON text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighIn:
    """One weighing of a board, its uncoated sister or a coated coupon."""

    batch: str
    """Whose."""
    at: float
    """Rig time, [s]."""
    told_utc: float
    """The calendar, seconds since 1970 UTC."""
    what: str
    """'board', 'sister' or 'coupon'."""
    mass: float
    """[kg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """The engine's whole state at one moment, to go on from after a restart."""

    stamp: Stamp
    """When."""
    state: str
    """JSON text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What must not be lost of one tick. It is stored whole or not at all."""

    stamp: Stamp
    """When."""
    events: tuple[Event, ...] = ()
    """What happened, in order."""
    answers: tuple[Answer, ...] = ()
    """What the senders of acts are told once this is on disk."""
    batches: tuple[NewBatch, ...] = ()
    """Batches planned in it."""
    weigh_ins: tuple[WeighIn, ...] = ()
    """Weighings told in it."""
    state: str | None = None
    """The engine's state after it, JSON text; None leaves the last checkpoint standing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleRow:
    """What the rig read and did in one tick."""

    at: float
    """Rig time, [s]."""
    told_utc: float
    """The calendar, seconds since 1970 UTC."""
    batch: str | None
    """The batch at the rig."""
    stage: Stage | None
    """Its stage."""
    coat: int | None
    """Its coat, from 1."""
    face: float | None = None
    """Board surface under the lamp, [K]."""
    back: float | None = None
    """The board's other face, [K]."""
    room: float | None = None
    """Shop air, [K]."""
    film: float | None = None
    """Bag film, [K]."""
    mean: float | None = None
    """Estimated mean of the board, [K]."""
    bag: float | None = None
    """Absolute pressure in the bag, [Pa]."""
    air: float | None = None
    """Absolute air pressure, [Pa]."""
    lamp: bool = False
    """Lamp on."""
    pump: bool = False
    """Pump on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An answer that was given, or will be once its entry is on disk."""

    answer: Answer
    """What the sender is told."""
    seq: int
    """Number of the entry it stands in; 0 when it is from an earlier run."""
