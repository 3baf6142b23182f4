"""Thinners sold as a mixture: what boils out of them first, and when their vapour burns.

Every function takes one solvent or a mixture of several, so that a plan need not ask which it has.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, inf

from controller.errors import RangeError
from controller.science.solvent import (
    ACETONE,
    ISOPROPANOL,
    MEK,
    SOLVENTS,
    TOLUENE,
    XYLENE,
    Solvent,
    vapour_pressure,
)

_ROUNDING = 1e-6
"""How far the shares of a mixture may miss one together, [-]; own."""


@dataclass(frozen=True, slots=True)
class Mixture:
    """A thinner of several solvents. Raises RangeError unless the shares are above 0 and make 1."""

    name: str
    """As people write it."""
    parts: tuple[tuple[Solvent, float], ...]
    """Each solvent and its share of the mass, [-]."""
    source: str
    """Where the shares come from."""

    def __post_init__(self) -> None:
        shares = [share for _, share in self.parts]
        if not shares or min(shares) <= 0 or abs(sum(shares) - 1) > _ROUNDING:
            raise RangeError(
                f"{self.name}: mass shares {shares} must be above 0 and make 1 together"
            )


Liquid = Solvent | Mixture
"""What thins a resin: one solvent, or several that are sold as one."""

LACQUER_THINNER = Mixture(
    name="lacquer thinner",
    parts=((TOLUENE, 0.40), (ACETONE, 0.25), (ISOPROPANOL, 0.15), (MEK, 0.10), (XYLENE, 0.10)),
    source="own; makers differ widely, and some put methanol in: the tin's safety sheet lists the "
    "parts",
)
MIXTURES: Mapping[str, Mixture] = {LACQUER_THINNER.name: LACQUER_THINNER}
LIQUIDS: Mapping[str, Liquid] = {**SOLVENTS, **MIXTURES}
"""Every solvent and every mixture, by name."""


def parts_of(liquid: Liquid) -> tuple[tuple[Solvent, float], ...]:
    """Each solvent in a liquid and its share of the mass, [-].

    liquid: a solvent, which is its own only part, or a mixture

    >>> [(part.name, share) for part, share in parts_of(ACETONE)]
    [('acetone', 1.0)]
    """
    return ((liquid, 1.0),) if isinstance(liquid, Solvent) else liquid.parts


def mean_molar_mass(liquid: Liquid) -> float:
    """Mass of the liquid over the number of its molecules, [kg/mol].

    liquid: a solvent or a mixture

    1 / sum(w / M), a count (own).

    >>> 1000 * mean_molar_mass(LACQUER_THINNER)
    74.2
    """
    return 1 / sum(share / part.molar_mass for part, share in parts_of(liquid))


def liquid_density(liquid: Liquid) -> float:
    """Density at 20 degC, [kg/m3].

    liquid: a solvent or a mixture

    1 / sum(w / rho), as if mixing took no room (own); such liquids are within about 1 % of it, from
    memory, to be checked.

    >>> liquid_density(LACQUER_THINNER)
    827.8
    """
    return 1 / sum(share / part.density for part, share in parts_of(liquid))


def mole_shares(liquid: Liquid) -> tuple[tuple[Solvent, float], ...]:
    """Each solvent and its share of the liquid's molecules, [-].

    liquid: a solvent or a mixture

    Once all has evaporated, these are its shares of the vapour too. A count (own).

    >>> [f"{part.name} {share:.3f}" for part, share in mole_shares(LACQUER_THINNER)][:2]
    ['toluene 0.322', 'acetone 0.320']
    """
    mean = mean_molar_mass(liquid)
    return tuple((part, share * mean / part.molar_mass) for part, share in parts_of(liquid))


def bubble_pressure(liquid: Liquid, temperature: float) -> float:
    """Pressure under which the liquid alone begins to boil, [Pa].

    liquid: a solvent or a mixture      temperature: of the liquid, [K]

    sum(x p_pure), Raoult's law for an ideal mixture (common practice, no source). Alcohol among
    solvents without it pushes harder than that: for lacquer thinner from 10 to 50 degC the group
    method UNIFAC [1] gives 17 to 19 % more. It errs, so, to too deep a vacuum; keep the margin.
    Raises RangeError outside the temperatures of a part's row.

    [1] A. Fredenslund, R. L. Jones, J. M. Prausnitz, AIChE J. 21 (1975) 1086,
    doi:10.1002/aic.690210607, as worked by the library thermo 0.6; the reference from memory, to
    be checked.

    >>> bubble_pressure(LACQUER_THINNER, temperature=293.15) / 1000
    10.7
    """
    return sum(share * vapour_pressure(part, temperature) for part, share in mole_shares(liquid))


def vapour_shares(liquid: Liquid, temperature: float) -> tuple[tuple[Solvent, float], ...]:
    """Each solvent and its share of the first vapour over the liquid, by volume, [-].

    liquid: a solvent or a mixture      temperature: of the liquid, [K]

    x p_pure / sum(x p_pure), Raoult's law (common practice, no source): what boils off first, by
    and by the rest follows. UNIFAC has less acetone in it, 0.69 for 0.74 of lacquer thinner at
    20 degC, and more alcohol, 0.13 for 0.08. Raises RangeError as bubble_pressure does.

    >>> [f"{part.name} {share:.2f}" for part, share in vapour_shares(LACQUER_THINNER, 293.15)][:2]
    ['toluene 0.09', 'acetone 0.74']
    """
    total = bubble_pressure(liquid, temperature)
    return tuple(
        (part, share * vapour_pressure(part, temperature) / total)
        for part, share in mole_shares(liquid)
    )


def le_chatelier_limit(vapour: tuple[tuple[Solvent, float], ...]) -> float:
    """Least share of a mixed vapour in air that burns, by volume, [-].

    vapour: each solvent and its share of the vapour, [-]: from mole_shares, vapour_shares

    1 / sum(y / limit) [1]; what does not burn adds nothing to the sum. Raises RangeError for a
    vapour of which nothing burns, and for shares that are negative or do not make 1.

    [1] H. Le Chatelier, Annales des Mines 19 (1891) 388; from memory, to be checked.

    >>> le_chatelier_limit(mole_shares(LACQUER_THINNER))
    0.0150
    """
    shares = [share for _, share in vapour]
    if not shares or min(shares) < 0 or abs(sum(shares) - 1) > _ROUNDING:
        raise RangeError(f"shares {shares} of a vapour must be 0 or more and make 1 together")
    burning = sum(
        share / part.lower_flammable_limit
        for part, share in vapour
        if part.lower_flammable_limit is not None
    )
    if burning == 0:
        names = ", ".join(part.name for part, _ in vapour)
        raise RangeError(f"{names} does not burn: it has no flammable limit to stay under")
    return 1 / burning


def coldest_flash_point(liquid: Liquid) -> float | None:
    """Flash point of the part that lights first, [K]; None when no part burns.

    liquid: a solvent or a mixture

    The lowest of the parts' (own). A mixture's own is a little higher, where its leading part is
    thinned by the rest: it errs to the safe side.

    >>> coldest_flash_point(LACQUER_THINNER) - 273.15
    -20.0
    """
    lowest = min((part.flash_point or inf for part, _ in parts_of(liquid)))
    return None if lowest == inf else lowest


def pressure_over_resin(
    liquid: Liquid,
    liquid_mass: float,
    resin_mass: float,
    resin_density: float,
    chi: float,
    temperature: float,
) -> float:
    """Pressure of all the thinner's vapours over a mix, [Pa]; below it the mix boils.

    liquid: a solvent or a mixture      liquid_mass: of all of it, [kg]
    resin_mass: resin and hardener, [kg]      resin_density: of these mixed, [kg/m3]
    chi: interaction of each part with the resin, [-], 0 to 0.5      temperature: of the mix, [K]

    Flory-Huggins for each part [1], endless resin molecules, the parts athermal among themselves
    and with one chi for all: ln a = ln phi + 1 - V sum(phi_j / V_j) + chi phi_resin^2, where V is
    a part's molar volume; the sum of a p_pure. One part alone gives partial_pressure_flory_huggins.
    The single chi is the weak place (own): 0.3 to 0.5 moves it about 10 %. Raises RangeError for
    masses, a density or a chi that cannot be, and outside a part's temperatures.

    [1] P. J. Flory, Principles of Polymer Chemistry, 1953, chapters XII and XIII; pages from
    memory, to be checked.

    >>> pressure_over_resin(LACQUER_THINNER, 5, 95, 1150, chi=0.4, temperature=293.15) / 1000
    2.309
    """
    if min(liquid_mass, resin_mass) < 0 or liquid_mass + resin_mass <= 0:
        raise RangeError(f"thinner {liquid_mass:g} kg in resin {resin_mass:g} kg: weigh them anew")
    if resin_density <= 0:
        raise RangeError(f"resin of {resin_density:g} kg/m3: a density must be above 0")
    if not 0 <= chi <= 0.5:
        raise RangeError(f"chi {chi:g}: thinner and resin mix from 0 to 0.5")
    parts = parts_of(liquid)
    room = [liquid_mass * share / part.density for part, share in parts]
    whole = sum(room) + resin_mass / resin_density
    resin_share = resin_mass / resin_density / whole
    molar = [part.molar_mass / part.density for part, _ in parts]
    crowd = sum(each / whole / size for each, size in zip(room, molar, strict=True))
    return sum(
        each
        / whole
        * exp(1 - size * crowd + chi * resin_share**2)
        * vapour_pressure(part, temperature)
        for (part, _), each, size in zip(parts, room, molar, strict=True)
    )
