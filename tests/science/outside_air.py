"""What outside.csv asks of pump, bag, air, thinners and pores, put to our formulas, in SI."""

from collections.abc import Callable, Mapping
from math import radians

from controller.quantities import parse_pressure
from controller.science.air import (
    contraction_dry,
    contraction_moist,
    dew_point,
    pressure_from_vacuum,
    standard_pressure,
    vacuum_from_pressure,
)
from controller.science.constants import (
    GAS_CONSTANT,
    INCH_OF_MERCURY,
    STANDARD_ATMOSPHERE,
    ZERO_CELSIUS,
)
from controller.science.leak import choked_hole_flow, critical_ratio, hole_diameter
from controller.science.pores import (
    capillary_pressure,
    darcy_depth,
    darcy_depth_thickening,
    draw,
    fill_by_release,
    fill_by_release_and_cooling,
    fill_depth,
)
from controller.science.solvent import WATER, vapour_pressure
from controller.science.vacuum import (
    equilibrium_pressure,
    flow_as_standard_ml_per_min,
    leak_flow,
    pump_down_pressure,
    pump_down_time,
    rise_curve,
    straight_and_fading,
)

MBAR = 100.0
LITRE = 1e-3
FOOT = 0.3048


def celsius_of(fahrenheit: float) -> float:
    """The same temperature, [C]."""
    return (fahrenheit - 32) / 1.8


def _standard(altitude_m: float | None = None, altitude_ft: float = 0.0) -> float:
    return standard_pressure(altitude_ft * FOOT if altitude_m is None else altitude_m)


def _pump_down(
    seconds: float, start_mbar: float, ultimate_mbar: float, speed_l_s: float, volume_l: float
) -> float:
    return pump_down_pressure(
        seconds, start_mbar * MBAR, ultimate_mbar * MBAR, speed_l_s * LITRE, volume_l * LITRE
    )


def _pump_time(
    target_mbar: float, start_mbar: float, ultimate_mbar: float, speed_l_s: float, volume_l: float
) -> float:
    start, ultimate = start_mbar * MBAR, ultimate_mbar * MBAR
    return pump_down_time(target_mbar * MBAR, start, ultimate, speed_l_s * LITRE, volume_l * LITRE)


def _leak_beside_vapour(
    start_mbar: float, leak_mbar_s: float, fading_mbar: float, time_constant: float, last: float
) -> float:
    times = [20.0 * step for step in range(int(last) // 20 + 1)]
    made = start_mbar * MBAR, leak_mbar_s * MBAR, fading_mbar * MBAR, time_constant
    readings = [rise_curve(time, *made) for time in times]
    return straight_and_fading(times, readings, time_constant).rate


def _hole(flow_mbar_l_s: float, celsius: float, discharge: float) -> float:
    flow, air = flow_mbar_l_s * MBAR * LITRE, STANDARD_ATMOSPHERE
    return hole_diameter(flow, air, 0.0, ZERO_CELSIUS + celsius, discharge)


def _saturated(hot_c: float, cold_c: float, kpa: float) -> float:
    hot, cold = ZERO_CELSIUS + hot_c, ZERO_CELSIUS + cold_c
    vapours = vapour_pressure(WATER, hot), vapour_pressure(WATER, cold)
    return contraction_moist(hot, cold, kpa * 1000, *vapours)


def _washburn(
    tension: float, radius_um: float, angle_deg: float, viscosity: float, seconds: float
) -> float:
    radius = radius_um * 1e-6
    pull = capillary_pressure(tension, radians(angle_deg), radius)
    return fill_depth(radius, pull, viscosity, seconds)


def _released(vacuum_inhg: float, air_kpa: float) -> tuple[float, float]:
    air = air_kpa * 1000
    return pressure_from_vacuum(vacuum_inhg * INCH_OF_MERCURY, air), air


def _deepest(altitude_m: float) -> float:
    # a thousandth of a pascal left: a gauge cannot show more than all the air
    return vacuum_from_pressure(1e-3, standard_pressure(altitude_m))


AIR_MODELS: Mapping[str, Callable[..., float]] = {
    "standard_pressure": _standard,
    "one_of_unit": lambda unit: parse_pressure(f"1 {unit} abs").absolute(STANDARD_ATMOSPHERE),
    "atmosphere_in_inches": lambda: STANDARD_ATMOSPHERE,
    "pressure_from_vacuum": lambda vacuum_inhg, air_kpa: _released(vacuum_inhg, air_kpa)[0],
    "deepest_vacuum": _deepest,
    "pump_down_pressure": _pump_down,
    "pump_down_time": _pump_time,
    "leak_flow": lambda volume_l, rise_inhg, seconds: leak_flow(
        volume_l * LITRE, rise_inhg * INCH_OF_MERCURY / seconds
    ),
    "torr_litres": lambda: parse_pressure("1 torr abs").absolute(STANDARD_ATMOSPHERE) * LITRE,
    # the table tells gas of 0 degC as air of 0 degC, ours gas of 20 as air of 20: the same number
    "flow_as_standard": lambda flow_mbar_l_s: (
        flow_as_standard_ml_per_min(flow_mbar_l_s * MBAR * LITRE, ZERO_CELSIUS + 20) * 1e-6 / 60
    ),
    "equilibrium_pressure": lambda ultimate_mbar, flow_mbar_l_s, speed_l_s: equilibrium_pressure(
        ultimate_mbar * MBAR, flow_mbar_l_s * MBAR * LITRE, speed_l_s * LITRE
    ),
    "critical_ratio": critical_ratio,
    "choked_hole_diameter": _hole,
    "choked_hole_flow": lambda diameter_mm, celsius, air_kpa, discharge: choked_hole_flow(
        diameter_mm / 1000, air_kpa * 1000, ZERO_CELSIUS + celsius, discharge
    ),
    "leak_beside_vapour": _leak_beside_vapour,
    "dew_point": lambda celsius, relative_humidity: dew_point(
        ZERO_CELSIUS + celsius, relative_humidity
    ),
    "contraction_dry": lambda hot_c, cold_c: contraction_dry(
        ZERO_CELSIUS + hot_c, ZERO_CELSIUS + cold_c
    ),
    "contraction_saturated": _saturated,
    "draw": lambda hot_c, cold_c, moisture, kpa: draw(
        ZERO_CELSIUS + hot_c, ZERO_CELSIUS + cold_c, kpa * 1000, moisture
    ),
    "washburn": _washburn,
    "capillary_pressure": lambda tension, angle_deg, radius_um: capillary_pressure(
        tension, radians(angle_deg), radius_um * 1e-6
    ),
    "darcy_depth": darcy_depth,
    "darcy_depth_thickening": darcy_depth_thickening,
    "fill_by_release": lambda vacuum_inhg, air_kpa: fill_by_release(
        *_released(vacuum_inhg, air_kpa)
    ),
    "fill_by_release_and_cooling": lambda vacuum_inhg, air_kpa, hot_c, cold_c: (
        fill_by_release_and_cooling(
            *_released(vacuum_inhg, air_kpa), ZERO_CELSIUS + hot_c, ZERO_CELSIUS + cold_c
        )
    ),
    "vapour_volume_of_a_mole": lambda celsius, kpa: (
        GAS_CONSTANT * (ZERO_CELSIUS + celsius) / (kpa * 1000)
    ),
}
"""Each model of the rows about pump, bag, air and pores, in SI."""
