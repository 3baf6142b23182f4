"""How much air the coat's solvent takes: to stay clear of fire, and to be breathed."""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Section, Told
from controller.science.fresh_air import (
    air_changes,
    air_to_exposure_limit,
    air_to_quarter_limit,
    all_vapour,
)
from controller.science.solvent_mixture import LIQUIDS, Liquid, coldest_flash_point, parts_of

HOUR = 3600.0
"""In which all of it is taken to evaporate, [s]; own: a thin coat on a warm board loses most of its
solvent before the film goes on, so the first hour is the one to air for."""
MIXING = 3.0
"""How many times more air a real room takes than a stirred one, [-]; own: 1 is perfect and 10 a
dead corner."""


def liquid_of(case: Case) -> Liquid | None:
    """The solvent or mixture that is weighed in or comes with the resin; None for none."""
    row = case.thinner
    name = None if row is None else row.solvent or row.mixture
    return None if name is None else LIQUIDS[name]


def section(case: Case) -> Section | None:
    """The fresh air that the whole coat's solvent takes; None for a mix without any."""
    liquid, mix = liquid_of(case), case.coat.mix
    mass = mix.thinner + mix.carried
    if liquid is None or mass <= 0:
        return None
    return Section(
        f"coat {case.coat.number} fresh_air",
        f"Coat {case.coat.number}: fresh air",
        "How much must I air, and is it safe to breathe?",
        tuple(_lines(case, liquid, mass)),
    )


def _lines(case: Case, liquid: Liquid, mass: float) -> Iterator[Line]:
    parts = [part for part, _ in parts_of(liquid)]
    of_the_row = f"row {liquid.name}: {liquid.source}"
    solvent = {
        "mass": Told("mass", mass, "worked: thinner weighed in and solvent of the resin"),
        "vapour": Told("air", all_vapour(liquid, mass), "own: ideal gas at 20 °C; " + of_the_row),
    }
    yield Line(
        "fresh_air.solvent",
        "in the mix",
        f"{{mass}} of {liquid.name}, waste and all: {{vapour}} of vapour once it is dry.",
        solvent,
    )
    if any(part.lower_flammable_limit is not None for part in parts):
        fire = air_to_quarter_limit(liquid, mass)
        yield Line(
            "fresh_air.fire",
            "against fire",
            "{air} of air thin it to a quarter of what burns. The vapour is heavier than air and "
            "lies in low places: no flame, no heater, no switch beside the wet board.",
            {
                "air": Told(
                    "air",
                    fire,
                    "[1] US OSHA, 29 CFR 1910.94(c)(6)(ii), from memory, to be checked; "
                    + of_the_row,
                )
            },
        )
    if all(part.exposure_limit is not None for part in parts):
        yield from _breathing(case, liquid, mass, of_the_row)
    yield Line(
        "fresh_air.mask",
        "your lungs",
        "Where the air cannot be had, coat outdoors. Which respirator and how much air is asked "
        "for is your local code's to say, and the tin's safety sheet names the cartridge.",
        care=True,
    )
    yield _lamp(liquid)
    if case.coat.bag is not None:
        yield Line(
            "fresh_air.exhaust",
            "pump",
            "Lead the pump's exhaust outdoors: what the bag draws off comes out there. No pump in "
            "a cupboard.",
            care=True,
        )


def _breathing(case: Case, liquid: Liquid, mass: float, of_the_row: str) -> Iterator[Line]:
    air = air_to_exposure_limit(liquid, mass)
    limits = (
        "[1] US OSHA, 29 CFR 1910.1000, limit for an 8 h day, from memory, to be checked; "
        + of_the_row
    )
    fire = air_to_quarter_limit(liquid, mass)
    figures = {
        "air": Told("air", air, limits),
        "times": Told("factor", air / fire, "worked: this air over the air against fire"),
    }
    yield Line(
        "fresh_air.breathing",
        "to breathe",
        "{air} of air thin it to what may be breathed for a working day: {times} times the air "
        "against fire, so this is the one to plan by.",
        figures,
    )
    room = case.description.shop.volume
    flow = MIXING * air / HOUR
    steady = Told("speed", flow, "own: all of it in the first hour, 3 times for poor mixing")
    if room is None:
        yield Line(
            "fresh_air.changes",
            "airing",
            "Bring in {flow} over the first hour. Say shop.volume to have it in air changes.",
            {"flow": steady},
        )
        return
    changes = air_changes(MIXING * air, room)
    told = {
        "room": Told("air", room, "told: shop.volume"),
        "changes": Told("factor", changes, "own: 3 times for poor mixing, over shop.volume"),
    }
    if changes < 1:
        yield Line(
            "fresh_air.changes",
            "airing",
            "Your shop of {room} holds enough air for it ({changes} of an air change). Stir it "
            "with a fan that stands away from the board, and keep your face out of the cup.",
            told,
        )
        return
    yield Line(
        "fresh_air.changes",
        "airing",
        "{changes} air changes of your {room} in the first hour, a steady {flow}: doors or windows "
        "open on two sides. A closed shop is not enough.",
        told | {"flow": steady},
        care=True,
    )


def _lamp(liquid: Liquid) -> Line:
    flash = coldest_flash_point(liquid)
    text = "Unplug the lamp and take it away before the bottle is opened, until the solvent is out."
    if flash is None:
        return Line("fresh_air.lamp", "lamp", text, care=True)
    return Line(
        "fresh_air.lamp",
        "lamp",
        text
        + " {name} gives off a vapour that lights from {flash} on.".replace(
            "{name}", liquid.name.capitalize()
        ),
        {"flash": Told("temperature", flash, f"row {liquid.name}: {liquid.source}")},
        care=True,
    )
