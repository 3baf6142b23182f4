"""Textbook answers for heat in a board: what the numeric slab is checked by, and rules of thumb."""

from math import cos, exp, pi, sin

from controller.errors import RangeError
from controller.science.slab import Slab


def cooling_roots(biot: float, count: int) -> tuple[float, ...]:
    """The first `count` roots of zeta tan(zeta) = Bi for a slab cooled on both sides, [rad].

    biot: h L / k with L the HALF thickness, above 0, [-]        count: 1 or more

    Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1; from memory, to be
    checked. Bisection between n pi and n pi + pi/2, where each root must lie.

    >>> cooling_roots(biot=1.0, count=1)[0]
    0.8603
    """
    if biot <= 0 or count < 1:
        raise RangeError(f"no roots for Bi = {biot}, count {count}; both must be above 0")
    roots = []
    for n in range(count):
        low, high = n * pi, n * pi + pi / 2
        for _ in range(60):
            root = (low + high) / 2
            below = (root * sin(root) - biot * cos(root)) * (-1) ** n < 0
            low, high = (root, high) if below else (low, root)
        roots.append((low + high) / 2)
    return tuple(roots)


def cooling_coefficient(root: float) -> float:
    """Weight of the series term that belongs to a root, 4 sin z / (2 z + sin 2 z), [-]."""
    return 4 * sin(root) / (2 * root + sin(2 * root))


def cooling_ratio(biot: float, fourier: float, position: float) -> float:
    """What is left of a slab's start above the air after cooling on both sides, [-].

    biot: h L / k, [-]      fourier: alpha t / L^2, 0.01 or more, [-], L the HALF thickness
    position: 0 in the middle, 1 at a surface, [-]

    theta = sum of C exp(-zeta^2 Fo) cos(zeta x / L), 40 terms; Incropera & DeWitt eq. 5.42, from
    memory, to be checked. Sooner than Fo = 0.01 forty terms are not enough.
    """
    if fourier < 0.01 or not 0 <= position <= 1:
        raise RangeError(f"no ratio for Fo = {fourier}, position {position}; Fo from 0.01, 0 to 1")
    return sum(
        cooling_coefficient(root) * exp(-root * root * fourier) * cos(root * position)
        for root in cooling_roots(biot, 40)
    )


def front_minus_back(flux: float, thickness: float, conductivity: float) -> float:
    """How much warmer face than back is once a board warms evenly, q L / 2 k, [K].

    flux: conducted into the face, back lined, [W/m2]    thickness: [m]    conductivity: [W/(m K)]

    Carslaw & Jaeger, Conduction of Heat in Solids; from memory, to be checked.
    """
    return flux * thickness / (2 * conductivity)


def front_minus_mean(flux: float, thickness: float, conductivity: float) -> float:
    """How far the face falls to the board's mean once the lamp is off, q L / 3 k, [K].

    Arguments and source as `front_minus_back`.
    """
    return flux * thickness / (3 * conductivity)


def equalisation_time(thickness: float, diffusivity: float) -> float:
    """Time in which face and back of a lined board come to e^-1 of their gap, L^2/(pi^2 a), [s].

    thickness: [m]       diffusivity: [m2/s]       Source as `front_minus_back`.
    """
    return thickness**2 / (pi**2 * diffusivity)


def heating_rate(flux: float, slab: Slab) -> float:
    """How fast the board's mean warms under a conducted flux [W/m2], [K/s]; an energy balance."""
    return flux / slab.heat_content
