"""How thick a mix is: by its warmth, by what thins it, by what a flow cup or a measurement says."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isclose, log

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS

_COLDEST, _HOTTEST = ZERO_CELSIUS + 10, ZERO_CELSIUS + 60
"""Temperatures at which viscosity_at answers, [K]; own."""
_LEAST_HALVING, _MOST_HALVING = 3.0, 20.0
"""Warming that may halve a resin's viscosity, [K]; own, round the 5 to 10 K that is told."""
_MOST_THINNER = 0.5
"""Largest share of thinner, [-]; own: beyond it the resin is in the thinner."""

THINNER_VISCOSITY = {
    "water": 0.890e-3,
    "acetone": 0.307e-3,
    "ethanol": 1.077e-3,
    "isopropanol": 2.05e-3,
    "toluene": 0.554e-3,
    "butanone (MEK)": 0.395e-3,
    "xylene": 0.581e-3,
}
"""Viscosity of each thinner at 25 degC, [Pa s]; 20 degC adds 5 % (acetone) to 16 % (isopropanol).

[1] D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th ed. 2008, table 2-313, fits
as in the data files of the library chemicals 1.5.2; its VDI fits lie within 2 % of them. Xylene is
the meta one; ortho has 0.758e-3. Water, whose fit is 2.5 % high: IAPWS as in CoolProp 8.0.0."""


def viscosity_at(viscosity: float, known_at: float, temperature: float, halving: float) -> float:
    """Viscosity of the same liquid at another temperature, [Pa s].

    viscosity: [Pa s], at known_at, [K]      temperature: asked for, [K]; both 10 to 60 degC
    halving: warming that halves it, [K], 3 to 20

    eta 2^(-(T - T_known) / halving), fit for some 15 to 50 degC. Near 25 degC unthinned DGEBA
    halves for each 5 to 6 K, from memory, to be checked; for mixes 5 to 10 K is told (common
    practice, no source), and sources differ by two. Farther from the known point a real resin
    changes less: errs to too thin when warmer (half at 60 degC from 25 degC), to too thick when
    colder. Raises RangeError outside the ranges.

    >>> viscosity_at(1.0, known_at=298.15, temperature=313.15, halving=7.5)
    0.25
    """
    _check_viscosity(viscosity)
    for kelvin in (known_at, temperature):
        if not _COLDEST <= kelvin <= _HOTTEST:
            raise RangeError(
                f"viscosity at {kelvin - ZERO_CELSIUS:.1f} degC: the rule holds from 10 to 60 degC"
            )
    if not _LEAST_HALVING <= halving <= _MOST_HALVING:
        raise RangeError(f"viscosity halving in {halving:g} K: resins take 3 to 20 K")
    return viscosity * 2 ** ((known_at - temperature) / halving)


def halving_between(cool: float, at_cool: float, warm: float, at_warm: float) -> float:
    """Warming that halves the viscosity, from two points of a data sheet, [K].

    cool, warm: the two temperatures, [K]      at_cool, at_warm: viscosity there, [Pa s]

    viscosity_at turned round (own). Raises RangeError unless it is the thinner at the warmer.

    >>> halving_between(cool=298.15, at_cool=12.5, warm=313.15, at_warm=2.0)
    5.67
    """
    if not (0 < cool < warm and 0 < at_warm < at_cool):
        raise RangeError(
            f"{at_cool:g} Pa s at {cool:g} K and {at_warm:g} Pa s at {warm:g} K: "
            "the second must be warmer and thinner"
        )
    return (warm - cool) * log(2) / log(at_cool / at_warm)


def log_mixing(shares: Sequence[float], viscosities: Sequence[float]) -> float:
    """Viscosity of a mix of liquids, [Pa s] or whatever unit its parts have.

    shares: of each part, [-], together 1, by mass or by molecules      viscosities: of each

    ln eta = sum x ln eta, Arrhenius [1]. By mass it thins an epoxy too little, by molecules mostly
    too much: see thinned. Raises RangeError for shares that do not make 1 and for viscosities not
    above zero.

    [1] S. Arrhenius, Z. Phys. Chem. 1 (1887) 285; from memory, to be checked.

    >>> log_mixing((0.95, 0.05), (1.0, 0.316e-3))
    0.668
    """
    _check_shares(shares, viscosities)
    for viscosity in viscosities:
        _check_viscosity(viscosity)
    return exp(sum(share * log(eta) for share, eta in zip(shares, viscosities, strict=True)))


def grunberg_nissan(share: float, thick: float, thin: float, interaction: float) -> float:
    """Viscosity of two liquids that act on each other, in the unit of its parts.

    share: of the thin one in the molecules, [-], 0 to 1      thick, thin: their viscosities
    interaction: G12, [-], of this pair alone; below 0 thins more

    ln eta = x1 ln eta1 + x2 ln eta2 + x1 x2 G12 [1]. Raises RangeError as log_mixing does.

    [1] L. Grunberg, A. H. Nissan, Nature 164 (1949) 799; from memory, to be checked.

    >>> grunberg_nissan(0.3, thick=1000, thin=0.316, interaction=-2)
    58.55
    """
    ideal = log_mixing((1 - share, share), (thick, thin))
    return ideal * exp(share * (1 - share) * interaction)


@dataclass(frozen=True, slots=True)
class ThinnedBand:
    """Between what two viscosities a thinned mix lies."""

    low: float
    """Log mixing by molecules, [Pa s]"""
    high: float
    """Log mixing by mass, [Pa s]"""


def thinned(
    resin_viscosity: float,
    thinner_viscosity: float,
    mass_share: float,
    resin_molar_mass: float,
    thinner_molar_mass: float,
) -> ThinnedBand:
    """Band in which the viscosity of a thinned mix lies, [Pa s].

    resin_viscosity, thinner_viscosity: at the mix's temperature, [Pa s]
    mass_share: of thinner in the whole, [-], 0 to 0.5
    resin_molar_mass, thinner_molar_mass: [kg/mol]

    Log mixing by molecules below, by mass above (own). No measured row of a solvent in epoxy was
    found; what is told lies between, and the band is wide: fivefold at 5 % of acetone. A measured
    point does away with it, see calibrated. Raises RangeError outside the ranges, and unless the
    thinner is the thinner liquid with the smaller molecules.

    >>> band = thinned(1.0, 0.316e-3, 0.05, resin_molar_mass=0.36, thinner_molar_mass=0.05808)
    >>> band.low, band.high
    (0.138, 0.668)
    """
    if not 0 < thinner_molar_mass <= resin_molar_mass:
        raise RangeError(
            f"thinner of {thinner_molar_mass:g} kg/mol in resin of {resin_molar_mass:g} kg/mol: "
            "a thinner has the smaller molecules"
        )
    weight = resin_molar_mass / thinner_molar_mass
    return ThinnedBand(
        low=ThinningCurve(resin_viscosity, thinner_viscosity, weight).at(mass_share),
        high=ThinningCurve(resin_viscosity, thinner_viscosity, 1.0).at(mass_share),
    )


@dataclass(frozen=True, slots=True)
class ThinningCurve:
    """Viscosity of one resin with more and more of one thinner."""

    resin_viscosity: float
    """Of the mix without thinner, [Pa s]"""
    thinner_viscosity: float
    """Of the thinner by itself, [Pa s]"""
    weight: float
    """How many grams of resin one gram of thinner counts for, [-]; 1: log mixing by mass"""

    def at(self, mass_share: float) -> float:
        """Viscosity with this share of thinner, [Pa s].

        mass_share: of thinner in the whole, [-], 0 to 0.5

        Log mixing with the thinner's grams counted `weight` times, the form of Lederer [1]. With
        the ratio of molar masses for a weight it is log mixing by molecules. Raises RangeError
        outside the range, and for a thinner not thinner than the resin.

        [1] E. L. Lederer, 1931, as told in W. R. Shu, SPE J. 24 (1984) 277; from memory, to be
        checked.

        >>> ThinningCurve(1.0, 0.307e-3, weight=2.5).at(0.05)
        0.390
        """
        if not 0 <= mass_share <= _MOST_THINNER:
            raise RangeError(f"thinner share {mass_share:g} of the mix: from 0 to 0.5 by mass")
        if not (0 < self.thinner_viscosity < self.resin_viscosity and self.weight > 0):
            raise RangeError(
                f"{self.thinner_viscosity:g} Pa s in {self.resin_viscosity:g} Pa s: "
                "a thinner must be the thinner of the two"
            )
        counted = self.weight * mass_share
        share = counted / (counted + 1 - mass_share)
        return log_mixing((1 - share, share), (self.resin_viscosity, self.thinner_viscosity))


def calibrated(
    resin_viscosity: float, thinner_viscosity: float, measured_share: float, measured: float
) -> ThinningCurve:
    """The thinning curve that goes through a person's own measured point.

    resin_viscosity, thinner_viscosity: [Pa s]
    measured_share: of thinner in the mix that was measured, [-], above 0 to 0.5
    measured: viscosity of that mix at the same temperature, [Pa s]

    Exact at the point, at no thinner and at thinner alone. The weight of Lederer's form and not
    G12 of grunberg_nissan is fitted: it contains both edges of the band, needs no molar mass, and
    falls all the way whatever the point, which G12 does not. Raises RangeError unless the
    point lies between the two liquids.

    >>> calibrated(1.0, 0.307e-3, measured_share=0.05, measured=0.4).at(0.10)
    0.179
    """
    if not (0 < measured_share <= _MOST_THINNER and thinner_viscosity > 0):
        raise RangeError(f"thinner share {measured_share:g} as measured: above 0, at most 0.5")
    if not thinner_viscosity < measured < resin_viscosity:
        raise RangeError(
            f"measured {measured:g} Pa s is not between thinner {thinner_viscosity:g} Pa s and "
            f"resin {resin_viscosity:g} Pa s; measure all at one temperature"
        )
    share = log(resin_viscosity / measured) / log(resin_viscosity / thinner_viscosity)
    weight = share * (1 - measured_share) / (measured_share * (1 - share))
    return ThinningCurve(resin_viscosity, thinner_viscosity, weight)


def thickening(conversion: float, gel: float) -> float:
    """How many times as thick the curing mix is as the fresh one at the same temperature, [-].

    conversion: [-], 0 to below gel      gel: conversion at the gel point, [-], above 0 to 1

    (gel / (gel - a))^(1.5 + a), the form of Castro and Macosko [1]; 1.5 and 1 stand for
    epoxies, both from memory, to be checked: good to within two times. Raises RangeError outside.

    [1] J. M. Castro, C. W. Macosko, AIChE J. 28 (1982) 250; from memory, to be checked.

    >>> thickening(0.2, gel=0.577)
    2.06
    """
    if not (0 < gel <= 1 and 0 <= conversion < gel):
        raise RangeError(f"conversion {conversion:g} of a mix that gels at {gel:g}: it flows below")
    times: float = (gel / (gel - conversion)) ** (1.5 + conversion)
    return times


def _check_viscosity(viscosity: float) -> None:
    if not viscosity > 0:
        raise RangeError(f"viscosity {viscosity:g} Pa s: must be above 0")


def _check_shares(shares: Sequence[float], values: Sequence[float]) -> None:
    together = sum(shares)
    if len(shares) != len(values) or not isclose(together, 1, abs_tol=1e-6) or min(shares) < 0:
        raise RangeError(
            f"{len(shares)} shares of {len(values)} liquids make {together:g}: one each, together 1"
        )
