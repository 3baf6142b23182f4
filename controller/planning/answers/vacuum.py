"""How deep the bag can be pulled here today, how deep it may be, and what its gauge will do."""

from collections.abc import Iterator

from controller.planning.answers.bag_leak import leak_lines
from controller.planning.answers.bag_room import BagRoom, bag_room
from controller.planning.answers.boiling import boiling_lines, boils_at
from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Section, Told
from controller.planning.bag_plan import POSSIBLE_MARGIN
from controller.planning.sheet import Bag
from controller.quantities import SEA_LEVEL
from controller.science.air import vacuum_from_pressure
from controller.science.constants import INCH_OF_MERCURY
from controller.science.vacuum import pump_down_time
from controller.science.wood import vapour_floor

SET_POINTS = (10.0, 15.0, 20.0, 24.0)
"""Vacuums that are held side by side, [inHg]; common practice, no source: 10 presses a laminate,
15 to 20 is enough, 20 to 22 is asked for in repairs."""
FIRST_STAGE = 10 * INCH_OF_MERCURY
"""Where to stop and look while pulling, [Pa]; common practice, no source."""
COMMON_PUMP = 27 * INCH_OF_MERCURY
"""What many a pump is sold as, a vacuum at sea level, [Pa]; common practice, no source."""
PER_THOUSAND_FEET = INCH_OF_MERCURY / 304.8
"""What a gauge loses with height by the trade's rule, [Pa/m]; common practice, no source: 1 inHg
for 1000 ft."""
_ULTIMATE = "told: the rig's pump.ultimate"
_RATED = "worked: sea level's 101.3 kPa less what it is sold as, taken from today's air"


def section(case: Case) -> Section | None:
    """The vacuum of one coat; None for a coat without a bag."""
    bag = case.coat.bag
    if bag is None:
        return None
    room = bag_room(case)
    return Section(
        f"coat {case.coat.number} vacuum",
        f"Coat {case.coat.number}: the vacuum",
        "How deep can I pull here today, and how deep may I?",
        (
            _possible(case, bag),
            *_rated(case),
            _set(case, bag),
            *boiling_lines(case, bag),
            _pump_down(case, bag, room),
            *leak_lines(case, bag, room),
            *(_card(case, bag, inches) for inches in SET_POINTS),
        ),
    )


def air_source(case: Case) -> str:
    """Where the air's pressure is from."""
    shop = case.description.shop
    if shop.barometer is not None:
        return "told: shop.barometer, carried from the sea to the altitude"
    which = "the rig's shop.altitude" if shop.altitude is None else "shop.altitude"
    return f"[1] US Standard Atmosphere 1976, told: {which}; weather moves it by 3 kPa"


def _possible(case: Case, bag: Bag) -> Line:
    air, moisture = case.air_pressure, max(piece.moisture for piece in case.pieces)
    ultimate = case.settings.pump.ultimate_absolute()
    wood = vapour_floor(moisture, case.description.shop.room)
    figures = {
        "air": Told("pressure_abs", air, air_source(case)),
        "gauge": Told("vacuum", air - bag.possible, "worked: air less what can be had"),
        "possible": Told("pressure_abs", bag.possible, "worked: the higher of pump and wood"),
        "pump": Told("pressure_abs", ultimate, _ULTIMATE),
        "wood": Told(
            "pressure_abs",
            wood,
            "[1] Forest Products Laboratory, Wood Handbook, FPL-GTR-190, 2010, eq. 4-5, with "
            "water's vapour pressure",
        ),
    }
    holds = "the pump" if ultimate >= wood else "the wood's own water"
    told = "" if case.description.shop.barometer is not None else " (a barometer tells better)"
    return Line(
        "vacuum.possible",
        "possible today",
        f"The air here has {{air}}{told}. {{gauge}} is all there is, {{possible}}: {holds} "
        "holds it up. The pump goes to {pump}, the wood gives off {wood}.",
        figures,
    )


def _rated(case: Case) -> Iterator[Line]:
    """What a pump sold by its vacuum at sea level shows here, the trade's rule beside it."""
    air, shop = case.air_pressure, case.description.shop
    altitude = case.settings.shop.altitude if shop.altitude is None else shop.altitude
    figures = {
        "sold": Told("vacuum", COMMON_PUMP, "common practice, no source"),
        "shows": Told("vacuum", max(COMMON_PUMP - (SEA_LEVEL - air), 0.0), _RATED),
    }
    text = "A pump sold as {sold} shows {shows} at the most here today, when nothing is wrong"
    by_rule = COMMON_PUMP - PER_THOUSAND_FEET * altitude
    if abs(by_rule - figures["shows"].value) > INCH_OF_MERCURY / 2:
        figures["rule"] = Told("vacuum", max(by_rule, 0.0), "common practice, no source")
        text += "; the rule of 1 inHg for 1000 ft says {rule}, and knows no weather"
    yield Line("vacuum.rated", "the gauge", text + ".", figures)
    own = case.settings.pump.ultimate
    if own.kind == "vacuum" and abs(own.value - COMMON_PUMP) > INCH_OF_MERCURY / 2:
        yield Line(
            "vacuum.own_pump",
            "your pump",
            "Yours, {sold} at sea level, shows {shows} at the most.",
            {
                "sold": Told("vacuum", own.value, _ULTIMATE),
                "shows": Told("vacuum", max(own.value - (SEA_LEVEL - air), 0.0), _RATED),
            },
        )


def _set(case: Case, bag: Bag) -> Line:
    air = case.air_pressure
    asked = case.description.bag.target or case.settings.bag.target
    whose = "told: bag.target" if case.description.bag.target else "told: the rig's bag.target"
    deeper = asked.value if asked.kind == "vacuum" else air - asked.value
    figures = {
        "target": Told(
            "vacuum", air - bag.target, "worked: the shallowest of asked, pump, boiling"
        ),
        "abs": Told("pressure_abs", bag.target, "worked: the highest of asked, pump and boiling"),
        "restart": Told("vacuum", air - bag.restart, "told: the rig's bag.hold_band"),
    }
    text = "Set {target}, that is {abs}; the pump starts again at {restart}."
    limited = bag.target in (bag.boil_limit, bag.possible + POSSIBLE_MARGIN)
    if limited:
        figures["asked"] = Told("vacuum", deeper, whose)
        why = "it would boil" if bag.target == bag.boil_limit else "there is no more to be had"
        text = f"You asked for {{asked}}, but {why}. {text}"
    figures["first"] = Told("vacuum", FIRST_STAGE, "common practice, no source")
    text += " Pull in stages: {first} for a minute, look, then on."
    return Line("vacuum.set", "set", text, figures)


def _pump_down(case: Case, bag: Bag, room: BagRoom) -> Line:
    pump = case.settings.pump
    if pump.speed is None:
        return Line(
            "vacuum.pump_down",
            "pump-down",
            "How long it takes to get there hangs on the pump's speed. It is on the pump's plate: "
            'write [pump] speed, e.g. "10 L/min", in the rig\'s settings. No plate: time the dry '
            "pull, and keep that time to hold the next ones against.",
        )
    ultimate = pump.ultimate_absolute()
    if bag.target <= ultimate:
        return Line(
            "vacuum.pump_down", "pump-down", "The pump never quite gets there: set less.", care=True
        )
    low, high = (
        pump_down_time(bag.target, max(case.air_pressure, bag.target), ultimate, pump.speed, each)
        for each in (room.least, room.most)
    )
    figures = {
        "quick": Told("duration", low, "own: (V / S) ln, tight bag; " + room.source),
        "slow": Told("duration", high, "own: the same with all the wood's air; " + room.source),
        "speed": Told("speed", pump.speed, "told: the rig's pump.speed"),
    }
    guess = " Its room is a guess." if room.guessed else ""
    return Line(
        "vacuum.pump_down",
        "pump-down",
        "About {quick} to {slow} with {speed}, if the bag is tight; longer where vapour comes off."
        f"{guess} Twice as long means a leak or a tired pump.",
        figures,
    )


def _card(case: Case, bag: Bag, inches: float) -> Line:
    air = case.air_pressure
    vacuum = inches * INCH_OF_MERCURY
    key = f"vacuum.card_{inches:.0f}"
    figures = {"vacuum": Told("vacuum", vacuum, "common practice, no source: a usual set point")}
    deepest = max(bag.possible, case.settings.pump.ultimate_absolute())
    if vacuum >= vacuum_from_pressure(deepest, air):
        figures["most"] = Told(
            "vacuum", max(air - deepest, 0.0), "worked: air less what is possible"
        )
        return Line(
            key,
            "if set at",
            "{vacuum}: out of reach here today, {most} is all there is.",
            figures,
        )
    absolute = air - vacuum
    hold_band = case.settings.bag.hold_band
    figures |= {
        "abs": Told("pressure_abs", absolute, air_source(case)),
        "out": Told("percent", vacuum / air, "worked: vacuum over the air"),
        "restart": Told("vacuum", max(vacuum - hold_band, 0.0), "told: the rig's bag.hold_band"),
    }
    warm, cool = boils_at(case, absolute)
    text = "{vacuum}: {abs}, {out} of the air out, pump again at {restart}; "
    if not warm:
        return Line(key, "if set at", text + "clear of boiling.", figures)
    if not cool:
        return Line(
            key,
            "if set at",
            text + "may boil while the coat is warm, not once it is as cool as the shop.",
            figures,
            care=True,
        )
    return Line(key, "if set at", text + "may boil, warm or cool.", figures, care=True)
