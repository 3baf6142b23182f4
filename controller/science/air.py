"""Air outside the bag and in the pores: its pressure, and how much it shrinks as it cools."""

from controller.errors import RangeError
from controller.science.constants import STANDARD_ATMOSPHERE
from controller.science.solvent import WATER, boiling_temperature, vapour_pressure

AIR_MOLAR_MASS = 0.0289644
"""Of dry air, [kg/mol]. [1] US Standard Atmosphere 1976, NOAA-S/T 76-1562, table 8; from memory, to
be checked."""
LOWEST_REPORT, HIGHEST_REPORT = 85_000.0, 110_000.0
"""Between these a weather report's pressure is believed, [Pa]; own: the records, 870 and 1085 hPa
(from memory, to be checked), with room to spare."""
_EARTH_RADIUS = 6_356_766.0
"""Radius that turns a height on the map into a geopotential height, [m]. [1] US Standard
Atmosphere 1976, NOAA-S/T 76-1562, section 1.2.3; from memory, to be checked."""


def standard_pressure(altitude: float) -> float:
    """Air pressure of the standard atmosphere at a height above the sea, [Pa].

    altitude: height above sea level as a map gives it, [m], -5000 to 11000

    p = 101325 (1 - 2.25577e-5 H)^5.2559 with H the geopotential height [1]. Weather moves the
    true pressure about 3 kPa either way, so a barometer is better whenever there is one.
    Raises RangeError outside the lowest layer of the atmosphere.

    [1] ASHRAE Handbook: Fundamentals, 2017, chapter 1, eq. 3; its constants from memory, to be
    checked, and checked here against printed rows of the US Standard Atmosphere 1976.

    >>> standard_pressure(altitude=2000) / 1000
    79.50
    """
    if not -5000 <= altitude <= 11_000:
        raise RangeError(f"altitude {altitude:g} m: the standard air covers -5000 to 11000 m")
    geopotential = _EARTH_RADIUS * altitude / (_EARTH_RADIUS + altitude)
    fallen: float = (1 - 2.25577e-5 * geopotential) ** 5.2559
    return STANDARD_ATMOSPHERE * fallen


def station_pressure(reported_sea_level: float, altitude: float) -> float:
    """Air pressure at the shop from a weather report that is reduced to sea level, [Pa].

    reported_sea_level: as weather reports give it for every place, [Pa], 85000 to 110000
    altitude: of the shop above sea level, [m], -5000 to 11000

    standard_pressure(altitude) times reported / 101325 (own): the weather moves the air by the
    same share up there as at the sea. It undoes an altimeter setting to 0.3 % up to 3000 m. Other
    reports were reduced through the air of the day: where that is colder than the standard 15 degC
    less 6.5 K/km the answer is too high, where it is warmer too low, by about 0.04 % for every
    100 m and 10 K: 0.6 kPa at 1600 m on a day 10 K off. A barometer in the shop is better. Raises
    RangeError outside the ranges.

    >>> station_pressure(reported_sea_level=102_000, altitude=1600) / 1000
    84.1
    """
    if not LOWEST_REPORT <= reported_sea_level <= HIGHEST_REPORT:
        raise RangeError(
            f"reported air pressure {reported_sea_level:g} Pa: a report at sea level has 85000 to "
            "110000 Pa; 1013 hPa is 101300, and a barometer in the shop needs no altitude"
        )
    return standard_pressure(altitude) * reported_sea_level / STANDARD_ATMOSPHERE


def pressure_from_vacuum(vacuum: float, air_pressure: float) -> float:
    """Absolute pressure in the bag when a gauge shows this much vacuum, [Pa].

    vacuum: how far below the air outside, [Pa]      air_pressure: of the air outside, [Pa]

    The definition of gauge vacuum. Raises RangeError when the vacuum is as deep as the air
    pressure or deeper: a gauge unit mistaken, or an altitude left out.

    >>> pressure_from_vacuum(vacuum=91_432.503, air_pressure=101_325)  # 27 inHg at the sea
    9892.5
    """
    if vacuum >= air_pressure:
        raise RangeError(
            f"vacuum of {vacuum:.0f} Pa in air of {air_pressure:.0f} Pa leaves no pressure; "
            "check the gauge's unit and the altitude"
        )
    return air_pressure - vacuum


def vacuum_from_pressure(pressure: float, air_pressure: float) -> float:
    """Vacuum that a gauge would show for this absolute pressure, [Pa].

    pressure: absolute, in the bag, [Pa]      air_pressure: of the air outside, [Pa]

    Slightly negative when the bag is above the air outside: a fact of a noisy gauge on an open
    bag, not an error. Raises RangeError for a pressure that is not above zero.

    >>> vacuum_from_pressure(pressure=9_892.5, air_pressure=101_325) / 3386.389  # [inHg]
    27.00
    """
    if min(pressure, air_pressure) <= 0:
        raise RangeError(
            f"absolute pressures {pressure:.0f} Pa and {air_pressure:.0f} Pa must be above 0; "
            "check the gauge's zero"
        )
    return air_pressure - pressure


def contraction_dry(hot: float, cold: float) -> float:
    """Share of its volume that dry air loses from hot to cold at one pressure, [-].

    hot, cold: absolute temperatures before and after, [K]

    1 - cold / hot, the ideal gas; real air is within 0.0004 of it here. Negative when the air
    warms: it then pushes out. Raises RangeError at or below absolute zero.

    >>> contraction_dry(hot=333.15, cold=293.15)
    0.1201
    """
    if min(hot, cold) <= 0:
        raise RangeError(f"{hot:g} K to {cold:g} K: absolute temperatures must be above 0 K")
    return 1 - cold / hot


def contraction_moist(
    hot: float, cold: float, pressure: float, vapour_hot: float, vapour_cold: float
) -> float:
    """Share of its volume that air holding vapour loses from hot to cold at one pressure, [-].

    hot, cold: absolute temperatures before and after, [K]      pressure: of all the gas, [Pa]
    vapour_hot, vapour_cold: partial pressure of the vapour before and after, [Pa]

    1 - (cold / hot) (P - vapour_hot) / (P - vapour_cold): the dry air is what stays, the vapour
    comes and goes with the wood (own, from the ideal gas law). It takes the vapour as always in
    balance, so it is an upper bound for a board that cools faster than its wood drinks. Raises
    RangeError when a vapour alone would fill the pressure: the gas then has no size.

    >>> contraction_moist(333.15, 293.15, pressure=101_325, vapour_hot=19_944, vapour_cold=2_339)
    0.277
    """
    if min(vapour_hot, vapour_cold) < 0 or max(vapour_hot, vapour_cold) >= pressure:
        raise RangeError(
            f"vapour of {vapour_hot:.0f} Pa hot and {vapour_cold:.0f} Pa cold in a gas of "
            f"{pressure:.0f} Pa: the vapour must be the smaller; at this vacuum it boils"
        )
    dry = contraction_dry(hot, cold)
    return 1 - (1 - dry) * (pressure - vapour_hot) / (pressure - vapour_cold)


def dew_point(temperature: float, relative_humidity: float) -> float:
    """Temperature at which this air begins to wet a surface, [K].

    temperature: of the air, [K]      relative_humidity: [-], above 0 to 1

    The inverse of the one vapour pressure formula, over liquid water also below freezing. Raises
    RangeError for air so dry that its dew point is below -20 degC.

    >>> dew_point(temperature=293.15, relative_humidity=0.60) - 273.15
    12.0
    """
    if not 0 < relative_humidity <= 1:
        raise RangeError(f"relative humidity {relative_humidity:g}: a share, above 0 and up to 1")
    return boiling_temperature(WATER, relative_humidity * vapour_pressure(WATER, temperature))
