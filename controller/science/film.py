"""Thinner leaving a film that lies on a sealed face: how much is left, and when it is gone."""

from math import exp, log, pi, sqrt

from controller.errors import RangeError

_SHORT = 0.05
"""D t / l^2 up to which a film counts as endlessly deep, [-]; own: at this value the next term of
eq. 4.20 is below 1e-10."""
_TERMS = 8
"""Terms of eq. 4.18 that are added up, [-]; own: from _SHORT on the ninth is below 1e-14."""


def share_left(diffusivity: float, thickness: float, seconds: float) -> float:
    """Share of the thinner that is still in the film, [-].

    diffusivity: of the thinner in the film, [m2/s]      thickness: of the film, [m]
    seconds: since it lay open

    One face open, the other sealed: (8 / pi^2) sum exp(-(2n + 1)^2 pi^2 D t / 4 l^2) / (2n + 1)^2,
    [1] eq. 4.18; early on 1 - 2 sqrt(D t / pi l^2), eq. 4.20. For one steady diffusivity and air
    that carries all away. Curing resin lets thinner through 10 to 1000 times more slowly once it
    turns to glass, so this errs to too soon. Raises RangeError for a diffusivity or thickness that
    is not above zero, or a negative time.

    [1] J. Crank, The Mathematics of Diffusion, 2nd ed. 1975; equations from memory, to be checked.

    >>> share_left(1e-12, thickness=0.3e-3, seconds=17_703)
    0.500
    """
    _check(diffusivity, thickness)
    if not seconds >= 0:
        raise RangeError(f"film open for {seconds:g} s: time only grows")
    return _left(diffusivity * seconds / thickness**2)


def time_to_share(diffusivity: float, thickness: float, share: float) -> float:
    """Time in which the thinner in the film falls to this share, [s].

    diffusivity: [m2/s]      thickness: [m]      share: still left, [-], above 0 to 1

    The inverse of share_left, found by halving where it has no closed form. Errs to too soon, as
    it does. Raises RangeError outside the ranges.

    >>> time_to_share(1e-12, thickness=1e-3, share=0.05) / 3600
    313.6
    """
    _check(diffusivity, thickness)
    return _depths_for(share) * thickness**2 / diffusivity


def half_time(diffusivity: float, thickness: float) -> float:
    """Time in which half the thinner leaves the film, [s].

    diffusivity: [m2/s]      thickness: [m]

    0.1967 l^2 / D, from eq. 4.18 of share_left's source. Four times as long for a film twice as
    thick. Raises RangeError unless both are above zero.

    >>> half_time(1e-12, thickness=0.3e-3) / 3600
    4.918
    """
    return time_to_share(diffusivity, thickness, 0.5)


def diffusivity_from(share: float, thickness: float, seconds: float) -> float:
    """Diffusivity that leaves this share of the thinner after this time, [m2/s].

    share: still left, [-], above 0 and below 1      thickness: [m]      seconds: since it lay open

    share_left turned round (own), so that weigh-ins can stand for a figure nobody prints: of one
    thinner in one resin it is known to an order of magnitude at best. Raises RangeError outside
    the ranges.

    >>> 1e12 * diffusivity_from(share=0.5, thickness=0.3e-3, seconds=17_706)
    1.000
    """
    if not (0 < share < 1 and thickness > 0 and seconds > 0):
        raise RangeError(
            f"{share:g} left of {thickness:g} m after {seconds:g} s: a share between 0 and 1, "
            "thickness and time above 0"
        )
    return _depths_for(share) * thickness**2 / seconds


def _left(depths: float) -> float:
    if depths < _SHORT:
        return 1 - 2 * sqrt(depths / pi)
    odd = range(1, 2 * _TERMS, 2)
    return 8 / pi**2 * sum(exp(-((k * pi / 2) ** 2) * depths) / k**2 for k in odd)


def _depths_for(share: float) -> float:
    if not 0 < share <= 1:
        raise RangeError(f"{share:g} of the thinner left: a share above 0, at most 1; never none")
    if share >= _left(_SHORT):
        return pi / 4 * (1 - share) ** 2
    # the first term by itself is at most 5 % short of the sum, less than _SHORT in D t / l^2
    low, high = _SHORT, 4 / pi**2 * log(8 / (pi**2 * share)) + _SHORT
    while high - low > 1e-12 * high:
        middle = (low + high) / 2
        if _left(middle) > share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _check(diffusivity: float, thickness: float) -> None:
    if not (diffusivity > 0 and thickness > 0):
        raise RangeError(
            f"film of {thickness:g} m, thinner at {diffusivity:g} m2/s: both must be above 0"
        )
