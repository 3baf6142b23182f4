"""Where the coat would boil in the bag: by its thinner, by the wood's water, and how it eases."""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.fresh_air import liquid_of
from controller.planning.answers.line import Line, Told
from controller.planning.bag_plan import BoilLimit, boil_limit
from controller.planning.sheet import Bag
from controller.science.constants import INCH_OF_MERCURY
from controller.science.solvent import RESIN_MOLAR_MASS
from controller.science.solvent_mixture import bubble_pressure, mean_molar_mass

BACK_OFF = (5 * INCH_OF_MERCURY, 10 * INCH_OF_MERCURY)
"""How much vacuum is given back when the coat foams, [Pa]; common practice, no source."""
FAR_APART = 0.25
"""Difference of two laws for the thinner's pressure that is pointed out, [-]; own."""
_FLORY = "[1] P. J. Flory, Principles of Polymer Chemistry, 1953, chapter XII, chi 0.4 assumed, own"
_RAOULT = "common practice, no source: Raoult's law, resin of 0.36 kg/mol, own"
_WATER = (
    "[1] Forest Products Laboratory, Wood Handbook, FPL-GTR-190, 2010, eq. 4-5, with water's "
    "vapour pressure; wood that has had time"
)


def limit_at(case: Case, temperature: float) -> BoilLimit:
    """Where the coat may boil at this temperature [K], part by part."""
    return boil_limit(
        case.coat.mix,
        case.thinner,
        case.resin.resin_density,
        max(piece.moisture for piece in case.pieces),
        temperature,
    )


def boils_at(case: Case, pressure: float) -> tuple[bool, bool]:
    """Whether the coat may boil at this pressure [Pa]: at the window's top, and as the shop is."""
    warm = limit_at(case, case.coat.heat.window_high).pressure
    cool = limit_at(case, case.description.shop.room).pressure
    return pressure < warm, pressure < cool


def by_raoult(case: Case, temperature: float) -> float:
    """The thinner's pressure over the mix by Raoult's law, [Pa]; 0 without a thinner.

    temperature: of the coat, [K]
    """
    liquid, mix = liquid_of(case), case.coat.mix
    mass = mix.thinner + mix.carried
    if liquid is None or mass <= 0:
        return 0.0
    moles = mass / mean_molar_mass(liquid)
    share = moles / (moles + (mix.a + mix.b - mix.carried) / RESIN_MOLAR_MASS)
    return share * bubble_pressure(liquid, temperature)


def boiling_lines(case: Case, bag: Bag) -> Iterator[Line]:
    """The boil limit while the coat is warm, what it is made of, and what it eases to."""
    air, heat = case.air_pressure, case.coat.heat
    now = limit_at(case, heat.window_high)
    figures = {
        "limit": Told("vacuum", max(air - now.pressure, 0.0), "worked: air less the parts below"),
        "abs": Told("pressure_abs", now.pressure, "worked: thinner, water and margin together"),
        "warm": Told("temperature", heat.window_high, "own: the coat is no warmer than the window"),
        "water": Told("pressure_abs", now.water, _WATER),
        "margin": Told("vacuum", now.margin, "own"),
    }
    text = "With the coat at {warm}, no deeper than {limit}, {abs}: "
    if now.thinner > 0:
        raoult = by_raoult(case, heat.window_high)
        figures["thinner"] = Told("pressure_abs", now.thinner, _FLORY)
        figures["raoult"] = Told("pressure_abs", raoult, _RAOULT)
        text += "the thinner's {thinner} (by the simpler law {raoult}"
        text += "; they differ, so mind the bubbles" if _apart(now.thinner, raoult) else ""
        text += "), the wood's water {water}, and a margin of {margin}."
    else:
        text += "the wood's water {water} and a margin of {margin}; there is no thinner to boil."
    yield Line("vacuum.boiling", "boiling", text, figures)
    yield _eases(case, bag)
    yield Line(
        "vacuum.foam",
        "foam",
        "This stops boiling, not the foam of air that comes out of the pores. White froth under "
        "the film: give back {least} to {most} at once, wait, then step up again.",
        {
            "least": Told("vacuum", BACK_OFF[0], "common practice, no source"),
            "most": Told("vacuum", BACK_OFF[1], "common practice, no source"),
        },
    )


def _eases(case: Case, bag: Bag) -> Line:
    room, air = case.description.shop.room, case.air_pressure
    later = limit_at(case, room)
    deepest = max(later.pressure, bag.possible)
    figures = {
        "limit": Told("vacuum", max(air - later.pressure, 0.0), "worked: the same at shop.room"),
        "room": Told("temperature", room, "told: shop.room"),
    }
    text = "Once the coat is as cool as the shop, {room}, boiling allows {limit}"
    if bag.target > deepest:
        text += ": you may set it deeper then."
    else:
        text += ": what is set stays clear of it."
    return Line("vacuum.eases", "it eases", text, figures)


def _apart(one: float, other: float) -> bool:
    return abs(one - other) > FAR_APART * max(one, other)
