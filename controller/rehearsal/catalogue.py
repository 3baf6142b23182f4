"""The catalogue of faults: what can go wrong, how it is done here, and what must be so then."""

from collections.abc import Iterable
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Annotated, Self

from pydantic import Field, model_validator

from controller.batch.alarm_row import Priority
from controller.batch.signals import Role
from controller.batch.stages import Form, Stage
from controller.batch.state import Run
from controller.hardware.faults import fault_value
from controller.rehearsal.scenario import Model, parsed

FILE = "catalogue.toml"
"""Of this package."""


class Phase(StrEnum):
    """Where a fault may begin: the stages of work, and the three kinds of hold apart."""

    PLANNED = "PLANNED"
    DRYPULL = "DRYPULL"
    PREHEAT = "PREHEAT"
    SOAK = "SOAK"
    COOLDOWN = "COOLDOWN"
    COAT = "COAT"
    BAG = "BAG"
    PULLDOWN = "PULLDOWN"
    BEFORE_GEL = "HOLD-BEFORE-GEL"
    AFTER_GEL = "HOLD-AFTER-GEL"
    LET_UP = "LET-UP"
    FLASHOFF = "FLASHOFF"
    FINISHED = "FINISHED"


GROUPS = {
    "ANY": frozenset(Phase),
    "HEAT": frozenset({Phase.PREHEAT, Phase.SOAK}),
    "VACUUM": frozenset({Phase.PULLDOWN, Phase.BEFORE_GEL, Phase.AFTER_GEL, Phase.LET_UP}),
}
"""Names for several phases."""


def phase_of(run: Run | None) -> Phase | None:
    """The phase a batch is in; None while it is halted.

    After the late end of the gel range a hold is another phase: nothing there wakes anybody.
    """
    if run is None:
        return Phase.PLANNED
    if run.stage is not Stage.HOLD:
        return Phase(run.stage) if run.stage in Phase.__members__ else None
    if run.form is Form.LET_UP:
        return Phase.LET_UP
    return Phase.AFTER_GEL if run.has_set() else Phase.BEFORE_GEL


class Clock(StrEnum):
    """What a threshold counts."""

    ALL = "all"
    LAMP_ON = "lamp on"
    FED_UNASKED = "fed unasked"
    FIRST_LAMP = "first lamp"
    PUMP_ON = "pump on"
    PUMP_OFF = "pump off"
    BAG_OUT = "bag out"


class Kind(StrEnum):
    """How a row is shown to be met."""

    PLAYED = "played"
    PROVED = "proved in tests"
    HARDWARE = "hardware"


Phases = tuple[str, ...]


class Row(Model):
    """One row. The fields are explained at the head of the file."""

    id: Annotated[str, Field(pattern="^[LPBRWDNH][0-9]{2}$")]
    breaks: str
    fault: str | None = None
    value: float | None = None
    role: Role = Role.FACE
    outage: bool = False
    away: bool = False
    press: str | None = None
    tests: tuple[str, ...] = ()
    hardware: str | None = None
    stages: Phases = ()
    quiet: Phases = ()
    clock: Clock = Clock.ALL
    within_s: float = 0.0
    alarms: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    gate: tuple[str, ...] = ()
    priority: Priority = Priority.P3
    dark_s: float | None = None
    pump_off_s: float | None = None
    noted_late: bool = False
    note: str = ""

    @property
    def kind(self) -> Kind:
        """How it is shown to be met."""
        if self.tests:
            return Kind.PROVED
        return Kind.HARDWARE if self.hardware else Kind.PLAYED

    @property
    def met_in(self) -> frozenset[Phase]:
        """Phases in which it must be met."""
        return _phases(self.stages)

    @property
    def quiet_in(self) -> frozenset[Phase]:
        """Phases in which nobody may be woken by it."""
        return _phases(self.quiet) - self.met_in

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        done = [self.fault, self.outage, self.away, self.press, self.tests, self.hardware]
        if sum(map(bool, done)) != 1:
            raise ValueError("a row is played in one way, proved in tests, or hardware")
        if self.fault is not None:
            fault_value(self.fault, self.value)
        if self.kind is Kind.PLAYED and not self.met_in | self.quiet_in:
            raise ValueError("a row that is played names the stages it is played in")
        if self.met_in and not (self.alarms or self.gate or self.press):
            raise ValueError("a row that must be met says by what")
        return self


class _File(Model):
    row: tuple[Row, ...]


def _phases(names: Iterable[str]) -> frozenset[Phase]:
    found: set[Phase] = set()
    for name in names:
        found |= GROUPS[name] if name in GROUPS else {Phase(name)}
    return frozenset(found)


@cache
def catalogue() -> tuple[Row, ...]:
    """Every row, in the file's order. Raises InputError with what is wrong in it."""
    return parse_catalogue((resources.files(__package__) / FILE).read_text("utf-8"))


def parse_catalogue(text: str) -> tuple[Row, ...]:
    """Rows from their TOML text. Raises InputError with what is wrong in it, one a line."""
    return parsed(_File, text, FILE, "catalogue").row
