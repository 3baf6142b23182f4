"""What goes in and out of the page's routes, as strict models: no key more, no figure unbounded."""

from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
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
