"""What a person writes about a batch: boards, resin and coats, as a TOML text."""

from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from controller.errors import InputError
from controller.planning.catalogue import Catalogue, ResinClass, built_in
from controller.planning.data_sheet import DataSheetLines, as_the_tin_says
from controller.planning.description_faults import faulted, tables_of
from controller.planning.description_lines import (
    LARGEST_BATCH,
    BagLines,
    BenchLines,
    Called,
    CoatLines,
    HeatLines,
    Lines,
    PieceLines,
    PouredLines,
    ResinName,
    ShopLines,
    TimesLines,
    catalogue_of,
)
from controller.quantities import Fraction, parse_fraction, shown
from controller.settings.bounds import as_tuple, between, typed


class Description(Lines):
    """A batch as it is asked for, in SI."""

    name: Called
    resin: ResinName
    data_sheet: DataSheetLines | None = None
    """What the tin in hand says; it outranks the row of its class."""
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
    shop: ShopLines = Field(default_factory=ShopLines)
    times: TimesLines = Field(default_factory=TimesLines)
    bench: BenchLines = Field(default_factory=BenchLines)
    heat: HeatLines = Field(default_factory=HeatLines)
    bag: BagLines = Field(default_factory=BagLines)
    poured: PouredLines | None = None
    """A cup that came out wrong, to be put right."""

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
        tin = info.data.get("data_sheet")
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
                most = as_the_tin_says(catalogue_of(info).resin(resin_name), tin).largest_thinner
                if coat.thinner_share > most:
                    raise InputError(
                        f"coat {number} asks for {100 * coat.thinner_share:g} % thinner; "
                        f"{resin_name} bears up to {100 * most:g} %"
                    )
        return coats

    @model_validator(mode="after")
    def _a_poured_cup_is_of_a_coat(self) -> "Description":
        if self.poured is not None and self.poured.coat > len(self.coats):
            raise InputError(f"poured coat = {self.poured.coat}: {_counted(len(self.coats))}")
        return self

    def resin_in(self, catalogue: Catalogue) -> ResinClass:
        """The resin as the tin in hand has it. Raises InputError for a name that is not there."""
        return as_the_tin_says(catalogue.resin(self.resin), self.data_sheet)


def _counted(coats: int) -> str:
    return "there is 1 coat" if coats == 1 else f"there are {coats} coats"


def read_description(path: Path, catalogue: Catalogue | None = None) -> Description:
    """The batch in this file; its names are looked up in `catalogue`, the built-in one by default.

    Raises InputError: a first line with the count, then a line for each fault of the file.
    """
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise InputError(f"{path}: 1 fault\n{path} line {line}: not UTF-8 text") from error
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; is the file's name right?") from error
    return parse_description(text, str(path), catalogue)


def parse_description(
    text: str, name: str = "batch.toml", catalogue: Catalogue | None = None
) -> Description:
    """The batch in this text; `name` is what the faults call it. Raises InputError, as above."""
    return description_of(tables_of(text, name), name, catalogue)


def description_of(
    tables: dict[str, object], name: str = "sheet", catalogue: Catalogue | None = None
) -> Description:
    """The batch in these tables, as a form on a page sends them. Raises InputError, as above."""
    with faulted(name, Description):
        return Description.model_validate(tables, context={"catalogue": catalogue or built_in()})
