"""What draws resin into the pores: cooling gas, capillary pull, and a bag let up in time."""

from math import cos, sqrt

from controller.errors import RangeError
from controller.science.air import contraction_dry, contraction_moist
from controller.science.wood import vapour_floor


def draw(hot: float, cold: float, pressure: float, moisture: float) -> float:
    """Share of the pores that the shrinking gas in them can draw full from hot to cold, [-].

    hot, cold: of the board, before and after, [K]      pressure: of the pore gas, [Pa]
    moisture: of the wood, [kg/kg]

    Dry air shrinks, and the wood takes back the water vapour it gave off (own, from the ideal gas
    law). An upper bound: open ends and the back let air in instead, and the wood takes its vapour
    back slowly. Negative when the board warms: gas then bubbles out. Raises RangeError outside the
    wood's range, and where the vapour alone would fill the pressure.

    >>> draw(hot=323.15, cold=293.15, pressure=101_325, moisture=0.08)
    0.139
    """
    return contraction_moist(
        hot, cold, pressure, vapour_floor(moisture, hot), vapour_floor(moisture, cold)
    )


def draw_left(start: float, now: float, end: float, pressure: float, moisture: float) -> float:
    """Draw still to come, as a share of what it was at the start, [-]: 1 at start, 0 at the end.

    start: mean of the board when the lamp went off, [K]      now: mean of the board, [K]
    end: where it will settle, [K]      pressure: of the pore gas, [Pa]      moisture: [kg/kg]

    The draw of a board coated now over that of one coated at the start: until the coat is on, air
    goes in and out freely and what has shrunk so far is lost. Below 0 when now is colder than
    the end, above 1 when hotter than the start. Raises RangeError when the start is not hotter
    than the end: there was no draw to share out.

    >>> draw_left(start=323.15, now=308.15, end=293.15, pressure=101_325, moisture=0.08)
    0.456
    """
    if start <= end:
        raise RangeError(
            f"board at {start:.1f} K settling at {end:.1f} K draws nothing in; heat it more"
        )
    whole = draw(start, end, pressure, moisture)
    return draw(now, end, pressure, moisture) / whole


def capillary_pressure(surface_tension: float, contact_angle: float, radius: float) -> float:
    """Pressure with which a round pore pulls a wetting liquid in, [Pa].

    surface_tension: of the liquid, [N/m]      contact_angle: of liquid on wood, [rad]
    radius: of the pore, [m]

    2 gamma cos(theta) / r (common practice, no source). Negative beyond a right angle: the pore
    then pushes the liquid out. Raises RangeError for a tension or radius that is not above zero.

    >>> capillary_pressure(surface_tension=0.045, contact_angle=0.5236, radius=50e-6) / 1000
    1.559
    """
    if min(surface_tension, radius) <= 0:
        raise RangeError(f"tension {surface_tension:g} N/m and radius {radius:g} m must be above 0")
    return 2 * surface_tension * cos(contact_angle) / radius


def fill_depth(radius: float, pressure: float, viscosity: float, seconds: float) -> float:
    """Depth of resin in an open round pore under a steady driving pressure, [m].

    radius: of the pore, [m]      pressure: capillary pull plus whatever else drives, [Pa]
    viscosity: of the mix as applied, [Pa s]      seconds: since it wetted the pore

    sqrt(P r^2 t / 4 eta), the integral of dl/dt = P r^2 / (8 eta l) [1] from a dry start. An
    upper bound: real pores taper, fork and end, and the mix thickens. Raises RangeError for
    a radius or viscosity that is not above zero, and for a negative pressure or time.

    [1] E. W. Washburn, Phys. Rev. 17 (1921) 273, doi:10.1103/PhysRev.17.273.

    >>> 1000 * fill_depth(radius=50e-6, pressure=1558.8, viscosity=1.0, seconds=60)
    7.646
    """
    if min(radius, viscosity) <= 0 or min(pressure, seconds) < 0:
        raise RangeError(
            f"no depth for r = {radius:g} m, {pressure:g} Pa, {viscosity:g} Pa s, {seconds:g} s: "
            "radius and viscosity must be above 0"
        )
    return radius * sqrt(pressure * seconds / (4 * viscosity))


def fill_by_release(bag_pressure: float, air_pressure: float) -> float:
    """Share of the pores that fills when a bag is let up while the resin is liquid, [-].

    bag_pressure: absolute, before the let-up, [Pa]      air_pressure: outside, [Pa]

    1 - bag / air, Boyle's law (own). It holds for pores that were at the bag's pressure when the
    resin shut them, and with no way in for air: vacuum that is held through gel fills nothing.
    Raises RangeError unless the bag is above zero and at most at the air's pressure.

    >>> fill_by_release(bag_pressure=33_597, air_pressure=101_325)  # 20 inHg of vacuum at the sea
    0.668
    """
    if not 0 < bag_pressure <= air_pressure:
        raise RangeError(
            f"bag at {bag_pressure:.0f} Pa in air of {air_pressure:.0f} Pa: absolute pressure, "
            "above 0 and not above the air's"
        )
    return 1 - bag_pressure / air_pressure


def fill_by_release_and_cooling(
    bag_pressure: float, air_pressure: float, hot: float, cold: float
) -> float:
    """Share of the pores that fills when the gas in them both cools and is let up, [-].

    bag_pressure, air_pressure: absolute, before the let-up and outside, [Pa]
    hot, cold: of the board, before and after, [K]

    1 - (bag / air) (cold / hot), for dry gas (own): leaving the vapour out errs to less fill.
    Holds, and raises RangeError, as fill_by_release does.

    >>> fill_by_release_and_cooling(6_506, air_pressure=101_325, hot=323.15, cold=293.15)
    0.942
    """
    kept = 1 - fill_by_release(bag_pressure, air_pressure)
    return 1 - kept * (1 - contraction_dry(hot, cold))
