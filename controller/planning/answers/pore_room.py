"""How much room the pores of a coat's pieces have, and how fast the face lets resin in."""

from dataclasses import dataclass
from functools import lru_cache
from math import exp

from controller.planning.answers.case import Case
from controller.planning.answers.film_course import evening_of, film_course
from controller.planning.answers.shop_night import DAY, ShopNight
from controller.planning.answers.thinness import thinness_at
from controller.planning.answers.two_laws import Span, two_laws
from controller.planning.batch_plan import gravity_of
from controller.planning.catalogue import Catalogue
from controller.planning.description_lines import PieceLines
from controller.planning.sheet import Coat, Piece
from controller.science.pores import darcy_depth_thickening
from controller.science.wood import porosity

ALONG = {"open": 5.6e-10, "semi-open": 1.2e-10, "close": 3.1e-11}
"""Permeability along the grain of a wood whose pores are clear, by grain, [m2]; own: share times
r^2 / 8 for pores of 150, 80 and 35 um and 20, 15 and 20 % of the wood; sizes from memory, to be
checked."""
ACROSS = 1e-6
"""Permeability across the grain over that along it, at the tight end, [-]. [1] E. T. Choong,
F. O. Tesoro, F. G. Manwiller, 1974, abstract: 12 000 to over 1 000 000 times
less in 22 hardwoods."""
RUN_OUT = 1 / 20
"""Slope at which pores run out to the face, at the open end, [-]; own: a straight board; a wavy
one shows more cut pores."""
UPTAKE = {"ready": 1.0, "slow": 5e-3, "shut": 25e-6}
"""Of the permeability of clear pores, by how wood takes resin, [-]. Slow: [1] Wood and Fiber
Science, western hemlock, water, sapwood 9.6e-10 and heartwood 4.4e-12 cm2, abstract; shut: own, the
same twice over, as white oak's heartwood is to red oak's, from memory, to be checked."""
THICKENING = 5.0
"""How many times the viscosity has grown by e when a film gels, [-]; own: a hundred and fifty times
as thick no longer flows in wood."""
NEVER_GELS = DAY
"""Taken for the gel where the shop is too cold for one, [s]; own."""


@dataclass(frozen=True, slots=True)
class PoreRoom:
    """One piece as resin meets it."""

    name: str
    """Of the piece."""
    area: float
    """Of the face, [m2]."""
    thickness: float
    """[m]."""
    moisture: float
    """[-]."""
    porosity: float
    """Share that is air, [-]."""
    tight: float
    """Permeability from the face inwards, tight end, [m2]."""
    open: float
    """The same, open end: pores that run out to the face, [m2]."""
    bare: tuple[str, ...]
    """What lets air in: 'ends', 'back'."""

    @property
    def pores(self) -> float:
        """All the air in the piece, [m3]."""
        return self.area * self.thickness * self.porosity


@dataclass(frozen=True, slots=True)
class FlowingMix:
    """The mix on the face, from the first stroke on."""

    thin: float
    """Viscosity at the first stroke, thin end, [Pa s]."""
    thick: float
    """Thick end, [Pa s]."""
    early: float
    """From the first stroke to gel, early end, [s]."""
    late: float
    """Late end, [s]."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A volume known as a range."""

    least: float
    """[m3]."""
    most: float
    """[m3]."""


def pore_rooms(case: Case) -> tuple[PoreRoom, ...]:
    """Each piece of the coat."""
    lines = {line.name: line for line in case.description.pieces}
    return tuple(_room(piece, lines[piece.name], case.catalogue) for piece in case.pieces)


def thirsty_rooms(case: Case) -> tuple[PoreRoom, ...]:
    """The pieces of the coat whose face no earlier coat has shut."""
    coat = case.coat
    shut = {
        name
        for earlier in case.sheet.coats
        if earlier.number < coat.number and earlier.face == coat.face
        for name in earlier.pieces
    }
    return tuple(room for room in pore_rooms(case) if room.name not in shut)


def flowing_mix(case: Case) -> FlowingMix:
    """The coat's mix from the first stroke: thin at the window's top, thick at its foot."""
    heat, gel = case.coat.heat, gel_after_stroke(case)
    early = NEVER_GELS if gel.early is None else gel.early
    return FlowingMix(
        thin=thinness_at(case, heat.window_high).low,
        thick=thinness_at(case, heat.window_low).high,
        early=early,
        late=max(NEVER_GELS, early) if gel.late is None else gel.late,
    )


def gel_after_stroke(case: Case) -> Span:
    """When the film gels, counted from the first stroke, [s]."""
    stroke = evening_of(case.coat).stroke
    gel = _gel(case.coat, case.night, case.cup)
    return Span(
        None if gel.early is None else gel.early - stroke,
        None if gel.late is None else gel.late - stroke,
    )


def face_lets_in(
    room: PoreRoom, mix: FlowingMix, pressure: Taken, since: float, share: Taken
) -> Taken:
    """What goes in by the face of one piece until it gels.

    pressure: that drives, from the least to the most, [Pa]      since: the first stroke, [s]
    share: of the pores that it can fill at the most, tight and open end, [-]

    A slug by Darcy's law in a mix that thickens (science.pores), its depth at the most that share
    of the thickness. Leaves out capillary pull, which adds a little, and dust and dried face, which
    take away. Both ends by far too rough for more than an order: no published figure was found.
    """
    ends = (
        (room.tight, pressure.least, mix.thick, mix.early, share.least),
        (room.open, pressure.most, mix.thin, mix.late, share.most),
    )
    found = [
        room.area
        * room.porosity
        * min(filled * room.thickness, _depth(room, permeability, push, viscosity, gel, since))
        for permeability, push, viscosity, gel, filled in ends
    ]
    return Taken(min(found), max(found))


def _depth(
    room: PoreRoom, permeability: float, pressure: float, viscosity: float, gel: float, since: float
) -> float:
    if since >= gel:
        return 0.0
    thickening = gel / THICKENING
    return darcy_depth_thickening(
        permeability,
        pressure,
        room.porosity,
        viscosity * exp(since / thickening),
        thickening,
        gel - since,
    )


def _room(piece: Piece, line: PieceLines, catalogue: Catalogue) -> PoreRoom:
    wood = catalogue.wood(piece.wood)
    parts = {"sapwood": (wood.sapwood,), "heartwood": (wood.heartwood,)}
    uptakes = [UPTAKE[part] for part in parts.get(line.part, (wood.sapwood, wood.heartwood))]
    along = ALONG[wood.grain]
    bare = [("ends", piece.ends_sealed), ("back", piece.back_sealed)]
    return PoreRoom(
        name=piece.name,
        area=piece.area,
        thickness=piece.thickness,
        moisture=piece.moisture,
        porosity=porosity(gravity_of(piece, line, catalogue), piece.moisture),
        tight=along * ACROSS * min(uptakes),
        open=along * RUN_OUT**2 * max(uptakes),
        bare=tuple(name for name, sealed in bare if not sealed),
    )


@lru_cache(maxsize=64)
def _gel(coat: Coat, night: ShopNight, cup: float) -> Span:
    return two_laws(film_course(coat, night, cup), coat.resin).gel
