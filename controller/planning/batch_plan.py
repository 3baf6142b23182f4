"""From what a person asks for to the batch sheet: masses, times, limits, cautions, sources."""

from dataclasses import replace

from controller.errors import InputError
from controller.planning import catalogue
from controller.planning.bag_plan import boil_limit, plan_bag
from controller.planning.catalogue import ResinClass
from controller.planning.cautions import cautions
from controller.planning.description import CoatLines, Description, PieceLines
from controller.planning.heat_course import HeatTask
from controller.planning.heat_plan import FACE_LOSS, LINED_BACK, OPEN_BACK, plan_heat
from controller.planning.sheet import (
    Bag,
    BatchSheet,
    Board,
    Coat,
    FlashOff,
    Heat,
    Mix,
    Piece,
    Resin,
)
from controller.planning.sources import sources
from controller.science import wood
from controller.science.air import standard_pressure
from controller.science.constants import ZERO_CELSIUS
from controller.settings import BAND_TOP_LIMIT, TRIP_LIMIT, Settings
from controller.settings.bounds import degrees

HOUR, DAY = 3600.0, 86400.0
FLASH_OFF = (
    (0.0, 0.0, 0.0),
    (0.05, 12 * HOUR, 24 * HOUR),
    (0.10, 2 * DAY, 3 * DAY),
    (1.0, 3 * DAY, 5 * DAY),
)
"""(solvent up to this mass share, early end [s], late end [s]) at FLASH_REFERENCE; overnight and
days: common practice, no source; the shares that part them: own."""
FLASH_REFERENCE = ZERO_CELSIUS + 20.0
"""Temperature those times hold at, [K]; own."""
FLASH_ENERGY = 40e3
"""Activation energy of the solvent's leaving, [J/mol]; own: near the solvents' heat of evaporation,
30 to 45 kJ/mol, from memory, to be checked."""


def plan(description: Description, settings: Settings) -> BatchSheet:
    """The batch sheet of this description on this rig.

    Raises InputError where the two do not go together: a band or window past the rig's limits, a
    shop too warm to cool through the window, a bag that could hardly pull.
    """
    pieces = tuple(_piece(line) for line in description.pieces)
    heats: dict[HeatTask, Heat] = {}
    coats = []
    for number, lines in enumerate(description.coats, 1):
        on = [piece for piece in pieces if piece.name in lines.pieces]
        thickest = max(on, key=lambda piece: piece.thickness)
        task = _heat_task(description, settings, thickest)
        if task not in heats:
            heats[task] = plan_heat(task)
        resin, mix = catalogue.resin(description.resin), _mix(description, lines, on)
        coats.append(
            Coat(
                number=number,
                face=lines.face,
                pieces=tuple(piece.name for piece in on),
                board=task.board,
                probe_on=thickest.name,
                mix=mix,
                heat=heats[task],
                bag=_bag(description, settings, on, mix, heats[task]) if lines.bagged else None,
                resin=_resin(resin),
                flash_off=_flash_off((mix.thinner + mix.carried) / mix.total),
            )
        )
    sheet = BatchSheet(
        name=description.name,
        shop=settings.shop.name,
        pieces=pieces,
        coats=tuple(coats),
        cautions=(),
        sources={},
    )
    return replace(
        sheet,
        cautions=cautions(sheet, description, settings),
        sources=sources(sheet, description),
    )


def _piece(line: PieceLines) -> Piece:
    return Piece(
        name=line.name,
        wood=line.wood,
        length=line.length,
        width=line.width,
        thickness=line.thickness,
        moisture=line.moisture,
        ends_sealed=line.ends == "sealed",
        back_sealed=line.back == "sealed",
    )


def board_of(piece: Piece, back_loss: float, temperature: float) -> Board:
    """The piece as heat sees it; back_loss in [W/m2 K], temperature [K] it is reckoned at."""
    row = catalogue.wood(piece.wood)
    gravity = wood.specific_gravity_at(row.basic_gravity, row.shrinkage, piece.moisture)
    return Board(
        thickness=piece.thickness,
        conductivity=wood.conductivity(gravity, piece.moisture),
        density=wood.density(gravity, piece.moisture),
        heat_capacity=wood.heat_capacity(piece.moisture, temperature),
        porosity=wood.porosity(gravity, piece.moisture),
        moisture=piece.moisture,
        face_loss=FACE_LOSS,
        back_loss=back_loss,
    )


def _heat_task(description: Description, settings: Settings, thickest: Piece) -> HeatTask:
    asked, rig = description.heat, settings.heat
    limit = min(rig.band_top_limit, BAND_TOP_LIMIT)
    for key in ("band_top", "coat_low", "coat_high"):
        value = getattr(asked, key)
        if value is not None and value > limit:
            raise InputError(f"heat {key}: {degrees(value)}; this rig's limit is {degrees(limit)}")
    low = rig.coat_low if asked.coat_low is None else asked.coat_low
    high = rig.coat_high if asked.coat_high is None else asked.coat_high
    back = LINED_BACK if asked.back == "lined" else OPEN_BACK
    return HeatTask(
        board=board_of(thickest, back, (description.room + high) / 2),
        flux=settings.lamp.absorbed,
        room=description.room,
        window_low=low,
        window_high=high,
        band_top=limit if asked.band_top is None else asked.band_top,
        handling=rig.handling_time if asked.handling_time is None else asked.handling_time,
        trip=min(rig.trip, TRIP_LIMIT),
    )


def _mix(description: Description, lines: CoatLines, on: list[Piece]) -> Mix:
    """What is weighed: the thinner is a share of the whole mix by mass, as it is weighed in."""
    row = catalogue.resin(description.resin)
    coat = lines.weight * sum(piece.area for piece in on)
    total = coat * (1 + description.waste)
    thinner = lines.thinner_share * total
    resin = total - thinner
    return Mix(
        a=resin * row.share_of_a,
        b=resin * (1 - row.share_of_a),
        thinner_name=row.carrier if lines.thinner == "none" else lines.thinner,
        thinner=thinner,
        coat=coat,
        carried=resin * row.carrier_share,
    )


def _bag(
    description: Description, settings: Settings, on: list[Piece], mix: Mix, heat: Heat
) -> Bag:
    moisture = max(piece.moisture for piece in on)
    density = catalogue.resin(description.resin).resin_density
    asked = description.bag.target
    return plan_bag(
        asked=settings.bag.target if asked is None else asked,
        hold_band=settings.bag.hold_band,
        ultimate=settings.pump.ultimate_absolute(),
        air_pressure=standard_pressure(settings.shop.altitude),
        moisture=moisture,
        room=description.room,
        # the coat is at the window's top at most; cooler by the time the bag is closed
        boils=boil_limit(mix, density, moisture, heat.window_high),
        let_up=all(piece.ends_sealed and piece.back_sealed for piece in on),
    )


def _resin(row: ResinClass) -> Resin:
    return Resin(
        name=row.name,
        reference=row.reference,
        activation_energy=row.activation_energy,
        pot_life=row.pot_life,
        gel_early=row.gel_early,
        gel_late=row.gel_late,
        gel_is_guess=row.gel_is_guess,
        open_early=row.open_early,
        open_late=row.open_late,
        coldest=row.coldest,
    )


def _flash_off(solvent_share: float) -> FlashOff:
    _, early, late = next(row for row in FLASH_OFF if solvent_share <= row[0])
    return FlashOff(
        early=early, late=late, reference=FLASH_REFERENCE, activation_energy=FLASH_ENERGY
    )
