"""From what a person asks for to the batch sheet: masses, times, limits, cautions, sources."""

from dataclasses import replace

from controller.errors import InputError
from controller.planning.bag_plan import boil_limit, plan_bag
from controller.planning.catalogue import Catalogue, ResinClass, built_in
from controller.planning.cautions import cautions
from controller.planning.description import Description
from controller.planning.description_lines import CoatLines, PieceLines
from controller.planning.heat_course import HeatTask
from controller.planning.heat_plan import FACE_LOSS, LINED_BACK, OPEN_BACK, plan_heat
from controller.planning.lamp_flux import flux_at
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
from controller.science.air import standard_pressure, station_pressure
from controller.science.constants import ZERO_CELSIUS
from controller.settings import BAND_TOP_LIMIT, TRIP_LIMIT, Settings
from controller.settings.bounds import degrees

HOUR, DAY = 3600.0, 86400.0
WATER = 1000.0
"""Density that specific gravity counts in, [kg/m3]; by definition."""
LIGHTEST, HEAVIEST = 0.2, 1.2
"""Specific gravity of a board that can be wood, [-]; own: balsa is lighter, lignum vitae heavier,
and neither is filled."""
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


def plan(
    description: Description, settings: Settings, catalogue: Catalogue | None = None
) -> BatchSheet:
    """The batch sheet of this description on this rig, its names from `catalogue`, built in or own.

    Raises InputError where the two do not go together: a band or window past the rig's limits, a
    shop too warm to cool through the window, a bag that could hardly pull.
    """
    catalogue = catalogue or built_in()
    resin = description.resin_in(catalogue)
    air = air_pressure(description, settings)
    pieces = tuple(_piece(line) for line in description.pieces)
    heats: dict[HeatTask, Heat] = {}
    coats = []
    for number, lines in enumerate(description.coats, 1):
        on = [piece for piece in pieces if piece.name in lines.pieces]
        thickest = max(on, key=lambda piece: piece.thickness)
        task = _heat_task(description, settings, catalogue, thickest)
        if task not in heats:
            heats[task] = plan_heat(task)
        mix = _mix(description, resin, lines, on)
        coats.append(
            Coat(
                number=number,
                face=lines.face,
                pieces=tuple(piece.name for piece in on),
                board=task.board,
                probe_on=thickest.name,
                mix=mix,
                heat=heats[task],
                bag=_bag(description, settings, catalogue, resin, on, mix, heats[task], air)
                if lines.bagged
                else None,
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
        cautions=cautions(sheet, description, settings, catalogue),
        sources=sources(sheet, description, catalogue),
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


def board_of(piece: Piece, gravity: float, back_loss: float, temperature: float) -> Board:
    """The piece as heat sees it.

    gravity: specific, at the piece's moisture, [-]      back_loss: [W/m2 K]
    temperature: it is reckoned at, [K]
    """
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


def gravity_of(piece: Piece, line: PieceLines, catalogue: Catalogue) -> float:
    """Specific gravity at the piece's moisture, [-]: as weighed, else from the wood's row.

    Raises InputError where the weight says that this is no wood, or another size.
    """
    if line.mass is None:
        row = catalogue.wood(piece.wood)
        return wood.specific_gravity_at(row.basic_gravity, row.shrinkage, piece.moisture)
    dry = line.mass / (1 + piece.moisture)
    gravity = dry / (WATER * piece.area * piece.thickness)
    if not LIGHTEST <= gravity <= HEAVIEST:
        raise InputError(
            f"pieces {piece.name} mass: {1000 * line.mass:.0f} g in this size is {gravity:.2f} "
            f"times as dense as water; wood has {LIGHTEST:g} to {HEAVIEST:g}. Weigh or measure anew"
        )
    return gravity


def air_pressure(description: Description, settings: Settings) -> float:
    """In the shop today, [Pa]: by the barometer where one was read, else the standard air."""
    shop = description.shop
    altitude = settings.shop.altitude if shop.altitude is None else shop.altitude
    if shop.barometer is None:
        return standard_pressure(altitude)
    return station_pressure(shop.barometer, altitude)


def _heat_task(
    description: Description, settings: Settings, catalogue: Catalogue, thickest: Piece
) -> HeatTask:
    asked, rig = description.heat, settings.heat
    limit = min(rig.band_top_limit, BAND_TOP_LIMIT)
    for key in ("band_top", "coat_low", "coat_high"):
        value = getattr(asked, key)
        if value is not None and value > limit:
            raise InputError(f"heat {key}: {degrees(value)}; this rig's limit is {degrees(limit)}")
    low = rig.coat_low if asked.coat_low is None else asked.coat_low
    high = rig.coat_high if asked.coat_high is None else asked.coat_high
    room = description.shop.room
    line = next(line for line in description.pieces if line.name == thickest.name)
    gravity = gravity_of(thickest, line, catalogue)
    back = LINED_BACK if asked.back == "lined" else OPEN_BACK
    return HeatTask(
        board=board_of(thickest, gravity, back, (room + high) / 2),
        flux=_flux(description, settings),
        room=room,
        window_low=low,
        window_high=high,
        band_top=limit if asked.band_top is None else asked.band_top,
        handling=rig.handling_time if asked.handling_time is None else asked.handling_time,
        trip=min(rig.trip, TRIP_LIMIT),
    )


def _flux(description: Description, settings: Settings) -> float:
    """What the face takes up under the lamp, [W/m2]: told, or reckoned from a told distance."""
    distance = description.heat.distance
    return settings.lamp.absorbed if distance is None else flux_at(settings.lamp, distance).likely


def _mix(description: Description, row: ResinClass, lines: CoatLines, on: list[Piece]) -> Mix:
    """What is weighed: the thinner is a share of the whole mix by mass, as it is weighed in."""
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
    description: Description,
    settings: Settings,
    catalogue: Catalogue,
    resin: ResinClass,
    on: list[Piece],
    mix: Mix,
    heat: Heat,
    air: float,
) -> Bag:
    moisture = max(piece.moisture for piece in on)
    asked = description.bag.target
    thinner = None if mix.thinner_name is None else catalogue.thinner(mix.thinner_name)
    return plan_bag(
        asked=settings.bag.target if asked is None else asked,
        hold_band=settings.bag.hold_band,
        ultimate=settings.pump.ultimate_absolute(),
        air_pressure=air,
        moisture=moisture,
        room=description.shop.room,
        # the coat is at the window's top at most; cooler by the time the bag is closed
        boils=boil_limit(mix, thinner, resin.resin_density, moisture, heat.window_high).pressure,
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
        uncured_glass=row.glass_uncured,
        cured_glass=row.glass_cured,
        glass_curvature=row.glass_curvature,
    )


def _flash_off(solvent_share: float) -> FlashOff:
    _, early, late = next(row for row in FLASH_OFF if solvent_share <= row[0])
    return FlashOff(
        early=early, late=late, reference=FLASH_REFERENCE, activation_energy=FLASH_ENERGY
    )
