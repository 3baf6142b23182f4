"""One cell of the matrix while it is played: what is done, what is watched, and the verdict on it.

Rig time is cut into ticks of seconds to minutes, and nothing is met between two of them; so two
ticks are allowed on top of each threshold.
"""

from dataclasses import dataclass, field
from typing import Any

from controller.batch.acts import Act, ActKind
from controller.batch.alarm_row import Priority
from controller.rehearsal.catalogue import GROUPS, Clock, Phase, phase_of
from controller.rehearsal.matrix import Cell
from controller.rehearsal.run import BATCH, Rehearsal
from controller.rehearsal.scenario import Away, Outage, ScriptedFault

FLOOD_TIME = 600.0
"""Time in which a fault may raise FLOOD alarms, [s]. Own."""
FLOOD = 3
"""Most alarms of one fault in that time. Own."""
QUIET_TIME = {True: 900.0, False: 3600.0}
"""How long nobody may be woken: in brisk stages, and in the others, [s]. Own."""
LONGEST = {True: 3600.0, False: 8 * 3600.0}
"""How long a threshold whose clock hardly runs is waited for, in the same, [s]. Own."""
BRISK = frozenset(Phase) - {Phase.BEFORE_GEL, Phase.AFTER_GEL, Phase.LET_UP, Phase.FLASHOFF}
"""Phases that are soon over, or whose ticks are short."""
OUT = 3e3
"""How far above its band the bag counts as out, [Pa]. Own."""
TICKS = 2
"""Ticks allowed on top of a threshold. Own."""
MOTOR = "pump does not pull"
"""What calls after the gel too: a motor runs, and to no end."""
SERIOUS = frozenset({Priority.P1, Priority.P2})
"""What wakes somebody."""


@dataclass(slots=True)
class Trial:
    """What a cell has come to so far."""

    cell: Cell
    rehearsal: Rehearsal
    onset: float = 0.0
    """When it began, [s]."""
    longest_tick: float = 0.0
    stretch: float = 0.0
    """Longest stretch of the row's clock so far, [s]."""
    running: float = 0.0
    """The present stretch, [s]."""
    first_lamp_at: float | None = None
    """When the lamp came on first since the onset, [s]."""
    met_by: str | None = None
    met_at: float = 0.0
    met_stretch: float = 0.0
    """On the row's clock, [s]."""
    left: bool = False
    """The batch has left the stages in which it must be met, before it was."""
    in_time: bool = True
    lit_since_met: bool = False
    pumped_since_met: bool = False
    stray: list[str] = field(default_factory=list)
    """Alarms that wake somebody and have no place here."""
    heard: int = 0
    raised: list[tuple[float, str, Priority]] = field(default_factory=list)
    """Alarms since the onset: when, which, how urgent."""
    refused_before: int = 0
    unsafe_before: int = 0

    def play(self) -> None:
        """Do what the row says and play on until there is a verdict."""
        rehearsal = self.rehearsal
        self.heard = len(rehearsal.story.alarms)
        self.unsafe_before = len(rehearsal.onlooker.unsafe)
        self.refused_before = len(rehearsal.story.refused)
        self._begin()
        while not self._over():
            before, was_running = rehearsal.now, self._clock_runs()
            ended = rehearsal.turn(until=self._next_edge())
            self._look(rehearsal.now - before, was_running)
            if ended is not None:
                return

    def _begin(self) -> None:
        row, rehearsal = self.cell.row, self.rehearsal
        stage, lasts = rehearsal.stage, self.cell.lasts
        began = rehearsal.story.began(stage) or 0.0
        self.onset = rehearsal.now
        moment: dict[str, Any] = {"stage": stage, "after": f"{rehearsal.now - began:.1f} s"}
        if lasts is not None:
            moment["lasts"] = f"{lasts:.1f} s"
        if row.press is not None:
            rehearsal.now += 1.0
            rehearsal.tick([_press(row.press, stage)])
            self._look(1.0, False)
        elif row.fault is not None:
            told = moment | {"name": row.fault, "value": row.value, "role": row.role}
            rehearsal.comes(ScriptedFault.model_validate(told | {"mended": False}))
        elif row.outage:
            rehearsal.comes(Outage.model_validate(moment))
            self.onset += lasts or 0.0
        else:
            rehearsal.comes(Away.model_validate(moment))

    # --- while it is played

    def _clock_runs(self) -> bool:
        rehearsal, run = self.rehearsal, self.rehearsal.runner.engine.rig.run
        truth, clock = rehearsal.rig.truth(), self.cell.row.clock
        lamp = run is not None and run.lamp.on
        pump = run is not None and run.bag.pump_on
        if lamp and self.first_lamp_at is None:
            self.first_lamp_at = rehearsal.now
        match clock:
            case Clock.LAMP_ON:
                return lamp
            case Clock.FED_UNASKED:
                return not lamp and truth.lamp_fed
            case Clock.FIRST_LAMP:
                return self.first_lamp_at is not None
            case Clock.PUMP_ON:
                return pump
            case Clock.PUMP_OFF:
                return not pump
            case Clock.BAG_OUT:
                plan = None if run is None else run.coat.bag
                return plan is not None and truth.bag > plan.restart + OUT
            case _:
                return True

    def _look(self, seconds: float, was_running: bool) -> None:
        rehearsal, row = self.rehearsal, self.cell.row
        if rehearsal.now <= self.onset:
            return
        self.longest_tick = max(self.longest_tick, min(seconds, rehearsal.now - self.onset))
        self.running = self.running + seconds if was_running else 0.0
        self.stretch = max(self.stretch, self.running)
        phase = phase_of(rehearsal.runner.engine.rig.run)
        self._hear(phase)
        if self.met_by is None:
            self._is_met(phase)
        else:
            gone, truth = rehearsal.now - self.met_at, rehearsal.rig.truth()
            first_look = self.longest_tick * TICKS + max(row.dark_s or 0.0, row.pump_off_s or 0.0)
            if gone <= max(first_look, 30.0):
                self._outputs(gone, truth.lamp_lit, truth.pump_running)

    def _outputs(self, gone: float, lit: bool, pumping: bool) -> None:
        row = self.cell.row
        allowed = self.longest_tick if self.longest_tick > 2.0 else 0.0
        if row.dark_s is not None and gone > row.dark_s + allowed:
            self.lit_since_met |= lit
        if row.pump_off_s is not None and gone > row.pump_off_s + allowed:
            self.pumped_since_met |= pumping

    def _hear(self, phase: Phase | None) -> None:
        """Take the alarms of this tick in."""
        fresh = self.rehearsal.story.alarms[self.heard :]
        self.heard += len(fresh)
        for alarm in fresh:
            name, priority = alarm["id"], Priority(alarm["priority"])
            self.raised.append((alarm["at_s"] - self.onset, name, priority))
            if priority in SERIOUS and not self._has_its_place(name, phase):
                self.stray.append(f"{priority} {name}")

    def _has_its_place(self, alarm: str, phase: Phase | None) -> bool:
        row = self.cell.row
        if alarm in row.also:
            return True
        if alarm not in row.alarms:
            return False
        if row.noted_late and phase in (Phase.AFTER_GEL, Phase.LET_UP):
            return alarm == MOTOR and phase is Phase.AFTER_GEL
        # one that begins where nobody is woken may well be met in a later stage
        return phase is None or phase in row.met_in or not self.cell.quiet

    def _is_met(self, phase: Phase | None) -> None:
        row, run = self.cell.row, self.rehearsal.runner.engine.rig.run
        found = next((name for _, name, _ in self.raised if name in row.alarms), None)
        if found is None and run is not None and row.gate and run.bag.verdict in row.gate:
            found = f"leak gate: {run.bag.verdict}"
        if found is None and row.press is not None:
            refused = self.rehearsal.story.refused[self.refused_before :]
            found = "refused" if refused else None
        if found is not None:
            self.met_by, self.met_at = found, self.rehearsal.now
            self.met_stretch = self.stretch if row.clock is not Clock.ALL else self._gone()
            self.in_time = self.met_stretch <= self._limit()
        elif phase is not None and phase not in self._counts_in:
            self.left = True

    @property
    def _counts_in(self) -> frozenset[Phase]:
        """Phases in which its time runs: what waits for the lamp is carried into the heat."""
        later = GROUPS["HEAT"] | {Phase.PLANNED, Phase.DRYPULL}
        waits = self.cell.row.clock is Clock.FIRST_LAMP
        return self.cell.row.met_in | {self.cell.phase} | (later if waits else frozenset())

    def _gone(self) -> float:
        return self.rehearsal.now - self.onset

    def _limit(self) -> float:
        return self.cell.row.within_s + TICKS * self.longest_tick

    @property
    def required(self) -> bool:
        """It has to be met: it stands long enough, where it counts."""
        row, lasts = self.cell.row, self.cell.lasts
        if self.cell.quiet:
            return False
        if row.clock is Clock.FIRST_LAMP and lasts is not None:
            # what has passed before the lamp ever came on was never there
            lit = self.first_lamp_at
            lasts = 0.0 if lit is None else self.onset + lasts - lit
        return row.press is not None or lasts is None or lasts > self._limit()

    def _next_edge(self) -> float:
        return self.onset + self.cell.row.within_s if self._gone() < 0.0 else float("inf")

    def _over(self) -> bool:
        brisk, gone = self.cell.phase in BRISK, self._gone()
        if not self.required:
            return gone >= QUIET_TIME[brisk]
        if gone < FLOOD_TIME:
            return False
        if self.met_by is not None or self.left or gone >= LONGEST[brisk]:
            return True
        return self.overdue

    @property
    def overdue(self) -> bool:
        """Its time is up on the row's own clock, and nothing has met it."""
        spent = self._gone() if self.cell.row.clock is Clock.ALL else self.stretch
        return self.met_by is None and spent > self._limit()

    # --- the verdict

    def faults(self) -> tuple[str, ...]:
        """Everything that is not as it must be, each in words; none for a cell that passes."""
        row = self.cell.row
        unsafe = self.rehearsal.onlooker.unsafe[self.unsafe_before :]
        found = [f"rule {each.rule} broken at {each.at:.0f} s: {each.what}" for each in unsafe]
        found += [f"{name} has no place here" for name in dict.fromkeys(self.stray)]
        if self.required and not self.left and self.overdue:
            wanted = ", ".join((*row.alarms, *row.gate)) or "a refusal"
            found.append(f"not met in {row.within_s:.0f} s ({row.clock}) by {wanted}")
        if self.met_by is not None and not self.in_time and not self.cell.quiet:
            late = f"met after {self.met_stretch:.0f} s ({row.clock}), {row.within_s:.0f} s allowed"
            found.append(f"{late}: {self.met_by}")
        found += self._of_the_alarms()
        if self.lit_since_met:
            found.append(f"the lamp burns later than {row.dark_s:.0f} s after it was met")
        if self.pumped_since_met:
            found.append(f"the pump runs later than {row.pump_off_s:.0f} s after it was met")
        return tuple(found)

    def _of_the_alarms(self) -> list[str]:
        row, found = self.cell.row, []
        first = next((each for each in self.raised if each[1] == self.met_by), None)
        # P1 is before P2 is before P3, in the alphabet too
        if first is not None and first[2] > row.priority and not self.cell.quiet:
            found.append(f"{first[1]} is {first[2]}, not {row.priority}")
        soon = [name for after, name, _ in self.raised if after <= FLOOD_TIME]
        if len(soon) > FLOOD:
            found.append(f"{len(soon)} alarms in 10 min: {', '.join(soon)}")
        serious = [name for _, name, priority in self.raised if priority in SERIOUS]
        if serious and row.alarms and serious[0] not in (*row.alarms, *row.also):
            found.append(f"the first alarm is {serious[0]}")
        return found


def _press(kind: str, stage: str) -> Act:
    return Act(id="slip-1", kind=ActKind(kind), batch=BATCH, stage=stage, by="operator")
