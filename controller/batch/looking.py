"""Putting one step's view together: readings, estimate, forecasts and the lamp's interlocks."""

from collections.abc import Sequence
from math import log, pi

from controller.batch import interlocks
from controller.batch.bag_view import BagView
from controller.batch.believing import face_age_limit, holds, room_read
from controller.batch.coat_moment import (
    CoatMoment,
    CoatWindow,
    coat_moment,
    draw_to_come,
    falling,
)
from controller.batch.heat import HeatEstimate
from controller.batch.interlocks import LampView, ZoneView
from controller.batch.second_opinion import gun_asked, looking
from controller.batch.signals import Readings, RigFacts, Role, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.planning.sheet import Coat
from controller.science.constants import ZERO_CELSIUS

ROOM_UNKNOWN = 18.0 + ZERO_CELSIUS
"""Taken for the room where nothing reads it, on the cool side, [K]. Own."""
REACHABLE_SHARE = 0.8
"""Share of the mean rise this board can reach at which it counts as hot through. Own."""
DISBELIEVED = 3.0
"""How far the estimate may be from what the probe reads before it is not believed, [K]. Own."""
FORECAST = 3600.0
"""How far the cooling face is looked ahead, [s]. Own."""
DRAWN = (ZERO_CELSIUS, ZERO_CELSIUS + 60.0)
"""Temperatures between which the draw is reckoned, inside the wood's own tables, [K]. Own."""


def room_of(now: float, readings: Readings, facts: RigFacts) -> float:
    """Room temperature the clocks use, [K]."""
    room = room_read(now, readings, facts)
    return ROOM_UNKNOWN if room is None else room


def air_of(now: float, readings: Readings, facts: RigFacts) -> float:
    """Air pressure the vacuum is told against, [Pa]: the barometer's, else from altitude."""
    barometer = readings.barometer
    if barometer is None or not holds(barometer, now, wired=False):
        return facts.air_pressure
    return barometer.value


def film_of(
    now: float, run: Run | None, readings: Readings, facts: RigFacts, heat: HeatEstimate | None
) -> float:
    """Temperature the mix sets at, [K]: film probe, else the board as reckoned, else the room."""
    film = film_read(now, readings, facts)
    if film is not None and run is not None and run.sealed_at is not None:
        return film
    if run is not None and run.coating_at is not None and heat is not None:
        return heat.mean
    return room_of(now, readings, facts)


def film_read(now: float, readings: Readings, facts: RigFacts) -> float | None:
    """Temperature at the bag film, [K]; None where nothing reads it."""
    film = readings.film
    if film is None or not holds(film, now, Role.FILM in facts.probes):
        return None
    return film.value


def lit(run: Run, rig: RigState, facts: RigFacts) -> bool:
    """The lamp burns, as far as is known: as commanded, or as the person who switches it said."""
    if facts.lamp is Wiring.BY_HAND:
        return rig.lamp_by_hand
    return run.lamp.on and not facts.lamp_held


def first_estimate(coat: Coat, start: float, room: float, facts: RigFacts) -> HeatEstimate:
    """A first estimate of a board at rest.

    start: the probe's reading, or the room's, [K]      room: air, [K]
    """
    board = coat.board
    return HeatEstimate(
        thickness=board.thickness,
        conductivity=board.conductivity,
        density=board.density,
        heat_capacity=board.heat_capacity,
        back_h=board.back_loss,
        face_h=board.face_loss,
        flux=facts.lamp_flux,
        probe_lag=facts.probe_lag,
        start=start,
        room=room,
    )


def view_of(
    rig: RigState,
    readings: Readings,
    facts: RigFacts,
    heat: HeatEstimate | None,
    faces: Sequence[Sample],
    latch: str | None,
    late: bool,
) -> View:
    """The view of the rig at its own `now`."""
    now, run = rig.now, rig.run
    room, air = room_of(now, readings, facts), air_of(now, readings, facts)
    settles = room if heat is None else heat.settles_at()
    target, soak_left = room, None
    if run is not None and heat is not None and run.stage in (Stage.PREHEAT, Stage.SOAK):
        target, soak_left = _soak(run, heat, room)
    cooling = run is not None and run.stage in (Stage.COOLDOWN, Stage.COAT)
    opens, moment, face = None, None, None if heat is None else heat.face
    if run is not None and heat is not None and cooling:
        read = _another_face(run, readings, heat, facts, now)
        if read is None:
            opens = heat.seconds_until_face_below(run.coat.heat.window_high, FORECAST)
        else:
            face = read
        moment = _moment(run, readings, heat, faces, room, air, rig, read)
    return View(
        now=now,
        readings=readings,
        facts=facts,
        air=air,
        room=room,
        film=film_of(now, run, readings, facts, heat),
        face=face,
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


def _another_face(
    run: Run, readings: Readings, heat: HeatEstimate, facts: RigFacts, now: float
) -> float | None:
    """What the probe reads where the estimate is far from it, [K]; None where they agree."""
    face = readings.face
    if run.probe_off or face is None or face.age(now) > face_age_limit(facts):
        return None
    return face.value if abs(heat.probe - face.value) > DISBELIEVED else None


def _moment(
    run: Run,
    readings: Readings,
    heat: HeatEstimate,
    faces: Sequence[Sample],
    room: float,
    air: float,
    rig: RigState,
    read: float | None,
) -> CoatMoment:
    """The coat moment by the estimate; by the probe alone where `read` [K] is another face."""
    plan = run.coat.heat
    at_off = heat.mean if run.mean_at_off is None else run.mean_at_off
    at_off, mean, cold = (
        min(max(kelvin, DRAWN[0]), DRAWN[1]) for kelvin in (at_off, heat.mean, room)
    )
    return coat_moment(
        window=CoatWindow(plan.window_low, plan.window_high),
        lamp_commanded=run.lamp.on or rig.lamp_by_hand,
        lamp_fed=readings.lamp_fed,
        face=heat.face if read is None else read,
        is_falling=run.probe_off or falling(faces, rig.now),
        seconds_left=None
        if read is not None
        else heat.seconds_until_face_below(plan.window_low, FORECAST),
        draw_left=draw_to_come(at_off, mean, cold, air, run.coat.board.moisture),
    )


def _lamp_view(
    rig: RigState, readings: Readings, facts: RigFacts, latch: str | None, late: bool
) -> LampView:
    now, run, face, zone = rig.now, rig.run, readings.face, rig.zone
    # A lamp the rig switches burns on a wired probe or not at all.
    blind = face is None or (facts.lamp is Wiring.WIRED and Role.FACE not in facts.probes)
    return LampView(
        now=now,
        stage=None if run is None else run.stage,
        word_age=None if run is None or run.word_at is None else now - run.word_at,
        sample_age=None if face is None or blind else face.age(now),
        sample_limit=face_age_limit(facts),
        reading=None if face is None else face.value,
        trip=None
        if run is None
        else interlocks.trip_temperature(run.coat.heat.trip, run.coat.heat.band_high, facts),
        lamp_seconds=0.0 if run is None else run.lamp.seconds.get(run.lamp.side, 0.0),
        budget=0.0 if run is None else interlocks.lamp_budget(run.coat.heat.lamp_on),
        latch=latch,
        zone_locked=interlocks.zone_locked(ZoneView(zone.wet, zone.tidied_at, zone.out_at), now),
        day_checked=interlocks.day_checked(facts, rig.day_check_at, now),
        flipping=run is not None and run.lamp.flipping,
        unplugged=run is not None and run.unplugged,
        stop_down=readings.stop_pressed,
        tilted=readings.tilted,
        cut_out_open=readings.cut_out_open,
        gun_asked=run is not None and gun_asked(run),
        looking=run is not None and looking(run),
        late=late,
        resting=interlocks.resting(rig.rest_until, now),
        facts=facts,
    )


def _bag_view(
    run: Run | None, now: float, readings: Readings, facts: RigFacts, air: float
) -> BagView | None:
    if run is None or run.coat.bag is None:
        return None
    return BagView(now, readings.bag, air, run.coat.bag, facts)
