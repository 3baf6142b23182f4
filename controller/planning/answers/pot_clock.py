"""How long the cup can be used, at its own temperature and mass, and whether it gets hot."""

from functools import lru_cache

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Told
from controller.planning.answers.where_from import of_resin
from controller.planning.cautions import BIG_CUP
from controller.planning.cure_model import cure_model
from controller.science.cup import (
    CUP_LOSS,
    ORDINARY_MIX,
    anchored,
    in_cup,
    in_tray,
    pot_life,
)
from controller.science.cure import clock_time_for
from controller.science.kinetics import Kinetics

STOP_AT = 2 / 3
"""Share of the pot life after which the cup is no longer used; common practice, no source."""
TRAY_DEPTH = 0.005
"""Of the mix in a tray, [m]; own."""
WARMER = 10.0
"""Warming the second pot life is told for, [K]; own: the shop rule counts in tens."""


def clock_of_the_cup(case: Case, mass: float) -> Line:
    """From mixing until the cup is over, as a range between two ways of reckoning.

    mass: of all that is in the cup, [kg]
    """
    row = case.resin
    plain = clock_time_for(row.pot_life, case.cup, row.reference, row.activation_energy)
    heated = pot_life(
        cup_kinetics(row.pot_life, row.pot_mass, row.reference, cure_model(case.coat.resin)),
        in_cup(mass, ORDINARY_MIX.density),
        case.cup,
        case.description.shop.room,
        ORDINARY_MIX,
        CUP_LOSS,
    )
    source = (
        f"own: between the pot life carried by warmth alone, and a cup of this mass that heats "
        f"itself; from {of_resin(case, 'pot_life')}"
    )
    cup = "worked: the room" if case.description.bench.cup is None else "told: bench.cup"
    return Line(
        "cup.clock",
        "pot clock",
        "Mixed at {cup}, the pot life comes to {plain} for a cup of {told_for}, and to {heated} "
        "for this much, its own heat reckoned in. Stop using it after {stop}, two thirds of the "
        "shorter, or as soon as it warms or strings.",
        {
            "told_for": Told("mass", row.pot_mass, of_resin(case, "pot_mass")),
            "cup": Told("temperature", case.cup, cup),
            "plain": Told("duration", plain, source),
            "heated": Told("duration", heated, source),
            "stop": Told(
                "duration", STOP_AT * min(plain, heated), "common practice, no source: two thirds"
            ),
        },
    )


def how_hot(case: Case, mass: float) -> Line:
    """What this much mix does in a cup, and warm.

    mass: of all that is in the cup, [kg]
    """
    row = case.resin
    kinetics = cup_kinetics(row.pot_life, row.pot_mass, row.reference, cure_model(case.coat.resin))
    room = case.description.shop.room
    lot = in_tray(mass, ORDINARY_MIX.density, TRAY_DEPTH)
    tray = pot_life(kinetics, lot, case.cup, room, ORDINARY_MIX, CUP_LOSS)
    warm = clock_time_for(row.pot_life, case.cup + WARMER, row.reference, row.activation_energy)
    figures = {
        "tray": Told("duration", tray, "own: the same mix with its top alone to shed heat by"),
        "depth": Told("length", TRAY_DEPTH, "own"),
        "big": Told("mass", BIG_CUP, "own: pot lives are told for 100 g, common practice"),
        "more": Told("temperature_difference", WARMER, "own: the shop rule counts in tens"),
        "warm": Told("duration", warm, f"worked: from {of_resin(case, 'pot_life')}"),
    }
    tray_and_warmth = (
        "Pour it into a tray at once: {depth} deep it stays usable for about {tray}. A cup {more} "
        "warmer lasts {warm}."
    )
    if mass <= BIG_CUP:
        text = f"{tray_and_warmth} This much hardly heats itself; over {{big}} in a cup does."
        return Line("cup.heat", "tray", text, figures)
    figures["total"] = Told("mass", mass, "worked: what is weighed")
    text = (
        "Hot cup: {total} in one vessel heats itself, and can smoke and set solid in minutes. Mix "
        f"it in lots under {{big}}. {tray_and_warmth}"
    )
    return Line("cup.heat", "tray", text, figures, care=True)


@lru_cache(maxsize=64)
def cup_kinetics(life: float, mass: float, reference: float, shape: Kinetics) -> Kinetics:
    """The shape at the speed that gives the row's pot life.

    life: [s]      mass: it is told for, [kg]      reference: temperature it is told for, [K]
    """
    return anchored(shape, life, reference, ORDINARY_MIX, mass)
