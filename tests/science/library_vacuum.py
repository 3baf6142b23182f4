"""Pump, leak and pores beside scipy's integrators and fits, fluids and CoolProp.

Each function is one comparison; see library_solvent for how a point is judged.
"""

from collections.abc import Iterator
from math import exp, inf, pi, radians, sqrt
from random import Random

from library_points import Point, relative, steps

from controller.science.air import AIR_MOLAR_MASS
from controller.science.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.filling import Cooling, Moment, Pore, Resin, fill_story
from controller.science.leak import (
    HEAT_RATIO,
    capillary_leak,
    choked_hole_flow,
    critical_ratio,
    hole_diameter,
    hole_flow,
)
from controller.science.pores import (
    capillary_pressure,
    darcy_depth,
    darcy_depth_thickening,
    fill_depth,
)
from controller.science.vacuum import (
    equilibrium_pressure,
    pump_down_pressure,
    pump_down_time,
    rise_curve,
    straight_and_fading,
    straight_line,
    straight_line_with_drift,
)

TIGHT = {"rtol": 1e-10, "atol": 1e-9}
"""How closely scipy integrates here; what it misses is far under every point's allowance."""
EXACT = 1e-6
"""For closed forms, which claim no error of their own: what the integrators leave."""


def pumping_of_scipy() -> Iterator[Point]:
    """V dp/dt = -S (p - p_u) integrated, and the time to a target found by root-finding."""
    from scipy.integrate import solve_ivp

    for litres in (2, 20, 80):
        for speed in (0.2e-3, 1e-3):
            for ultimate in (0, 100, 2000):
                volume = litres / 1000
                last = 4 * volume / speed
                found = solve_ivp(
                    lambda _, p, s=speed, u=ultimate, v=volume: -s / v * (p - u),
                    (0, last),
                    [STANDARD_ATMOSPHERE],
                    t_eval=[last / 8, last / 2, last],
                    **TIGHT,
                )
                for time, theirs in zip(found.t, found.y[0], strict=True):
                    asked = STANDARD_ATMOSPHERE, ultimate, speed, volume
                    where = f"{litres} l, {speed * 1000:g} l/s, {ultimate} Pa, {time:.0f} s"
                    yield relative(where, pump_down_pressure(time, *asked), theirs, EXACT)
                    yield relative(where, pump_down_time(theirs, *asked), time, EXACT)


def pump_against_leak_of_scipy() -> Iterator[Point]:
    """A leaking bag pumped for thirty time constants has settled."""
    from scipy.integrate import solve_ivp

    for flow in (0.001, 0.05, 0.5):
        for speed in (0.2e-3, 1e-3):
            for ultimate in (100, 2000):
                found = solve_ivp(
                    lambda _, p, s=speed, u=ultimate, q=flow: (q - s * (p - u)) / 0.02,
                    (0, 30 * 0.02 / speed),
                    [STANDARD_ATMOSPHERE],
                    **TIGHT,
                )
                ours = equilibrium_pressure(ultimate, flow, speed)
                where = f"{flow} Pa m3/s, {speed * 1000:g} l/s, {ultimate} Pa"
                yield relative(where, ours, found.y[0][-1], EXACT)


def rises_of_scipy() -> Iterator[Point]:
    """Slope and its error beside linregress, curve_fit and numpy's lstsq, on noisy readings.

    All are the same least squares: they may part by rounding, a millionth of the scatter.
    """
    import numpy
    from scipy.optimize import curve_fit
    from scipy.stats import linregress

    random = Random(7)
    times = [10.0 * i for i in range(61)]
    for leak in (0.0, 0.5, 11.3):
        noise = [random.gauss(0, 15) for _ in times]
        plain = [2000 + leak * t + n for t, n in zip(times, noise, strict=True)]
        ours, theirs = straight_line(times, plain), linregress(times, plain)
        yield Point(f"line, {leak} Pa/s", ours.rate, theirs.slope, 1e-6)
        yield Point(f"line, {leak} Pa/s, error", ours.rate_error, theirs.stderr, 1e-6)

        curve = [rise_curve(t, 1000, leak, 800, 90) + n for t, n in zip(times, noise, strict=True)]
        fit, spread = curve_fit(
            lambda t, p0, a, b: p0 + a * t + b * (1 - numpy.exp(-t / 90)),
            numpy.array(times),
            curve,
            p0=(1000, 1, 1),
        )
        fading = straight_and_fading(times, curve, 90)
        yield Point(f"fading, {leak} Pa/s", fading.rate, fit[1], 1e-4)
        yield relative(f"fading, {leak} Pa/s, error", fading.rate_error, sqrt(spread[1][1]), 1e-4)

        drift = [290 + 3 * exp(-((t - 200) ** 2) / 2e4) for t in times]
        moved = [p + 40 * (d - drift[0]) for p, d in zip(plain, drift, strict=True)]
        table = numpy.column_stack([numpy.ones(len(times)), times, numpy.array(drift) - drift[0]])
        solved = numpy.linalg.lstsq(table, numpy.array(moved), rcond=None)[0]
        found = straight_line_with_drift(times, moved, drift)
        yield Point(f"drift, {leak} Pa/s", found.rate, solved[1], 1e-6)
        yield Point(f"drift, {leak} Pa/s, other", found.other, solved[2], 1e-4)


def holes_of_fluids() -> Iterator[Point]:
    """Hole for a flow by API 520, choked and not.

    Ours says no figure; API 520 rounds its constants to three and four digits: 0.1 %.
    """
    from fluids.compressible import P_critical_flow
    from fluids.safety_valve import API520_A_g

    air = STANDARD_ATMOSPHERE
    yield relative("critical ratio", critical_ratio(), P_critical_flow(1.0, HEAT_RATIO), 1e-9)
    for celsius in (0, 20, 40):
        kelvin = ZERO_CELSIUS + celsius
        for millimetres in (0.05, 0.5, 3):
            for ratio in (0.0, 0.3, 0.52, 0.6, 0.8, 0.95):
                wide, bag = millimetres / 1000, ratio * air
                flow = hole_flow(wide, air, bag, kelvin, 1.0)
                mass = flow * AIR_MOLAR_MASS / (GAS_CONSTANT * kelvin)
                area = API520_A_g(
                    m=mass, T=kelvin, Z=1, MW=AIR_MOLAR_MASS * 1000, k=HEAT_RATIO, P1=air, P2=bag,
                    Kd=1, Kb=1, Kc=1,
                )  # fmt: skip
                where = f"{millimetres} mm, {celsius} C, bag {ratio:g} of the air"
                yield relative(where, wide, sqrt(4 * area / pi), 1e-3)
                back = hole_diameter(flow, air, bag, kelvin, 1.0)
                yield relative(where + ", and back", back, wide, 1e-9)


def holes_of_real_air() -> Iterator[Point]:
    """Isentropic flow of CoolProp's real air; ours takes 1.4 where the air has 1.400 to 1.402."""
    from CoolProp.CoolProp import PropsSI

    air = STANDARD_ATMOSPHERE
    for celsius in (5, 20, 35):
        kelvin = ZERO_CELSIUS + celsius
        heat, entropy = (PropsSI(what, "T", kelvin, "P", air, "Air") for what in "HS")

        def flux(pressure: float, heat: float = heat, entropy: float = entropy) -> float:
            here, dense = (PropsSI(what, "P", pressure, "S", entropy, "Air") for what in "HD")
            return float(dense * sqrt(2 * max(heat - here, 0.0)))

        tight = max(flux(air * ratio) for ratio in steps(0.50, 0.56, 61))
        area = pi / 4 * 0.001**2
        for ratio in (0.2, 0.6, 0.8, 0.95):
            mass = area * (tight if ratio < 0.5 else flux(air * ratio))
            theirs = mass * GAS_CONSTANT * kelvin / AIR_MOLAR_MASS
            ours = hole_flow(0.001, air, ratio * air, kelvin, 1.0)
            yield relative(f"{celsius} C, bag {ratio} of the air", ours, theirs, 0.001)
        choked = choked_hole_flow(0.001, air, kelvin, 1.0)
        theirs = area * tight * GAS_CONSTANT * kelvin / AIR_MOLAR_MASS
        yield relative(f"{celsius} C, choked", choked, theirs, 0.001)


def channels_of_fluids() -> Iterator[Point]:
    """Fine channels a thousand diameters and longer, with the laminar friction factor.

    Fluids counts the gas speeding up, which ours leaves out and claims no figure for: an upper
    bound, by 2 % at most in these.
    """
    from fluids.compressible import isothermal_gas

    viscosity, kelvin = 18e-6, 293.15
    for microns in (20, 50, 100):
        for length in (0.1, 0.3):
            for bag in (10_000, 60_000, 95_000):
                wide = microns * 1e-6
                ours = capillary_leak(wide, length, STANDARD_ATMOSPHERE, bag, viscosity)
                per_flow = AIR_MOLAR_MASS / (GAS_CONSTANT * kelvin)
                mass = ours * per_flow
                for _ in range(50):
                    friction = 64 * pi * wide * viscosity / (4 * mass)
                    mass = isothermal_gas(
                        rho=STANDARD_ATMOSPHERE * per_flow, fd=friction, P1=STANDARD_ATMOSPHERE,
                        P2=bag, L=length, D=wide,
                    )  # fmt: skip
                where = f"{microns} um by {length} m, bag {bag} Pa"
                yield relative(where, ours, mass / per_flow, 0.02)


def creeping_of_scipy() -> Iterator[Point]:
    """Washburn's pore and Darcy's slug integrated from a depth that is nothing, thickening too."""
    from scipy.integrate import solve_ivp

    def depth(drive: float, thickening: float, seconds: float) -> float:
        found = solve_ivp(
            lambda t, square: [2 * drive * exp(-t / thickening)],
            (0, seconds),
            [0.0],
            rtol=1e-10,
            atol=1e-24,
        )
        return sqrt(float(found.y[0][-1]))

    for radius in (10e-6, 150e-6):
        for viscosity in (0.05, 1.0):
            for seconds in (10, 3600):
                pull = capillary_pressure(0.045, radians(30), radius)
                theirs = depth(radius**2 / 8 * pull / viscosity, inf, seconds)
                where = f"pore of {radius * 1e6:.0f} um, {viscosity} Pa s, {seconds} s"
                yield relative(where, fill_depth(radius, pull, viscosity, seconds), theirs, EXACT)
    for permeability in (1e-16, 1e-12):
        for tau in (300, 1200):
            for seconds in (60, 600, 7200):
                wood = permeability, 90e3, 0.5, 0.5
                where = f"{permeability} m2, thickening in {tau} s, {seconds} s"
                drive = permeability * 90e3 / (0.5 * 0.5)
                thick = darcy_depth_thickening(*wood, tau, seconds)
                yield relative(where, thick, depth(drive, tau, seconds), EXACT)
                yield relative(
                    where, darcy_depth(*wood, seconds), depth(drive, inf, seconds), EXACT
                )


def filling_of_scipy() -> Iterator[Point]:
    """A sealed pore under steady pressures, its slug integrated; ours says 0.002 for its steps."""
    from scipy.integrate import solve_ivp

    for permeability in (1e-15, 1e-13, 1e-12):
        for pull in (0.0, 1.5e3, 15e3):
            for gel in (1800, 4 * 3600):
                pore = Pore(0.002, 0.5, permeability, pull, inf)
                resin = Resin(0.2, 3600, gel, inf)
                cooling = Cooling(323.15, 293.15, 1800)
                moments = [Moment(8 * 3600, STANDARD_ATMOSPHERE, STANDARD_ATMOSPHERE, wet=True)]
                ours = fill_story(pore, resin, cooling, moments).share_filled

                def slug(
                    t: float, square: list[float], pore: Pore = pore, cooling: Cooling = cooling
                ) -> list[float]:
                    share = sqrt(max(square[0], 0.0))
                    kelvin = cooling.cold + 30 * exp(-t / cooling.time_constant)
                    gas = STANDARD_ATMOSPHERE * kelvin / cooling.hot / (1 - share)
                    drive = STANDARD_ATMOSPHERE + pore.capillary - gas
                    thick = 0.2 * exp(t / 3600)
                    gain = 2 * pore.permeability / (pore.porosity * pore.depth**2 * thick)
                    return [gain * drive if square[0] > 0 or drive > 0 else 0.0]

                found = solve_ivp(slug, (0, gel), [1e-12], method="LSODA", rtol=1e-8, atol=1e-12)
                theirs = sqrt(max(float(found.y[0][-1]), 0.0))
                where = f"{permeability} m2, pull of {pull:.0f} Pa, gel in {gel} s"
                yield Point(where, ours, theirs, 0.002)
