"""The two parts of a resin: how much of each, what a mis-pour does, how much heat they make."""

from math import sqrt

from controller.errors import RangeError


def weight_ratio(volume_ratio: float, density_a: float, density_b: float) -> float:
    """Mass of hardener B for one of resin A, from a ratio told by volume, [kg/kg].

    volume_ratio: B for one of A, [m3/m3]      density_a, density_b: [kg/m3]

    The volumes times their densities (own). Raises RangeError unless all are above zero.

    >>> weight_ratio(1 / 2, density_a=1160, density_b=980)
    0.4224
    """
    _above_zero("ratio by volume and densities", volume_ratio, density_a, density_b)
    return volume_ratio * density_b / density_a


def phr(weight_ratio: float) -> float:
    """Parts of hardener to a hundred of resin by mass, [-], as data sheets print it.

    weight_ratio: B for one of A, [kg/kg]

    Raises RangeError unless the ratio is above zero.

    >>> phr(0.43)
    43.0
    """
    _above_zero("ratio by weight", weight_ratio)
    return 100 * weight_ratio


def amine_hydrogen_equivalent(molar_mass: float, hydrogens: int) -> float:
    """Mass of amine that brings one mole of active hydrogen, [kg/mol].

    molar_mass: of the amine, [kg/mol]      hydrogens: on nitrogen, in one molecule

    The definition (common practice, no source). Raises RangeError unless both are above zero.

    >>> 1000 * amine_hydrogen_equivalent(0.14623, hydrogens=6)  # triethylenetetramine
    24.37
    """
    _above_zero("molar mass and hydrogens", molar_mass, hydrogens)
    return molar_mass / hydrogens


def stoichiometric_phr(hydrogen_equivalent: float, epoxide_equivalent: float) -> float:
    """Parts of amine to a hundred of resin that leave neither over, [-].

    hydrogen_equivalent: of the amine, [kg/mol]      epoxide_equivalent: of the resin, [kg/mol]

    100 AHEW / EEW (common practice, no source). Diluents and accelerators shift it: what the maker
    prints on the tin stands. Raises RangeError unless both are above zero.

    >>> stoichiometric_phr(hydrogen_equivalent=0.02437, epoxide_equivalent=0.187)
    13.03
    """
    _above_zero("equivalents", hydrogen_equivalent, epoxide_equivalent)
    return 100 * hydrogen_equivalent / epoxide_equivalent


def gel_conversion(epoxide_groups: int, amine_hydrogens: int) -> float:
    """Conversion at which the mix stops flowing for good, [-].

    epoxide_groups: on one resin molecule, 2 or more
    amine_hydrogens: on one hardener molecule, 2 or more

    1 / sqrt((f - 1) (g - 1)), Flory and Stockmayer [1], for a mix that leaves neither over. Rings
    are left out: a real mix gels a few per cent later. Raises RangeError where no network forms.

    [1] P. J. Flory, Principles of Polymer Chemistry, 1953, chapter IX; W. H. Stockmayer, J. Chem.
    Phys. 11 (1943) 45; from memory, to be checked.

    >>> gel_conversion(epoxide_groups=2, amine_hydrogens=4)
    0.577
    """
    if min(epoxide_groups, amine_hydrogens) < 2 or max(epoxide_groups, amine_hydrogens) < 3:
        raise RangeError(
            f"{epoxide_groups} epoxides and {amine_hydrogens} hydrogens make no network: 2 or more "
            "of each, and 3 of one"
        )
    return 1 / sqrt((epoxide_groups - 1) * (amine_hydrogens - 1))


def heat_of_cure_per_kg(
    heat_per_epoxide: float, epoxide_equivalent: float, hydrogen_equivalent: float
) -> float:
    """Heat that a kilogram of unthinned mix gives off in its whole cure, [J/kg].

    heat_per_epoxide: [J/mol], 97e3 to 110e3 for epoxide and amine
    epoxide_equivalent, hydrogen_equivalent: of resin and hardener, [kg/mol]

    The heat of one bond over the mass that makes it (own); the 97e3 to 110e3 from memory, to be
    checked. Filler and diluents lessen it. Raises RangeError unless all are above zero.

    >>> heat_of_cure_per_kg(100e3, epoxide_equivalent=0.187, hydrogen_equivalent=0.02437) / 1000
    473.1
    """
    _above_zero("heat and equivalents", heat_per_epoxide, epoxide_equivalent, hydrogen_equivalent)
    return heat_per_epoxide / (epoxide_equivalent + hydrogen_equivalent)


def adiabatic_rise(heat: float, heat_capacity: float) -> float:
    """Warming of a mix that keeps all its heat, [K].

    heat: of the whole cure, [J/kg]      heat_capacity: of the mix, [J/(kg K)]

    Heat over heat capacity (own): what the middle of a big cup comes near to. An upper bound.
    Raises RangeError unless both are above zero.

    >>> adiabatic_rise(heat=473e3, heat_capacity=2000)
    236.5
    """
    _above_zero("heat and heat capacity", heat, heat_capacity)
    return heat / heat_capacity


def film_rise(coat: float, heat: float, board_heat: float) -> float:
    """Warming of a board that takes up all the heat of its coat, [K].

    coat: of mix on the face, [kg/m2]      heat: of the whole cure, [J/kg]
    board_heat: density times heat capacity times thickness, [J/(m2 K)]

    Nothing lost to the air and all at once (own): an upper bound, over hours it is far less.
    Raises RangeError unless the last two are above zero, and for a negative coat.

    >>> film_rise(coat=0.3, heat=450e3, board_heat=21_588)  # 20 mm of maple
    6.253
    """
    _above_zero("heat of cure and of the board", heat, board_heat)
    if coat < 0:
        raise RangeError(f"coat of {coat:g} kg/m2: weigh it anew")
    return coat * heat / board_heat


def correct_a(b_poured: float, weight_ratio: float) -> float:
    """Mass of resin A that fits the hardener already poured, [kg].

    b_poured: [kg]      weight_ratio: B for one of A, [kg/kg]

    Raises RangeError unless both are above zero.

    >>> 1000 * correct_a(b_poured=0.0071, weight_ratio=0.43)  # grams of A
    16.51
    """
    _above_zero("hardener and ratio", b_poured, weight_ratio)
    return b_poured / weight_ratio


def share_error(a: float, b: float, weight_ratio: float) -> float:
    """Error of the ratio as poured, as a share of the right one, [-]; above zero: too much B.

    a, b: poured, [kg]      weight_ratio: B for one of A, [kg/kg]

    (b / a) / ratio - 1 (own). Raises RangeError unless A and the ratio are above zero and B is
    not negative.

    >>> share_error(a=0.014, b=0.0065, weight_ratio=0.43)
    0.0797
    """
    _above_zero("resin and ratio", a, weight_ratio)
    if b < 0:
        raise RangeError(f"hardener of {b:g} kg: weigh it anew")
    return b / a / weight_ratio - 1


def smallest_batch(scale_step: float, weight_ratio: float, tolerance: float) -> float:
    """Least mass of A and B together that this scale can still weigh to the ratio, [kg].

    scale_step: smallest step the scale shows, [kg]      weight_ratio: B for one of A, [kg/kg]
    tolerance: of the ratio, as a share of it, [-], above 0 to 0.5

    Both parts half a step off, each to the worse side (own): A h (1 / ratio + 1 + tolerance) /
    tolerance, and B with it. The scale's own error and drift come on top: a scale that jumps
    needs more. Raises RangeError outside the ranges.

    >>> 1000 * smallest_batch(scale_step=0.0001, weight_ratio=0.43, tolerance=0.02)  # grams
    11.96
    """
    _above_zero("scale step and ratio", scale_step, weight_ratio)
    if not 0 < tolerance <= 0.5:
        raise RangeError(f"tolerance {tolerance:g} of the ratio: a share above 0, at most 0.5")
    a = scale_step / 2 * (1 / weight_ratio + 1 + tolerance) / tolerance
    return a * (1 + weight_ratio)


def _above_zero(what: str, *values: float) -> None:
    if not all(value > 0 for value in values):
        told = ", ".join(f"{value:g}" for value in values)
        raise RangeError(f"{what} {told}: each must be above 0; look at the data sheet")
