"""Cells of the matrix on all cores: one job played to a stage, and each fault done to a copy of it.

The copy is the process's own (fork): the same engine, plant and chance, to the bit, and a log in
memory, so that nothing is shared. A stage's end is found by sending a scout ahead.
"""

import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from time import perf_counter

from controller.batch.acts import Act, ActKind
from controller.errors import StageError
from controller.rehearsal.catalogue import Phase, phase_of
from controller.rehearsal.cores import crash_told, share_groups
from controller.rehearsal.matrix import SHARES, Cell, chosen
from controller.rehearsal.run import BATCH, Rehearsal
from controller.rehearsal.scenario import scenario
from controller.rehearsal.trial import Trial
from controller.settings import Settings, default_settings_text, parse_settings
from controller.store.log import MEMORY

BASES = {Phase.FINISHED: "two-coats"}
"""The story that is played up to a phase, where it is not GOOD."""
GOOD = "good-night"
LET_UP_AFTER = 1800.0
"""When the person lets a hold up, since it began, [s]. Own."""


@dataclass(frozen=True, slots=True)
class CellPlayed:
    """How one cell went."""

    name: str
    """Plays it again: `warmdraw simulate --faults --only NAME`."""
    faults: tuple[str, ...]
    """What was not as it must be; none for a cell that passed."""
    met_by: str | None
    """The alarm or verdict that met it first."""
    met_after_s: float | None
    """On the row's own clock, [s]."""
    asked: bool
    """It had to be met here, and its time was up."""
    alarms: tuple[str, ...]
    """Priority and name of each that was raised since the onset, in order."""
    wall_s: float
    """What it took, [s]."""

    @property
    def well(self) -> bool:
        """Everything was as it must be."""
        return not self.faults


def shop() -> Settings:
    """The example rig with all that may be wired to it."""
    text = default_settings_text().replace('wired = "absent"', 'wired = "wired" ')
    return parse_settings(text, "rig.example.toml")


def play_group(names: Sequence[str]) -> list[CellPlayed]:
    """Play cells of one phase, one after the other, each on a copy of the same job."""
    cells = [cell for name in names for cell in chosen(name, whole=True)]
    phase = cells[0].phase
    rehearsal = Rehearsal(scenario(BASES.get(phase, GOOD)), 1, Path(MEMORY), settings=shop())
    try:
        _play_into(rehearsal, phase)
        began = rehearsal.now
        ends = float(in_a_copy(lambda: str(_play_through(rehearsal, phase))))
        found = []
        for onset, share in SHARES.items():
            here = [cell for cell in cells if cell.onset is onset]
            until = began + share * (ends - began)
            while here and rehearsal.now < until - 1e-6:
                rehearsal.turn(until)
            found += [_played(cell, rehearsal) for cell in here]
        return found
    finally:
        rehearsal.close()


def _phase(rehearsal: Rehearsal) -> Phase | None:
    return phase_of(rehearsal.runner.engine.rig.run)


def _play_into(rehearsal: Rehearsal, phase: Phase) -> None:
    """Up to where a phase has just begun."""
    wanted = Phase.BEFORE_GEL if phase is Phase.LET_UP else phase
    while _phase(rehearsal) is not wanted:
        if rehearsal.turn() is not None:
            raise StageError(f"the story was over before {phase}")
    if phase is Phase.LET_UP:
        until = rehearsal.now + LET_UP_AFTER
        while rehearsal.now < until:
            rehearsal.turn(until)
        rehearsal.now += 1.0
        act = Act(id="let-up", kind=ActKind.LET_UP, batch=BATCH, stage="HOLD", by="operator")
        rehearsal.tick([act])
        if _phase(rehearsal) is not phase:
            raise StageError(f"LET UP was refused: {rehearsal.story.refused[-1]}")


def _play_through(rehearsal: Rehearsal, phase: Phase) -> float:
    """When the phase is over, [s]."""
    while _phase(rehearsal) is phase and rehearsal.turn() is None:
        pass
    return rehearsal.now


def _played(cell: Cell, rehearsal: Rehearsal) -> CellPlayed:
    told = json.loads(in_a_copy(lambda: json.dumps(asdict(_play(cell, rehearsal)))))
    return CellPlayed(**{**told, "faults": tuple(told["faults"]), "alarms": tuple(told["alarms"])})


def _play(cell: Cell, rehearsal: Rehearsal) -> CellPlayed:
    started = perf_counter()
    trial = Trial(cell, rehearsal)
    try:
        trial.play()
        faults = trial.faults()
    # whatever it is: this is where it is counted and shown
    except Exception as error:
        faults = (f"crashed: {crash_told(error)}",)
    return CellPlayed(
        name=cell.name,
        faults=faults,
        met_by=trial.met_by,
        met_after_s=round(trial.met_stretch, 1) if trial.met_by is not None else None,
        asked=trial.required and (trial.met_by is not None or trial.overdue),
        alarms=tuple(f"{priority} {name}" for _, name, priority in trial.raised),
        wall_s=round(perf_counter() - started, 2),
    )


def in_a_copy(work: Callable[[], str]) -> str:
    """What `work` gives back when a copy of this process does it; nothing here is changed by it.

    Raises ChildProcessError for a copy that ended without an answer.
    """
    read, write = os.pipe()
    copy = os.fork()
    if copy == 0:
        code = 1
        try:
            os.close(read)
            with os.fdopen(write, "w", encoding="utf-8") as pipe:
                pipe.write(work())
            code = 0
        finally:
            # nothing of the original's is flushed or closed a second time
            os._exit(code)
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as pipe:
        answer = pipe.read()
    _, status = os.waitpid(copy, 0)
    if status:
        raise ChildProcessError(f"a copy of process {os.getpid()} ended with {status}")
    return answer


def play_cells(
    cells: Sequence[Cell],
    kept: Path | None = None,
    tell: Callable[[CellPlayed], None] = lambda done: None,
    cores: int | None = None,
) -> tuple[CellPlayed, ...]:
    """Play all of them, in the order they were asked for; the rest as `share_groups` has it."""
    phases = {cell.name: cell.phase for cell in cells}
    groups = partial(_groups, phases)
    return share_groups(list(phases), groups, play_group, CellPlayed, kept, tell, cores).all


def _groups(phases: Mapping[str, Phase], names: Sequence[str], cores: int) -> list[list[str]]:
    """Cells that begin from one job, a share for each core; those that take longest come first."""
    found = []
    for phase in reversed(Phase):
        these = [name for name in names if phases[name] is phase]
        shares = [these[start::cores] for start in range(cores)]
        found += [share for share in shares if share]
    return found
