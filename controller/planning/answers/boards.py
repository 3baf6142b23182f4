"""Is this wood dry enough, and how much room is in it?"""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.where_from import of_wood
from controller.planning.batch_plan import gravity_of
from controller.planning.catalogue import Wood
from controller.planning.cautions_wood import DAMP
from controller.planning.description_lines import PieceLines
from controller.planning.sheet import Piece
from controller.science.wood import (
    density,
    equilibrium_moisture,
    porosity,
    relative_humidity_over_wood,
    specific_gravity_at,
)

INDOOR = (0.06, 0.08)
"""Moisture of wood for indoor work, [-]; [1] Forest Products Laboratory, Wood Handbook,
FPL-GTR-190, 2010, chapter 5; from memory, to be checked."""
APART = 0.02
"""Difference of moisture that counts, [-]; own: meters and the one curve for all woods each miss by
one to two per cent."""
OWN_DENSITY = 0.20
"""How far a board's density may be from its row's before it is asked about, [-]; own: boards of one
wood differ by a tenth either way, from memory, to be checked."""
FIRST_COAT = {"open": (0.150, 0.250), "semi-open": (0.120, 0.200), "close": (0.080, 0.120)}
"""Mix a first coat takes, by grain, [kg/m2]; common practice, no source; the middle row: own."""
_WEIGHTS = "common practice, no source: first coat by grain"
_HANDBOOK = "[1] Forest Products Laboratory, Wood Handbook, FPL-GTR-190, 2010"
_EMC = f"{_HANDBOOK}, eq. 4-5, at told: shop.room and shop.humidity; one curve for all woods"
_INDOOR = f"{_HANDBOOK}, chapter 5; from memory, to be checked"
_PORES = "[1] J. F. Siau, Transport Processes in Wood, 1984; from memory, to be checked"
_GRAIN = {
    "open": "Open grain: wide pores that show",
    "semi-open": "Grain between open and close",
    "close": "Close grain: fine pores",
}
_UPTAKE = {
    "ready": "takes resin readily",
    "slow": "takes resin slowly",
    "shut": "takes hardly any: the coat stays on top",
}


def section(cases: tuple[Case, ...]) -> Section:
    """What is told of every piece, each once, whatever coats it gets."""
    first = cases[0]
    lines = [
        line
        for number, piece in enumerate(first.sheet.pieces, 1)
        for line in _piece(f"boards.{number}", piece, cases)
    ]
    return Section(
        "boards", "Boards", "Is this wood dry enough, and how much room is in it?", tuple(lines)
    )


def _piece(key: str, piece: Piece, cases: tuple[Case, ...]) -> Iterator[Line]:
    case = cases[0]
    told = next(line for line in case.description.pieces if line.name == piece.name)
    wood = case.catalogue.wood(piece.wood)
    yield _dryness(key, piece, case)
    yield Line(f"{key}.wood", piece.wood, wood.note)
    yield Line(
        f"{key}.size",
        "size",
        f"{piece.wood[0].upper()}{piece.wood[1:]}, {{length}} along the grain, {{width}} wide, "
        "{thickness} thick.",
        {
            "length": Told("length", piece.length, "told: pieces.length"),
            "width": Told("length", piece.width, "told: pieces.width"),
            "thickness": Told("length", piece.thickness, "told: pieces.thickness"),
        },
    )
    yield _room(key, piece, told, wood, case)
    yield from _share_of_the_cup(key, piece, cases)
    yield _uptake(key, piece, told, wood, cases)


def _dryness(key: str, piece: Piece, case: Case) -> Line:
    """The verdict, first the two that stop the work."""
    shop = case.description.shop
    rests_at = equilibrium_moisture(shop.humidity, shop.room)
    moisture = piece.moisture
    figures = {
        "moisture": Told("percent", moisture, "told: pieces.moisture"),
        "rests": Told("percent", rests_at, _EMC),
    }
    indoor = {
        "least": Told("percent", INDOOR[0], _INDOOR),
        "most": Told("percent", INDOOR[1], _INDOOR),
    }
    goal = Told("percent", min(max(rests_at, INDOOR[0]), INDOOR[1]), f"{_INDOOR}; {_EMC}")
    stickers = "on stickers, both faces open, until its weight stands still"

    def says(text: str, care: bool, **more: Told) -> Line:
        return Line(f"{key}.dryness", piece.name, text, figures | more, care)

    if moisture > DAMP or moisture > max(rests_at, INDOOR[1]) + APART:
        pores = " Resin does not go into wet pores." if moisture > DAMP else ""
        damp_shop = _damp_shop(rests_at)
        text = (
            f"Damp: {{moisture}}, and this shop's air makes it {{rests}} in the end.{pores} Dry it "
            f"to about {{goal}}{damp_shop}, {stickers}: days to weeks."
        )
        return says(text, True, goal=goal, **_drying_air(case, damp_shop))
    if moisture > INDOOR[1] + APART:
        text = (
            "At rest here at {moisture}: this shop's air makes it {rests}. For indoor work it "
            f"wants {{least}} to {{most}}: dry it{_damp_shop(rests_at)}, {stickers}."
        )
        return says(text, True, **indoor, **_drying_air(case, _damp_shop(rests_at)))
    if moisture < rests_at - APART:
        text = (
            "Drier than this shop's air: {moisture} now, {rests} in the end. It takes up water and "
            "swells, first at bare ends and back. Fine to coat now: warm and coat it soon after it "
            "comes in, or wrap it."
        )
        return says(text, False)
    if moisture > rests_at + APART:
        text = (
            "Dry enough to coat, {moisture}, but wetter than this shop's air makes it, {rests}: it "
            "still shrinks. Days to a week on stickers settle it."
        )
        return says(text, False)
    if moisture > INDOOR[1]:
        text = (
            "Dry enough to coat: {moisture}, and this shop's air makes it {rests} in the end. A "
            "heated room makes it {least} to {most}: there it shrinks a little."
        )
        return says(text, False, **indoor)
    return says(
        "Dry enough: {moisture}, and this shop's air makes it {rests} in the end. Indoor work "
        "wants {least} to {most}.",
        False,
        **indoor,
    )


def _damp_shop(rests_at: float) -> str:
    """What has to be added where the shop's own air is too damp to dry wood in."""
    too_damp = rests_at > INDOOR[1] + APART
    return " in drier air than this, {air} humidity or less" if too_damp else ""


def _drying_air(case: Case, asked: str) -> dict[str, Told]:
    if not asked:
        return {}
    humidity = relative_humidity_over_wood(INDOOR[1], case.description.shop.room)
    return {"air": Told("percent", humidity, f"{_HANDBOOK}, eq. 4-5 turned round, at told: room")}


def _room(key: str, piece: Piece, told: PieceLines, wood: Wood, case: Case) -> Line:
    gravity = gravity_of(piece, told, case.catalogue)
    of_row = specific_gravity_at(wood.basic_gravity, wood.shrinkage, piece.moisture)
    air = porosity(gravity, piece.moisture)
    row = of_wood(case.catalogue, piece.wood)
    figures = {
        "density": Told(
            "density",
            density(gravity, piece.moisture),
            row if told.mass is None else "worked: told pieces.mass over its size",
        ),
        "air": Told("percent", air, _PORES),
        "room": Told("volume", air * piece.area * piece.thickness, f"worked: {_PORES}"),
    }
    pores = "{air} of its volume is air, {room} in all; far from all of it is open to resin."
    if told.mass is None:
        text = f"About {{density}}, as {piece.wood} usually has: weigh the board to know. {pores}"
        return Line(f"{key}.air", "room inside", text, figures)
    figures["usual"] = Told("density", density(of_row, piece.moisture), row)
    text = f"{{density}} as weighed; {piece.wood} usually has {{usual}}. {pores}"
    far = abs(gravity / of_row - 1) > OWN_DENSITY
    if far:
        text += " So far from usual, weigh and measure again, and look at the wood."
    return Line(f"{key}.air", "room inside", text, figures, far)


def _share_of_the_cup(key: str, piece: Piece, cases: tuple[Case, ...]) -> Iterator[Line]:
    """Where several pieces share a cup: what of it is for this one."""
    for case in cases:
        if len(case.pieces) < 2 or piece not in case.pieces:
            continue
        whole = sum(each.area for each in case.pieces)
        mass = Told(
            "mass", case.coat.mix.coat * piece.area / whole, "worked: told coats.weight by area"
        )
        yield Line(
            f"{key}.share_{case.coat.number}",
            f"of coat {case.coat.number}",
            "{mass} of the cup is for this face.",
            {"mass": mass},
        )


def _uptake(key: str, piece: Piece, told: PieceLines, wood: Wood, cases: tuple[Case, ...]) -> Line:
    parts = {"sapwood": wood.sapwood, "heartwood": wood.heartwood}
    if told.part == "mixed":
        goes_in = f"its sapwood {_UPTAKE[wood.sapwood]}, its heartwood {_UPTAKE[wood.heartwood]}"
        if wood.sapwood == wood.heartwood:
            goes_in = f"it {_UPTAKE[wood.sapwood]}"
    else:
        goes_in = f"its {told.part} {_UPTAKE[parts[told.part]]}"
    shut = (told.part == "mixed" and wood.sapwood == wood.heartwood == "shut") or (
        told.part != "mixed" and parts[told.part] == "shut"
    )
    least, most = FIRST_COAT["close" if shut else wood.grain]
    row = of_wood(cases[0].catalogue, piece.wood)
    figures = {
        "least": Told("coat_weight", least, f"{_WEIGHTS}; {row}"),
        "most": Told("coat_weight", most, f"{_WEIGHTS}; {row}"),
    }
    text = f"{_GRAIN[wood.grain]}; {goes_in}. A first coat usually takes {{least}} to {{most}}"
    first = next((case for case in cases if piece in case.pieces), None)
    care = False
    if first is not None:
        area = sum(each.area for each in first.pieces)
        asked = first.coat.mix.coat / area
        figures["asked"] = Told("coat_weight", asked, "told: coats.weight")
        text += "; this one is {asked}"
        care = not 0.75 * least <= asked <= 1.25 * most
        if care and asked > most:
            text += ", more than it is likely to drink: scrape the rest off before it strings"
        elif care:
            text += ", little for this wood: keep it wet, and have more mixed"
    return Line(f"{key}.uptake", "uptake", f"{text}.", figures, care)
