"""A scenario: which board, which evening, what goes wrong when, and how it should end."""

import tomllib
from importlib import resources
from typing import Annotated, TypeVar

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from controller.batch.signals import Role
from controller.batch.stages import Stage
from controller.errors import InputError
from controller.quantities import Duration, Flux, Temperature
from controller.rehearsal.weather import HOURS_OF_YEAR

FOLDER = "scenarios"
"""Of this package, where the scenarios that ship are kept."""


class Model(BaseModel):
    """Strict and frozen, as everything read from a file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


Read = TypeVar("Read", bound=Model)


class Moment(Model):
    """A time in the story: so long after a stage began."""

    stage: Stage
    """Stage it counts from, the first time it is reached."""
    after: Duration
    """Since that stage began, [s]."""


class ScriptedFault(Moment):
    """Something that breaks."""

    name: str
    """Name in the table of faults."""
    value: float | None = None
    """In the table's unit; its usual value when left out."""
    role: Role = Role.FACE
    """Which probe, where the fault is a probe's."""
    mended: bool = True
    """The operator can put it right when an alarm asks for it."""
    lasts: Duration | None = None
    """When it goes by itself, [s]; None for never."""


class Outage(Moment):
    """The power goes."""

    lasts: Duration
    """[s]."""


class Away(Moment):
    """The operator is out of reach of phone and rig."""

    lasts: Duration
    """[s]."""


class Evening(Model):
    """The shop's air."""

    start: Temperature
    """At the start, [K]."""
    night_low: Temperature
    """Coldest of the night, [K]."""
    day_high: Temperature
    """Warmest of the day, [K]."""


class Scenario(Model):
    """A whole story."""

    name: str
    says: str
    """What it is about, in a sentence."""
    starts_at: AwareDatetime
    """Told time of the start."""
    batch: str
    """Name of the batch description that ships."""
    seed: int = 1
    """Unless another is asked for."""
    expected: str | None = "FINISHED"
    """How it should end: FINISHED, ABANDONED or REFUSED; None for anyhow, with any alarms."""
    alarms: tuple[str, ...] = ()
    """P1 and P2 alarms that must come, and no others may."""
    evening: Evening
    outdoors: Annotated[int, Field(ge=0, lt=HOURS_OF_YEAR)] | None = None
    """The shop follows the weather outside from this hour of a typical year on, in place of the
    evening's low and high; None for a shop that keeps its own."""
    lamp_flux: Flux | None = None
    """What the plant's lamp really gives the board, [W/m2]."""
    gel_age: Duration | None = None
    """When the plant's resin really gels at 23 C, [s]."""
    record: Annotated[str, Field(pattern="^(in date|out of date|none)$")] = "in date"
    """The commissioning record the simulated rig brings."""
    dry_pull: bool = True
    """The operator pulls the dry bag first."""
    faults: tuple[ScriptedFault, ...] = ()
    outages: tuple[Outage, ...] = ()
    away: tuple[Away, ...] = ()


def shipped() -> tuple[str, ...]:
    """Names of the scenarios that ship, in order."""
    folder = resources.files(__package__) / FOLDER
    return tuple(
        sorted(entry.name[:-5] for entry in folder.iterdir() if entry.name[-5:] == ".toml")
    )


def scenario(name: str) -> Scenario:
    """The scenario of that name. Raises InputError, naming what there is."""
    if name not in shipped():
        raise InputError(f"no scenario '{name}': there are {', '.join(shipped())}")
    text = (resources.files(__package__) / FOLDER / f"{name}.toml").read_text("utf-8")
    return parse_scenario(text, name)


def parse_scenario(text: str, name: str) -> Scenario:
    """A scenario from its TOML text. Raises InputError with every fault, one a line."""
    return parsed(Scenario, text, name, "scenario")


def parsed(of: type[Read], text: str, name: str, what: str) -> Read:
    """A model from its TOML text. Raises InputError with every fault, one a line.

    name: of the file      what: it should be
    """
    try:
        return of.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{name}: not TOML: {error}") from error
    except ValidationError as error:
        faults = "\n".join(
            f"  {'.'.join(str(part) for part in fault['loc'])}: {fault['msg']}"
            for fault in error.errors()
        )
        raise InputError(f"{name} is no {what}:\n{faults}") from error
