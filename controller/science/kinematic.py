"""Kinematic viscosity: from the seconds of a flow cup, and of a blend by the index of its parts."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isclose, log

from controller.errors import RangeError

SQUARE_MILLIMETRE = 1e-6
"""One centistoke, 1 mm2/s, [m2/s]; exact. [1] A. Thompson, B. N. Taylor, NIST SP 811, 2008,
appendix B.8, doi:10.6028/NIST.SP.811e2008."""


@dataclass(frozen=True, slots=True)
class FlowCup:
    """One standard cup with a hole: a row of the table below."""

    name: str
    """As it is engraved."""
    slope: float
    """What each second is worth, [m2/s2]"""
    start: float
    """What flows before the stream is steady, [s]"""
    loss: float
    """What the speed of the stream takes, [m2]"""
    shortest: float
    """Flow time from which the formula holds, [s]"""
    longest: float
    """Flow time up to which it holds, [s]"""
    source: str
    """Where the row comes from."""


_ISO = "[1] ISO 2431, 1993; from memory, to be checked."
_DIN = "[1] DIN 53211, withdrawn; from memory, to be checked."
_ASTM = "[1] ASTM D1200; from memory, to be checked."
FLOW_CUPS = {
    cup.name: cup
    for cup in (
        FlowCup("ISO 3 mm", 0.443e-6, 0.0, 200e-6, 30, 100, _ISO),
        FlowCup("ISO 4 mm", 1.37e-6, 0.0, 200e-6, 30, 100, _ISO),
        FlowCup("ISO 5 mm", 3.28e-6, 0.0, 220e-6, 30, 100, _ISO),
        FlowCup("ISO 6 mm", 6.90e-6, 0.0, 570e-6, 30, 100, _ISO),
        FlowCup("DIN 4 mm", 4.57e-6, 0.0, 452e-6, 25, 150, _DIN),
        FlowCup("ASTM no. 4", 3.85e-6, 4.49, 0.0, 20, 100, _ASTM),
    )
}
"""The cups by name. Every row is from memory, to be checked against the cup's own leaflet."""


def flow_cup_kinematic(seconds: float, cup: FlowCup) -> float:
    """Kinematic viscosity of what ran through the cup, [m2/s].

    seconds: until the stream first breaks      cup: a row of the table

    slope (t - start) - loss / t, for a liquid that keeps its viscosity while it is sheared and at
    the temperature it ran at. A worn or unclean hole errs to either side. Raises RangeError for
    times the standard does not cover: take the next cup.

    >>> 1e6 * flow_cup_kinematic(60, FLOW_CUPS["ISO 4 mm"])  # mm2/s
    78.9
    """
    if not cup.shortest <= seconds <= cup.longest:
        raise RangeError(
            f"{seconds:g} s through {cup.name}: it reads {cup.shortest:g} to {cup.longest:g} s; "
            "take a cup with another hole"
        )
    return cup.slope * (seconds - cup.start) - cup.loss / seconds


def dynamic(kinematic: float, density: float) -> float:
    """Dynamic viscosity, the one the other formulas take, [Pa s].

    kinematic: [m2/s]      density: of the liquid, [kg/m3]

    The definition. Raises RangeError unless both are above zero.

    >>> dynamic(78.9e-6, density=1100)
    0.0868
    """
    if not (kinematic > 0 and density > 0):
        raise RangeError(f"{kinematic:g} m2/s at {density:g} kg/m3: both must be above 0")
    return kinematic * density


def refutas_index(kinematic_cst: float) -> float:
    """Blending index of a liquid, [-]: indices add up by mass where viscosities do not.

    kinematic_cst: [mm2/s], above 0.2

    14.534 ln ln(nu + 0.8) + 10.975 [1], made for petroleum; for thinned epoxy no check was found.
    There it lands inside the band of viscosity.thinned. Raises RangeError outside the range.

    [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. 2000; from memory, to be
    checked.

    >>> refutas_index(2.234)  # a worked example: 12.492
    12.49
    """
    if not kinematic_cst > 0.2:
        raise RangeError(f"{kinematic_cst:g} mm2/s: the blending index needs more than 0.2")
    return 14.534 * log(log(kinematic_cst + 0.8)) + 10.975


def refutas_viscosity(index: float) -> float:
    """Kinematic viscosity of the liquid with this blending index, [mm2/s].

    index: [-], -60 to 60

    The inverse of refutas_index. Raises RangeError outside the range.

    >>> refutas_viscosity(12.4902)
    2.234
    """
    if not -60 <= index <= 60:
        raise RangeError(f"blending index {index:g}: liquids have -60 to 60")
    return exp(exp((index - 10.975) / 14.534)) - 0.8


def refutas_blend(shares: Sequence[float], kinematic_cst: Sequence[float]) -> float:
    """Kinematic viscosity of a blend, [mm2/s].

    shares: by mass, [-], together 1      kinematic_cst: of each part, [mm2/s], above 0.2

    The indices' mean by mass, turned back. Raises RangeError as refutas_index does, and for shares
    that do not make 1.

    >>> refutas_blend((0.6, 0.4), (5, 20))
    8.109
    """
    if not isclose(sum(shares), 1, abs_tol=1e-6) or min(shares) < 0:
        raise RangeError(f"shares of a blend make {sum(shares):g}: together they must make 1")
    indices = map(refutas_index, kinematic_cst)
    return refutas_viscosity(
        sum(share * index for share, index in zip(shares, indices, strict=True))
    )
