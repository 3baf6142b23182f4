"""The orders of work a board can be filled by, as the moments that filling.py plays."""

from dataclasses import dataclass
from enum import StrEnum

from controller.errors import RangeError
from controller.science.filling import (
    Cooling,
    Fill,
    Moment,
    Pore,
    Resin,
    fill_story,
)


class Order(StrEnum):
    """What is done first and what presses when."""

    COAT_NO_BAG = "coat, no bag"
    """Coat the cooling board and leave it in the open."""
    COAT_THEN_HOLD = "coat, then hold"
    """Coat the cooling board, bag it, and hold the vacuum through the gel."""
    COAT_THEN_LET_UP = "coat, then let up"
    """Coat the cooling board, bag it, and let the bag up after the hold."""
    VACUUM_FIRST = "vacuum first"
    """Empty the dry pores, let the resin in under vacuum, then let up, as stabilisers do."""


@dataclass(frozen=True, slots=True)
class Night:
    """Pressures and times that every order shares, so that they can be held side by side."""

    air_pressure: float
    """Outside, [Pa]"""
    bag_pressure: float
    """Absolute, in the hold, [Pa]"""
    liquid_share: float
    """Of the film's load that the liquid bears, [-], 0 to 1; see pressure_on_liquid"""
    open_time: float
    """From coat to pump, and under vacuum from resin to let-up, [s]"""
    ramp: float
    """Of a pump-down or a let-up, [s]"""
    hold: float
    """At the bag's pressure, [s]"""
    rest: float
    """After the hold until nobody looks any more, [s]"""


def pressure_on_liquid(around: float, air_pressure: float, liquid_share: float) -> float:
    """Absolute pressure on a coat under a bag's film, [Pa].

    around: in the bag, [Pa]      air_pressure: outside it, [Pa]
    liquid_share: of the film's load that the liquid bears, not breather and wood, [-], 0 to 1

    p_bag + share (p_air - p_bag) (own, the load shared as in a pressed laminate; no measured share
    was found, and a breather that touches the wood leaves the liquid little: 0 errs to less
    fill). Raises RangeError for a share outside 0 to 1 and a bag not from above 0 to the air's.

    >>> pressure_on_liquid(around=10e3, air_pressure=100e3, liquid_share=0.2)
    28000.0
    """
    if not 0 <= liquid_share <= 1:
        raise RangeError(f"liquid share {liquid_share:g} of the film's load: a share, 0 to 1")
    if not 0 < around <= air_pressure:
        raise RangeError(
            f"bag at {around:.0f} Pa in air of {air_pressure:.0f} Pa: absolute pressure, "
            "above 0 and not above the air's"
        )
    return around + liquid_share * (air_pressure - around)


def moments_of(order: Order, night: Night) -> tuple[Moment, ...]:
    """The moments of an order of work; in all of them the face is wet equally long.

    order: of the work      night: its pressures and times

    A let-up takes the film's load away with the vacuum. VACUUM_FIRST lies under resin without
    a film, so none of its load counts. All of it own. Raises RangeError as pressure_on_liquid does.

    >>> night = Night(101e3, 10e3, 0.0, open_time=300, ramp=60, hold=1800, rest=7200)
    >>> [moment.around for moment in moments_of(Order.COAT_THEN_LET_UP, night)]
    [101000.0, 10000.0, 10000.0, 101000.0, 101000.0]
    """
    air, bag = night.air_pressure, night.bag_pressure
    load = pressure_on_liquid(bag, air, night.liquid_share)
    coat = Moment(night.open_time, air, air, True)
    down = Moment(night.ramp, bag, load, True)
    held = Moment(night.hold, bag, load, True)
    up = Moment(night.ramp, air, air, True)
    rest = Moment(night.rest, air, air, True)
    match order:
        case Order.COAT_NO_BAG:
            whole = night.open_time + night.ramp + night.hold + night.ramp + night.rest
            return (Moment(whole, air, air, True),)
        case Order.COAT_THEN_HOLD:
            return (coat, down, held, Moment(night.ramp + night.rest, bag, load, True))
        case Order.COAT_THEN_LET_UP:
            return (coat, down, held, up, rest)
        case Order.VACUUM_FIRST:
            emptied = Moment(night.ramp + night.hold, bag, bag, False)
            longer = Moment(night.ramp + night.hold + night.rest, air, air, True)
            return (emptied, Moment(night.open_time, bag, bag, True), up, longer)


def fill_by_order(order: Order, night: Night, pore: Pore, resin: Resin, cooling: Cooling) -> Fill:
    """How full a pore gets by an order of work.

    order, night: of the work      pore, resin, cooling: what is worked on

    fill_story of moments_of; holds, errs and raises as these two do.

    >>> night = Night(101e3, 10e3, 0.0, open_time=300, ramp=60, hold=1800, rest=30_000)
    >>> pore = Pore(depth=0.002, porosity=0.5, permeability=1e-13, capillary=1e3, leak_time=9e9)
    >>> thin = Resin(viscosity=0.2, thickening_time=3600, gel=4 * 3600, supply=1.0)
    >>> warm = Cooling(hot=323.15, cold=293.15, time_constant=1800)
    >>> for order in Order:
    ...     print(f"{order:<17} {fill_by_order(order, night, pore, thin, warm).share_filled:.2f}")
    coat, no bag      0.10
    coat, then hold   0.08
    coat, then let up 0.90
    vacuum first      0.91
    """
    return fill_story(pore, resin, cooling, moments_of(order, night))
