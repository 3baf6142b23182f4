"""A second look at the face, from afar: what a probe half off its seat cannot give.

A probe that reads a share of the rise fools the guards, which look at nothing else. An infrared
thermometer does not touch the board, but sees it only without the lamp's light, and in the band the
lamp is dark for no more than seconds at a time. So the lamp pauses: for a wired one soon after the
proof and then each five minutes, for a gun in a person's hand once a heat and face, on a rig in
close watch that has no other. The estimate stands for the probe, because it takes the probe's lag
out. They must be far apart to be told so: emissivity, the spot seen and the estimate are each good
for a kelvin or two.
"""

from controller.batch.acts import Act
from controller.batch.believing import PROBE_AGE
from controller.batch.desk import Desk
from controller.batch.events import EventKind
from controller.batch.heat import HeatEstimate
from controller.batch.journal import Journal
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import HEATED, Stage
from controller.batch.state import LampState, RigState, Run
from controller.errors import StageError
from controller.science.constants import ZERO_CELSIUS

APART = 6.0
"""Difference between face and infrared that is no error of either, [K]. Own."""
TOGETHER = 4.0
"""Difference under which a probe that disagreed is believed again, [K]. Own."""
READS = 3
"""Infrared readings in a row that must be apart. Own."""
DARK = 10.0
"""Time without lamp before the face is seen without its light and glow, [s]. Own."""
SURE = 2.0
"""Standard error of the estimated face up to which it is held against another, [K]. Own."""
FIRST_LOOK = 120.0
"""From the lamp's proof to the first pause for the wired thermometer, [s]. Own: a probe that reads
half is then some 10 K apart, and the board still cool."""
LOOK_EACH = 300.0
"""From one such pause to the next, [s]. Own."""
LOOK_LONGEST = 30.0
"""Longest such a pause, [s]. Own."""
GUN_WAIT = 120.0
"""Longest the lamp pauses for a gun, [s]. Own: the face of a 20 mm board falls some 5 K in it."""


def follow(
    rig: RigState,
    readings: Readings,
    facts: RigFacts,
    heat: HeatEstimate | None,
    journal: Journal,
) -> None:
    """Take this step's infrared reading in, and pause the lamp for one, or for the gun."""
    run = rig.run
    if run is None:
        return
    state, seen = run.lamp, readings.infrared
    state.gun_apart = False
    face = believed_face(run, rig.now, readings, facts, heat)
    fresh = seen is not None and seen.age(rig.now) <= PROBE_AGE
    if face is None or seen is None or not fresh or _may_miss(run, face, seen.value):
        # Between two dark times of the lamp nothing is seen, and nothing is forgotten.
        state.apart = 0 if state.apart >= READS else state.apart
    elif seen.at != state.seen_at:
        state.seen_at = seen.at
        state.looks += 1
        _compare(state, face, seen.value)
    _look(run, rig.now, facts, seen is not None)
    _ask_for_the_gun(run, rig.now, facts, seen is not None, journal)


def _may_miss(run: Run, face: float, seen: float) -> bool:
    """The board may have been carried off from under the wired thermometer, which then sees bench:
    that is cooler than any board in its cool-down."""
    return run.stage is Stage.COOLDOWN and (run.unplugged or seen < face - APART)


def _compare(state: LampState, face: float, seen: float) -> None:
    difference = abs(face - seen)
    if difference > APART:
        state.apart, state.seen = min(state.apart + 1, READS), seen
    elif state.apart < READS or difference < TOGETHER:
        state.apart = 0


def _look(run: Run, now: float, facts: RigFacts, wired: bool) -> None:
    """Begin and end the pauses for the wired thermometer."""
    state = run.lamp
    under = run.stage in (Stage.PREHEAT, Stage.SOAK) and facts.lamp is Wiring.WIRED
    if not under or not wired or state.flipping:
        state.look_from = None
    elif state.look_from is not None:
        told = state.looks >= READS and state.apart == 0
        if told or now - state.look_from >= LOOK_LONGEST:
            state.blind = state.looks < READS
            state.look_from, state.looked_at = None, now
    elif state.looked_at is None:
        if state.proved:
            state.looked_at = now - LOOK_EACH + FIRST_LOOK
    elif now - state.looked_at >= LOOK_EACH:
        state.look_from, state.looks = now, 0


def believed_face(
    run: Run, now: float, readings: Readings, facts: RigFacts, heat: HeatEstimate | None
) -> float | None:
    """The face as the probe has it, [K]; None while it cannot be held against another's."""
    face, state = readings.face, run.lamp
    if heat is None or run.stage not in HEATED or run.probe_off or state.flipping:
        return None
    if face is None or face.age(now) > PROBE_AGE or facts.lamp is not Wiring.WIRED:
        return None
    lit = state.on or readings.lamp_fed is True
    if lit or (state.changed_at is not None and now - state.changed_at < DARK):
        return None
    return heat.face if heat.face_sd <= SURE else None


def _ask_for_the_gun(run: Run, now: float, facts: RigFacts, wired: bool, journal: Journal) -> None:
    state = run.lamp
    if state.gun_over or run.stage is not Stage.SOAK or not facts.close_watch:
        return
    if facts.lamp is not Wiring.WIRED or (wired and not state.blind):
        return
    if state.gun_asked_at is None:
        state.gun_asked_at = now
        journal.tell(EventKind.NOTE, "The lamp pauses for one reading with an infrared gun.")
    elif now - state.gun_asked_at >= GUN_WAIT:
        state.gun_over = True
        text = "Nobody read the face with a gun: nothing checked the probe in this heat."
        journal.tell(EventKind.NOTE, text)


def looking(run: Run) -> bool:
    """The lamp pauses for the wired infrared thermometer."""
    return run.lamp.look_from is not None


def gun_asked(run: Run) -> bool:
    """The lamp pauses, and a person with an infrared gun is waited for."""
    return run.stage is Stage.SOAK and run.lamp.gun_asked_at is not None and not run.lamp.gun_over


def gun_read(desk: Desk, act: Act) -> str:
    """A person's reading of the face with a gun. Raises StageError where it can tell nothing."""
    run, value = desk.rig.run, act.values.get("value_c")
    if not isinstance(value, float | int) or isinstance(value, bool):
        raise StageError("say the gun's reading in 'value_c'")
    face = None
    if run is not None:
        face = believed_face(run, desk.now, desk.readings, desk.facts, desk.heat)
    if run is None or face is None or act.ago > DARK:
        raise StageError(
            "a gun is held against the probe from PREHEAT to COOLDOWN, read now, with the lamp "
            "dark for 10 s and the probe on the board"
        )
    seen, reads = float(value) + ZERO_CELSIUS, face - ZERO_CELSIUS
    run.lamp.gun_over = True
    if abs(seen - face) <= APART:
        return f"Written down: the gun reads {value:.1f} C, the probe has {reads:.1f} C."
    run.lamp.gun_apart, run.lamp.seen = True, seen
    return (
        f"The gun reads {value:.1f} C and the probe has {reads:.1f} C: one of them is wrong, and "
        "the lamp stays off. Press the probe down under its tape."
    )


def disagrees(run: Run) -> bool:
    """Infrared and probe are too far apart for either's errors."""
    return run.lamp.gun_apart or run.lamp.apart >= READS


def another_face(state: LampState) -> None:
    """A heat or a face begins: the probe was moved, so it is looked at again."""
    state.apart, state.blind = 0, False
    state.look_from = state.looked_at = None
    state.gun_over, state.gun_asked_at = False, None
