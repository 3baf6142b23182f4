"""Cure, cup, film and mixing beside scipy's integrators and chemicals.

Each function is one comparison; see library_solvent for how a point is judged.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import exp, inf, log, pi, sqrt

from library_points import Point, relative, steps

from controller.science.constants import GAS_CONSTANT, ZERO_CELSIUS
from controller.science.cup import (
    CUP_LOSS,
    ORDINARY_MIX,
    TOO_THICK,
    TOO_WARM,
    Lot,
    in_cup,
    pot_life,
)
from controller.science.cure import (
    age_gained,
    energy_for_doubling,
    glass_temperature,
    vitrifying_conversion,
)
from controller.science.film import share_left, time_to_share
from controller.science.kinetics import (
    ORDINARY,
    RATES_AT,
    STOP_WIDTH,
    Kinetics,
    advanced,
    cured,
    seconds_to,
)
from controller.science.resin import amine_hydrogen_equivalent
from controller.science.viscosity import grunberg_nissan, log_mixing

HOUR = 3600.0
NO_GLASS = replace(ORDINARY, uncured=100.0, cured=101.0)
"""The ordinary mix with no glass to stop it."""


def rate_law(kinetics: Kinetics, kelvin: float) -> Callable[[float], float]:
    """The rate law written out once more from its papers, [1/s] of conversion."""
    k1, k2 = (
        k * exp(-e / GAS_CONSTANT * (1 / kelvin - 1 / RATES_AT))
        for k, e in ((kinetics.k1, kinetics.e1), (kinetics.k2, kinetics.e2))
    )
    lam = kinetics.curvature

    def law(conversion: float) -> float:
        a = min(max(conversion, 0.0), 1.0)
        glass = kinetics.uncured + (kinetics.cured - kinetics.uncured) * lam * a / (
            1 - (1 - lam) * a
        )
        stop = 1 / (1 + exp(min((glass - kelvin) / STOP_WIDTH, 500.0)))
        return float((k1 + k2 * a**kinetics.m) * (1 - a) ** kinetics.n * stop)

    return law


def cures_of_scipy() -> Iterator[Point]:
    """Three days from 5 to 40 degC by LSODA, with and without the glass; ours says 1e-4."""
    from scipy.integrate import solve_ivp

    for kinetics, what in ((ORDINARY, ""), (NO_GLASS, ", no glass")):
        for celsius in (5, 10, 15, 20, 23, 30, 40):
            kelvin = ZERO_CELSIUS + celsius
            law = rate_law(kinetics, kelvin)
            times = [HOUR * each for each in (1, 3, 6, 12, 24, 72)]
            found = solve_ivp(
                lambda _, y, law=law: [law(y[0])],
                (0, times[-1]),
                [0.0],
                method="LSODA",
                t_eval=times,
                rtol=1e-9,
                atol=1e-11,
            )
            for time, theirs in zip(times, found.y[0], strict=True):
                ours = cured(kinetics, 0.0, [(time, kelvin)])
                where = f"{celsius} C, {time / HOUR:.0f} h{what}"
                yield Point(where, ours, theirs, 1e-4)


def courses_of_scipy() -> Iterator[Point]:
    """A cold night in steps of ten minutes, the way plans ask, by LSODA on the same steps."""
    from scipy.integrate import solve_ivp

    for start, end in ((35, 12), (23, 8), (18, 25)):
        course = [(600.0, ZERO_CELSIUS + celsius) for celsius in steps(start, end, 145)]
        theirs = 0.0
        for seconds, kelvin in course:
            law = rate_law(ORDINARY, kelvin)
            found = solve_ivp(
                lambda _, y, law=law: [law(y[0])],
                (0, seconds),
                [theirs],
                method="LSODA",
                rtol=1e-9,
                atol=1e-11,
            )
            theirs = float(found.y[0][-1])
        yield Point(f"{start} to {end} C in a day", cured(ORDINARY, 0.0, course), theirs, 1e-4)


def gels_of_scipy() -> Iterator[Point]:
    """Time to a conversion as quad adds it up; ours says 1e-5 for its panels."""
    from scipy.integrate import quad

    for celsius in (5, 10, 20, 30, 40):
        kelvin = ZERO_CELSIUS + celsius
        for kinetics, what in ((ORDINARY, ""), (NO_GLASS, ", no glass")):
            law = rate_law(kinetics, kelvin)
            for conversion in (0.1, 0.3, 0.45):
                theirs = quad(lambda a, law=law: 1 / law(a), 0, conversion, epsrel=1e-10)[0]
                ours = seconds_to(kinetics, conversion, kelvin, inf)
                assert ours is not None
                where = f"to {conversion} at {celsius} C{what}"
                yield relative(where, ours, theirs, 1e-5)


def closed_cures() -> Iterator[Point]:
    """First and second order and the logistic law, which have closed forms: to our 1e-4."""
    for k in (1e-6, 1e-4):
        for seconds in (600, 4 * HOUR, 72 * HOUR):
            gone, where = k * seconds, f"k {k}, {seconds:.0f} s"
            first = advanced(lambda a, k=k: k * (1 - a), 0.0, seconds)
            yield Point(where + ", first order", first, 1 - exp(-gone), 1e-4)
            second = advanced(lambda a, k=k: k * (1 - a) ** 2, 0.0, seconds)
            yield Point(where + ", second order", second, gone / (1 + gone), 1e-4)
            logistic = advanced(lambda a, k=k: k * a * (1 - a), 0.05, seconds)
            yield Point(where + ", logistic", logistic, 1 / (1 + 19 * exp(-gone)), 1e-4)


def ages_of_scipy() -> Iterator[Point]:
    """Equivalent age, doubling energy and glass, by quad and brentq: closed forms, to rounding."""
    from scipy.integrate import quad
    from scipy.optimize import brentq

    reference = ZERO_CELSIUS + 23
    for celsius in (0, 10, 20, 35, 60):
        kelvin = ZERO_CELSIUS + celsius
        for energy in (45e3, 55e3, 65e3):
            # d ln k / dT = E / R T^2, added up from the reference
            grown = quad(lambda t, e=energy: e / (GAS_CONSTANT * t * t), reference, kelvin)[0]
            ours = age_gained(HOUR, kelvin, reference, energy)
            yield relative(f"{celsius} C, {energy:.0f} J/mol", ours, HOUR * exp(grown), 1e-9)
    for cool in (5, 15, 25):
        low, high = ZERO_CELSIUS + cool, ZERO_CELSIUS + cool + 10
        theirs = brentq(
            lambda e, a=low, b=high: e / GAS_CONSTANT * (1 / a - 1 / b) - log(2), 1e3, 1e6
        )
        yield relative(f"doubling from {cool} C", energy_for_doubling(low, high), theirs, 1e-9)
    glass = ORDINARY.uncured, ORDINARY.cured, ORDINARY.curvature
    for celsius in steps(-20, 88, 19):
        kelvin = ZERO_CELSIUS + celsius
        theirs = brentq(lambda a, t=kelvin: glass_temperature(a, *glass) - t, 0, 1, xtol=1e-13)
        ours = vitrifying_conversion(kelvin, *glass)
        yield Point(f"glass at {celsius:.0f} C", ours, theirs, 1e-9)


def cups_of_scipy() -> Iterator[Point]:
    """Pot lives of cups that warm themselves, by LSODA with its own events; ours says 0.1 %."""
    from scipy.integrate import solve_ivp

    mix = ORDINARY_MIX
    for grams in (20, 100, 400):
        for celsius in (15, 23, 32):
            lot, room = in_cup(grams / 1000, mix.density), ZERO_CELSIUS + celsius

            def balance(
                _: float, state: list[float], room: float = room, lot: Lot = lot
            ) -> list[float]:
                kelvin, conversion = state
                speed = rate_law(ORDINARY, kelvin)(conversion)
                cooling = CUP_LOSS * lot.surface / lot.mass * (kelvin - room) / mix.heat_capacity
                return [mix.heat_of_cure / mix.heat_capacity * speed - cooling, speed]

            def over(_: float, state: list[float], room: float = room) -> float:
                return max(state[0] - room - TOO_WARM, 15 * (state[1] - TOO_THICK))

            over.terminal = True  # type: ignore[attr-defined]
            found = solve_ivp(
                balance,
                (0, 14 * 24 * HOUR),
                [room, 0.0],
                method="LSODA",
                events=over,
                rtol=1e-9,
                atol=1e-10,
            )
            ours = pot_life(ORDINARY, lot, room, room, mix, CUP_LOSS)
            yield relative(f"{grams} g at {celsius} C", ours, float(found.t[-1]), 0.001)


def films_of_scipy() -> Iterator[Point]:
    """Thinner leaving a film of 400 cells, by a stiff solver; 1e-4 is what the cells leave.

    Ours is the exact sum to 1e-10. The first moments are left out: no even mesh follows them.
    """
    import numpy
    from scipy.integrate import solve_ivp

    count = 400
    width = 1 / count
    depths = [0.01, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0]

    def change(_: float, held: numpy.ndarray) -> numpy.ndarray:
        # sealed below, nothing at the open face, which lies half a cell above the last middle
        edges = numpy.concatenate(([0.0], numpy.diff(held) / width, [-held[-1] / (width / 2)]))
        return numpy.diff(edges) / width

    found = solve_ivp(
        change, (0, depths[-1]), numpy.ones(count), method="LSODA", t_eval=depths,
        lband=1, uband=1, rtol=1e-8, atol=1e-10,
    )  # fmt: skip
    for depth, theirs in zip(depths, found.y.mean(axis=0), strict=True):
        ours = share_left(1.0, 1.0, depth)
        yield Point(f"D t / l2 of {depth}", ours, float(theirs), 1e-4)
        yield relative(f"back to {depth}", time_to_share(1.0, 1.0, ours), depth, 1e-6)
    yield Point("a steep start", 1 - share_left(1.0, 1.0, 1e-4), 2 * sqrt(1e-4 / pi), 1e-12)


def mixing_of_chemicals() -> Iterator[Point]:
    """Log mixing, and Grunberg and Nissan on top of it: the same laws, to rounding."""
    from chemicals import mixing_logarithmic

    for share in steps(0.01, 0.5, 25):
        for thin in (0.3e-3, 1e-3, 2e-3):
            theirs = mixing_logarithmic([1 - share, share], [0.85, thin])
            where = f"{share:.0%} of {thin} Pa s"
            yield relative(where, log_mixing((1 - share, share), (0.85, thin)), theirs, 1e-9)
            for interaction in (-2.0, 1.0):
                pulled = theirs * exp(share * (1 - share) * interaction)
                ours = grunberg_nissan(share, 0.85, thin, interaction)
                yield relative(f"{where}, G12 {interaction}", ours, pulled, 1e-9)


def amines_of_chemicals() -> Iterator[Point]:
    """Hydrogen equivalents from chemicals' molar masses and its count of hydrogens on nitrogen."""
    from chemicals import MW

    hydrogens = {"112-24-3": 6, "107-15-3": 4, "2855-13-2": 4, "111-40-0": 5}
    printed = {"112-24-3": 24.4, "107-15-3": 15.0, "2855-13-2": 42.6, "111-40-0": 20.6}
    for cas, count in hydrogens.items():
        ours = amine_hydrogen_equivalent(MW(cas) / 1000, count)
        # data sheets print a tenth; from memory, to be checked
        yield Point(f"amine {cas}", 1000 * ours, printed[cas], 0.06)
