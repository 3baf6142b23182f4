"""Acts while a board is warmed: from START to the plug being pulled, and by hand."""

from collections.abc import Callable

from controller.batch.acts import DAY_CHECK, Act, ActKind
from controller.batch.believing import PROBE_AGE, room_read
from controller.batch.desk import Desk, by_hand, lamp_away, only_in, rested, wet
from controller.batch.gauge_doubt import may_pull
from controller.batch.lamp import start_proof_anew
from controller.batch.second_opinion import another_face
from controller.batch.setting import gain
from controller.batch.signals import Role, Wiring
from controller.batch.stages import HEATED, ORDER, Stage, Use
from controller.batch.state import Run
from controller.errors import StageError
from controller.science.constants import ZERO_CELSIUS

UNSEEN = (
    "No cut-out and dead-man are proved here, and no software sees a probe half off its seat: the "
    "board may be far hotter than is said."
)
"""Said at the begin of each heat in close watch."""
ARMS = frozenset({ActKind.START, ActKind.REHEAT, ActKind.RE_ARM})
"""Acts after which a lamp may burn."""
PROBE_GUARDS = frozenset(
    {
        "probe fell",
        "probe astray",
        "probe jumped",
        "probe frozen",
        "probe disagrees",
        "lamp not seen",
        "no rise",
    }
)
"""What halts a heat whose readings may have been no board's."""
PLAUSIBLE = 8.0
"""How far a board at rest may be from the room before its probe is doubted, [K]. Own."""


def start(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.PLANNED)
    may_arm(desk, run, act)
    may_pull(run, desk.now, desk.readings, desk.facts)
    run.move(desk.now, ActKind.START)
    run.started_at = desk.now
    arm(desk, run, act)
    return what_follows(desk)


def what_follows(desk: Desk) -> str:
    if desk.facts.lamp is Wiring.WIRED:
        unseen = f" {UNSEEN}" if desk.facts.close_watch else ""
        return f"The lamp proves itself for 30 s. Stay with it.{unseen}"
    return "The board may be warmed now. Stay with it, and tell its READING where no probe does."


def may_arm(desk: Desk, run: Run, act: Act) -> None:
    """Everything that must be so before a lamp may burn at a person's word."""
    latch = desk.book.latch()
    missing = [name for name in DAY_CHECK if act.values.get(name) is not True]
    if run.stage is not Stage.PLANNED and desk.day_checked():
        missing = []
    elif desk.facts.day_check_done:
        missing = [name for name in missing if name == "aired"]
    if desk.readings.stop_pressed:
        raise StageError("the STOP button is down: let it go first")
    if desk.readings.tilted:
        raise StageError("the lamp leans or lies: set it up and secure it first")
    if desk.readings.cut_out_open:
        raise StageError("the lamp's cut-out is open: let it cool and reset it by hand first")
    rested(desk)
    if latch is not None:
        raise StageError(f"'{latch}' still stands: see to it and press ACKNOWLEDGE")
    if desk.zone_locked() or not desk.facts.zone_clear:
        raise StageError(
            "solvent may be in the lamp's zone: TIDIED, move the coated work out, air the room"
        )
    if missing:
        raise StageError(f"{act.kind} needs a yes to: {', '.join(missing)}")
    if not desk.facts.record_in_date:
        raise StageError("the rig has no bench record in date: run warmdraw check")
    if desk.facts.log_trouble is not None:
        raise StageError(no_record(desk.facts.log_trouble))
    if desk.facts.lamp is Wiring.WIRED:
        probe_plausible(desk, run)


def no_record(trouble: str) -> str:
    """Why nothing is armed while the record cannot be written."""
    return f"no heat begins while the record cannot be written. {trouble}"


def probe_plausible(desk: Desk, run: Run) -> None:
    face, room = desk.readings.face, room_read(desk.now, desk.readings, desk.facts)
    if Role.FACE not in desk.facts.probes:
        raise StageError("a lamp that the rig switches needs a wired face probe")
    if face is None or face.age(desk.now) > PROBE_AGE:
        raise StageError("the face probe does not read: look at its cable and plug")
    if run.stage is Stage.PLANNED and room is not None and abs(face.value - room) > PLAUSIBLE:
        raise StageError(
            f"the face reads {face.value - ZERO_CELSIUS:.1f} C and the room "
            f"{room - ZERO_CELSIUS:.1f} C: is the probe on this board?"
        )


def arm(desk: Desk, run: Run, act: Act) -> None:
    if all(act.values.get(name) is True for name in DAY_CHECK):
        desk.rig.day_check_at = desk.now
    run.word_at = desk.now
    run.probe_off = False
    run.unplugged = False
    run.lamp_off_at = run.mean_at_off = run.coat_called_at = None
    run.lamp.flipping = False
    run.lamp.last_value = None
    run.lamp.odd = run.lamp.over = 0
    start_proof_anew(run.lamp)
    another_face(run.lamp)
    if desk.heat is not None:
        desk.heat.probe_on()


def present(desk: Desk, act: Act, run: Run) -> str:
    run.word_at = desk.now
    alarm = desk.book.find("nobody there")
    if alarm is not None:
        desk.book.acknowledge(desk.now, alarm.id)
    if ORDER[run.stage].lamp is not Use.ALLOWED:
        return "Good: written down. Nothing is heated now."
    return "Good. The lamp may burn for as long as your word holds."


def flip(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.PREHEAT, Stage.SOAK)
    run.lamp.flipping = True
    run.word_at = desk.now
    return "The lamp is off. Turn the board, move the probe to the new face, press FLIPPED."


def flipped(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.PREHEAT, Stage.SOAK)
    if not run.lamp.flipping:
        raise StageError("FLIP comes first, so that the lamp is off while you turn the board")
    run.lamp.flipping = False
    run.lamp.side = "B" if run.lamp.side == "A" else "A"
    run.lamp.last_value = None
    run.lamp.odd = 0
    start_proof_anew(run.lamp)
    another_face(run.lamp)
    run.word_at = desk.now
    if desk.heat is not None:
        desk.heat.flip()
    return what_follows(desk)


def enough(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.ENOUGH)
    return "The lamp is off. Pull its plug and press UNPLUGGED."


def mixed(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN)
    if run.mix_is_solvent():
        only_in(run, Stage.COOLDOWN)
        lamp_away(desk, run, "open a resin that comes in solvent")
        run.thinner_open = True
        wet(desk)
    begin_pot(desk, run, desk.told_at(act, run))
    if run.mix_is_solvent():
        return "The pot clock runs. The lamp stays dark until the zone is clear again."
    return "The pot clock runs. Keep the cup away from the lamp and the thinner shut."


def begin_pot(desk: Desk, run: Run, at: float) -> None:
    """The mix is this old at room warmth: a cup told late has gone on setting."""
    room = room_read(desk.now, desk.readings, desk.facts)
    warm = run.coat.resin.reference if room is None else room
    run.mixed_at, run.age, run.conversion = at, 0.0, 0.0
    run.passed.clear()
    gain(run, desk.now, desk.now - at, warm)


def unplugged(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COOLDOWN, Stage.STOPPED, Stage.INTERRUPTED)
    run.unplugged = True
    return "Good: the lamp is out of it. The thinner may be opened now."


def reheat(desk: Desk, act: Act, run: Run) -> str:
    if run.thinner_open:
        raise StageError("the thinner is open: no lamp until the zone is clear again")
    only_in(run, Stage.COOLDOWN)
    may_arm(desk, run, act)
    run.move(desk.now, ActKind.REHEAT)
    arm(desk, run, act)
    return f"Plug the lamp in again. {what_follows(desk)}"


def re_arm(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.STOPPED, Stage.INTERRUPTED)
    if run.left not in HEATED:
        raise StageError(f"{run.left} needs no lamp: press RESUME")
    if run.thinner_open:
        raise StageError("the thinner was opened: no lamp for this coat any more")
    may_arm(desk, run, act)
    misled = run.stop_cause in PROBE_GUARDS
    run.move(desk.now, ActKind.RE_ARM)
    arm(desk, run, act)
    if misled and desk.heat is not None and desk.readings.face is not None:
        # what a probe taught that was caught would have a healthy heat taken for a sick one
        desk.heat.begin(desk.readings.face.value)
    return what_follows(desk)


def lamp_on(desk: Desk, act: Act, run: Run) -> str:
    by_hand(desk.facts.lamp, "lamp")
    only_in(run, Stage.PREHEAT, Stage.SOAK)
    desk.rig.lamp_by_hand = True
    run.word_at = desk.now
    return "The lamp is told on. Stay with it."


def lamp_off(desk: Desk, act: Act, run: Run) -> str:
    by_hand(desk.facts.lamp, "lamp")
    desk.rig.lamp_by_hand = False
    return "The lamp is told off."


LAMP_ACTS: dict[ActKind, Callable[[Desk, Act, Run], str]] = {
    ActKind.START: start,
    ActKind.PRESENT: present,
    ActKind.FLIP: flip,
    ActKind.FLIPPED: flipped,
    ActKind.ENOUGH: enough,
    ActKind.MIXED: mixed,
    ActKind.UNPLUGGED: unplugged,
    ActKind.REHEAT: reheat,
    ActKind.RE_ARM: re_arm,
    ActKind.LAMP_ON: lamp_on,
    ActKind.LAMP_OFF: lamp_off,
}
