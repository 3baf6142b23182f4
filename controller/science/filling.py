"""How full a pore gets by the order of the work: what is wet, what presses, and when.

One lumped pore: gas at the far end, a slug of resin at the face. The slug moves under what presses
on the liquid, plus the capillary pull, less the gas; the resin thickens and one day gels. A vacuum
that is held through the gel fills nothing: it thins the gas and the liquid's drive alike.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, inf, isfinite, pi

from controller.errors import RangeError
from controller.science.pores import capillary_pressure, thickening_seconds

AIR_VISCOSITY = 1.81e-5
"""Of air at 20 degC, [Pa s]. [1] CRC Handbook of Chemistry and Physics, viscosity of gases; from
memory, to be checked."""
_STEPS = 240
"""Steps in one moment, the first ones finest; twice as many moves a share by less than 0.002."""
_FULL = 1 - 1e-9
"""Share at which the pore counts as full, [-]: the last gas would have no size."""


@dataclass(frozen=True, slots=True)
class Pore:
    """A pore, or a layer of wood taken as one, open to the coat at one end."""

    depth: float
    """From the face to its far end, [m]"""
    porosity: float
    """Share of the layer that is pore, [-]; 1 for a single pore"""
    permeability: float
    """To liquid, from the face inwards, [m2]; r^2 / 8 for a round pore"""
    capillary: float
    """Pull of the resin into it, [Pa]; below 0 where the resin does not wet"""
    leak_time: float
    """In which air by bare ends or back evens out the gas to 1/e, [s]; inf: sealed"""


@dataclass(frozen=True, slots=True)
class Resin:
    """The mix on the face; its clock starts when the face is first wet."""

    viscosity: float
    """When the face is first wet, [Pa s]"""
    thickening_time: float
    """In which the viscosity grows by e, [s]; inf: it does not"""
    gel: float
    """From wetting until nothing moves any more, [s]"""
    supply: float
    """Thickness of the coat that may go in, [m]; inf: as much as it takes"""


@dataclass(frozen=True, slots=True)
class Cooling:
    """The gas in the pore: hot until the face is wet, then easing to cold."""

    hot: float
    """When the face is first wet, [K]"""
    cold: float
    """Where it settles, [K]"""
    time_constant: float
    """Of the mean of the board, [s]"""


@dataclass(frozen=True, slots=True)
class Moment:
    """One part of the order of work; its pressures are reached evenly over it."""

    seconds: float
    """How long it lasts, [s]"""
    around: float
    """Absolute pressure of the gas about the piece at its end, [Pa]"""
    on_liquid: float
    """Absolute pressure on the liquid coat at its end, [Pa]; see filling_orders"""
    wet: bool
    """The face is under resin; a dry face lets gas in and out freely"""


@dataclass(frozen=True, slots=True)
class Fill:
    """How a pore's story ended."""

    share_filled: float
    """Of the pore's room, [-]"""
    depth: float
    """Of the resin, [m]"""
    after: tuple[float, ...]
    """Share filled at the end of each moment, [-]"""
    bubbled: float
    """Gas that came out through the wet coat, over what was in the pore when wetted, [-]"""
    mostly_in: float
    """Since wetting, when nine tenths of the last share was in for good, [s]; 0 if none was"""
    ran_dry: float | None
    """Since wetting, when the coat had all gone in, [s]; None: it never had"""


def round_pore(
    radius: float, depth: float, surface_tension: float, contact_angle: float, leak_time: float
) -> Pore:
    """A round pore that ends inside the wood, as a cut vessel does.

    radius, depth: of the pore, [m]      surface_tension: of the resin, [N/m]
    contact_angle: of resin on wood, [rad]      leak_time: as in Pore, [s]

    Permeability r^2 / 8, Poiseuille's law (common practice, no source), and capillary_pressure,
    whose errors it raises.

    >>> round_pore(50e-6, 0.01, 0.045, contact_angle=0.5236, leak_time=inf).permeability * 1e12
    312.5
    """
    pull = capillary_pressure(surface_tension, contact_angle, radius)
    return Pore(depth, 1.0, radius**2 / 8, pull, leak_time)


def leak_time(permeability: float, length: float, porosity: float, pressure: float) -> float:
    """Time in which air by a bare end evens out the gas in wood to 1/e, [s].

    permeability: of the wood to gas, along the way of the air, [m2]      porosity: [-]
    length: from the bare end to the far end, [m]      pressure: of the gas, about, [Pa]

    (4 / pi^2) L^2 phi eta / (k p): the slowest term of a diffusing pressure, one end open [1].
    Small changes of pressure; deep vacuum is slower by as much as the gas is thinner. A 200 mm
    board with bare ends and 1e-12 m2 evens out in seconds: no draw is left. Raises RangeError for
    anything that is not above zero.

    [1] H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 3.4, with
    gas in the place of heat; from memory, to be checked.

    >>> leak_time(permeability=1e-12, length=0.2, porosity=0.5, pressure=101_325)
    1.448
    """
    if min(permeability, length, porosity, pressure) <= 0:
        raise RangeError(
            f"no leak time for k = {permeability:g} m2, {length:g} m, porosity {porosity:g}, "
            f"{pressure:g} Pa: each must be above 0"
        )
    diffusivity = permeability * pressure / (porosity * AIR_VISCOSITY)
    return 4 / pi**2 * length**2 / diffusivity


def fill_story(pore: Pore, resin: Resin, cooling: Cooling, moments: Sequence[Moment]) -> Fill:
    """How full the pore is when the last moment is over or the resin has gelled.

    pore, resin, cooling: what is worked on
    moments: the order of work, first to last; the first one is at its pressures from its beginning

    d(x^2)/dt = 2 k (p_liquid + p_capillary - p_gas) / (phi eta) for the slug, by steps that cannot
    overshoot; p_gas from amount, temperature and room left (own). Once the slug is out, gas above
    p_liquid + p_capillary bubbles off at once. A coat that has all gone in ends the story: air
    follows it. Left out: the wood's water vapour, which draws more as it goes back into the wood
    (pores.draw), so it errs to less there; bubbles that slip past a slug, and a slow gel, so a
    let-up late before the gel is flattered; resin thinned by the heat; pores behind pores. A guide
    to which order fills more, not to the gram. Raises RangeError for a face that is never wetted or
    dries again, and for values that cannot be.

    >>> sealed = Pore(depth=0.002, porosity=0.5, permeability=1e-13, capillary=1.5e3, leak_time=inf)
    >>> thin = Resin(viscosity=0.2, thickening_time=3600, gel=4 * 3600, supply=inf)
    >>> warm = Cooling(hot=323.15, cold=293.15, time_constant=1800)
    >>> fill_story(sealed, thin, warm, [Moment(8 * 3600, 101_325, 101_325, True)]).share_filled
    0.106
    """
    _check(pore, resin, cooling, moments)
    dry = [moment for moment in moments if not moment.wet]
    before = moments[len(dry) - 1] if dry else moments[0]
    wet = moments[len(dry) :]
    # All amounts over the pore's whole room: [Pa/K], so that pressure is amount T / room left.
    gas = start = before.around / cooling.hot
    most = min(_FULL, resin.supply / (pore.porosity * pore.depth))
    stiffness = 2 * pore.permeability / (pore.porosity * pore.depth**2 * resin.viscosity)
    share, clock, bubbled, ran_dry = 0.0, 0.0, 0.0, None
    trace: list[tuple[float, float]] = []
    after = [0.0] * len(dry)
    around, on_liquid = before.around, (wet[0].on_liquid if not dry else before.around)
    for moment in wet:
        began = clock
        for elapsed, step in _steps(moment.seconds, resin.gel - began):
            if ran_dry is not None:
                break
            reached = (elapsed + step) / moment.seconds
            outside = around + reached * (moment.around - around)
            push = on_liquid + reached * (moment.on_liquid - on_liquid) + pore.capillary
            clock = began + elapsed + step
            kelvin = cooling.cold + (cooling.hot - cooling.cold) * exp(
                -clock / cooling.time_constant
            )
            flowed = thickening_seconds(resin.thickening_time, clock) - thickening_seconds(
                resin.thickening_time, began + elapsed
            )
            # Backward, like the slug: a leak far shorter than a step still races with the resin.
            stays = 1 / (1 + step / pore.leak_time)
            leaked, held = (1 - stays) * outside, stays * gas * kelvin
            share = _slug(share, most, stiffness * flowed, push - leaked, held)
            gas = (held + leaked * (1 - share)) / kelvin
            if share == 0 and gas * kelvin > push:
                left = max(push, 0.0) / kelvin
                bubbled += gas - left
                gas = left
            if share == most < _FULL:
                ran_dry = clock
            trace.append((clock, share))
        around, on_liquid = moment.around, moment.on_liquid
        clock = began + moment.seconds
        after.append(share)
    return Fill(
        share_filled=share,
        depth=share * pore.depth,
        after=tuple(after),
        bubbled=bubbled / start,
        mostly_in=_mostly_in(trace),
        ran_dry=ran_dry,
    )


def _steps(seconds: float, left: float) -> Iterator[tuple[float, float]]:
    """Beginnings and lengths of the steps of a moment, none past the gel."""
    edges = [seconds * (i / _STEPS) ** 2 for i in range(_STEPS + 1)]
    for begin, end in pairwise(edges):
        if begin >= left:
            return
        yield begin, min(end, left) - begin


def _slug(share: float, most: float, gain: float, drive: float, held: float) -> float:
    """Share filled after a step: u^2 - u0^2 = gain (drive - held / (1 - u)), solved by halving."""

    def over(u: float) -> float:
        return u * u - share * share - gain * (drive - held / (1 - u))

    if over(0.0) >= 0:
        return 0.0
    if over(most) <= 0:
        return most
    low, high = 0.0, most
    while high - low > 1e-12:
        middle = (low + high) / 2
        if over(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _mostly_in(trace: Sequence[tuple[float, float]]) -> float:
    """Time from which at least nine tenths of the last share stayed in, [s]."""
    since = 0.0
    for (clock, share), (_, following) in pairwise(trace):
        if share < 0.9 * trace[-1][1] <= following:
            since = clock
    return since


def _check(pore: Pore, resin: Resin, cooling: Cooling, moments: Sequence[Moment]) -> None:
    endless = {
        "leak time": pore.leak_time,
        "thickening time": resin.thickening_time,
        "gel": resin.gel,
        "supply": resin.supply,
    }
    finite = {
        "depth": pore.depth,
        "porosity": pore.porosity,
        "permeability": pore.permeability,
        "viscosity": resin.viscosity,
        "hot": cooling.hot,
        "cold": cooling.cold,
        "cooling time": cooling.time_constant,
    }
    for number, moment in enumerate(moments, 1):
        finite[f"seconds of moment {number}"] = moment.seconds
        finite[f"pressure around in moment {number}"] = moment.around
        finite[f"pressure on the liquid in moment {number}"] = moment.on_liquid
    faults = [f"{what} {value:g}" for what, value in endless.items() if not value > 0]
    faults += [f"{what} {value:g}" for what, value in finite.items() if not 0 < value < inf]
    if faults:
        raise RangeError(f"no story: {', '.join(faults)} must be above 0 and not endless")
    if pore.porosity > 1 or not isfinite(pore.capillary):
        raise RangeError(
            f"no story: porosity {pore.porosity:g} is at most 1, and the capillary pull "
            f"{pore.capillary:g} Pa a pressure"
        )
    wet = [moment.wet for moment in moments]
    if True not in wet or wet != sorted(wet):
        raise RangeError("no story: the face must be wetted once, and then stay wet to the end")
