"""How the bag's gauge rises when the pump is shut: what is a leak, what is the wood."""

from collections.abc import Iterator

from controller.planning.answers.bag_room import BagRoom, air_of_the_wood
from controller.planning.answers.boiling import limit_at
from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Told
from controller.planning.sheet import Bag
from controller.science.constants import INCH_OF_MERCURY
from controller.science.leak import hole_diameter
from controller.science.vacuum import flow_as_standard_ml_per_min, leak_flow

DISCHARGE = 0.6
"""Of a sharp-edged hole, [-]; common practice, no source."""
ARMY = INCH_OF_MERCURY / 60
"""Rise a repair bag may have where nothing else is said, [Pa/s]: 1 inHg in a minute; [1] US Army,
TM 1-1500-204-23-11; page to be checked."""
_ML = 1e-6 / 60
"""A millilitre a minute, [m3/s]; by definition."""


def leak_lines(case: Case, bag: Bag, room: BagRoom) -> Iterator[Line]:
    """What rise counts as a leak, as a hole, and what the wood's share looks like."""
    yield _limit(bag)
    yield _hole(case, bag, room)
    yield _wood(case, bag)
    yield _finite(case, bag, room)


def _limit(bag: Bag) -> Line:
    return Line(
        "vacuum.leak",
        "leak-down",
        "Shut the pump off for 5 min: with {limit} or more it leaks. While it runs, the gauge "
        "cannot see a small hole. An army manual for repairs lets {army} pass where "
        "nothing else is said; this bag holds all night, so it is asked for more.",
        {
            "limit": Told("pressure_rate", bag.leak_limit, "common practice, no source"),
            "army": Told(
                "pressure_rate", ARMY, "[1] US Army, TM 1-1500-204-23-11; page to be checked"
            ),
        },
    )


def _hole(case: Case, bag: Bag, room: BagRoom) -> Line:
    if room.guessed:
        return Line(
            "vacuum.hole",
            "as a hole",
            "The same rise is a small hole in a small bag and a large one in a large bag. Measure "
            "the bag's room by letting in a known dose of air, write bag.volume, and it is told in "
            "mL/min here.",
        )
    shop = case.description.shop.room
    flow = leak_flow(room.bag, bag.leak_limit)
    standard = flow_as_standard_ml_per_min(flow, shop)
    diameter = hole_diameter(flow, case.air_pressure, bag.target, shop, DISCHARGE)
    return Line(
        "vacuum.hole",
        "as a hole",
        "In {volume} that is {flow} of air, one sharp hole of {hole}: hardly to be seen, so listen "
        "along the tape, corners and pleats first.",
        {
            "volume": Told("volume", room.bag, room.source),
            "flow": Told("flow", standard * _ML, "worked: volume times rise, at 20 °C"),
            "hole": Told(
                "length",
                diameter,
                "[1] isentropic flow, sharp hole, discharge 0.6; from memory, to be checked",
            ),
        },
    )


def _wood(case: Case, bag: Bag) -> Line:
    vapour = limit_at(case, case.description.shop.room)
    ends_at = vapour.thinner + vapour.water
    figures = {
        "ends": Told("pressure_abs", ends_at, "own: vapour of thinner and wood at shop.room"),
    }
    text = (
        "The wood's share fades by itself: fast at first, then ever slower. A hole goes on in a "
        "straight line. Do not re-tape in the first hour for a rise that fades; hold it against "
        "the dry pull."
    )
    if ends_at > bag.target:
        text += " Vapour alone can carry the bag up to {ends}, with no leak at all."
        return Line("vacuum.fading", "leak or wood", text, figures)
    return Line("vacuum.fading", "leak or wood", text)


def _finite(case: Case, bag: Bag, room: BagRoom) -> Line:
    return Line(
        "vacuum.finite",
        "wood's air",
        "All the air in the wood down to the set vacuum is {air}. What the pump has moved beyond "
        "that and the bag's own came from outside.",
        {
            "air": Told(
                "air",
                air_of_the_wood(case, room, bag.target),
                "worked: pores of the pieces, Boyle's law, as air at 20 °C and one atmosphere",
            )
        },
    )
