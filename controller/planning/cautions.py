"""Sentences of warning that fit a batch sheet, each for a reason that is in it."""

from collections.abc import Iterator

from controller.planning.bag_plan import POSSIBLE_MARGIN
from controller.planning.catalogue import Catalogue, Thinner
from controller.planning.cautions_wood import of_the_woods, that_bleed
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet, Coat, Mix, Piece
from controller.quantities import People, say
from controller.science.air import dew_point
from controller.science.constants import ZERO_CELSIUS
from controller.settings import Settings
from controller.settings.bounds import degrees

MUCH_THINNER, FAR_TOO_MUCH = 0.10, 0.20
"""Mass shares above which a mix fills less and sets weaker, and is a stain, [-]; common practice,
no source."""
COARSE = 0.025
"""Share of a part that half a step of the scale may be, [-]; own: both parts wrong by it stay
inside 5 % of the ratio, which one maker's data sheet asks for (common practice, no source)."""
BIG_CUP = 0.150
"""Mix that heats itself in a cup, [kg]; own: makers give pot life for 0.1 kg."""
NIGHT_FALL = 5.0
"""How much cooler a shop may get overnight where no forecast is told, [K]; own."""
UNEVEN = 1.25
"""Ratio of thicknesses above which pieces of one heat warm too differently, [-]; own."""
ABOVE_DEW = 3.0
"""Least that a coat should be above the dew point, [K]; common practice, no source."""
DAMP_AIR = 0.70
"""Relative humidity above which amine blush is to be expected, [-]; common practice, no source."""
DRIEST_AIR = 0.20
"""Relative humidity that drier air is taken for, [-]; own: its dew point is of no concern."""
ACETONE_BOILS = ZERO_CELSIUS + 56.0
"""At the sea, [K]; its row in controller/science/solvent_rows.py gives 56.1 C at one atmosphere."""
FLASHES = "acetone"
"""The solvent that leaves a warm face before the brush is back."""


def cautions(
    sheet: BatchSheet, description: Description, settings: Settings, catalogue: Catalogue
) -> tuple[str, ...]:
    """The warnings, the first ones first, none twice; their names are of this catalogue."""
    found = [
        *_resin(sheet, description, catalogue),
        *_shop(sheet, description),
        *of_the_woods(sheet, description, catalogue),
        *(line for coat in sheet.coats for line in _coat(coat, sheet, description, catalogue)),
        *(line for coat in sheet.coats for line in _bag(coat, settings)),
    ]
    return tuple(dict.fromkeys(found))


def _resin(sheet: BatchSheet, description: Description, catalogue: Catalogue) -> Iterator[str]:
    resin = sheet.coats[0].resin
    if resin.gel_is_guess:
        yield "The gel times are a guess from the pot life: watch a witness film."
    if catalogue.resin(description.resin).carrier is not None:
        yield (
            "This sealer comes with its solvent: it counts as thinner. Open and mix it only when "
            "the lamp is unplugged and away."
        )
    if len(sheet.coats) > 1:
        yield "Between coats: solvent out, then wash off the blush, sand until dull, dust off."


def _shop(sheet: BatchSheet, description: Description) -> Iterator[str]:
    """Too cold to set, or damp enough for blush."""
    shop, coldest = description.shop, sheet.coats[0].resin.coldest
    low = shop.room - NIGHT_FALL if shop.night_low is None else min(shop.night_low, shop.room)
    if shop.room < coldest:
        yield (
            f"The shop at {degrees(shop.room)} is colder than this resin sets at, "
            f"{degrees(coldest)}: warm it before you begin, never with the lamp."
        )
    elif low < coldest and shop.night_low is None:
        yield (
            f"Under {degrees(coldest)} this resin stops setting: keep the shop warmer all "
            "night, never with the lamp."
        )
    elif low < coldest:
        yield (
            f"The night comes down to {degrees(low)}; under {degrees(coldest)} this resin stops "
            "setting. Warm the shop, never with the lamp, or wait: hard in the cold is not cured."
        )
    wet = dew_point(shop.room, max(shop.humidity, DRIEST_AIR))
    if (shop.room if shop.night_low is None else low) < wet + ABOVE_DEW:
        yield (
            f"This air wets what is under {degrees(wet)} and the night comes near it: dry the air "
            "or keep the shop warmer, or the coat will blush."
        )
    elif shop.humidity > DAMP_AIR:
        yield (
            f"Air of {say(shop.humidity, 'percent', People())} brings blush: dry it, use no open "
            "flame, and wash the coat before you sand."
        )


def _coat(
    coat: Coat, sheet: BatchSheet, description: Description, catalogue: Catalogue
) -> Iterator[str]:
    mix, which = coat.mix, f"Coat {coat.number}"
    on = [sheet.piece(name) for name in coat.pieces]
    if max(p.thickness for p in on) > UNEVEN * min(p.thickness for p in on):
        yield f"{which}: the thinner pieces are ready sooner and cool sooner; coat them first."
    if mix.thinner_name is not None:
        thinner = catalogue.thinner(mix.thinner_name)
        bleeding = tuple(that_bleed(on, thinner, catalogue))
        yield from (f"{which}: {line}" for line in bleeding)
        yield from (f"{which}: {line}" for line in _thinned(coat, on, thinner, bool(bleeding)))
    yield from (f"{which}: {line}" for line in _weighed(mix, description.bench.scale))
    if mix.total > BIG_CUP:
        yield f"{which}: this much heats itself in a cup; mix it in lots and pour out at once."


def _thinned(coat: Coat, on: list[Piece], thinner: Thinner, bleeds: bool) -> Iterator[str]:
    """What comes with solvent in the mix."""
    mix = coat.mix
    if len({p.wood for p in on}) > 1 and not bleeds:
        yield "solvent carries colour from one wood to the other; a tray for each."
    if mix.thinner > FAR_TOO_MUCH * mix.total:
        yield "over a fifth of thinner is a stain and no filler: warm the resin instead."
    elif mix.thinner > MUCH_THINNER * mix.total:
        yield "over a tenth of thinner is more a stain than a filler, and sets weaker."
    if coat.number > 1 and mix.thinner > 0:
        yield "a later coat wants less thinner or none, and a thin film: warm the resin instead."
    if mix.thinner > 0:
        yield (
            "weigh the thinner into a closed bottle beforehand; open it only when the lamp is "
            f"unplugged and away. {thinner.name.capitalize()}: {thinner.note}"
        )
    if FLASHES in (thinner.solvent, thinner.mixture) or thinner.mixture is not None:
        yield (
            f"acetone boils at {degrees(ACETONE_BOILS)} and flashes off a warm board, with its "
            "thinness: brush small areas quickly, or take a slower thinner."
            if thinner.mixture is None
            else "the quick part of this thinner flashes off a warm board, and its thinness goes "
            "with it: brush small areas quickly."
        )


def _weighed(mix: Mix, scale: float) -> Iterator[str]:
    """A part so small that the scale cannot weigh it."""
    name, least = ("part A", mix.a) if mix.a < mix.b else ("part B", mix.b)
    if scale / 2 <= COARSE * least:
        if not 0 < mix.thinner < scale:
            return
        name, least = "the thinner", mix.thinner
    out = say(scale / 2 / least, "percent", People())
    yield (
        f"{name} is {say(least, 'mass', People())}, and half a step of your scale is {out} of it. "
        "Use a finer scale or mix more."
    )


def _bag(coat: Coat, settings: Settings) -> Iterator[str]:
    if coat.bag is None:
        return
    bag, which = coat.bag, f"Coat {coat.number}"
    if bag.target in (bag.boil_limit, bag.possible + POSSIBLE_MARGIN):
        why = (
            "the thinner or the wood's water would boil"
            if bag.target == bag.boil_limit
            else (
                "the pump here cannot pull deeper"
                if bag.possible <= settings.pump.ultimate_absolute()
                else "the wood's own water vapour holds it up"
            )
        )
        yield (
            f"{which}: the bag is held at {bag.target / 1e3:.1f} kPa abs, less vacuum "
            f"than asked, because {why}."
        )
    if coat.mix.thinner + coat.mix.carried > 0:
        yield (
            f"{which}: let the solvent go for 10 to 30 min before the film goes on: solid film "
            "traps it for weeks. Lead the pump's exhaust outdoors."
        )
