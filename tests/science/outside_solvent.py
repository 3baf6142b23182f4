"""What outside.csv asks of thinners and their vapours, put to our formulas, in SI."""

from collections.abc import Callable, Mapping

from outside_air import celsius_of

from controller.science.air import AIR_MOLAR_MASS, vacuum_from_pressure
from controller.science.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.fresh_air import (
    air_to_exposure_limit,
    air_to_quarter_limit,
    all_vapour,
    ppm_to_mg_per_m3,
)
from controller.science.solvent import (
    SOLVENTS,
    boiling_temperature,
    mole_fraction,
    partial_pressure_flory_huggins,
    partial_pressure_raoult,
    vapour_pressure,
    vapour_volume,
    volume_fraction,
)
from controller.science.solvent_mixture import le_chatelier_limit
from controller.science.viscosity import THINNER_VISCOSITY

GALLON = 3.785411784e-3
"""US gallon, [m3]; exact. NIST SP 811, 2008, appendix B.8."""
WATER_AT_15 = 999.0
"""What specific gravities are told by, [kg/m3]; steam tables, from memory, to be checked."""


def _pressure(liquid: str, celsius: float) -> float:
    return vapour_pressure(SOLVENTS[liquid], ZERO_CELSIUS + celsius)


def _raoult(liquid: str, mass_share: float, resin_molar_g: float, celsius: float) -> float:
    row = SOLVENTS[liquid]
    moles = mole_fraction(row, mass_share, 1 - mass_share, resin_molar_g / 1000)
    return partial_pressure_raoult(row, moles, ZERO_CELSIUS + celsius)


def _flory_huggins(
    liquid: str, mass_share: float, chi: float, resin_density: float, celsius: float
) -> float:
    row = SOLVENTS[liquid]
    volume = volume_fraction(row, mass_share, 1 - mass_share, resin_density)
    return partial_pressure_flory_huggins(row, volume, chi, ZERO_CELSIUS + celsius)


def _known(value: float | None) -> float:
    assert value is not None, "the row of this liquid leaves it open"
    return value


def _vapour_of(liquid: str, mass: float, fahrenheit: float) -> float:
    temperature = ZERO_CELSIUS + celsius_of(fahrenheit)
    return vapour_volume(SOLVENTS[liquid], mass, temperature, STANDARD_ATMOSPHERE)


def _limit_of_two(liquid_1: str, moles_1: float, liquid_2: str, moles_2: float) -> float:
    return le_chatelier_limit(((SOLVENTS[liquid_1], moles_1), (SOLVENTS[liquid_2], moles_2)))


def _share_at_flash(liquid: str, air_kpa: float) -> float:
    row = SOLVENTS[liquid]
    return vapour_pressure(row, _known(row.flash_point)) / (air_kpa * 1000)


SOLVENT_MODELS: Mapping[str, Callable[..., float]] = {
    "vapour_pressure": _pressure,
    "boiling_temperature": lambda liquid, kpa: boiling_temperature(SOLVENTS[liquid], kpa * 1000),
    "vacuum_it_boils_at": lambda liquid, celsius, air_kpa: vacuum_from_pressure(
        _pressure(liquid, celsius), air_kpa * 1000
    ),
    "raoult": _raoult,
    "vacuum_thinned_boils_at": lambda air_kpa, **mix: vacuum_from_pressure(
        _raoult(**mix), air_kpa * 1000
    ),
    "flory_huggins": _flory_huggins,
    "flammable_limit": lambda liquid: _known(SOLVENTS[liquid].lower_flammable_limit),
    "flash_point": lambda liquid: _known(SOLVENTS[liquid].flash_point),
    "autoignition": lambda liquid: _known(SOLVENTS[liquid].autoignition),
    "liquid_density": lambda liquid: SOLVENTS[liquid].density,
    "vapour_density": lambda liquid: SOLVENTS[liquid].molar_mass / AIR_MOLAR_MASS,
    "thinner_viscosity": lambda liquid: THINNER_VISCOSITY[liquid],
    # [mg/m3] in, SI out
    "ppm_to_mg_per_m3": lambda liquid, ppm: (
        ppm_to_mg_per_m3(ppm, SOLVENTS[liquid].molar_mass) * 1e-6
    ),
    "all_vapour": lambda liquid, grams: all_vapour(SOLVENTS[liquid], grams / 1000),
    "air_to_quarter_limit": lambda liquid, grams: air_to_quarter_limit(
        SOLVENTS[liquid], grams / 1000
    ),
    "air_to_exposure_limit": lambda liquid, grams: air_to_exposure_limit(
        SOLVENTS[liquid], grams / 1000
    ),
    "vapour_of_a_pint": lambda liquid, specific_gravity, fahrenheit: _vapour_of(
        liquid, specific_gravity * WATER_AT_15 * GALLON / 8, fahrenheit
    ),
    "vapour_of_a_gallon": lambda liquid, fahrenheit: _vapour_of(
        liquid, SOLVENTS[liquid].density * GALLON, fahrenheit
    ),
    "le_chatelier_limit": _limit_of_two,
    "vapour_share_at_flash": _share_at_flash,
}
"""Each model of the rows about thinners, in SI."""
