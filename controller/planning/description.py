"""What a person writes about a batch: boards, resin and coats, as a TOML text."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)

from controller.errors import InputError
from controller.planning import catalogue
from controller.planning.description_faults import faulted, tables_of
from controller.quantities import (
    Duration,
    Fraction,
    Length,
    Pressure,
    Temperature,
    parse_area,
    parse_duration,
    parse_fraction,
    parse_length,
    parse_mass,
    shown,
)
from controller.settings import BAND_TOP_LIMIT
from controller.settings.bounds import Name, as_tuple, between, pressure_between, typed, warm

LARGEST_BATCH = 20
"""Most pieces, and most coats, of one batch; own: a rig warms one or two at a time."""
ROOM_COLD, ROOM_HOT = 273.15 + 5.0, 273.15 + 30.0
"""Shop temperatures a batch can be planned for, [K]; own."""
WINDOW_COLD = 273.15 + 15.0
"""A window below this is a wrong unit, [K]; own, as in the rig's settings."""


def _coat_weight(value: object) -> float:
    """A coat weight, [kg/m2], from text such as "200 g/m2" or "0.6 oz/ft2"."""
    mass, slash, area = value.partition("/") if isinstance(value, str) else ("", "", "")
    if not slash:
        raise InputError(f"{shown(value)}: no coat weight; say e.g. '200 g/m2' or '0.6 oz/ft2'")
    return parse_mass(mass) / parse_area(f"1 {area}")


def _in_grams(lowest: float, highest: float) -> Callable[[float], float]:
    def check(value: float) -> float:
        if not lowest <= 1000 * value <= highest:
            raise InputError(f"allowed: {lowest:g} g/m2 to {highest:g} g/m2")
        return value

    return check


def _known(find: Callable[[str], object]) -> AfterValidator:
    def check(name: str) -> str:
        find(name)
        return name

    return AfterValidator(check)


def _without_braces(value: str) -> str:
    # sentences keep their gaps in braces
    if set("{}") & set(value):
        raise InputError("allowed: a name without { and }")
    return value


Called = Annotated[Name, AfterValidator(_without_braces)]
CoatWeight = Annotated[float, BeforeValidator(_coat_weight), AfterValidator(_in_grams(20, 500))]
Board = Annotated[Length, between(parse_length, "30 mm", "3 m")]
Sealed = Literal["sealed", "bare"]


class Lines(BaseModel):
    """A table of the text: nothing unknown, nothing converted in silence."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=True)


class PieceLines(Lines):
    """One board."""

    name: Called
    wood: Annotated[str, _known(catalogue.wood)]
    length: Board
    """Along the grain, [m]."""
    width: Board
    """[m]."""
    thickness: Annotated[Length, between(parse_length, "3 mm", "60 mm")]
    """[m]."""
    moisture: Annotated[Fraction, between(parse_fraction, "3 %", "16 %")] = typed("8 %")
    """Of dry mass, [-]. Default: common practice, no source, for wood kept indoors."""
    ends: Sealed = "bare"
    back: Sealed = "bare"


class CoatLines(Lines):
    """One coat of one face."""

    pieces: Annotated[
        tuple[str, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=LARGEST_BATCH)
    ]
    face: Literal["A", "B"] = "A"
    weight: CoatWeight
    """Mix that goes on the boards, thinner in it, [kg/m2]."""
    thinner: Annotated[str, _known(catalogue.thinner)] = "none"
    thinner_share: Fraction = typed("0 %")
    """Of the mass of the whole mix, [-]."""
    bagged: bool = True

    @field_validator("thinner_share")
    @classmethod
    def _thinner_and_share_together(cls, value: float, info: ValidationInfo) -> float:
        name = info.data.get("thinner")
        if name == "none" and value > 0:
            raise InputError("allowed: 0 % without a thinner; name it, thinner = 'ethanol'")
        if name not in (None, "none") and value <= 0:
            raise InputError(f"allowed: more than 0 % of {name}; or thinner = 'none'")
        return value


class HeatLines(Lines):
    """How the boards lie under the lamp, and what this batch wants otherwise than the rig."""

    back: Literal["lined", "open"] = "lined"
    band_top: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Highest top of the preheat band, [K]; the rig's own limit when left out."""
    coat_low: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Foot of the coat window, [K]; the rig's when left out."""
    coat_high: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Its top, [K]; the rig's when left out."""
    handling_time: Annotated[Duration, between(parse_duration, "10 s", "20 min")] | None = None
    """Lamp-off to first stroke, [s]; the rig's when left out."""


class BagLines(Lines):
    """What this batch wants of the bag."""

    target: Annotated[Pressure, pressure_between("5 kPa", "90 kPa")] | None = None
    """The rig's when left out."""


class Description(Lines):
    """A batch as it is asked for, in SI."""

    name: Called
    resin: Annotated[str, _known(catalogue.resin)]
    room: Annotated[Temperature, warm(ROOM_COLD, ROOM_HOT)] = typed("20 C")
    """The shop while the boards are warmed and coated, [K]."""
    waste: Annotated[Fraction, between(parse_fraction, "0 %", "100 %")] = typed("15 %")
    """Mixed on top of what the boards get, [-]. Default: common practice, no source."""
    pieces: Annotated[
        tuple[PieceLines, ...],
        BeforeValidator(as_tuple),
        Field(min_length=1, max_length=LARGEST_BATCH),
    ]
    coats: Annotated[
        tuple[CoatLines, ...],
        BeforeValidator(as_tuple),
        Field(min_length=1, max_length=LARGEST_BATCH),
    ]
    heat: HeatLines = Field(default_factory=HeatLines)
    bag: BagLines = Field(default_factory=BagLines)

    @field_validator("pieces")
    @classmethod
    def _each_name_once(cls, pieces: tuple[PieceLines, ...]) -> tuple[PieceLines, ...]:
        names = [piece.name for piece in pieces]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InputError(f"allowed: another name for each piece; twice: {', '.join(twice)}")
        return pieces

    @field_validator("coats")
    @classmethod
    def _coats_fit_pieces_and_resin(
        cls, coats: tuple[CoatLines, ...], info: ValidationInfo
    ) -> tuple[CoatLines, ...]:
        pieces, resin_name = info.data.get("pieces"), info.data.get("resin")
        for number, coat in enumerate(coats, 1):
            if pieces is not None:
                there = [piece.name for piece in pieces]
                for name in coat.pieces:
                    if name not in there:
                        raise InputError(
                            f"coat {number} asks for {shown(name)}; there is {', '.join(there)}"
                        )
                if len(set(coat.pieces)) < len(coat.pieces):
                    raise InputError(f"coat {number} names a piece twice")
            if resin_name is not None:
                most = catalogue.resin(resin_name).largest_thinner
                if coat.thinner_share > most:
                    raise InputError(
                        f"coat {number} asks for {100 * coat.thinner_share:g} % thinner; "
                        f"{resin_name} bears up to {100 * most:g} %"
                    )
        return coats


def read_description(path: Path) -> Description:
    """The batch in this file.

    Raises InputError: a first line with the count, then a line for each fault of the file.
    """
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise InputError(f"{path}: 1 fault\n{path} line {line}: not UTF-8 text") from error
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; is the file's name right?") from error
    return parse_description(text, str(path))


def parse_description(text: str, name: str = "batch.toml") -> Description:
    """The batch in this text; `name` is what the faults call it. Raises InputError, as above."""
    tables = tables_of(text, name)
    with faulted(name, Description):
        return Description.model_validate(tables)
