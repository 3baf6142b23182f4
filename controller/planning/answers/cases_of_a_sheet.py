"""From a sheet and its description to a case for each coat."""

from controller.planning.answers.case import Case
from controller.planning.answers.shop_night import ShopNight
from controller.planning.batch_plan import air_pressure
from controller.planning.catalogue import Catalogue
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet
from controller.settings import Settings

USUAL_START = 16.0
"""Hour of the day that is reckoned with where none is told, [h]; own: so that the shop cools while
the coat is wet, and gel comes before bedtime."""


def cases(
    description: Description, settings: Settings, sheet: BatchSheet, catalogue: Catalogue
) -> tuple[Case, ...]:
    """Everything that is known of each coat of a sheet, in the order of the coats."""
    shop, resin = description.shop, description.resin_in(catalogue)
    night = ShopNight(
        room=shop.room,
        low=shop.room if shop.night_low is None else min(shop.night_low, shop.room),
        starts_at=start_hour(description),
    )
    return tuple(
        Case(
            description=description,
            settings=settings,
            catalogue=catalogue,
            sheet=sheet,
            coat=coat,
            pieces=tuple(sheet.piece(name) for name in coat.pieces),
            resin=resin,
            thinner=None
            if coat.mix.thinner_name is None
            else catalogue.thinner(coat.mix.thinner_name),
            air_pressure=air_pressure(description, settings),
            night=night,
        )
        for coat in sheet.coats
    )


def start_hour(description: Description) -> float:
    """Hour of the day the lamp is lit at, [h], 0 to below 24."""
    start = description.times.start
    return USUAL_START if start is None else start.hour + start.minute / 60
