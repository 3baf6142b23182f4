"""The log behind a thread: whoever hands something in never waits for the disk.

While the disk takes nothing, entries stay in memory, all of them; samples too, up to a limit,
beyond which the oldest go and the gap is counted and said in the log when the disk is back.
"""

import sqlite3
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from threading import Condition, Thread
from typing import Self

from controller.batch.acts import Answer
from controller.errors import InputError
from controller.store.cells import EntryRows
from controller.store.late import LateLog
from controller.store.log import SAMPLES_EVERY, Log, due
from controller.store.rows import Checkpoint, Entry, Kept, SampleRow, Stamp
from controller.store.sums import Row
from controller.store.trouble import (
    SLOW,
    SPACE_STOP,
    SPACE_WARN,
    DiskError,
    Gap,
    gap_told,
    note_told,
    space_told,
    space_words,
    trouble_of,
)

ANSWERS_KEPT = 4096
"""Answers kept in memory, so that a repeated press needs no disk. Own."""


class LogWriter:
    """A log whose calls return at once; `durable_seq` tells what is on disk."""

    def __init__(
        self,
        log: Log | LateLog,
        *,
        samples: int = 3600,
        retry: float = 1.0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """log: opened, and from now on used by the thread alone
        samples: kept at most while the disk takes none        retry: wait between tries, [s]
        clock: [s], for how long things take
        """
        self._log = log
        self._clock = clock
        self.notes = log.notes
        self.last_checkpoint = log.last_checkpoint
        self.state_lost = log.state_lost
        self.last_at = log.last_at
        self.durable_seq = 0
        self.dropped = 0
        self._most = samples
        self._retry = retry
        self._seq = 0
        self._entries: deque[tuple[int, EntryRows]] = deque()
        self._samples: deque[tuple[SampleRow, Row]] = deque()
        self._samples_since = 0.0
        self._in_flight = 0
        self._newest: Checkpoint | None = None
        self._stamp: Stamp | None = None
        self._gap: Gap | None = None
        self._trouble = log.trouble
        self._writing_since: float | None = None
        self._space_told = False
        self._no_space: str | None = None
        self._broken: Exception | None = None
        self._flushing = 0
        self._try_now = False
        self._closing = False
        self._answers: OrderedDict[str, Kept] = OrderedDict()
        for answer in log.latest_answers(ANSWERS_KEPT):
            self._remember(answer, 0)
        self._changed = Condition()
        self._thread = Thread(target=self._work, name="log", daemon=True)
        self._thread.start()

    @classmethod
    def open(
        cls,
        path: Path | str,
        *,
        retry: float = 1.0,
        connection: type[sqlite3.Connection] = sqlite3.Connection,
    ) -> Self:
        """The log at `path` behind a thread.

        retry, connection: as for a LogWriter and as Log.open

        Where its disk takes nothing now, all is kept in memory until it does, and what can be read
        of the old file is. Errors as Log.open but for that.
        """

        def opened() -> Log:
            return Log.open(path, connection=connection)

        log: Log | LateLog
        try:
            log = opened()
        except DiskError as error:
            log = LateLog(Path(path), error, ANSWERS_KEPT, opened)
        return cls(log, retry=retry)

    @property
    def trouble(self) -> str | None:
        """One line for people while the disk takes nothing; None when all is well."""
        words, since = self._trouble, self._writing_since
        if words is None and since is not None and self._clock() - since > SLOW:
            words = f"nothing has gone in for more than {SLOW:.0f} s: check the memory card"
        if words is None:
            return self._no_space
        return f"The log cannot be written: {words}. Entries in memory: {len(self._entries)}."

    def write(self, entry: Entry) -> int:
        """Hand in what must not be lost; its number, durable once `durable_seq` reaches it."""
        rows = self._log.encoded(entry)
        with self._changed:
            self._check()
            self._seq += 1
            self._entries.append((self._seq, rows))
            self._stamp = entry.stamp
            if entry.state is not None:
                self._newest = Checkpoint(stamp=entry.stamp, state=entry.state)
            for answer in entry.answers:
                self._remember(answer, self._seq)
            self._changed.notify_all()
            return self._seq

    def sample(self, row: SampleRow) -> None:
        """Hand in what was read; stored with others within ten seconds."""
        cells = self._log.encoded_sample(row)
        with self._changed:
            self._check()
            if not self._samples:
                self._samples_since = self._clock()
            self._samples.append((row, cells))
            if len(self._samples) > self._most:
                self._drop("the disk took no writes")
            if self._samples_due():
                self._changed.notify_all()

    def checkpoint(self, checkpoint: Checkpoint) -> None:
        """Hand in the engine's state, to go with the next samples or entry."""
        with self._changed:
            self._check()
            self._newest = checkpoint
            self._stamp = checkpoint.stamp

    def answered(self, act: str) -> Kept | None:
        """The answer this act has had, durable or not; None when it is new."""
        with self._changed:
            return self._answers.get(act)

    def flush(self, timeout: float = 5.0) -> bool:
        """Wait up to `timeout` [s] until all of it is on disk; False when it is not."""
        with self._changed:
            self._check()
            self._flushing += 1
            self._try_now = True
            self._changed.notify_all()
            self._changed.wait_for(lambda: self._empty() or self._broken is not None, timeout)
            self._flushing -= 1
            return self._empty()

    def close(self, timeout: float = 5.0) -> bool:
        """Flush and let go of the file; False when something could not be written in time."""
        if self._closing:
            return self._empty()
        try:
            return self.flush(timeout)
        finally:
            with self._changed:
                self._closing = True
                self._changed.notify_all()
            self._thread.join(timeout)
            # A thread that still waits for a dying card keeps its connections to the end.
            if not self._thread.is_alive():
                self._log.let_go()

    def _check(self) -> None:
        if self._broken is not None:
            raise self._broken
        if self._closing:
            raise InputError("the log is closed; nothing more can be written to it")

    def _remember(self, answer: Answer, seq: int) -> None:
        # The first answer to an act stands, here as in the file.
        self._answers.setdefault(answer.act, Kept(answer=answer, seq=seq))
        while len(self._answers) > ANSWERS_KEPT:
            self._answers.popitem(last=False)

    def _drop(self, why: str) -> None:
        """Let the oldest sample go that the thread is not just writing."""
        row = self._samples[self._in_flight][0]
        del self._samples[self._in_flight]
        gap = self._gap
        self._gap = Gap(gap.first, row, gap.count + 1, gap.why) if gap else Gap(row, row, 1, why)
        self.dropped += 1

    def _empty(self) -> bool:
        return not (self._entries or self._samples or self._newest or self._gap)

    def _samples_due(self) -> bool:
        waited = self._clock() - self._samples_since
        return bool(self._samples) and due(self._samples[0][0], self._samples[-1][0], waited)

    def _work(self) -> None:
        try:
            while self._round():
                pass
        except Exception as error:
            with self._changed:
                self._broken = error
                self._changed.notify_all()

    def _round(self) -> bool:
        """Wait for something to write and write it; False when it is time to end."""
        with self._changed:
            if self._trouble is None:
                self._changed.wait_for(self._work_waits, SAMPLES_EVERY)
            else:
                self._changed.wait_for(lambda: self._closing or self._try_now, self._retry)
            self._try_now = False
            if self._closing:
                return False
            if self._gap is not None and self._trouble is None:
                if self._no_space is None or self._flushing:
                    self._tell(gap_told(self._gap, self._stamp))
                    self._gap = None
            entries = [rows for _, rows in self._entries]
            newest = self._newest
        if entries and not self._written(
            lambda: self._log.write_entries(entries, newest), newest, entries=len(entries)
        ):
            return True
        # Asked without holding anybody up: a dying disk may take its time over this too.
        free = self._log.free_space()
        with self._changed:
            if not (self._flushing or self._samples_due()):
                return True
            self._look_at_space(free)
            # Never more than half, so that there is always an older one to let go.
            self._in_flight = min(len(self._samples), max(1, self._most // 2))
            samples = [cells for _, cells in islice(self._samples, self._in_flight)]
            newest = self._newest
        self._written(
            lambda: self._log.write_samples(samples, newest), newest, samples=len(samples)
        )
        return True

    def _written(
        self,
        write: Callable[[], None],
        newest: Checkpoint | None,
        entries: int = 0,
        samples: int = 0,
    ) -> bool:
        """Write, and take what was written from the queues; False when the disk did not."""
        self._writing_since = self._clock()
        trouble = trouble_of(write, self._log.folder)
        with self._changed:
            self._writing_since = None
            self._trouble = trouble
            if trouble is None:
                self._done(newest, entries, samples)
                self._tell_news()
            if samples:
                self._in_flight = 0
            self._changed.notify_all()
        return trouble is None

    def _look_at_space(self, free: int | None) -> None:
        """Tell of a disk that fills up, in time; let samples go on one that is nearly full."""
        if free is None:
            return
        if free >= SPACE_WARN:
            self._space_told = False
        elif not self._space_told and self._stamp is not None:
            self._space_told = True
            self._tell(space_told(self._stamp, free))
        self._no_space = space_words(free) if free < SPACE_STOP else None
        while self._no_space is not None and self._samples:
            self._drop("the disk was nearly full")

    def _work_waits(self) -> bool:
        return bool(
            self._closing
            or self._entries
            or self._samples_due()
            or (self._flushing and not self._empty())
        )

    def _done(self, newest: Checkpoint | None, entries: int, samples: int) -> None:
        for _ in range(entries):
            self.durable_seq = self._entries.popleft()[0]
        for _ in range(samples):
            self._samples.popleft()
        if samples:
            self._samples_since = self._clock()
        if self._newest is newest:
            self._newest = None

    def _tell_news(self) -> None:
        if self._stamp is not None:
            for text in self._log.news():
                self._tell(note_told(text, self._stamp))

    def _tell(self, entry: Entry) -> None:
        """Put an entry of the log's own behind those handed in."""
        self._entries.append((self._seq, self._log.encoded(entry)))
