"""A made-up batch of Eelgrass Boatworks, to fill a log with."""

import sqlite3
import threading

from controller.batch.acts import Answer
from controller.batch.events import Event, EventKind
from controller.batch.stages import Stage
from controller.store.rows import Entry, NewBatch, SampleRow, Stamp

UTC = 1_780_000_000.0
ASH = NewBatch(id="ash-1", name="Washboard in ash", sheet='{"name": "Washboard in ash"}')


def stamp(at: float) -> Stamp:
    return Stamp(at=at, told_utc=UTC + at, mono=at + 100, boot_id="boot-1", clock_trusted=True)


def event(at: float, text: str = "The film is sealed.", **more: object) -> Event:
    given = {"kind": EventKind.NOTE, "batch": "ash-1", "stage": "BAG", "data": {"used_g": 41.5}}
    return Event(at=at, text=text, **(given | more))


def entry(at: float, *texts: str, state: str | None = None) -> Entry:
    """One press with its answer, named after its time."""
    return Entry(
        stamp=stamp(at),
        events=tuple(event(at, text) for text in texts or (f"event at {at:g}",)),
        answers=(Answer(act=f"act-{at:g}", accepted=True, text="Noted."),),
        state=state,
    )


def planned(at: float = 0.0) -> Entry:
    first = event(at, "Planned.", kind=EventKind.BATCH_PLANNED, stage="PLANNED", data={})
    return Entry(stamp=stamp(at), events=(first,), batches=(ASH,))


def sample(at: float, face: float | None = 300.0, **more: object) -> SampleRow:
    given = {"batch": "ash-1", "stage": Stage.HOLD, "coat": 1, "bag": 25_000.0, "air": 101_325.0}
    return SampleRow(at=at, told_utc=UTC + at, face=face, **(given | more))


class Failing(sqlite3.Connection):
    """A connection whose calls fail as told: the `nth` call, or from there on, before or after
    it did what it was asked."""

    nth = 0
    sticky = False
    after = False
    code = sqlite3.SQLITE_IOERR
    calls = 0

    @classmethod
    def told(cls, nth: int, *, sticky: bool = False, after: bool = False) -> type["Failing"]:
        return type("Told", (cls,), {"nth": nth, "sticky": sticky, "after": after})

    @classmethod
    def arm(cls) -> None:
        """Count from here."""
        cls.calls = 0

    def execute(self, *args, **kwargs):
        return self._called(super().execute, args, kwargs)

    def executemany(self, *args, **kwargs):
        return self._called(super().executemany, args, kwargs)

    def _called(self, call, args, kwargs):
        kind = type(self)
        kind.calls += 1
        fails = kind.nth and (kind.calls == kind.nth or (kind.sticky and kind.calls > kind.nth))
        done = call(*args, **kwargs) if kind.after or not fails else None
        if fails:
            error = sqlite3.OperationalError("disk I/O error")
            error.sqlite_errorcode = kind.code
            raise error
        return done


class Gated(sqlite3.Connection):
    """A disk that takes its time: every call waits until the gate is open."""

    gate: threading.Event
    reached: threading.Event
    """A call stands at the gate, or went through it."""

    @classmethod
    def closable(cls) -> type["Gated"]:
        """One with a gate of its own, open."""
        kind = type("ThisGate", (cls,), {"gate": threading.Event(), "reached": threading.Event()})
        kind.gate.set()
        return kind

    @classmethod
    def shut(cls) -> None:
        cls.reached.clear()
        cls.gate.clear()

    @classmethod
    def open(cls) -> None:
        cls.gate.set()

    def execute(self, *args, **kwargs):
        self.reached.set()
        assert self.gate.wait(20.0), "the gate was never opened"
        return super().execute(*args, **kwargs)
