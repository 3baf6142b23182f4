"""What the cooling board can draw in, and whether the cup has that much."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from controller.planning.answers.case import Case
from controller.planning.answers.film_course import evening_of
from controller.planning.answers.fresh_air import liquid_of
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.pore_room import (
    NEVER_GELS,
    FlowingMix,
    PoreRoom,
    Taken,
    face_lets_in,
    flowing_mix,
    gel_after_stroke,
    thirsty_rooms,
)
from controller.planning.answers.warm_board import WarmBoard, warm_board
from controller.science.air import contraction_dry
from controller.science.constants import ZERO_CELSIUS
from controller.science.pores import draw, draw_left
from controller.science.solvent_mixture import liquid_density

COLDEST = ZERO_CELSIUS
"""A shop colder than this is taken for it, [K]; own: the wood's vapour is known from there up."""
LITTLE = 0.25
"""Share of a coat under which what goes in leaves the face wet, [-]; own."""
_CONTRACTION = "own: ideal gas at one pressure, from the board's mean when it is coated to the shop"
_VAPOUR = _CONTRACTION + ", and the wood takes back the vapour it gave off; an upper bound"
_ESTIMATE = (
    "own estimate, no published figure: the least of what the pore air shrinks by and what the "
    "face lets through before gel, by Darcy's law in a thickening mix; permeability by grain, [1] "
    "Choong, Tesoro, Manwiller 1974, abstract"
)


@dataclass(frozen=True, slots=True)
class Cooling:
    """The board from when it is coated to when the coat gels."""

    hot: float
    """Mean when the face is wet all over, [K]."""
    cold: float
    """The shop when it gels, [K]."""


def section(case: Case) -> Section:
    """The draw of one coat, against what is in the cup."""
    board, rooms = warm_board(case), thirsty_rooms(case)
    cooling = cooling_of(case, board)
    return Section(
        f"coat {case.coat.number} draw",
        f"Coat {case.coat.number}: the draw",
        "How much goes into the pores, and is there enough in the cup?",
        tuple(_lines(case, board, rooms, cooling)),
    )


def cooling_of(case: Case, board: WarmBoard) -> Cooling:
    """From what to what the board cools while the coat is liquid."""
    gel = gel_after_stroke(case).early
    liquid = NEVER_GELS if gel is None else gel
    cold = max(case.night.temperature(evening_of(case.coat).stroke + liquid), COLDEST)
    return Cooling(board.mean_when_coated, min(cold, board.mean_when_coated))


def _lines(
    case: Case, board: WarmBoard, rooms: tuple[PoreRoom, ...], cooling: Cooling
) -> Iterator[Line]:
    if len(rooms) < len(case.pieces):
        yield _shut(case, rooms)
    if not rooms:
        return
    yield _share(case, cooling)
    yield from _two_clocks(case, board, cooling)
    taken = drawn_in(case, rooms, flowing_mix(case), cooling)
    bare = any(room.bare for room in rooms)
    yield _takes(case, rooms, taken, bare)
    yield _cup(case, taken)
    yield _seal(rooms)
    if case.coat.bag is not None:
        yield Line(
            "draw.bag",
            "in the bag",
            "Pulling the bag draws pore air out through the wet coat, and what has gone in may "
            "come part of the way back. A vacuum that is held through gel adds nothing to this.",
        )
    yield Line(
        "draw.estimate",
        "how sure",
        "No published figure was found for the draw: this is an estimate, and wide. Weigh the "
        "board before, and after with the face scraped: your own grams outrank it.",
    )


def drawn_in(case: Case, rooms: tuple[PoreRoom, ...], mix: FlowingMix, cooling: Cooling) -> Taken:
    """What all pieces of the coat draw in: least with the tight face and dry air.

    A bare end or back may let in as much air as the draw makes room for: then the least is nothing.
    """
    dry = contraction_dry(cooling.hot, cooling.cold)
    least = most = 0.0
    for room in rooms:
        moist = draw(cooling.hot, cooling.cold, case.air_pressure, room.moisture)
        # at the tight end the pull fades as the pores fill: half of it on the whole
        pull = Taken(dry * case.air_pressure / 2, moist * case.air_pressure)
        found = face_lets_in(room, mix, pull, 0.0, Taken(dry, moist))
        least += 0.0 if room.bare else found.least
        most += found.most
    return Taken(least, most)


def _shut(case: Case, rooms: tuple[PoreRoom, ...]) -> Line:
    fresh = {room.name for room in rooms}
    names = ", ".join(piece.name for piece in case.pieces if piece.name not in fresh)
    return Line(
        "draw.shut",
        "coated before",
        f"An earlier coat has shut this face of {names}: next to nothing goes in there. Coat thin; "
        "what looks dull is a pore that was missed.",
    )


def _share(case: Case, cooling: Cooling) -> Line:
    moisture = max(piece.moisture for piece in case.pieces)
    figures = {
        "dry": Told("percent", contraction_dry(cooling.hot, cooling.cold), _CONTRACTION),
        "moist": Told(
            "percent", draw(cooling.hot, cooling.cold, case.air_pressure, moisture), _VAPOUR
        ),
        "hot": Told("temperature", cooling.hot, "own: heat through the slab, when it is coated"),
        "cold": Told("temperature", cooling.cold, "told: shop.room and shop.night_low, at gel"),
    }
    return Line(
        "draw.share",
        "pore air",
        "From a mean of {hot} when it is coated to {cold} when it gels the air in the pores "
        "shrinks by {dry} if dry, up to {moist} with the wood's own vapour. So much of the pores "
        "can fill.",
        figures,
    )


def _two_clocks(case: Case, board: WarmBoard, cooling: Cooling) -> Iterator[Line]:
    heat, start = case.coat.heat, board.at_off.mean
    if start <= cooling.cold or heat.shuts <= heat.opens:
        return
    moisture = max(piece.moisture for piece in case.pieces)

    def left(seconds: float) -> Told:
        now = board.mean_after(seconds)
        share = draw_left(start, now, cooling.cold, case.air_pressure, moisture)
        return Told("percent", min(max(share, 0.0), 1.0), _VAPOUR)

    yield Line(
        "draw.two_clocks",
        "two clocks",
        "{opening} of what the draw was at lamp-off is left when the window opens, {shutting} when "
        "it shuts after {shuts}. Late means thicker resin, not that the pull is gone.",
        {
            "opening": left(heat.opens),
            "shutting": left(heat.shuts),
            "shuts": Told("duration", heat.shuts, "own: heat through the slab"),
        },
    )


def _takes(case: Case, rooms: tuple[PoreRoom, ...], taken: Taken, bare: bool) -> Line:
    pores = sum(room.pores for room in rooms)
    figures = {
        "most": Told("volume", taken.most, _ESTIMATE),
        "pores": Told("volume", pores, "worked: size of the pieces times their share of air"),
    }
    many = "the pieces have" if len(rooms) > 1 else "the board has"
    if bare:
        text = (
            f"Up to {{most}} of the {{pores}} of air {many}, and perhaps nothing: a bare end or "
            "back lets in air instead."
        )
        return Line("draw.takes", "it could take", text, figures, care=True)
    figures["least"] = Told("volume", taken.least, _ESTIMATE)
    text = f"Up to {{most}} of the {{pores}} of air {many}; {{least}} if the face is tight."
    return Line("draw.takes", "it could take", text, figures)


def coat_volume(case: Case) -> float:
    """What the cup holds for the boards, waste left out, [m3]."""
    mix, liquid = case.coat.mix, liquid_of(case)
    solvent = case.solvent_share if liquid is not None else 0.0
    thin = solvent / liquid_density(liquid) if liquid is not None else 0.0
    return mix.coat * ((1 - solvent) / case.resin.resin_density + thin)


def _cup(case: Case, taken: Taken) -> Line:
    holds = coat_volume(case)
    verdict = starves(taken, holds)
    figures = {
        "most": Told("volume", taken.most, _ESTIMATE),
        "holds": Told("volume", holds, "worked: mix for the boards over its density"),
        "mass": Told("mass", case.coat.mix.coat, "told: coats.weight, by the area of the pieces"),
    }
    text = "It could take {most}, and the cup holds {mass}, {holds}, for it: "
    if verdict == "enough":
        return Line("draw.cup", "in the cup", text + "that is enough.", figures)
    if verdict == "starves":
        figures["least"] = Told("volume", taken.least, _ESTIMATE)
        text += "it starves, even if only {least} goes in. "
    else:
        text += "it may starve. "
    text += (
        "Keep the face wet, add where it goes dull, and have a second cup ready to mix. A face "
        "that runs dry draws air."
    )
    return Line("draw.cup", "in the cup", text, figures, care=True)


def starves(taken: Taken, holds: float) -> Literal["enough", "may starve", "starves"]:
    """Whether what goes in leaves the face dry.

    taken: by the boards      holds: the coat, [m3]
    """
    if taken.most <= (1 - LITTLE) * holds:
        return "enough"
    return "starves" if taken.least > holds else "may starve"


def _seal(rooms: tuple[PoreRoom, ...]) -> Line:
    bare = {room.name: room.bare for room in rooms if room.bare}
    if not bare:
        return Line(
            "draw.seal",
            "ends and back",
            "Sealed, so the face is the only way in: look over the tape before the heat.",
        )
    which = "; ".join(f"{name}: {' and '.join(parts)}" for name, parts in bare.items())
    return Line(
        "draw.seal",
        "ends and back",
        f"Bare ({which}). Air goes in there far more easily than resin by the face: coat or tape "
        "the end grain first, tape or film the back, before the heat.",
        care=True,
    )
