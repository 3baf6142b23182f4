"""What outside.csv asks of wood, heat and lamp, put to our formulas, in SI."""

from collections.abc import Callable, Mapping
from math import radians

from outside_air import celsius_of

from controller.science.constants import ZERO_CELSIUS
from controller.science.face_loss import (
    free_convection_down,
    free_convection_up,
    lumped_ratio,
    nusselt_down,
    nusselt_up,
    radiation_coefficient,
    radiation_loss,
)
from controller.science.lamp import beam_exponent, blackbody_fraction, irradiance, wien_peak
from controller.science.resin import film_rise
from controller.science.slab import Slab
from controller.science.slab_series import (
    cooling_coefficient,
    cooling_ratio,
    cooling_roots,
    equalisation_time,
    front_minus_back,
    front_minus_mean,
    heating_rate,
)
from controller.science.wood import (
    conductivity,
    density,
    equilibrium_moisture,
    heat_capacity,
    largest_moisture,
    permeability_of_vessels,
    porosity,
    specific_gravity_at,
    vapour_floor,
)


def _moisture(
    relative_humidity: float, celsius: float | None = None, fahrenheit: float = 32.0
) -> float:
    warm = celsius_of(fahrenheit) if celsius is None else celsius
    return equilibrium_moisture(relative_humidity, ZERO_CELSIUS + warm)


def _conductivity(basic: float, shrinkage: float, moisture: float, wood: str = "") -> float:
    return conductivity(specific_gravity_at(basic, shrinkage, moisture), moisture)


def _board(thickness_mm: float, gravity: float, moisture: float, celsius: float) -> Slab:
    return Slab(
        thickness=thickness_mm / 1000,
        conductivity=conductivity(gravity, moisture),
        density=density(gravity, moisture),
        heat_capacity=heat_capacity(moisture, ZERO_CELSIUS + celsius),
        face_h=0.0,
        back_h=0.0,
    )


def _free_convection(side: str, length_m: float, celsius: float, air_c: float) -> float:
    coefficient = free_convection_up if side == "up" else free_convection_down
    return coefficient(ZERO_CELSIUS + celsius, ZERO_CELSIUS + air_c, length_m)


BOARD_MODELS: Mapping[str, Callable[..., float]] = {
    "equilibrium_moisture": _moisture,
    "vapour_floor": lambda moisture, celsius: vapour_floor(moisture, ZERO_CELSIUS + celsius),
    "porosity": lambda gravity, moisture: porosity(gravity, moisture),
    "largest_moisture": lambda gravity: largest_moisture(gravity),
    "conductivity": _conductivity,
    "conductivity_of_density": lambda wood, density, moisture: conductivity(
        density / 1000 / (1 + moisture), moisture
    ),
    "heat_capacity": lambda moisture, kelvin: heat_capacity(moisture, kelvin),
    "density": lambda gravity, moisture: density(gravity, moisture),
    "diffusivity": lambda gravity, moisture, celsius: (
        _board(20, gravity, moisture, celsius).diffusivity
    ),
    "permeability_of_vessels": lambda radius_um, share: permeability_of_vessels(
        radius_um * 1e-6, share
    ),
    "cooling_root": lambda biot: cooling_roots(biot, 1)[0],
    "cooling_coefficient": lambda biot: cooling_coefficient(cooling_roots(biot, 1)[0]),
    "cooling_ratio": cooling_ratio,
    "lumped": lambda density, heat_capacity, thickness_mm, h, seconds: lumped_ratio(
        h, seconds, density, heat_capacity, thickness_mm / 2000
    ),
    "radiation_loss": lambda emissivity, kelvin, surroundings_k: radiation_loss(
        emissivity, kelvin, surroundings_k
    ),
    "radiation_coefficient": lambda emissivity, celsius, surroundings_c: radiation_coefficient(
        emissivity, ZERO_CELSIUS + celsius, ZERO_CELSIUS + surroundings_c
    ),
    "wien_peak": lambda kelvin: wien_peak(kelvin),
    "blackbody_fraction": lambda wavelength_um, kelvin: blackbody_fraction(
        wavelength_um * 1e-6 * kelvin
    ),
    "nusselt_of_plate": lambda prandtl, grashof, side: (
        nusselt_up(prandtl * grashof) if side == "up" else nusselt_down(prandtl * grashof)
    ),
    "free_convection": _free_convection,
    "irradiance": lambda power, efficiency, half_angle_deg, distance_m: irradiance(
        power, efficiency, distance_m, beam_exponent(radians(half_angle_deg))
    ),
    "front_minus_back": lambda flux, thickness_mm, conductivity: front_minus_back(
        flux, thickness_mm / 1000, conductivity
    ),
    "front_minus_mean": lambda flux, thickness_mm, conductivity: front_minus_mean(
        flux, thickness_mm / 1000, conductivity
    ),
    "heating_rate": lambda flux, **board: heating_rate(flux, _board(**board)),
    "equalisation_time": lambda thickness_mm, **wood: equalisation_time(
        thickness_mm / 1000, _board(thickness_mm, **wood).diffusivity
    ),
    "film_rise": lambda coat_kg_m2, heat_j_g, **board: film_rise(
        coat_kg_m2, heat_j_g * 1000, _board(**board).heat_content
    ),
}
"""Each model of the rows about wood and heat, in SI."""
