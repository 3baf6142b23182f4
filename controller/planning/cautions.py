"""Sentences of warning that fit a batch sheet, each for a reason that is in it."""

from collections.abc import Iterator

from controller.planning import catalogue
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet, Coat
from controller.quantities import People, say
from controller.science.air import standard_pressure
from controller.settings import Settings
from controller.settings.bounds import degrees

MUCH_THINNER = 0.10
"""Mass share above which a mix fills less and sets weaker, [-]; common practice, no source."""
DAMP = 0.12
"""Moisture above which little goes into the pores, [-]; own: indoor wood has 0.06 to 0.10."""
SMALL_PART = 0.020
"""Mass of a part that a 1 g scale weighs too coarsely, [kg]; own: 0.5 g of it is 2.5 %."""
BIG_CUP = 0.150
"""Mix that heats itself in a cup, [kg]; own: makers give pot life for 0.1 kg."""
NIGHT_FALL = 5.0
"""How much cooler a shop may get overnight, [K]; own."""
UNEVEN = 1.25
"""Ratio of thicknesses above which pieces of one heat warm too differently, [-]; own."""


def cautions(sheet: BatchSheet, description: Description, settings: Settings) -> tuple[str, ...]:
    """The warnings, the first ones first, none twice."""
    found = [
        *_resin(sheet, description),
        *_wood(sheet),
        *(line for coat in sheet.coats for line in _coat(coat, sheet)),
        *(line for coat in sheet.coats for line in _bag(coat, description, settings)),
    ]
    return tuple(dict.fromkeys(found))


def _resin(sheet: BatchSheet, description: Description) -> Iterator[str]:
    resin = sheet.coats[0].resin
    yield "The data sheet of your resin outranks every time and ratio here."
    if resin.gel_is_guess:
        yield "The gel times are a guess from the pot life: watch a witness film."
    if catalogue.resin(resin.name).carrier is not None:
        yield (
            "This sealer comes with its solvent: it counts as thinner. Open and mix it only when "
            "the lamp is unplugged and away."
        )
    if description.room - NIGHT_FALL < resin.coldest:
        yield (
            f"Under {degrees(resin.coldest)} this resin stops setting: keep the shop warmer all "
            "night, never with the lamp."
        )
    if len(sheet.coats) > 1:
        yield "Between coats: solvent out, then wash off the blush, sand until dull, dust off."


def _wood(sheet: BatchSheet) -> Iterator[str]:
    for name in dict.fromkeys(piece.wood for piece in sheet.pieces):
        yield f"{name.capitalize()}: {catalogue.wood(name).note}"
    for piece in sheet.pieces:
        if piece.moisture > DAMP:
            yield (
                f"{piece.name} is damp at {say(piece.moisture, 'percent', People())}: resin does "
                "not go into wet pores. Dry it first."
            )
    if any(not piece.ends_sealed for piece in sheet.pieces):
        yield "Bare ends let air in where resin should go: coat or tape the end grain first."


def _coat(coat: Coat, sheet: BatchSheet) -> Iterator[str]:
    mix, which = coat.mix, f"Coat {coat.number}"
    on = [sheet.piece(name) for name in coat.pieces]
    if max(p.thickness for p in on) > UNEVEN * min(p.thickness for p in on):
        yield f"{which}: the thinner pieces are ready sooner and cool sooner; coat them first."
    if len({p.wood for p in on}) > 1 and mix.thinner + mix.carried > 0:
        yield f"{which}: solvent carries colour from one wood to the other; a tray for each."
    if mix.thinner > MUCH_THINNER * mix.total:
        yield f"{which}: over a tenth of thinner is more a stain than a filler, and sets weaker."
    if mix.thinner > 0:
        yield (
            f"{which}: weigh the thinner into a closed bottle beforehand; open it only when the "
            "lamp is unplugged and away. "
            f"{mix.thinner_name.capitalize() if mix.thinner_name else ''}: "
            f"{catalogue.thinner(mix.thinner_name or 'none').note}"
        )
    if min(mix.a, mix.b) < SMALL_PART:
        yield f"{which}: so little is weighed that it takes a scale of 0.1 g."
    if mix.total > BIG_CUP:
        yield f"{which}: this much heats itself in a cup; mix it in lots and pour out at once."


def _bag(coat: Coat, description: Description, settings: Settings) -> Iterator[str]:
    if coat.bag is None:
        return
    bag, air = coat.bag, standard_pressure(settings.shop.altitude)
    asked = settings.bag.target if description.bag.target is None else description.bag.target
    wanted = asked.value if asked.kind == "abs" else air - asked.value
    if bag.target > wanted:
        why = (
            "the thinner or the wood's water would boil"
            if bag.target <= bag.boil_limit
            else ("the pump here cannot pull deeper")
        )
        yield (
            f"Coat {coat.number}: the bag is held at {bag.target / 1e3:.1f} kPa abs, less vacuum "
            f"than asked, because {why}."
        )
    if coat.mix.thinner + coat.mix.carried > 0:
        yield (
            f"Coat {coat.number}: let the solvent go for 10 to 30 min before the film goes on, and "
            "lead the pump's exhaust outdoors."
        )
