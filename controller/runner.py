"""One tick and one start-up, the same in the daemon and in a rehearsal.

A tick reads, steps, switches and hands to the record. OFF is switched at once; a lamp that is to
come on waits until everything that led to it is on disk, and so does the contactor behind it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pydantic import TypeAdapter, ValidationError

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.believing import corrected
from controller.batch.engine import Engine, Step
from controller.batch.events import Event, EventKind
from controller.batch.recovery import after_restart
from controller.batch.showing import Surroundings, snapshot
from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, RigFacts
from controller.batch.snapshot import Snapshot
from controller.batch.state import RigState, Run
from controller.errors import InputError
from controller.hardware.rig import Rig
from controller.instant import Instant, resume_at
from controller.planning.sheet_json import sheet_from_json, sheet_to_json
from controller.store.log import Record
from controller.store.rows import Checkpoint, Entry, NewBatch, SampleRow, WeighIn

CHECKPOINT_EACH = 30.0
"""Rig time between two checkpoints where nothing happens, [s]. Own."""
STEPPED = 2.0
"""Change between wall clock and rig clock that is recorded as a step of the clock, [s]. Own."""

_STATE = TypeAdapter(RigState)


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer, and what must be on disk before it is given."""

    answer: Answer
    seq: int
    """To be sent once the record is durable up to here."""


@dataclass(frozen=True, slots=True)
class Tick:
    """What a tick did."""

    step: Step
    replies: tuple[Reply, ...]
    applied: Commands
    """What was switched; the lamp may lag behind the step's command."""


class Runner:
    """Drives one rig with one engine and keeps the record."""

    def __init__(
        self,
        rig: Rig,
        record: Record,
        facts: Callable[[Instant], RigFacts],
        start: Instant,
        checkpoint_each: float = CHECKPOINT_EACH,
    ) -> None:
        """Start up: read the last checkpoint, put it through the restart table, outputs OFF.

        facts: what is true of the rig at a moment
        start: its rig time is `resume_at`'s
        checkpoint_each: rig time between two checkpoints where nothing happens, [s]

        Raises InputError for a checkpoint that cannot be read, OutputError for an output that
        cannot be switched.
        """
        self.rig = rig
        self.record = record
        self.facts = facts
        self.on_accepted: Callable[[Act, Run | None], None] | None = None
        """Called with each act that had its effect, and the batch at the rig; a simulated rig's
        hands."""
        self._checkpoint_each = checkpoint_each
        self._held = False
        self._moving = False
        self._seq = 0
        self._pending = 0
        self._checkpoint_at = start.rig
        self._offset = start.told_utc - start.rig
        self._last = start
        checkpoint = record.last_checkpoint
        events = [_note(start.rig, note) for note in record.notes]
        batches: tuple[NewBatch, ...] = ()
        if checkpoint is None:
            self.engine = Engine(RigState(now=start.rig))
            self.engine.found = "record damaged" if record.state_lost else None
        else:
            state = _read(checkpoint.state)
            here = start.boot_id, start.mono
            _, outage = resume_at(record, start.told_utc, start.trusted, here)
            restart = after_restart(state, start.rig, outage)
            self.engine = Engine(state)
            self.engine.found = restart.found
            simulated = {"simulated": rig.simulated}
            events += [replace(event, data={**event.data, **simulated}) for event in restart.events]
            # told anew, because the log may have been damaged or begun since
            batches = tuple(_batch(run) for run in (state.run, *state.aside) if run is not None)
        self.rig.apply(OUTPUTS_OFF)
        self._write(
            start,
            Entry(stamp=start.stamp(), events=tuple(events), batches=batches, state=self._state()),
        )

    def tick(self, now: Instant, acts: Sequence[Act]) -> Tick:
        """One tick at `now`. Raises OutputError when an output cannot be switched.

        acts: what came in since the last tick; one that came in twice is heard and answered once
        """
        readings = self.rig.read(now.rig)
        fresh, replies = self._not_answered_yet(acts)
        facts, trouble = self.facts(now), self.record.trouble
        if facts.log_trouble != trouble or self._held:
            facts = replace(facts, log_trouble=trouble, lamp_held=self._held)
        step = self.engine.step(now.rig, readings, fresh, facts)
        events = (*self._clock_steps(now), *step.events)
        if events or step.answers:
            self._record(now, step, events, fresh)
        replies += [Reply(answer, self._pending) for answer in step.answers]
        applied = self._apply(step.commands)
        self._tell_hands(fresh, step.answers)
        self._sample(now, corrected(readings, facts.corrections), applied)
        self._last = now
        return Tick(step, tuple(replies), applied)

    def snapshot(self, now: Instant, time_zone: str, rig: str, pace: float | None) -> Snapshot:
        """What everybody is shown after the last tick."""
        self._seq += 1
        around = Surroundings(self._seq, now.told_utc, time_zone, pace, rig)
        return snapshot(self.engine, around)

    # --- parts of a tick

    def _not_answered_yet(self, acts: Sequence[Act]) -> tuple[list[Act], list[Reply]]:
        """Acts the engine has not seen, and the answers of those it has: same id, same answer."""
        fresh: list[Act] = []
        replies: list[Reply] = []
        for act in acts:
            kept = self.record.answered(act.id)
            if kept is not None:
                replies.append(Reply(kept.answer, kept.seq))
            elif any(other.id == act.id for other in fresh):
                continue
            else:
                fresh.append(act)
        return fresh, replies

    def _record(
        self, now: Instant, step: Step, events: Sequence[Event], acts: Sequence[Act]
    ) -> None:
        accepted = {answer.act for answer in step.answers if answer.accepted}
        batches, weigh_ins = [], []
        for act in acts:
            if act.id not in accepted:
                continue
            if act.kind is ActKind.PLAN:
                text = str(act.values["sheet"])
                name = sheet_from_json(text).name
                batches.append(NewBatch(id=str(act.values["id"]), name=name, sheet=text))
            elif act.kind is ActKind.WEIGHED:
                weigh_ins.append(_weigh_in(act, now, _told_at(events, act)))
        entry = Entry(
            stamp=now.stamp(),
            events=tuple(events),
            answers=step.answers,
            batches=tuple(batches),
            weigh_ins=tuple(weigh_ins),
            state=self._state(),
        )
        self._write(now, entry)

    def _write(self, now: Instant, entry: Entry) -> None:
        self._pending = self.record.write(entry)
        self._checkpoint_at = now.rig

    def _apply(self, commands: Commands) -> Commands:
        """OFF at once; the lamp ON only when what led to it is on disk.

        The dead-man line begins to move by the same rule, and then goes on: a slow disk must not
        drop the contactor of a heat that nothing else stops.
        """
        durable = self.record.durable_seq >= self._pending
        lit_before = self.rig.outputs().lamp
        lamp = commands.lamp and (durable or lit_before)
        dead_man = commands.dead_man and (durable or self._moving)
        applied = commands
        if (lamp, dead_man) != (commands.lamp, commands.dead_man):
            applied = replace(commands, lamp=lamp, dead_man=dead_man)
        self._held = commands.lamp and not applied.lamp
        self._moving = applied.dead_man
        self.rig.apply(applied)
        return applied

    def _tell_hands(self, acts: Sequence[Act], answers: Sequence[Answer]) -> None:
        if self.on_accepted is None:
            return
        accepted = {answer.act for answer in answers if answer.accepted}
        for act in acts:
            if act.id in accepted:
                self.on_accepted(act, self.engine.rig.run)

    def _sample(self, now: Instant, readings: Readings, applied: Commands) -> None:
        view, run = self.engine.view, self.engine.rig.run
        row = SampleRow(
            at=now.rig,
            told_utc=now.told_utc,
            batch=None if run is None else run.id,
            stage=None if run is None else run.stage,
            coat=None if run is None else run.coat.number,
            face=_value(readings, "face", now.rig),
            back=_value(readings, "back", now.rig),
            room=_value(readings, "room", now.rig),
            film=_value(readings, "film", now.rig),
            mean=None if view is None else view.mean,
            bag=_value(readings, "bag", now.rig),
            air=_value(readings, "barometer", now.rig),
            lamp=applied.lamp,
            pump=applied.pump,
        )
        self.record.sample(row)
        if now.rig - self._checkpoint_at >= self._checkpoint_each:
            self._checkpoint_at = now.rig
            self.record.checkpoint(Checkpoint(stamp=now.stamp(), state=self._state()))

    def _state(self) -> str:
        return _STATE.dump_json(self.engine.state()).decode()

    def _clock_steps(self, now: Instant) -> list[Event]:
        """The calendar moved against rig time: told, and nothing else follows from it."""
        offset = now.told_utc - now.rig
        moved = offset - self._offset
        self._offset = offset
        if abs(moved) <= STEPPED:
            return []
        text = f"The clock was set by {moved:+.0f} s. No timer here goes by it."
        return [_event(now.rig, EventKind.CLOCK_STEP, text, moved_s=moved)]


OLDEST = {"face": 10.0, "bag": 10.0}
"""Age up to which a reading goes into the record as a sample, [s]; slow ones a minute. Own."""


def _value(readings: Readings, name: str, now: float) -> float | None:
    sample = getattr(readings, name)
    if sample is None or sample.age(now) > OLDEST.get(name, 60.0):
        return None
    return float(sample.value)


def _read(state: str) -> RigState:
    try:
        return _STATE.validate_json(state)
    except ValidationError as error:
        raise InputError(
            "the log's last checkpoint is of another version: go on with the version that wrote "
            "it, or move log.db away and plan the batch anew"
        ) from error


def _batch(run: Run) -> NewBatch:
    return NewBatch(id=run.id, name=run.sheet.name, sheet=sheet_to_json(run.sheet))


def _told_at(events: Sequence[Event], act: Act) -> float | None:
    """When a late-told act was true, as the engine bounded it, [s]; None when it was not late."""
    told = (event for event in events if event.kind is EventKind.ACT)
    return next((event.happened_at for event in told if event.data.get("id") == act.id), None)


def _weigh_in(act: Act, now: Instant, told_at: float | None) -> WeighIn:
    at = now.rig if told_at is None else told_at
    return WeighIn(
        batch=str(act.batch),
        at=at,
        told_utc=now.told_utc - (now.rig - at),
        what=str(act.values.get("what", "board")),
        mass=float(act.values["mass_g"]) / 1000.0,
    )


def _event(at: float, kind: EventKind, text: str, **data: float) -> Event:
    return Event(at=at, kind=kind, batch=None, stage=None, text=text, data=dict(data))


def _note(at: float, text: str) -> Event:
    return _event(at, EventKind.NOTE, text)
