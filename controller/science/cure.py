"""How far a warm or a cold night carries the cure, by the clock of the resin's data sheet.

Arrhenius alone is optimistic in the cold: near its own glass temperature the resin stops short of
full cure whatever the age says. vitrifying_conversion tells where.
"""

from math import exp, log

from controller.errors import RangeError
from controller.science.constants import GAS_CONSTANT, ZERO_CELSIUS

_COLDEST, _HOTTEST = ZERO_CELSIUS - 20, ZERO_CELSIUS + 150
"""Temperatures of liquid and gelled epoxy that an activation energy is fitted over, [K]; own."""
_LEAST_ENERGY, _MOST_ENERGY = 20e3, 150e3
"""Activation energies that a cure can have, [J/mol]; own: published ones for epoxy and amine lie
between 44e3 and 103e3, and a value in kJ/mol must not slip through."""


def arrhenius_factor(temperature: float, reference: float, activation_energy: float) -> float:
    """Rate of cure at a temperature over the rate at the reference, [-].

    temperature, reference: [K], -20 to 150 degC      activation_energy: [J/mol], 20e3 to 150e3

    exp(-E/R (1/T - 1/T_ref)), Arrhenius [1]. For epoxy and amine 50e3 to 60e3 is usual [2]. Says
    nothing of the glass that stops a cold cure. Raises RangeError outside the ranges.

    [1] S. Arrhenius, Z. Phys. Chem. 4 (1889) 226, doi:10.1515/zpch-1889-0416; from memory, to be
    checked.
    [2] C. C. Riccardi, H. E. Adabbo, R. J. J. Williams, J. Appl. Polym. Sci. 29 (1984) 2481,
    14 kcal/mol autocatalytic; page from memory, to be checked.

    >>> 1 / arrhenius_factor(temperature=283.15, reference=296.15, activation_energy=55e3)
    2.789
    """
    if not _LEAST_ENERGY <= activation_energy <= _MOST_ENERGY:
        raise RangeError(
            f"activation energy {activation_energy:g} J/mol: a cure has 20000 to 150000 J/mol"
        )
    for name, kelvin in (("cure", temperature), ("reference", reference)):
        if not _COLDEST <= kelvin <= _HOTTEST:
            raise RangeError(
                f"{name} temperature {kelvin - ZERO_CELSIUS:.1f} degC: from -20 to 150 degC"
            )
    return exp(-activation_energy / GAS_CONSTANT * (1 / temperature - 1 / reference))


def age_gained(
    seconds: float, temperature: float, reference: float, activation_energy: float
) -> float:
    """Time at the reference temperature that is worth as much cure as this step, [s].

    seconds: length of the step      temperature: of the resin during it, [K]
    reference: that the resin's times are given for, [K]      activation_energy: [J/mol]

    The step of the equivalent age, t_e = sum of exp(-E/R (1/T - 1/T_ref)) dt [1]; add the steps up.
    Raises RangeError for a negative step and outside the ranges of arrhenius_factor.

    [1] P. Freiesleben Hansen, E. J. Pedersen, Nordisk Betong 1 (1977) 21, the form of ASTM C1074;
    from memory, to be checked.

    >>> age_gained(24 * 3600, 283.15, reference=296.15, activation_energy=55e3) / 3600
    8.607
    """
    if seconds < 0:
        raise RangeError(f"step of {seconds:g} s: age only grows")
    return seconds * arrhenius_factor(temperature, reference, activation_energy)


def clock_time_for(
    age: float, temperature: float, reference: float, activation_energy: float
) -> float:
    """Time by the clock until a resin held at one temperature has gained this age, [s].

    age: at the reference temperature, [s]      temperature: that will be held, [K]
    reference: [K]      activation_energy: [J/mol]

    The inverse of age_gained. Raises RangeError for a negative age and outside its ranges.

    >>> clock_time_for(8.6067 * 3600, 283.15, reference=296.15, activation_energy=55e3) / 3600
    24.0
    """
    if age < 0:
        raise RangeError(f"age of {age:g} s: age only grows")
    return age / arrhenius_factor(temperature, reference, activation_energy)


def energy_for_doubling(cool: float, warm: float) -> float:
    """Activation energy with which a cure runs twice as fast at warm as at cool, [J/mol].

    cool, warm: the two temperatures, [K]

    R ln 2 / (1/T_cool - 1/T_warm), Arrhenius turned round. The shop rule "half the time for each
    10 K" is this energy at the temperatures it is used at. Raises RangeError unless warm is the
    warmer and both are above zero.

    >>> energy_for_doubling(cool=293.15, warm=303.15) / 1000
    51.2
    """
    if not 0 < cool < warm:
        raise RangeError(f"doubling from {cool:g} K to {warm:g} K: the second must be the warmer")
    return GAS_CONSTANT * log(2) / (1 / cool - 1 / warm)


def glass_temperature(conversion: float, uncured: float, cured: float, curvature: float) -> float:
    """Glass temperature of a resin cured this far, [K].

    conversion: share of its bonds made, [-], 0 to 1
    uncured, cured: glass temperature of the fresh mix and of the full cure, [K]
    curvature: the lambda of the formula, above 0 to 1, [-]

    DiBenedetto: Tg = Tg0 + (Tg1 - Tg0) lambda a / (1 - (1 - lambda) a) [1]. Thinner left in the
    film lowers it and is not in here. Raises RangeError outside the ranges.

    [1] J. P. Pascault, R. J. J. Williams, J. Polym. Sci. B 28 (1990) 85,
    doi:10.1002/polb.1990.090280107; from memory, to be checked.

    >>> glass_temperature(0.8, uncured=251.15, cured=363.15, curvature=0.4) - 273.15
    46.92
    """
    _check_glass(uncured, cured, curvature)
    if not 0 <= conversion <= 1:
        raise RangeError(f"conversion {conversion:g}: a share, 0 to 1")
    return uncured + (cured - uncured) * curvature * conversion / (1 - (1 - curvature) * conversion)


def vitrifying_conversion(
    temperature: float, uncured: float, cured: float, curvature: float
) -> float:
    """Conversion at which the resin turns to glass at this temperature and all but stops, [-].

    temperature: that the resin is held at, [K], between uncured and cured
    uncured, cured, curvature: as in glass_temperature

    The inverse of glass_temperature; in the last degrees before it the cure already crawls. Raises
    RangeError outside the ranges: above `cured` no glass stops the cure, below `uncured` the fresh
    mix is glass.

    >>> vitrifying_conversion(283.15, uncured=251.15, cured=363.15, curvature=0.4)
    0.50
    """
    _check_glass(uncured, cured, curvature)
    if not uncured <= temperature <= cured:
        raise RangeError(
            f"{temperature - ZERO_CELSIUS:.1f} degC: this resin turns to glass only between "
            f"{uncured - ZERO_CELSIUS:.1f} and {cured - ZERO_CELSIUS:.1f} degC"
        )
    share = (temperature - uncured) / (cured - uncured)
    return share / (curvature + (1 - curvature) * share)


def vitrified(
    conversion: float, temperature: float, uncured: float, cured: float, curvature: float
) -> bool:
    """Whether a resin cured this far is glass at this temperature.

    conversion: [-], 0 to 1      temperature: of the resin, [K]
    uncured, cured, curvature: as in glass_temperature

    Any temperature has an answer; raises RangeError as glass_temperature does.

    >>> vitrified(0.55, temperature=283.15, uncured=251.15, cured=363.15, curvature=0.4)
    True
    """
    return glass_temperature(conversion, uncured, cured, curvature) >= temperature


def _check_glass(uncured: float, cured: float, curvature: float) -> None:
    if not (0 < uncured < cured and 0 < curvature <= 1):
        raise RangeError(
            f"glass at {uncured:g} K fresh, {cured:g} K cured, curvature {curvature:g}: "
            "cured must be the higher, curvature above 0 to 1"
        )
