"""A cup of mix that warms itself: how long it can be used, and how hot it gets.

One temperature stands for the whole cup. Its middle is hotter, so the times err to too long and
the warmth to too low, the more the bigger the cup.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import exp, log, pi

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.kinetics import Kinetics, rate

TOO_WARM = 15.0
"""Warming that ends the use of a cup, [K]; own: by then it is running away, and what is left in it
will not be spread in time."""
TOO_THICK = 0.2
"""Conversion that ends the use of a cup, [-]; own: about where, by viscosity.thickening, the mix is
twice as thick as fresh and no longer creeps into pores."""
HOTTEST = ZERO_CELSIUS + 120
"""Temperature at which a course ends, [K]; own: a cup this hot smokes, and no rate is known."""
CUP_LOSS = 10.0
"""Heat that walls and top give to still air, [W/(m2 K)]; own: between 6 and 13 of free air and
radiation, less what a plastic wall holds back."""
SHEET_MASS = 0.1
"""Mass that pot lives are told for, [kg]; common practice, no source."""

_LONGEST = 14 * 86_400.0
"""Time after which pot_life gives up, [s]; own."""
_STEP_GAIN = 0.01
"""Conversion that one step may gain, [-]; own: halving it moves a pot life by less than 0.1 %."""
_CLOSE = 1e-4
"""How near `anchored` comes to the speed, as a share of it, [-]; own: pot lives vary more."""


@dataclass(frozen=True, slots=True)
class Mix:
    """What a mix is for its own warmth."""

    heat_of_cure: float
    """Of the whole cure, [J/kg]"""
    heat_capacity: float
    """[J/(kg K)]"""
    density: float
    """[kg/m3]"""


ORDINARY_MIX = Mix(heat_of_cure=450e3, heat_capacity=2000.0, density=1130.0)
"""An ordinary laminating mix. Heat: resin.heat_of_cure_per_kg of unthinned DGEBA and amine, 473e3,
less some diluent (own); heat capacity and density from memory, to be checked."""


@dataclass(frozen=True, slots=True)
class Lot:
    """Mix in one vessel."""

    mass: float
    """[kg]"""
    surface: float
    """That gives heat to the air, [m2]"""


@dataclass(frozen=True, slots=True)
class CupMoment:
    """What a cup is after a while."""

    seconds: float
    """Since it was mixed, [s]"""
    temperature: float
    """[K]"""
    conversion: float
    """[-]"""


def in_cup(mass: float, density: float) -> Lot:
    """The mix in a cup filled as high as it is wide.

    mass: [kg]      density: of the mix, [kg/m3]

    Wall and top give off heat, the bottom stands on a bench that holds it (own). Raises RangeError
    unless both are above zero.

    >>> 1e4 * in_cup(0.1, density=1130).surface  # cm2
    91.6
    """
    _check_lot(mass, density)
    width = (4 * mass / (pi * density)) ** (1 / 3)
    return Lot(mass, 1.25 * pi * width**2)


def in_tray(mass: float, density: float, depth: float) -> Lot:
    """The mix spread this deep in a tray, or on a face.

    mass: [kg]      density: of the mix, [kg/m3]      depth: [m]

    The top alone gives off heat (own). Raises RangeError unless all are above zero.

    >>> 1e4 * in_tray(0.1, density=1130, depth=0.005).surface  # cm2
    177.0
    """
    _check_lot(mass, density)
    if not depth > 0:
        raise RangeError(f"mix {depth:g} m deep: must be above 0")
    return Lot(mass, mass / density / depth)


def cup_course(
    kinetics: Kinetics, lot: Lot, start: float, room: float, mix: Mix, loss: float
) -> Iterator[CupMoment]:
    """What the cup is from moment to moment, without end until it is HOTTEST.

    kinetics: of the mix      lot: its mass and surface      start: when mixed, [K]
    room: [K]      mix: its heats      loss: of the surface, [W/(m2 K)], above 0

    m c dT/dt = m H da/dt - h A (T - room), da/dt the rate of kinetics.rate (own; the balance is
    common practice), by Runge and Kutta's fourth order. Heats one temperature for the whole cup,
    and boils nothing off. Raises RangeError outside the ranges.

    >>> from controller.science.kinetics import ORDINARY
    >>> course = cup_course(ORDINARY, in_cup(0.5, 1130), 298.15, 298.15, ORDINARY_MIX, CUP_LOSS)
    >>> max(moment.temperature for moment in course) >= HOTTEST  # half a kilo in a cup smokes
    True
    """
    if not (loss > 0 and lot.mass > 0 and lot.surface > 0):
        raise RangeError(f"loss {loss:g} W/(m2 K), {lot}: each must be above 0")
    if not (mix.heat_of_cure > 0 and mix.heat_capacity > 0):
        raise RangeError(f"{mix}: heats must be above 0")
    if not (start <= HOTTEST - TOO_WARM and room <= HOTTEST - TOO_WARM):
        raise RangeError(
            f"mix at {start - ZERO_CELSIUS:.1f} degC, room at {room - ZERO_CELSIUS:.1f} degC: "
            "at most 105 degC"
        )
    moment = CupMoment(0.0, start, 0.0)
    settling = lot.mass * mix.heat_capacity / (loss * lot.surface)
    while moment.temperature < HOTTEST:
        yield moment
        step = settling / 4
        speed = rate(kinetics, moment.conversion, moment.temperature)
        if speed * step > _STEP_GAIN:
            step = _STEP_GAIN / speed
        moment = _after(step, moment, kinetics, room, mix, settling)
    yield moment


def pot_life(
    kinetics: Kinetics, lot: Lot, start: float, room: float, mix: Mix, loss: float
) -> float:
    """Time from mixing until the cup is too warm or too thick to use, [s].

    kinetics: of the mix      lot: its mass and surface      start: when mixed, [K]
    room: [K]      mix: its heats      loss: of the surface, [W/(m2 K)], above 0

    The first of: TOO_WARM above the warmer of start and room; TOO_THICK (own). Errs to too long in
    big cups, see cup_course. From 20 to 30 degC it about halves, as is told; a slow mix in a small
    or cold cup keeps cool by itself and lasts up to 3.5 times as long for 10 K less. Two weeks when
    neither comes in that time. Raises RangeError as cup_course does.

    >>> from controller.science.kinetics import ORDINARY
    >>> pot_life(ORDINARY, in_cup(0.1, 1130), 296.15, 296.15, ORDINARY_MIX, CUP_LOSS) / 60
    46.2
    """
    warm = max(start, room) + TOO_WARM

    def over(moment: CupMoment) -> bool:
        return moment.temperature >= warm or moment.conversion >= TOO_THICK

    before = CupMoment(0.0, start, 0.0)
    for moment in cup_course(kinetics, lot, start, room, mix, loss):
        if over(moment):
            break
        if moment.seconds > _LONGEST:
            return _LONGEST
        before = moment
    settling = lot.mass * mix.heat_capacity / (loss * lot.surface)
    early, late = 0.0, moment.seconds - before.seconds
    while late - early > 1e-3:
        middle = (early + late) / 2
        if over(_after(middle, before, kinetics, room, mix, settling)):
            late = middle
        else:
            early = middle
    return before.seconds + late


def anchored(
    shape: Kinetics, sheet_life: float, temperature: float, mix: Mix, mass: float = SHEET_MASS
) -> Kinetics:
    """The same shape at the speed with which a cup has the pot life of the data sheet.

    shape: kinetics to start from      sheet_life: pot life, [s]
    temperature: of mix and room for which it is told, [K]      mix: its heats
    mass: in the cup it is told for, [kg]; 100 g is usual, common practice, no source

    Scales both rates alike, found by halving (own). For cups only: a film is anchored to its gel by
    kinetics.fitted_to_gel, and makers end a pot life each in their own way, so the two speeds
    of one resin may lie twofold apart. Raises RangeError for a life that no speed gives.

    >>> from controller.science.kinetics import ORDINARY
    >>> resin = anchored(ORDINARY, 45 * 60, temperature=296.15, mix=ORDINARY_MIX)
    >>> pot_life(resin, in_cup(0.3, 1130), 296.15, 296.15, ORDINARY_MIX, CUP_LOSS) / 60
    40.5
    """
    if not 10 <= sheet_life <= _LONGEST / 2:
        raise RangeError(f"pot life of {sheet_life:g} s: from 10 s to a week; it is in seconds")
    lot = in_cup(mass, mix.density)

    def sped(faster: float) -> Kinetics:
        return replace(shape, k1=shape.k1 * faster, k2=shape.k2 * faster)

    def life(faster: float) -> float:
        return pot_life(sped(faster), lot, temperature, temperature, mix, CUP_LOSS)

    own = life(1.0)
    # a slower mix has the time to lose its heat, so lives spread more than speeds do
    slow = fast = own / sheet_life
    while life(slow) < sheet_life:
        slow /= 2
    while life(fast) > sheet_life:
        fast *= 2
    low, high = log(slow), log(fast)
    while high - low > _CLOSE:
        middle = (low + high) / 2
        if life(exp(middle)) > sheet_life:
            low = middle
        else:
            high = middle
    return sped(exp((low + high) / 2))


def _after(
    step: float, moment: CupMoment, kinetics: Kinetics, room: float, mix: Mix, settling: float
) -> CupMoment:
    """The cup one step later; settling: mass times heat capacity over loss and surface, [s]."""
    adiabatic = mix.heat_of_cure / mix.heat_capacity

    def slopes(temperature: float, conversion: float) -> tuple[float, float]:
        speed = rate(kinetics, min(conversion, 1.0), temperature)
        return adiabatic * speed - (temperature - room) / settling, speed

    t, a = moment.temperature, moment.conversion
    t1, a1 = slopes(t, a)
    t2, a2 = slopes(t + step / 2 * t1, a + step / 2 * a1)
    t3, a3 = slopes(t + step / 2 * t2, a + step / 2 * a2)
    t4, a4 = slopes(t + step * t3, a + step * a3)
    return CupMoment(
        moment.seconds + step,
        t + step / 6 * (t1 + 2 * t2 + 2 * t3 + t4),
        min(a + step / 6 * (a1 + 2 * a2 + 2 * a3 + a4), 1.0),
    )


def _check_lot(mass: float, density: float) -> None:
    if not (mass > 0 and density > 0):
        raise RangeError(f"{mass:g} kg at {density:g} kg/m3: both must be above 0")
