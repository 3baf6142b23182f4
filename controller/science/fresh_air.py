"""How much fresh air a thinner's vapour takes: to stay clear of fire, and to be fit to breathe.

All of it for one solvent or a mixture. A mixture's parts count together, each against its own
limit. The air for breathing is nine to thirty times the air against fire: plan by that.
"""

from controller.errors import RangeError
from controller.science.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.solvent import vapour_volume
from controller.science.solvent_mixture import (
    Liquid,
    le_chatelier_limit,
    mole_shares,
    parts_of,
)

ROOM = ZERO_CELSIUS + 20
"""The air that vapour volumes are counted in, with STANDARD_ATMOSPHERE, [K]; own."""
LIMIT_AIR = ZERO_CELSIUS + 25
"""The air that exposure limits in mg/m3 are stated for, at one atmosphere, [K]. [1] NIOSH Pocket
Guide to Chemical Hazards, introduction; from memory, to be checked."""


def all_vapour(liquid: Liquid, mass: float) -> float:
    """Room that this much thinner takes at 20 degC and one atmosphere once all is vapour, [m3].

    liquid: a solvent or a mixture      mass: of the liquid, [kg]

    vapour_volume of each part. Raises RangeError for a negative mass.

    >>> from controller.science.solvent import ACETONE
    >>> 1000 * all_vapour(ACETONE, mass=0.010)
    4.142
    """
    return sum(
        vapour_volume(part, share * mass, ROOM, STANDARD_ATMOSPHERE)
        for part, share in parts_of(liquid)
    )


def air_to_quarter_limit(liquid: Liquid, mass: float) -> float:
    """Air at 20 degC that thins this much thinner's vapour to a quarter of what burns, [m3].

    liquid: a solvent or a mixture that burns      mass: all of it evaporates, [kg]

    V = 4 (1 - limit) V_vapour / limit [1], a mixture's limit by Le Chatelier. It takes perfect
    mixing: under a hood or at the floor the vapour is far richer, and breathing it is harmful at
    far less. Raises RangeError for a liquid that does not burn or a negative mass.

    [1] US OSHA, 29 CFR 1910.94(c)(6)(ii); the form from memory, to be checked.

    >>> from controller.science.solvent import ACETONE
    >>> 1000 * air_to_quarter_limit(ACETONE, mass=0.010)
    646.1
    """
    limit = le_chatelier_limit(mole_shares(liquid))
    return 4 * (1 - limit) / limit * all_vapour(liquid, mass)


def air_to_exposure_limit(liquid: Liquid, mass: float) -> float:
    """Air at 20 degC that thins this much thinner's vapour to what may be breathed all day, [m3].

    liquid: a solvent or a mixture      mass: all of it evaporates, [kg]

    sum(V_vapour / limit) over the parts: effects that may add up are added [1]. Perfect mixing, and
    the day's average: the hour of coating is worse. The row names a limit that is stricter still
    where one is known. Raises RangeError for a liquid that has no limit or a negative mass.

    [1] US OSHA, 29 CFR 1910.1000(d)(2)(i); from memory, to be checked.

    >>> from controller.science.solvent import ACETONE
    >>> air_to_exposure_limit(ACETONE, mass=0.010)
    16.57
    """
    air = 0.0
    for part, share in parts_of(liquid):
        if part.exposure_limit is None:
            raise RangeError(f"{part.name} has no exposure limit: no air is needed for it")
        vapour = vapour_volume(part, share * mass, ROOM, STANDARD_ATMOSPHERE)
        air += vapour / (part.exposure_limit * 1e-6)
    return air


def ppm_of(liquid: Liquid, mass: float, air_volume: float) -> float:
    """Vapour in the air once this much thinner has evaporated into it, [ppm by volume].

    liquid: a solvent or a mixture      mass: all of it evaporates, [kg]
    air_volume: that it is stirred into, at 20 degC, [m3]

    1e6 V_vapour / V_air, which is a definition (own). Raises RangeError for a negative mass or air
    that is not above zero.

    >>> from controller.science.solvent import ACETONE
    >>> ppm_of(ACETONE, mass=0.010, air_volume=30)
    138.1
    """
    if air_volume <= 0:
        raise RangeError(f"{air_volume:g} m3 of air: the room's volume must be above 0")
    return 1e6 * all_vapour(liquid, mass) / air_volume


def ppm_to_mg_per_m3(ppm: float, molar_mass: float) -> float:
    """Mass of vapour in a volume of air at 25 degC and one atmosphere, [mg/m3].

    ppm: of the vapour by volume      molar_mass: of the vapour, [kg/mol]

    ppm M / 24.465 with M in g/mol: the ideal gas at the temperature that limits are stated for [1].
    Raises RangeError for a negative share or a molar mass that is not above zero.

    [1] as LIMIT_AIR.

    >>> ppm_to_mg_per_m3(500, molar_mass=0.058_08)  # 1187 in printed limits of acetone
    1187.0
    """
    if ppm < 0 or molar_mass <= 0:
        raise RangeError(
            f"{ppm:g} ppm of {molar_mass:g} kg/mol: neither may be negative or nothing"
        )
    moles = ppm * 1e-6 * STANDARD_ATMOSPHERE / (GAS_CONSTANT * LIMIT_AIR)
    return 1e6 * moles * molar_mass


def air_changes(air_volume: float, room_volume: float) -> float:
    """How many times a room's air must be replaced to bring in this much, [-].

    air_volume: fresh air wanted, [m3]      room_volume: of the room, [m3]

    The quotient (own). Below 1 the closed room alone would do, if it were stirred. Raises
    RangeError for negative air or a room that is not above zero.

    >>> air_changes(air_volume=165.7, room_volume=60)
    2.76
    """
    if air_volume < 0 or room_volume <= 0:
        raise RangeError(
            f"{air_volume:g} m3 of air in a room of {room_volume:g} m3: measure it anew"
        )
    return air_volume / room_volume


def airflow(air_volume: float, seconds: float, mixing: float) -> float:
    """Steady fresh air while a thinner evaporates, [m3/s].

    air_volume: fresh air wanted in all, [m3]      seconds: that the thinner takes to evaporate
    mixing: how many times more for poor mixing, [-]: 1 perfect, 10 a dead corner

    mixing V / t [1]. A coat loses most of its thinner early, so for the first hour a multiple of
    it is right: it errs to too little then. Raises RangeError for negative air, a time that is
    not above zero and a mixing factor outside 1 to 10.

    [1] ACGIH, Industrial Ventilation, dilution ventilation, factor K; from memory, to be checked.

    >>> 3600 * airflow(air_volume=165.7, seconds=8 * 3600, mixing=5)  # [m3/h]
    103.6
    """
    if air_volume < 0 or seconds <= 0:
        raise RangeError(f"{air_volume:g} m3 of air in {seconds:g} s: the time must be above 0")
    if not 1 <= mixing <= 10:
        raise RangeError(f"mixing factor {mixing:g}: 1 is perfect, 10 is a dead corner")
    return mixing * air_volume / seconds
