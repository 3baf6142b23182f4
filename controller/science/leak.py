"""What a leak of a bag is: how big a hole it comes from, and how it is told in a shop."""

from dataclasses import dataclass
from math import pi, sqrt

from controller.errors import RangeError
from controller.science.air import AIR_MOLAR_MASS
from controller.science.constants import GAS_CONSTANT, INCH_OF_MERCURY

HEAT_RATIO = 1.4
"""Of air, its heat capacity at one pressure over that at one volume, [-]. Common practice, no
source; real air has 1.400 to 1.402 here."""
FIVE_MINUTES = 300.0
"""[s]"""


@dataclass(frozen=True, slots=True)
class LeakLimit:
    """A rise of a shut bag that somebody's practice allows."""

    name: str
    """What it is for."""
    rise: float
    """Pressure it may gain, [Pa]."""
    seconds: float
    """In this time with the pump shut off, [s]."""
    source: str
    """Where it comes from."""

    @property
    def rate(self) -> float:
        """The same as a rate, [Pa/s]."""
        return self.rise / self.seconds


LEAK_LIMITS = (
    LeakLimit(
        "drop test of an infusion bag",
        INCH_OF_MERCURY,
        FIVE_MINUTES,
        "common practice, no source",
    ),
    LeakLimit(
        "double-bag repair",
        5 * INCH_OF_MERCURY,
        FIVE_MINUTES,
        "[1] US Army, TM 1-1500-204-23-11, double vacuum bag procedure; page to be checked",
    ),
    LeakLimit(
        "repair bag at 20 inHg or deeper, nothing else said",
        INCH_OF_MERCURY,
        60.0,
        "[1] US Army, TM 1-1500-204-23-11, vacuum bag leak test; page to be checked",
    ),
)
"""Tightest first; two rows ask for the same rate."""


def critical_ratio() -> float:
    """Bag pressure over air pressure under which a hole lets in no more, [-].

    (2 / (g + 1))^(g / (g - 1)) [1] with g = 1.4: air then goes through at the speed of sound, and a
    deeper vacuum no longer draws harder.

    [1] any book on gas dynamics, isentropic flow of an ideal gas; from memory, to be checked.

    >>> critical_ratio()
    0.5283
    """
    ratio: float = (2 / (HEAT_RATIO + 1)) ** (HEAT_RATIO / (HEAT_RATIO - 1))
    return ratio


def choked_hole_flow(
    diameter: float, air_pressure: float, temperature: float, discharge: float
) -> float:
    """Flow of air through a round hole into a bag under critical_ratio, [Pa m3/s].

    diameter: of the hole, [m]      air_pressure: outside, [Pa]      temperature: of the air, [K]
    discharge: share of the ideal flow that gets through, [-], above 0 to 1; about 0.6 for a sharp
    edge, 0.8 to 1 for a rounded one (common practice, no source)

    Cd 0.6847 A p sqrt(R T / M) [1], counted as volume at that temperature and 1 Pa. A pinhole in
    film is as deep as it is wide and lets in less: a flow told as a hole gives too small a hole.
    Raises RangeError for a hole, pressure, temperature or discharge outside these ranges.

    [1] as critical_ratio.

    >>> 10 * choked_hole_flow(0.001, air_pressure=101_325, temperature=293.15, discharge=1)
    158.07
    """
    return hole_flow(diameter, air_pressure, 0.0, temperature, discharge)


def hole_flow(
    diameter: float, air_pressure: float, bag_pressure: float, temperature: float, discharge: float
) -> float:
    """Flow of air through a round hole into a bag at any pressure, [Pa m3/s].

    bag_pressure: absolute, [Pa], 0 to the air's      the rest as in choked_hole_flow

    Above critical_ratio Cd A p sqrt(2 g / (g - 1) (r^(2/g) - r^((g+1)/g)) R T / M) with r bag over
    air [1]; at and under it choked_hole_flow. Errs as that does. Raises RangeError as it does, and
    for a bag above the air: then the leak is outwards.

    [1] as critical_ratio.

    >>> 10 * hole_flow(0.001, 101_325, bag_pressure=91_000, temperature=293.15, discharge=1)
    98.4
    """
    if not diameter > 0:
        raise RangeError(f"hole of {diameter:g} m: a diameter must be above 0")
    return pi / 4 * diameter**2 * _flux(air_pressure, bag_pressure, temperature, discharge)


def hole_diameter(
    flow: float, air_pressure: float, bag_pressure: float, temperature: float, discharge: float
) -> float:
    """Diameter of the one round hole that lets this flow into the bag, [m].

    flow: into the bag, [Pa m3/s], 0 or more      the rest as in hole_flow

    The inverse of hole_flow. Many small leaks add up to the same: what comes out is as good as an
    area, not a hole to look for. Raises RangeError for a negative flow, for a bag that is not under
    the air, and as hole_flow does.

    >>> 1000 * hole_diameter(3.9518, 101_325, 10_000, temperature=293.15, discharge=1)
    0.500
    """
    flux = _flux(air_pressure, bag_pressure, temperature, discharge)
    if not flow >= 0 or flux == 0:
        raise RangeError(
            f"no hole lets {flow:g} Pa m3/s into a bag at {bag_pressure:.0f} Pa in air of "
            f"{air_pressure:.0f} Pa; the bag must be under the air and the flow inwards"
        )
    return sqrt(4 * flow / (pi * flux))


def capillary_leak(
    diameter: float, length: float, upstream: float, downstream: float, viscosity: float
) -> float:
    """Flow of air through a long fine channel, a wrinkle under the tape, [Pa m3/s].

    diameter: of the channel, [m]      length: [m]      viscosity: of the air, [Pa s]
    upstream, downstream: absolute pressures at its ends, [Pa]

    pi d^4 (p1^2 - p2^2) / (256 eta L) [1], laminar, without the entry: an upper bound, and far too
    much for a channel shorter than some hundred diameters. Negative when the flow is outwards.
    Raises RangeError for a size or viscosity that is not above 0, or a negative pressure.

    [1] Poiseuille's law for an ideal gas; from memory, to be checked.

    >>> 10 * capillary_leak(1e-4, length=0.02, upstream=101_325, downstream=10_000, viscosity=18e-6)
    0.347
    """
    if min(diameter, length, viscosity) <= 0 or min(upstream, downstream) < 0:
        raise RangeError(
            f"no channel of {diameter:g} m by {length:g} m with {viscosity:g} Pa s between "
            f"{upstream:.0f} and {downstream:.0f} Pa; sizes must be above 0, pressures absolute"
        )
    return pi * diameter**4 * (upstream**2 - downstream**2) / (256 * viscosity * length)


def rate_as_inch_per_5_min(rate: float) -> float:
    """A rise of a shut bag as shops tell it, [inHg in 5 min].

    rate: [Pa/s]; negative when the pressure falls

    >>> rate_as_inch_per_5_min(rate=11.288)
    1.000
    """
    return rate * FIVE_MINUTES / INCH_OF_MERCURY


def rate_from_inch_per_5_min(inches: float) -> float:
    """A rise told in [inHg in 5 min] as a rate, [Pa/s]; the inverse of rate_as_inch_per_5_min.

    >>> rate_from_inch_per_5_min(inches=1)
    11.288
    """
    return inches * INCH_OF_MERCURY / FIVE_MINUTES


def _flux(air_pressure: float, bag_pressure: float, temperature: float, discharge: float) -> float:
    """Flow through each square metre of a hole, [Pa m/s]."""
    if not 0 <= bag_pressure <= air_pressure or not air_pressure > 0:
        raise RangeError(
            f"bag at {bag_pressure:.0f} Pa in air of {air_pressure:.0f} Pa: absolute pressures, "
            "the bag's not above the air's"
        )
    if not temperature > 0 or not 0 < discharge <= 1:
        raise RangeError(
            f"air of {temperature:g} K, discharge {discharge:g}: above 0 K, and a share from above "
            "0 to 1"
        )
    ratio = max(bag_pressure / air_pressure, critical_ratio())
    opening = ratio ** (2 / HEAT_RATIO) - ratio ** ((HEAT_RATIO + 1) / HEAT_RATIO)
    # rounding may leave a shade under zero where the pressures are equal
    share = sqrt(max(2 * HEAT_RATIO / (HEAT_RATIO - 1) * opening, 0.0))
    speed = sqrt(GAS_CONSTANT * temperature / AIR_MOLAR_MASS)
    return discharge * share * speed * air_pressure
