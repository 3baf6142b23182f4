"""What outside.csv asks of resin, its cure and its film, put to our formulas, in SI."""

from collections.abc import Callable, Mapping
from math import exp

from controller.science.constants import GAS_CONSTANT, ZERO_CELSIUS
from controller.science.cure import (
    age_gained,
    arrhenius_factor,
    energy_for_doubling,
    glass_temperature,
    vitrifying_conversion,
)
from controller.science.film import half_time, share_left
from controller.science.kinematic import refutas_blend, refutas_index
from controller.science.kinetics import (
    ORDINARY,
    RATES_AT,
    Kinetics,
    advanced,
    cured,
    seconds_to,
)
from controller.science.resin import (
    adiabatic_rise,
    amine_hydrogen_equivalent,
    gel_conversion,
    heat_of_cure_per_kg,
    phr,
    stoichiometric_phr,
    weight_ratio,
)
from controller.science.viscosity import grunberg_nissan, log_mixing

HOUR = 3600.0
CST = 1e-6


def made_kinetics(
    ln_a1: float, kj_mol_1: float, ln_a2: float, kj_mol_2: float, m: float, n: float
) -> Kinetics:
    """The rate law told by frequency factors, and no glass to stop it at any warmth asked here."""
    e1, e2 = kj_mol_1 * 1000, kj_mol_2 * 1000
    return Kinetics(
        k1=exp(ln_a1 - e1 / (GAS_CONSTANT * RATES_AT)),
        e1=e1,
        k2=exp(ln_a2 - e2 / (GAS_CONSTANT * RATES_AT)),
        e2=e2,
        m=m,
        n=n,
        uncured=100.0,
        cured=101.0,
        curvature=0.4,
    )


def _cured(celsius: float, hours: float, **made: float) -> float:
    return cured(made_kinetics(**made), 0.0, [(hours * HOUR, ZERO_CELSIUS + celsius)])


def _seconds_to(conversion: float, celsius: float, **made: float) -> float:
    seconds = seconds_to(made_kinetics(**made), conversion, ZERO_CELSIUS + celsius, 1e7)
    assert seconds is not None, "it should gel"
    return seconds


def _cured_to_plateau(
    k1: float, k2: float, m: float, n: float, plateau: float, seconds: float
) -> float:
    def speed(conversion: float) -> float:
        left = max(plateau - conversion, 0.0)
        return float((k1 + k2 * conversion**m) * ((1 - conversion) * left) ** (n / 2))

    # ten minutes at a time, as planning does
    conversion = 0.0
    for _ in range(int(seconds) // 600):
        conversion = advanced(speed, conversion, 600.0)
    return conversion


def _aged(kj_mol: float, reference_c: float, **steps: float) -> float:
    reference, energy = ZERO_CELSIUS + reference_c, kj_mol * 1000
    return sum(
        age_gained(
            steps[f"hours_{i}"] * HOUR, ZERO_CELSIUS + steps[f"celsius_{i}"], reference, energy
        )
        for i in range(1, len(steps) // 2 + 1)
    )


RESIN_MODELS: Mapping[str, Callable[..., float]] = {
    "refutas_index": refutas_index,
    "refutas_blend": lambda share_1, share_2, cst_1, cst_2: (
        refutas_blend((share_1, share_2), (cst_1, cst_2)) * CST
    ),
    "log_mixing": lambda share_1, share_2, mpas_1, mpas_2: log_mixing(
        (share_1, share_2), (mpas_1 / 1000, mpas_2 / 1000)
    ),
    "grunberg_nissan": lambda share, thick_mpas, thin_mpas, interaction: grunberg_nissan(
        share, thick_mpas / 1000, thin_mpas / 1000, interaction
    ),
    "phr_of_volumes": lambda a_for_one_b, density_a, density_b: phr(
        weight_ratio(1 / a_for_one_b, density_a, density_b)
    ),
    "stoichiometric_phr": lambda amine, molar_g, hydrogens, eew_g: stoichiometric_phr(
        amine_hydrogen_equivalent(molar_g / 1000, int(hydrogens)), eew_g / 1000
    ),
    "amine_hydrogen_equivalent": lambda amine, molar_g, hydrogens: amine_hydrogen_equivalent(
        molar_g / 1000, int(hydrogens)
    ),
    "gel_conversion": lambda epoxides, hydrogens: gel_conversion(int(epoxides), int(hydrogens)),
    "arrhenius_factor": lambda celsius, reference_c, kj_mol: arrhenius_factor(
        ZERO_CELSIUS + celsius, ZERO_CELSIUS + reference_c, kj_mol * 1000
    ),
    "energy_for_doubling": lambda cool_c, warm_c: energy_for_doubling(
        ZERO_CELSIUS + cool_c, ZERO_CELSIUS + warm_c
    ),
    "age_gained": _aged,
    "glass_temperature": lambda conversion, uncured_c, cured_c, curvature: glass_temperature(
        conversion, ZERO_CELSIUS + uncured_c, ZERO_CELSIUS + cured_c, curvature
    ),
    "vitrifying_conversion": lambda celsius, uncured_c, cured_c, curvature: vitrifying_conversion(
        ZERO_CELSIUS + celsius, ZERO_CELSIUS + uncured_c, ZERO_CELSIUS + cured_c, curvature
    ),
    "cured": _cured,
    "seconds_to": _seconds_to,
    "cured_to_plateau": _cured_to_plateau,
    "ordinary_energy": lambda rate: ORDINARY.e1 if rate == "k1" else ORDINARY.e2,
    "adiabatic_rise": lambda heat_j_g, capacity_j_g_k: adiabatic_rise(
        heat_j_g * 1000, capacity_j_g_k * 1000
    ),
    "heat_of_cure_per_kg": lambda kj_per_epoxide, eew_g, ahew_g: heat_of_cure_per_kg(
        kj_per_epoxide * 1000, eew_g / 1000, ahew_g / 1000
    ),
    # a film 1 m thick with 1 m2/s has its depths and its seconds alike
    "share_gone": lambda depths: 1 - share_left(1.0, 1.0, depths),
    "half_depths": lambda: half_time(1.0, 1.0),
    "half_time": lambda diffusivity, thickness_mm: half_time(diffusivity, thickness_mm / 1000),
}
"""Each model of the rows about resin, in SI."""
