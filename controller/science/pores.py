"""What draws resin into the pores: cooling gas, capillary pull, and a bag let up in time."""

from math import cos, expm1, inf, sqrt

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


def thickening_seconds(thickening_time: float, seconds: float) -> float:
    """Time at the first viscosity in which a resin that thickens would flow as far, [s].

    thickening_time: in which the viscosity grows by e, [s]; inf: it does not
    seconds: since the first viscosity held, [s]; inf: for ever

    tau (1 - exp(-t / tau)), the integral of eta0 / eta with eta = eta0 exp(t / tau) (own, after
    what pot viscosities do). A real mix thickens slowly first and then faster, so near the gel it
    errs to too much. Raises RangeError for a thickening time that is not above zero, a negative
    time, and for ever in a resin that never thickens.

    >>> thickening_seconds(thickening_time=1200, seconds=600)
    472.2
    """
    if not (thickening_time > 0 and seconds >= 0) or thickening_time == seconds == inf:
        raise RangeError(
            f"resin thickening by e in {thickening_time:g} s, after {seconds:g} s: the first must "
            "be above 0, the second 0 or more, and one of them less than for ever"
        )
    if thickening_time == inf:
        return seconds
    return -thickening_time * expm1(-seconds / thickening_time)


def darcy_depth(
    permeability: float, pressure: float, porosity: float, viscosity: float, seconds: float
) -> float:
    """Depth of resin in wood under a steady driving pressure, [m].

    permeability: of the wood to liquid, along the way in, [m2]
    pressure: that drives, capillary pull among it, [Pa]      porosity: that fills, [-], to 1
    viscosity: of the mix as applied, [Pa s]      seconds: since it wetted the wood

    sqrt(2 k P t / (phi eta)), a slug by Darcy's law from a dry start (own). A round pore is
    r^2 / 8 of permeability and all porosity: fill_depth. An upper bound: the mix thickens, and the
    air ahead of it is taken to get away. Permeability is the weak place: 1e-12 m2 is the order of
    open end grain and 1e-16 across the grain, and one board may hold both (from memory, to be
    checked). Raises RangeError for a permeability, porosity or viscosity that is not above zero,
    a porosity over 1, and for a negative pressure or time.

    >>> 1000 * darcy_depth(1e-12, pressure=90e3, porosity=0.5, viscosity=0.5, seconds=600)
    20.78
    """
    if (
        min(permeability, porosity, viscosity) <= 0
        or porosity > 1
        or not (pressure >= 0 and seconds >= 0)
    ):
        raise RangeError(
            f"no depth for k = {permeability:g} m2, {pressure:g} Pa, porosity {porosity:g}, "
            f"{viscosity:g} Pa s, {seconds:g} s: permeability, porosity (to 1) and viscosity must "
            "be above 0"
        )
    return sqrt(2 * permeability * pressure * seconds / (porosity * viscosity))


def darcy_depth_thickening(
    permeability: float,
    pressure: float,
    porosity: float,
    viscosity: float,
    thickening_time: float,
    seconds: float = inf,
) -> float:
    """Depth of a resin that thickens as it goes in, [m]; without a time, as deep as it gets.

    permeability, pressure, porosity: as for darcy_depth
    viscosity: when it wetted the wood, [Pa s]
    thickening_time: in which the viscosity grows by e, [s]      seconds: since the wetting

    darcy_depth with thickening_seconds for the time (own); its limit is that of a resin which never
    gels but ever thickens. Holds, errs and raises as these two do.

    >>> 1000 * darcy_depth_thickening(1e-12, 90e3, 0.5, viscosity=0.5, thickening_time=1200)
    29.39
    """
    flowing = thickening_seconds(thickening_time, seconds)
    return darcy_depth(permeability, pressure, porosity, viscosity, flowing)


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
