"""Which acts are open to the person now, and which one the work waits for."""

from collections.abc import Mapping

from controller.batch import bag, interlocks
from controller.batch.acts import CARRIES, ActKind
from controller.batch.bag_view import GAUGE_AGE_LIMIT
from controller.batch.believing import TOLD_AGE
from controller.batch.pumping import dry_pull_is_over
from controller.batch.second_opinion import gun_asked
from controller.batch.signals import Role, Wiring
from controller.batch.snapshot import Press
from controller.batch.stages import HALTED, HEATED, Form, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View

PRESENCE_ASKED = 0.8
"""Share of the time a word holds after which the next is asked for. Own."""
MIX_AHEAD = 900.0
"""How long before the lamp is expected to go off mixing is due, [s]. Own."""
WEIGH_EACH = 86400.0
"""Time between weigh-ins, [s]; common practice, no source."""

SAYS: dict[ActKind, str] = {
    ActKind.DRY_PULL: "board and bag are dry and sealed: pull",
    ActKind.DRY_PULL_DONE: "seen enough of the dry bag",
    ActKind.START: "the board lies under the lamp, the probe is on it",
    ActKind.PRESENT: "I am here",
    ActKind.FLIP: "I want to turn the board",
    ActKind.FLIPPED: "the board is turned, the probe is on the new face",
    ActKind.ENOUGH: "warm enough: lamp off",
    ActKind.MIXED: "A and B are mixed",
    ActKind.UNPLUGGED: "the lamp's plug is out",
    ActKind.REHEAT: "the plug is in again, the thinner is shut: warm once more",
    ActKind.THINNED: "thinner is in the mix",
    ActKind.PROBE_OFF: "the face probe is off the board",
    ActKind.COATING: "the first stroke is on",
    ActKind.COATED: "the coat is on",
    ActKind.SEALED: "the bag is sealed",
    ActKind.RESEAL: "I open the seal and make it new",
    ActKind.ACCEPT: "good enough: hold it as it is",
    ActKind.LET_UP: "I let the air in now",
    ActKind.OPENED: "the film is off",
    ActKind.TIDIED: "thinner shut, cup out, air moving",
    ActKind.MOVED_OUT: "the work is out of the lamp's zone",
    ActKind.WEIGHED: "I have weighed it",
    ActKind.NEXT_COAT: "the next coat",
    ActKind.READING: "I have measured it",
    ActKind.LAMP_ON: "I have switched the lamp on",
    ActKind.LAMP_OFF: "I have switched the lamp off",
    ActKind.PUMP_ON: "I have switched the pump on",
    ActKind.PUMP_OFF: "I have switched the pump off",
    ActKind.RE_ARM: "I have looked: warm on",
    ActKind.RESUME: "I have looked: go on",
    ActKind.ABANDON: "give this batch up",
    ActKind.SHELVE: "not to be heard for an hour",
}
"""What each press tells."""

GUN_SAYS = "the face beside the probe, read with an infrared gun"
"""What READING tells while the lamp pauses for it."""
HELD_DOWN = frozenset(
    {
        ActKind.START,
        ActKind.RE_ARM,
        ActKind.REHEAT,
        ActKind.LET_UP,
        ActKind.OPENED,
        ActKind.RESEAL,
        ActKind.ABANDON,
    }
)
"""Presses that cannot be taken back."""
NOT_BY_ELBOW = HELD_DOWN | {
    ActKind.RESUME,
    ActKind.ACCEPT,
    ActKind.WEIGHED,
    ActKind.MOVED_OUT,
    ActKind.READING,
}
"""What the wired NEXT button never stands for: it carries something, or needs a look first."""


def open_presses(run: Run, rig: RigState, view: View) -> tuple[Press, ...]:
    """The acts open now, the due ones first; none of them would be refused for its stage."""
    found = _by_hand(run, rig, view) + _of_stage(run, rig, view) + _readings(run, view)
    return tuple(sorted(found, key=lambda press: not press.due))


def next_press(run: Run, rig: RigState, view: View | None) -> Press | None:
    """The press the wired NEXT button stands for: a due one that is said with sticky hands.

    Beside a lamp that may burn, with nothing due, it is the word that somebody is there.
    """
    if view is None:
        return None
    found = [p for p in open_presses(run, rig, view) if p.act not in NOT_BY_ELBOW]
    return next((press for press in found if press.due or press.act == ActKind.PRESENT), None)


def _press(
    kind: ActKind,
    due: bool = False,
    says: str | None = None,
    asks: Mapping[str, str] | None = None,
) -> Press:
    return Press(
        act=str(kind),
        says=SAYS[kind] if says is None else says,
        asks=dict(CARRIES.get(kind, {}) if asks is None else asks),
        due=due,
        hold=kind in HELD_DOWN,
    )


def shelve_press() -> Press:
    """Putting an alarm aside; which one stands beside it."""
    reason = {"reason": CARRIES[ActKind.SHELVE]["reason"]}
    return _press(ActKind.SHELVE, asks=reason)


def _by_hand(run: Run, rig: RigState, view: View) -> list[Press]:
    """Where a person switches: the press that tells that a command was carried out."""
    found = []
    if view.facts.lamp is Wiring.BY_HAND and rig.lamp_by_hand != run.lamp.on:
        found.append(_press(ActKind.LAMP_ON if run.lamp.on else ActKind.LAMP_OFF, due=True))
    if view.facts.pump is Wiring.BY_HAND and rig.pump_by_hand != run.bag.pump_on:
        found.append(_press(ActKind.PUMP_ON if run.bag.pump_on else ActKind.PUMP_OFF, due=True))
    return found


def _readings(run: Run, view: View) -> list[Press]:
    """Where nothing is wired: the press that tells what a person has read."""
    face = view.readings.face
    if run.stage in HEATED and Role.FACE not in view.facts.probes:
        young = face is not None and face.age(view.now) < PRESENCE_ASKED * TOLD_AGE
        return [_press(ActKind.READING, due=not young and run.stage is not Stage.COOLDOWN)]
    read_by_hand = view.facts.gauge is Wiring.BY_HAND and run.coat.bag is not None
    if read_by_hand and run.stage in (Stage.DRYPULL, Stage.PULLDOWN, Stage.HOLD):
        return [_press(ActKind.READING)]
    return []


def _of_stage(run: Run, rig: RigState, view: View) -> list[Press]:
    stage = run.stage
    if stage is Stage.PLANNED:
        bagged = [_press(ActKind.DRY_PULL)] if run.coat.bag is not None else []
        zone = interlocks.ZoneView(rig.zone.wet, rig.zone.tidied_at, rig.zone.out_at)
        free = not interlocks.zone_locked(zone, view.now)
        return [*_clear_zone(rig), _press(ActKind.START, due=free), *bagged]
    if stage is Stage.DRYPULL:
        blind = view.facts.gauge is not Wiring.WIRED
        told = run.bag.verdict != "not tested" or dry_pull_is_over(run, view.now)
        return [_press(ActKind.DRY_PULL_DONE, due=blind or told)]
    if stage in (Stage.PREHEAT, Stage.SOAK):
        return _under_the_lamp(run, view)
    if stage is Stage.COOLDOWN:
        return _lamp_off(run, rig, view)
    if stage is Stage.COAT:
        return [_press(ActKind.COATED, due=True)]
    if stage is Stage.BAG:
        return [_press(ActKind.SEALED, due=True), *_tidy(rig)]
    if stage is Stage.PULLDOWN:
        return _pulling(run, rig, view)
    if stage is Stage.HOLD:
        return _holding(run, rig)
    if stage is Stage.FLASHOFF:
        return [
            *_tidy(rig),
            _press(ActKind.WEIGHED, weigh_in_due(run, view.now)),
            _press(ActKind.MOVED_OUT),
        ]
    if stage is Stage.FINISHED:
        more = run.outcome is None and run.coat_index + 1 < len(run.sheet.coats)
        return [*_clear_zone(rig), *([_press(ActKind.NEXT_COAT, due=True)] if more else [])]
    return _halted(run, rig, view)


def _under_the_lamp(run: Run, view: View) -> list[Press]:
    if run.lamp.flipping:
        return [_press(ActKind.FLIPPED, due=True)]
    limit = interlocks.presence_limit(view.facts)
    age = None if run.word_at is None else view.now - run.word_at
    found = [_press(ActKind.PRESENT, due=age is None or age >= PRESENCE_ASKED * limit)]
    if gun_asked(run):
        asks = {"value_c": CARRIES[ActKind.READING]["value_c"]}
        found.insert(0, _press(ActKind.READING, due=True, says=GUN_SAYS, asks=asks))
    if run.stage is Stage.SOAK:
        if run.mixed_at is None and not run.mix_is_solvent():
            soon = view.soak_left is not None and view.soak_left <= MIX_AHEAD
            found.append(_press(ActKind.MIXED, due=soon))
        found.append(_press(ActKind.ENOUGH))
    return [*found, _press(ActKind.FLIP)]


def _lamp_off(run: Run, rig: RigState, view: View) -> list[Press]:
    reheat = [] if run.thinner_open else [_warm_again(ActKind.REHEAT, rig, view)]
    if view.facts.lamp is not Wiring.ABSENT and not run.unplugged:
        return [_press(ActKind.UNPLUGGED, due=True), *reheat]
    found = []
    if run.mixed_at is None:
        found.append(_press(ActKind.MIXED, due=True))
    thin = run.coat.mix.thinner > 0 and not run.thinner_open
    if thin:
        found.append(_press(ActKind.THINNED, due=run.mixed_at is not None))
    found.append(_press(ActKind.COATING, due=run.mixed_at is not None and not thin))
    if not run.probe_off and view.facts.probes:
        found.append(_press(ActKind.PROBE_OFF))
    return [*found, *reheat]


def _warm_again(kind: ActKind, rig: RigState, view: View, due: bool = False) -> Press:
    """REHEAT or RE-ARM: they ask for the day's check only when it is a day old."""
    current = interlocks.day_checked(view.facts, rig.day_check_at, view.now)
    return _press(kind, due, asks={} if current else None)


def _pulling(run: Run, rig: RigState, view: View) -> list[Press]:
    if run.has_set():
        return [_press(ActKind.ACCEPT, due=True), *_tidy(rig)]
    blind = view.facts.gauge is not Wiring.WIRED
    lost_for = 0.0 if run.bag.lost_since is None else view.now - run.bag.lost_since
    lost = lost_for >= GAUGE_AGE_LIMIT
    unanswered = run.bag.frozen or lost or bag.does_not_come_down(run.bag, view.now)
    asked = blind or unanswered or run.bag.verdict in ("leaking", "cannot tell yet")
    # without the gauge the gate never answers, and the resin does not wait for it
    due = blind or run.bag.verdict == "leaking" or lost_for >= bag.GATE_AGAIN
    accept = [_press(ActKind.ACCEPT, due)] if asked else []
    return [*accept, _press(ActKind.RESEAL), *_tidy(rig)]


def _holding(run: Run, rig: RigState) -> list[Press]:
    says = "it is hard enough to move" if run.form is Form.UNBAGGED else None
    found = [*_tidy(rig), _press(ActKind.OPENED, run.may_open, says)]
    held = run.form is Form.HELD
    if held and not run.has_set():
        found.append(_press(ActKind.RESEAL))
    if may_let_up(run):
        found.append(_press(ActKind.LET_UP))
    return found


def may_let_up(run: Run) -> bool:
    """LET UP is on offer: ends and back are sealed, and the resin is liquid for sure."""
    bag = run.coat.bag
    held = run.stage is Stage.HOLD and run.form is Form.HELD
    return held and bag is not None and bag.let_up and not run.may_have_gelled()


def _halted(run: Run, rig: RigState, view: View) -> list[Press]:
    found = []
    if run.left in HEATED and not run.thinner_open:
        found.append(_warm_again(ActKind.RE_ARM, rig, view, due=True))
    if run.left not in (Stage.PREHEAT, Stage.SOAK):
        found.append(_press(ActKind.RESUME, due=not found))
    if run.left in HEATED and not run.unplugged:
        found.append(_press(ActKind.UNPLUGGED))
    return [*found, _press(ActKind.ABANDON, due=not any(press.due for press in found))]


def _tidy(rig: RigState) -> list[Press]:
    untidy = rig.zone.wet and rig.zone.tidied_at is None
    return [_press(ActKind.TIDIED, due=True)] if untidy else []


def _clear_zone(rig: RigState) -> list[Press]:
    """Where no coated work is in hand any more: what ends the zone's lock."""
    inside = rig.zone.wet and rig.zone.out_at is None
    says = "what was wet is out of the lamp's zone"
    out = [_press(ActKind.MOVED_OUT, due=True, says=says)] if inside else []
    return [*_tidy(rig), *out]


def weigh_in_due(run: Run, now: float) -> bool:
    """A day has gone since the film came off or the last weigh-in, and the solvent is not out."""
    if run.stage in HALTED or run.film_off_at is None or run.coat.flash_off.late <= 0:
        return False
    return now - last_weigh_in(run, run.film_off_at) >= WEIGH_EACH


def last_weigh_in(run: Run, start: float) -> float:
    """Rig time of the last weigh-in since `start`, or `start` before the first, [s]."""
    return max(run.weigh_ins[-1][0], start) if run.weigh_ins else start
