"""Putting one step's view together: readings, estimate, forecasts and the lamp's interlocks."""

from collections.abc import Sequence
from math import log, pi

from controller.batch import interlocks
from controller.batch.bag import BagView
from controller.batch.coat_moment import (
    CoatMoment,
    CoatWindow,
    coat_moment,
    draw_to_come,
    falling,
)
from controller.batch.heat import HeatEstimate
from controller.batch.interlocks import LampView, ZoneView
from controller.batch.signals import Readings, RigFacts, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.science.constants import ZERO_CELSIUS

OLD = 60.0
"""Age at which a slow reading (room, film, barometer) is no longer used, [s]. Own."""
ROOM_UNKNOWN = 18.0 + ZERO_CELSIUS
"""Taken for the room where nothing reads it, on the cool side, [K]. Own."""
REACHABLE_SHARE = 0.8
"""Share of the mean rise this board can reach at which it counts as hot through. Own."""
FORECAST = 3600.0
"""How far the cooling face is looked ahead, [s]. Own."""


def room_of(now: float, readings: Readings) -> float:
    """Room temperature the clocks use, [K]."""
    room = readings.room
    return ROOM_UNKNOWN if room is None or room.age(now) > OLD else room.value


def air_of(now: float, readings: Readings, facts: RigFacts) -> float:
    """Air pressure the vacuum is told against, [Pa]: the barometer's, else from altitude."""
    barometer = readings.barometer
    if barometer is None or barometer.age(now) > OLD:
        return facts.air_pressure
    return barometer.value


def view_of(
    rig: RigState,
    readings: Readings,
    facts: RigFacts,
    heat: HeatEstimate | None,
    faces: Sequence[Sample],
    latch: str | None,
    late: bool,
    film: float,
) -> View:
    """The view of the rig at its own `now`."""
    now, run = rig.now, rig.run
    room, air = room_of(now, readings), air_of(now, readings, facts)
    settles = room if heat is None else heat.settles_at()
    target, soak_left = room, None
    if run is not None and heat is not None and run.stage in (Stage.PREHEAT, Stage.SOAK):
        target, soak_left = _soak(run, heat, room)
    cooling = run is not None and run.stage in (Stage.COOLDOWN, Stage.COAT)
    opens, moment = None, None
    if run is not None and heat is not None and cooling:
        opens = heat.seconds_until_face_below(run.coat.heat.window_high, FORECAST)
        moment = _moment(run, readings, heat, faces, room, air, rig)
    return View(
        now=now,
        readings=readings,
        facts=facts,
        air=air,
        room=room,
        film=film,
        face=None if heat is None else heat.face,
        mean=None if heat is None else heat.mean,
        settles=settles,
        target_mean=target,
        soak_left=soak_left,
        opens=opens,
        moment=moment,
        dark=dark_now(rig, readings, facts, latch, late),
        bag=_bag_view(run, now, readings, facts, air),
    )


def dark_now(
    rig: RigState, readings: Readings, facts: RigFacts, latch: str | None, late: bool
) -> interlocks.Interlock | None:
    """Why the lamp must be dark at the rig's own `now`; None when it may burn."""
    return interlocks.lamp_forbidden(_lamp_view(rig, readings, facts, latch, late))


def _soak(run: Run, heat: HeatEstimate, room: float) -> tuple[float, float | None]:
    """Mean at which this board, as it turned out, is hot through [K], and the time to it [s].

    The board goes to its reach as one decaying mode: a slab held at the face, its back lined.
    """
    plan, board = run.coat.heat, run.coat.board
    reach = heat.mean_reachable((plan.band_low + plan.band_high) / 2)
    target = min(plan.target_mean, room + REACHABLE_SHARE * max(reach - room, 0.0))
    if not heat.mean < target < reach:
        return target, 0.0 if heat.mean >= target else None
    diffusivity = board.conductivity / (board.density * board.heat_capacity)
    slowness = 4.0 * board.thickness**2 / (pi**2 * diffusivity)
    return target, slowness * log((reach - heat.mean) / (reach - target))


def _moment(
    run: Run,
    readings: Readings,
    heat: HeatEstimate,
    faces: Sequence[Sample],
    room: float,
    air: float,
    rig: RigState,
) -> CoatMoment:
    plan = run.coat.heat
    at_off = heat.mean if run.mean_at_off is None else run.mean_at_off
    return coat_moment(
        window=CoatWindow(plan.window_low, plan.window_high),
        lamp_commanded=run.lamp.on or rig.lamp_by_hand,
        lamp_fed=readings.lamp_fed,
        face=heat.face,
        is_falling=run.probe_off or falling(faces, rig.now),
        seconds_left=heat.seconds_until_face_below(plan.window_low, FORECAST),
        draw=draw_to_come(at_off, heat.mean, room, air, run.coat.board.moisture),
    )


def _lamp_view(
    rig: RigState, readings: Readings, facts: RigFacts, latch: str | None, late: bool
) -> LampView:
    now, run, face, zone = rig.now, rig.run, readings.face, rig.zone
    by_hand = facts.lamp is not Wiring.WIRED
    return LampView(
        now=now,
        stage=None if run is None else run.stage,
        word_age=None if run is None or run.word_at is None else now - run.word_at,
        # A lamp in a person's hand is watched by that person; a told reading is minutes old.
        sample_age=0.0 if by_hand else None if face is None else face.age(now),
        reading=None if face is None else face.value,
        trip=None
        if run is None
        else interlocks.trip_temperature(run.coat.heat.trip, run.coat.heat.band_high, facts),
        lamp_seconds=0.0 if run is None else run.lamp.seconds.get(run.lamp.side, 0.0),
        budget=0.0 if run is None else interlocks.lamp_budget(run.coat.heat.lamp_on),
        latch=latch,
        zone_locked=interlocks.zone_locked(ZoneView(zone.wet, zone.tidied_at, zone.out_at), now),
        day_checked=facts.day_check_done or rig.day_check_at is not None,
        flipping=run is not None and run.lamp.flipping,
        unplugged=run is not None and run.unplugged,
        late=late,
        facts=facts,
    )


def _bag_view(
    run: Run | None, now: float, readings: Readings, facts: RigFacts, air: float
) -> BagView | None:
    if run is None or run.coat.bag is None:
        return None
    return BagView(now, readings.bag, air, run.coat.bag, facts)
