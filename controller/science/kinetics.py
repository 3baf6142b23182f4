"""How fast a mix cures at any warmth, where the cold stops it, and what it is by then.

cure.py counts equivalent age, which never stops. This model does: its rate dies off where the
resin turns to glass, so a cold night ends glassy and not cured.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp, inf, sqrt

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import arrhenius_factor, glass_temperature, vitrified
from controller.science.resin import gel_conversion

RATES_AT = ZERO_CELSIUS + 25
"""Temperature that k1 and k2 are told for, [K]; own: that of the fits behind ORDINARY."""
CURED_AT = ZERO_CELSIUS + 23
"""Room in which a cured film must be glass, [K]; own: the temperature most data sheets test at."""
GEL = gel_conversion(epoxide_groups=2, amine_hydrogens=4)
"""Conversion at which the mix gels, [-]: resin of two epoxides, hardener of four hydrogens."""
STOP_WIDTH = 2.0
"""How sharply glass stops the cure, [K]: e times slower for each of these. Own: set so that seven
days at 23 degC end with glass at 36 to 38 degC; cure plus 15 K is told (common practice, no
source)."""

_LARGEST_STEP = 0.02
"""Conversion that one step of `advanced` may gain, [-]; own: the rows of the tests then hold to
1e-4."""
_LARGEST_BEND = 0.0005
"""By how much a changing speed may move the gain of one step, [-]; own, as above: it shortens the
steps where the cure takes off or comes to a sudden end."""
_PANELS = 24
"""Stretches in which seconds_to adds up the time, [-]; own: twice as many move it by 0.03 %."""


@dataclass(frozen=True, slots=True)
class Kinetics:
    """Rate of cure of one mix, Kamal and Sourour's form, and its glass."""

    k1: float
    """Rate of the reaction that needs nothing to start it, at RATES_AT, [1/s]"""
    e1: float
    """Its activation energy, [J/mol]"""
    k2: float
    """Rate of the reaction that its own product speeds up, at RATES_AT, [1/s]"""
    e2: float
    """Its activation energy, [J/mol]"""
    m: float
    """Power of what has reacted, [-]"""
    n: float
    """Power of what is left, [-]"""
    uncured: float
    """Glass temperature of the fresh mix, [K]"""
    cured: float
    """Glass temperature of the full cure, [K]"""
    curvature: float
    """The lambda between the two, above 0 to 1, [-]"""

    def __post_init__(self) -> None:
        if not (self.k1 > 0 and self.k2 >= 0 and 0 < self.m <= 3 and 0 < self.n <= 4):
            raise RangeError(
                f"k1 {self.k1:g} and k2 {self.k2:g} per second, powers {self.m:g} and {self.n:g}: "
                "k1 and both powers must be above 0, m at most 3, n at most 4"
            )
        for energy in (self.e1, self.e2):
            arrhenius_factor(RATES_AT, RATES_AT, energy)
        glass_temperature(1, self.uncured, self.cured, self.curvature)


ORDINARY = Kinetics(
    k1=1.91e-5,
    e1=55.5e3,
    k2=1.38e-4,
    e2=50.9e3,
    m=0.88,
    n=1.39,
    uncured=ZERO_CELSIUS - 22,
    cured=ZERO_CELSIUS + 90,
    curvature=0.4,
)
"""Shape of an ordinary room-temperature mix, not a resin: anchor it with fitted_to_gel.

Rates at 25 degC, energies from 25 to 60 degC, powers the mean over 25, 50 and 60 degC: [1]
tkmeldrum, epoxy_HPC, combined_results.csv, commit 52a9046, calorimeter fits for DGEBA with
1,3-diaminopropane. No journal has reviewed them, and their unit of time is inferred. They end at a
plateau, 0.557 at 25 degC, whose factor takes 27 % off the rate from the start on; the rates here
are less by that. Up to gel it keeps time with the fits to 30 %: too fast at 25, too slow at 60
degC. The energies lie in the published 44e3 to 60e3.
Fresh glass: that of unmixed DGEBA; from memory, to be checked. Cured glass and curvature: own,
ordinary for such mixes. They decide where a cold cure stops: put the data sheet's glass there."""


class CureState(StrEnum):
    """What a mix is at a temperature."""

    LIQUID = "liquid"
    """Flows, below the gel conversion."""
    GELLED = "gelled"
    """Past gel and soft: rubber, not yet cured."""
    GLASSY_BEFORE_GEL = "glassy before gel"
    """Hard to the nail and still no network: warmed, it flows again."""
    GLASSY = "glassy"
    """Gelled and hard to the nail because it is cold: warmed to CURED_AT, it is rubber."""
    CURED = "cured"
    """Would be glass at CURED_AT by what has reacted, even if it is warm and rubbery now."""


def rate(kinetics: Kinetics, conversion: float, temperature: float) -> float:
    """Conversion gained per second, [1/s].

    kinetics: of the mix      conversion: [-], 0 to 1      temperature: of the mix, [K]

    (k1 + k2 a^m) (1 - a)^n, Kamal and Sourour [1], times the glass stop
    1 / (1 + exp((Tg(a) - T) / STOP_WIDTH)): the sigmoid of Chern and Poehlein [2], but told in how
    far the glass temperature is above the mix and not in conversion (own), so that one width does
    for all temperatures. Thinner is left out: it slows the chemistry, lowers the glass, and lets
    a cold film cure on until it has left. Raises RangeError outside 0 to 1 and outside the
    temperatures of arrhenius_factor.

    [1] M. R. Kamal, S. Sourour, Polym. Eng. Sci. 13 (1973) 59; from memory, to be checked.
    [2] C.-S. Chern, G. W. Poehlein, Polym. Eng. Sci. 27 (1987) 788; from memory, to be checked.

    >>> 3600 * rate(ORDINARY, conversion=0.3, temperature=296.15)  # in an hour
    0.127
    """
    if not 0 <= conversion <= 1:
        raise RangeError(f"conversion {conversion:g}: a share, 0 to 1")
    return speed_at(kinetics, temperature)(conversion)


def speed_at(kinetics: Kinetics, temperature: float) -> Callable[[float], float]:
    """The rate of `rate` at one temperature, as a function of conversion alone, [1/s].

    kinetics: of the mix      temperature: of the mix, [K]

    For loops: what does not hang on conversion is worked out once. Raises RangeError outside the
    temperatures of arrhenius_factor.

    >>> 3600 * speed_at(ORDINARY, temperature=296.15)(0.3)
    0.127
    """
    k1 = kinetics.k1 * arrhenius_factor(temperature, RATES_AT, kinetics.e1)
    k2 = kinetics.k2 * arrhenius_factor(temperature, RATES_AT, kinetics.e2)
    m, n = kinetics.m, kinetics.n
    uncured, curvature = kinetics.uncured, kinetics.curvature
    span = (kinetics.cured - uncured) * curvature

    def speed(conversion: float) -> float:
        if conversion >= 1:
            return 0.0
        # glass_temperature without its checks, which would take half the time of a night's cure
        glass = uncured + span * conversion / (1 - (1 - curvature) * conversion)
        above = (glass - temperature) / STOP_WIDTH
        if above > 100:
            return 0.0
        chemical: float = (k1 + k2 * conversion**m) * (1 - conversion) ** n
        return chemical / (1 + exp(above))

    return speed


def advanced(speed: Callable[[float], float], conversion: float, seconds: float) -> float:
    """Conversion after a while at one temperature, [-].

    speed: conversion gained per second, of conversion, [1/s]      conversion: at the start, [-]
    seconds: that it goes on

    Runge and Kutta's fourth order (common practice, no source), in steps that gain at most 0.02, at
    most a fifth of what is left, and less where the speed changes fast. Raises RangeError for a
    negative time or one without end.

    >>> advanced(lambda a: 1e-4 * (1 - a), conversion=0.0, seconds=3600)  # 1 - exp(-0.36)
    0.30232
    """
    if not 0 <= seconds < inf:
        raise RangeError(f"cure over {seconds:g} s: time only grows")
    while seconds > 0 and conversion < 1:
        first = speed(conversion)
        most = min(_LARGEST_STEP, 0.2 * (1 - conversion))
        step = seconds if first * seconds <= most else most / first
        while True:
            second = speed(conversion + step / 2 * first)
            third = speed(conversion + step / 2 * second)
            fourth = speed(conversion + step * third)
            if abs(fourth - first) * step <= _LARGEST_BEND:
                break
            step /= 2
        conversion += step / 6 * (first + 2 * second + 2 * third + fourth)
        seconds -= step
    return min(conversion, 1.0)


def cured(kinetics: Kinetics, conversion: float, course: Iterable[tuple[float, float]]) -> float:
    """Conversion after a course of temperatures, [-].

    kinetics: of the mix      conversion: at the start, [-], 0 to 1
    course: steps of (seconds, temperature of the mix in [K])

    Adds up `advanced` over the steps, each at its one temperature. Raises RangeError as rate does.

    >>> night = [(3600, 296.15 - hour) for hour in range(12)]
    >>> cured(ORDINARY, 0.0, night)  # 23 degC at coating, 12 in the morning
    0.603
    """
    if not 0 <= conversion <= 1:
        raise RangeError(f"conversion {conversion:g}: a share, 0 to 1")
    for seconds, temperature in course:
        conversion = advanced(speed_at(kinetics, temperature), conversion, seconds)
    return conversion


def seconds_to(
    kinetics: Kinetics, conversion: float, temperature: float, limit: float, start: float = 0.0
) -> float | None:
    """Time at one temperature until this conversion is reached, [s]; None: not within the limit.

    kinetics: of the mix      conversion: to be reached, [-], 0 to below 1
    temperature: of the mix, [K]      limit: longest time of interest, [s]
    start: conversion it has now, [-]; 0 is a fresh mix

    The integral of da / rate by Gauss's three points in 24 stretches. 0 when it has been reached.
    Raises RangeError outside the ranges.

    >>> seconds_to(ORDINARY, GEL, temperature=283.15, limit=3 * 86_400) / 3600  # 10 degC
    36.6
    """
    if not (0 <= conversion < 1 and 0 <= start <= 1):
        raise RangeError(f"conversion from {start:g} to {conversion:g}: from 0 to below 1")
    speed = speed_at(kinetics, temperature)
    gone, half, off = 0.0, (conversion - start) / _PANELS / 2, sqrt(0.6)
    for panel in range(_PANELS if half > 0 else 0):
        middle = start + (2 * panel + 1) * half
        for place, weight in ((-off, 5), (0.0, 8), (off, 5)):
            here = speed(middle + half * place)
            gone += half * weight / 9 / here if here > 0 else inf
        if gone > limit:
            return None
    return gone


def fitted_to_gel(shape: Kinetics, gel_seconds: float, temperature: float) -> Kinetics:
    """The same shape, sped up or slowed down to gel after this time, as its data sheet says.

    shape: kinetics to start from      gel_seconds: of a thin film, [s]
    temperature: at which it takes them, [K]

    Scales both rates alike (own): energies, powers and glass stay the shape's. Raises RangeError
    for a time that is not above zero, and where the shape is glass before it gels: no speed tells
    that time.

    >>> resin = fitted_to_gel(ORDINARY, gel_seconds=5.5 * 3600, temperature=296.15)
    >>> seconds_to(resin, GEL, temperature=288.15, limit=86_400) / 3600  # the same at 15 degC
    11.2
    """
    if not gel_seconds > 0:
        raise RangeError(f"gel after {gel_seconds:g} s: must be above 0")
    if _glass(shape, GEL, temperature):
        raise RangeError(
            f"at {temperature - ZERO_CELSIUS:.1f} degC this resin is glass before it gels: "
            "give the gel time of a warmer room"
        )
    shape_seconds = seconds_to(shape, GEL, temperature, inf)
    if shape_seconds is None:
        raise RangeError(f"this shape never gels at {temperature - ZERO_CELSIUS:.1f} degC")
    faster = shape_seconds / gel_seconds
    return replace(shape, k1=shape.k1 * faster, k2=shape.k2 * faster)


def state_of(kinetics: Kinetics, conversion: float, temperature: float) -> CureState:
    """What the mix is, this far cured and at this temperature.

    kinetics: of the mix      conversion: [-], 0 to 1      temperature: of the mix, [K]

    Cured means that it would be glass in a room of CURED_AT, whatever it is now; a mix that is
    glass without that is hard only because it is cold. A test with the thumbnail cannot tell the
    two apart, warming can. Raises RangeError outside 0 to 1.

    >>> state_of(ORDINARY, conversion=0.59, temperature=283.15).value  # a morning at 10 degC
    'glassy'
    >>> state_of(ORDINARY, conversion=0.59, temperature=296.15).value  # the same, warmed
    'gelled'
    """
    if _glass(kinetics, conversion, CURED_AT) and conversion >= GEL:
        return CureState.CURED
    if _glass(kinetics, conversion, temperature):
        return CureState.GLASSY if conversion >= GEL else CureState.GLASSY_BEFORE_GEL
    return CureState.GELLED if conversion >= GEL else CureState.LIQUID


def _glass(kinetics: Kinetics, conversion: float, temperature: float) -> bool:
    return vitrified(conversion, temperature, kinetics.uncured, kinetics.cured, kinetics.curvature)
