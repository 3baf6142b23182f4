"""What a restart means: one table from the last durable stage to where the work stands now.

The lamp is dark after any restart, because nobody's word outlives the process. The pump is off
with the process; a held bag is pulled again by itself only when the gauge proves it.
"""

from dataclasses import dataclass

from controller.batch import setting
from controller.batch.events import Event, EventKind
from controller.batch.lamp import start_proof_anew
from controller.batch.stages import ORDER, Form, Stage, Trigger
from controller.batch.state import RigState, Run

SHORT = 60.0
"""Outage that is hardly worth a word, [s]. Own."""
LONGEST = 1800.0
"""Longest outage after which a held bag is pulled again by itself, [s]. Own."""
PROOF_TIME = 60.0
"""Time the gauge has to prove the bag, [s]. Own."""
RESTARTS_LIMIT = 3
"""Restarts in RESTARTS_TIME above which nothing is switched on for REST, and then by a person. Own:
mains that come and go, or a controller that crashes, would start the pump twenty times."""
RESTARTS_TIME = 600.0
"""[s]. Own."""
REST = 900.0
"""How long everything then stays off, from the last restart on, [s]. Own."""
TOO_OFTEN = "the controller came back too often; look at its supply and its plug"
"""Why a batch is halted then."""
COOLER = 3.0
"""How much cooler than last read the film is taken to have been while nobody looked, [K]. Own."""


@dataclass(frozen=True, slots=True)
class Restart:
    """What came of it."""

    events: tuple[Event, ...]
    """For the record."""
    found: str | None
    """An alarm for the first step to raise."""


def after_restart(rig: RigState, now: float, outage: float | None) -> Restart:
    """Change the state to what holds after a restart at rig time `now`.

    outage: time nobody looked, [s]; None when no trusted clock stood on both sides of it
    """
    rig.now = now
    rig.restarts = [at for at in rig.restarts if now - at < RESTARTS_TIME] + [now]
    often = len(rig.restarts) > RESTARTS_LIMIT
    if often:
        rig.rest_until = now + REST
    rig.lamp_by_hand = rig.pump_by_hand = rig.stop_down = False
    if outage is None:
        rig.day_check_at = None
    for run in [rig.run, *rig.aside]:
        if run is not None:
            _quiet(run, now, outage)
    for watch in rig.watches.values():
        watch.wrong_since = watch.right_since = None
    for alarm in rig.alarms:
        if outage is None and alarm.shelf is not None:
            # nobody knows how long it has lain there
            alarm.shelf.until = now
    found = None if rig.run is None else _place(rig.run, now, outage, often)
    airing = [run for run in (rig.run, *rig.aside) if run is not None]
    if found is None and any(run.stage is Stage.FLASHOFF for run in airing):
        found = "flash-off unwatched"
    run = rig.run
    away = "an unknown time" if outage is None else f"{outage:.0f} s"
    text = f"The controller is back after {away}. The lamp is off."
    if often:
        text += (
            f" It came back {len(rig.restarts)} times in ten minutes: everything stays off for"
            f" {REST / 60:.0f} min, and then waits for a person."
        )
    event = Event(
        at=now,
        kind=EventKind.RESTART,
        batch=None if run is None else run.id,
        stage=None if run is None else str(run.stage),
        text=text,
        data={"outage_s": outage},
    )
    return Restart((event,), found)


def _quiet(run: Run, now: float, outage: float | None) -> None:
    """Nobody's word holds, no output is on, and no test or watch goes on across the gap."""
    run.outage = outage
    run.word_at = None
    run.lamp.on = run.bag.pump_on = False
    run.lamp.changed_at = run.bag.pump_changed_at = None
    start_proof_anew(run.lamp)
    run.lamp.last_value = run.lamp.last_sample_at = None
    run.bag.times.clear()
    run.bag.pressures.clear()
    run.bag.stretch_from = run.bag.lost_since = run.bag.rest_from = None
    run.bag.tried_from = None
    run.bag.same_from = run.bag.same_value = None
    run.warmth.clear()
    # A known outage ages the resin, at a temperature taken on the cool side; flash-off and cold
    # are only ever what was observed.
    if outage is not None and run.mixed_at is not None and run.film is not None:
        setting.gain(run, now, outage, run.film - COOLER)


def _place(run: Run, now: float, outage: float | None, often: bool) -> str | None:
    """Bring the batch at the rig to where the table puts it; the alarm that goes with it.

    INTERRUPTED has its own alarm for as long as it lasts, so none is found for it here.
    """
    if run.stage is Stage.HOLD and run.form is Form.HELD:
        return _held(run, now, outage, often)
    if Trigger.RESTART in ORDER[run.stage].moves and run.stage is not Stage.HOLD:
        run.move(now, Trigger.RESTART)
        if run.stage is Stage.INTERRUPTED:
            run.stop_cause = TOO_OFTEN if often else "the controller restarted"
        return None
    if run.stage in (Stage.COOLDOWN, Stage.COAT, Stage.BAG):
        return "work interrupted"
    return None


def _held(run: Run, now: float, outage: float | None, often: bool) -> str | None:
    if outage is None or outage > LONGEST or often:
        run.move(now, Trigger.RESTART)
        away = "the controller was away too long to pull by itself"
        run.stop_cause = TOO_OFTEN if often else away
        return None
    run.bag.prove_by = now + PROOF_TIME
    return None if outage <= SHORT or run.has_set() else "power was away"
