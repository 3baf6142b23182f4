"""The table of the form: which blanks a batch description has, in what order and words."""

from dataclasses import dataclass

from pydantic import BaseModel

from controller.planning.data_sheet import DataSheetLines
from controller.planning.description import Description
from controller.planning.description_lines import (
    BagLines,
    BenchLines,
    CoatLines,
    HeatLines,
    PieceLines,
    PouredLines,
    ShopLines,
    TimesLines,
)


@dataclass(frozen=True, slots=True)
class Blank:
    """One blank of the form."""

    model: type[BaseModel]
    """The table it belongs to, which bounds it."""
    key: str
    """Its key, with its table's in front: "shop room"; in a list's row, its key alone."""
    label: str
    """What it asks for."""
    kind: str = "text"
    """A kind of sheet_form.UNITS for a quantity that has several units; else as FormField.kind."""
    hint: str = ""
    """A few words more."""
    without: str = ""
    """What holds where it is left out and the model's default does not say."""
    of: str | None = None
    """For a 'choice': which rows of the catalogue; the model's own words when left out."""


@dataclass(frozen=True, slots=True)
class Group:
    """Blanks that stand together."""

    key: str
    """Name of the group."""
    title: str
    """As a heading."""
    blanks: tuple[Blank, ...] = ()
    """Those that are there once."""
    table: str = ""
    """Key of the list whose rows can be added and taken away; empty for none."""
    row: str = ""
    """What one row is."""
    each: tuple[Blank, ...] = ()
    """Those of each row."""


_RIG = "as in the rig's settings"
_CLASS = "as its class has it"

GROUPS = (
    Group(
        "boards",
        "Boards",
        (Blank(Description, "name", "Name of the batch"),),
        "pieces",
        "board",
        (
            Blank(PieceLines, "name", "Name", hint="each another"),
            Blank(PieceLines, "wood", "Wood", "choice", of="woods"),
            Blank(PieceLines, "length", "Length", "length", "along the grain"),
            Blank(PieceLines, "width", "Width", "length"),
            Blank(PieceLines, "thickness", "Thickness", "length"),
            Blank(PieceLines, "moisture", "Moisture", hint="by the meter, of dry mass"),
            Blank(
                PieceLines, "mass", "Weight", "mass", "as weighed", "by the wood's usual density"
            ),
            Blank(PieceLines, "part", "Sapwood or heartwood", "choice"),
            Blank(PieceLines, "ends", "Ends", "choice"),
            Blank(PieceLines, "back", "Back", "choice"),
        ),
    ),
    Group(
        "coats",
        "Coats",
        (),
        "coats",
        "coat",
        (
            Blank(CoatLines, "pieces", "Boards", "several", "heated and coated together"),
            Blank(CoatLines, "face", "Face", "choice"),
            Blank(CoatLines, "weight", "Coat weight", "coat_weight", "mix on the board"),
            Blank(CoatLines, "thinner", "Thinner", "choice", of="thinners"),
            Blank(CoatLines, "thinner_share", "Thinner, of the whole mix", hint="by mass"),
            Blank(CoatLines, "bagged", "Under the bag", "tick"),
        ),
    ),
    Group(
        "resin",
        "Resin and tin",
        (
            Blank(Description, "resin", "Class of resin", "choice", of="resins"),
            Blank(Description, "waste", "Mixed on top", hint="for what stays in cup and brush"),
            Blank(
                DataSheetLines,
                "data_sheet ratio",
                "Ratio",
                hint="2:1 by volume, or 100:47 by weight",
                without=_CLASS,
            ),
            Blank(DataSheetLines, "data_sheet density_a", "Density of A", "density", "", _CLASS),
            Blank(DataSheetLines, "data_sheet density_b", "Density of B", "density", "", _CLASS),
            Blank(
                DataSheetLines,
                "data_sheet at",
                "Figures below hold at",
                "temperature",
            ),
            Blank(
                DataSheetLines,
                "data_sheet viscosity",
                "Viscosity, mixed",
                hint="e.g. 850 cP",
                without=_CLASS,
            ),
            Blank(
                DataSheetLines,
                "data_sheet pot_life",
                "Pot life",
                hint="e.g. 40 min",
                without=_CLASS,
            ),
            Blank(DataSheetLines, "data_sheet pot_mass", "in a cup of", "mass"),
            Blank(
                DataSheetLines,
                "data_sheet gel_early",
                "Gel of a thin film, from",
                hint="e.g. 4 h",
                without=_CLASS,
            ),
            Blank(
                DataSheetLines, "data_sheet gel_late", "Gel, to", hint="e.g. 6 h", without=_CLASS
            ),
            Blank(
                DataSheetLines,
                "data_sheet open_early",
                "Hard enough to handle, from",
                hint="e.g. 12 h",
                without=_CLASS,
            ),
            Blank(
                DataSheetLines,
                "data_sheet open_late",
                "Hard enough, to",
                hint="e.g. 20 h",
                without=_CLASS,
            ),
            Blank(
                DataSheetLines,
                "data_sheet coldest",
                "Coldest it may be used",
                "temperature",
                "",
                _CLASS,
            ),
            Blank(
                DataSheetLines,
                "data_sheet largest_thinner",
                "Most thinner its maker allows",
                hint="e.g. 10 %",
                without=_CLASS,
            ),
            Blank(
                DataSheetLines,
                "data_sheet thinned_share",
                "Thinner in a mix you measured",
                hint="e.g. 8 %",
                without="none measured",
            ),
            Blank(
                DataSheetLines,
                "data_sheet thinned_viscosity",
                "Viscosity of that mix",
                hint="e.g. 300 cP",
                without="none measured",
            ),
        ),
    ),
    Group(
        "shop",
        "Shop",
        (
            Blank(ShopLines, "shop room", "Room", "temperature", "while you work"),
            Blank(
                ShopLines,
                "shop night_low",
                "Coldest of the night",
                "temperature",
                "",
                "as the room",
            ),
            Blank(ShopLines, "shop humidity", "Humidity", hint="by the hygrometer"),
            Blank(
                ShopLines,
                "shop barometer",
                "Barometer",
                "air_pressure",
                "by the weather report",
                "the standard air",
            ),
            Blank(ShopLines, "shop altitude", "Above the sea", "altitude", "", _RIG),
            Blank(
                ShopLines,
                "shop volume",
                "Room's air",
                "air",
                "length x width x height",
                "no air changes told",
            ),
        ),
    ),
    Group(
        "times",
        "Times",
        (
            Blank(
                TimesLines,
                "times start",
                "Lamp on",
                "moment",
                "by the shop's clock",
                "hours from now instead of clock times",
            ),
            Blank(TimesLines, "times bedtime", "Bedtime", "hour", "gelled by then"),
        ),
    ),
    Group(
        "bench",
        "Bench",
        (
            Blank(BenchLines, "bench scale", "Smallest step of the scale", "mass"),
            Blank(
                BenchLines,
                "bench cup",
                "Resin as it is mixed",
                "temperature",
                "",
                "as the room",
            ),
            Blank(
                PouredLines,
                "poured a",
                "Poured wrong: A",
                "mass",
                "both, to put a cup right",
                "nothing to put right",
            ),
            Blank(PouredLines, "poured b", "Poured wrong: B", "mass", "", "nothing to put right"),
            Blank(PouredLines, "poured coat", "Poured wrong: of coat", "count"),
        ),
    ),
    Group(
        "heat",
        "Heat",
        (
            Blank(
                HeatLines, "heat back", "Back of the boards", "choice", "lined: they lie on foam"
            ),
            Blank(
                HeatLines,
                "heat distance",
                "Lamp to face",
                "length",
                "",
                "by the rig's measured heat",
            ),
            Blank(HeatLines, "heat band_top", "Hottest the face may get", "temperature", "", _RIG),
            Blank(HeatLines, "heat coat_low", "Coat window, from", "temperature", "", _RIG),
            Blank(HeatLines, "heat coat_high", "Coat window, to", "temperature", "", _RIG),
            Blank(
                HeatLines,
                "heat handling_time",
                "Lamp off to first stroke",
                hint="e.g. 3 min",
                without=_RIG,
            ),
        ),
    ),
    Group(
        "bag",
        "Bag",
        (
            Blank(BagLines, "bag target", "Hold at", "pressure", "say vacuum or abs", _RIG),
            Blank(
                BagLines,
                "bag volume",
                "Air in bag, hose and trap",
                "volume",
                "measured by a known dose",
                "a guess",
            ),
        ),
    ),
)
