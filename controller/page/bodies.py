"""What goes in and out of the page's routes, as strict models: no key more, no figure unbounded."""

from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    JsonValue,
    StrictBool,
    StringConstraints,
    model_validator,
)

from controller.batch.acts import CARRIES, ActKind
from controller.batch.snapshot import Snapshot
from controller.batch.stages import Stage
from controller.page.ledger import DueState

MOST = 2**53
"""Largest number a browser can hand back whole. [1] ECMA-262, Number.MAX_SAFE_INTEGER."""
TEXT_MOST = 500
"""Longest text in an act, [characters]. Own."""
LARGE = 1e9
"""No figure a person may send is larger. Own."""
TYPED_MOST, KEYS_MOST, ROWS_MOST = 120, 24, 20
"""Longest text in a blank, most keys of a table, most rows of a list. Own: above what a good
description has, and little enough that its faults are quickly told."""


def _printable(text: str) -> str:
    if not text.isprintable():
        raise ValueError("only letters, signs and plain spaces")
    return text


Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1), AfterValidator(_printable)
]
ActId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{8,64}$")]
ValueName = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,39}$")]
Figure = Annotated[float, Field(strict=True, ge=-LARGE, le=LARGE, allow_inf_nan=False)]


class Told(BaseModel):
    """What a stranger sends: nothing beside what is asked, no number but a finite one."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class ActTold(Told):
    """One press on a phone."""

    id: ActId
    kind: Annotated[ActKind, Field(strict=False)]
    batch: Annotated[Name, Field(max_length=64)] | None = None
    stage: Annotated[Stage, Field(strict=False)] | None = None
    ago_s: Annotated[float, Field(ge=0, le=86_400)] = 0.0
    values: dict[ValueName, StrictBool | Figure | str] = Field(default={}, max_length=16)
    seen_seq: Annotated[int, Field(ge=0, le=MOST)]

    @model_validator(mode="after")
    def _carries(self) -> "ActTold":
        known = {"sheet"} if self.kind is ActKind.PLAN else CARRIES.get(self.kind, {}).keys()
        for name, value in self.values.items():
            if name not in known:
                raise ValueError(f"{self.kind} carries no {name}")
            if isinstance(value, str) and name != "sheet":
                _printable(value)
                if len(value) > TEXT_MOST:
                    raise ValueError(f"{name} is longer than {TEXT_MOST} characters")
        return self


class PinTold(Told):
    """A try at pairing."""

    pin: Annotated[str, StringConstraints(pattern=r"^[0-9]{6}$")]
    name: Annotated[Name, Field(max_length=40)] | None = None
    bearer: bool = False


class Whose(Told):
    """Whose pairing shall end: by its id, by its name, or the caller's own."""

    id: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{16}$")] | None = None
    name: Annotated[Name, Field(max_length=40)] | None = None

    @model_validator(mode="after")
    def _one(self) -> "Whose":
        if self.id is not None and self.name is not None:
            raise ValueError("name a pairing by its id or by its name, not by both")
        return self


class Trouble(BaseModel):
    """Every error: one sentence, and what to do."""

    error: str


class Frame(BaseModel):
    """What a phone is shown."""

    connected: bool
    age_s: float | None
    snapshot: Snapshot | None


class AnswerTold(BaseModel):
    """What control said to an act."""

    act: str
    accepted: bool
    text: str


class Me(BaseModel):
    """What the caller is to the page."""

    role: Literal["watch", "control"]
    why: str
    name: str | None
    left_s: float | None
    pairing_open: bool
    api: int


class Paired(BaseModel):
    """A pairing was made."""

    role: Literal["control"]
    name: str | None
    left_s: float
    token: str | None = None


class PairingTold(BaseModel):
    """One phone that may press."""

    id: str
    name: str | None
    paired_utc: float
    left_s: float
    mine: bool


class Pairings(BaseModel):
    """The phones that may press, oldest pairing first."""

    pairings: list[PairingTold]


class Unpaired(BaseModel):
    """Pairings were ended: how many, and what the caller is now."""

    role: Literal["watch", "control"]
    ended: int


class DueTold(BaseModel):
    """One line of the calendar."""

    batch: str
    what: str
    at_utc: float
    until_utc: float | None
    state: DueState


class DueList(BaseModel):
    """The calendar in told time."""

    told_utc: float | None
    due: list[DueTold]


Typed = (
    StrictBool
    | Annotated[int, Field(strict=True, ge=-MOST, le=MOST)]
    | Figure
    | Annotated[str, StringConstraints(max_length=TYPED_MOST)]
)
"""What may stand in one blank of a batch description."""
Table = Annotated[
    dict[ValueName, Typed | Annotated[list[Typed], Field(max_length=ROWS_MOST)]],
    Field(max_length=KEYS_MOST),
]
Tables = Annotated[
    dict[ValueName, Typed | Table | Annotated[list[Table], Field(max_length=ROWS_MOST)]],
    Field(max_length=KEYS_MOST),
]
"""A batch description as TOML has it: tables, lists of tables, and what stands in them."""


class SheetTold(Told):
    """A batch as it is asked for, to be reckoned through."""

    description: Tables


class PlanTold(Told):
    """A batch as it is asked for, to be put on the rig."""

    id: ActId
    description: Tables
    batch: Annotated[Name, Field(max_length=64)] | None = None
    stage: Annotated[Stage, Field(strict=False)] | None = None
    seen_seq: Annotated[int, Field(ge=0, le=MOST)]


class FaultTold(BaseModel):
    """Something that keeps a sheet from being made."""

    key: str
    says: str


class GroupTold(BaseModel):
    """Blanks of the form that stand together; `table` names the list whose rows can be added."""

    key: str
    title: str
    table: str
    row: str


class FieldTold(BaseModel):
    """One blank of the form."""

    key: str
    group: str
    label: str
    kind: Literal["text", "choice", "several", "tick", "count", "moment", "hour"]
    text: str
    units: list[str]
    choices: list[str]
    without: str
    hint: str


class FigureTold(BaseModel):
    """A figure with its unit's kind and its source."""

    kind: str
    value: float
    source: str


class LineTold(BaseModel):
    """One thing the sheet says, with a gap for each figure."""

    key: str
    label: str
    text: str
    figures: dict[str, FigureTold]
    care: bool


class SectionTold(BaseModel):
    """The lines that answer one question."""

    key: str
    title: str
    question: str
    lines: list[LineTold]


class SheetAnswer(BaseModel):
    """What a description comes to; no sections where it has faults."""

    faults: list[FaultTold]
    sections: list[SectionTold] | None
    groups: list[GroupTold]
    fields: list[FieldTold]
    time_zone: str


class Choices(BaseModel):
    """What a description may name."""

    woods: list[str]
    resins: list[str]
    thinners: list[str]


class SheetStart(BaseModel):
    """A description to begin with."""

    description: dict[str, JsonValue]
    choices: Choices
