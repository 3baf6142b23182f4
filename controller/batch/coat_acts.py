"""Acts once the lamp is off: thinner, coat, bag, hold, and what comes after."""

from collections.abc import Callable

from controller.batch import stages
from controller.batch.acts import Act, ActKind
from controller.batch.desk import Desk, by_hand, only_in
from controller.batch.signals import Wiring
from controller.batch.stages import Cause, Form, Stage
from controller.batch.state import BagState, LampState, Run, Zone
from controller.errors import StageError


def dry_pull(desk: Desk, act: Act, run: Run) -> str:
    if run.coat.bag is None:
        raise StageError("this coat has no bag: go on with START")
    run.move(desk.now, ActKind.DRY_PULL)
    run.bag = BagState()
    return "The pump pulls the dry bag. Seal it round the board and listen."


def dry_pull_done(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.DRY_PULL_DONE)
    run.bag = BagState(dry_rise=run.bag.rise)
    return "The dry pull is on the record. Open the bag and bring the board under the lamp."


def thinned(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COOLDOWN)
    lamp_away(desk, run, "open the thinner")
    run.thinner_open = True
    wet(desk)
    return "From now on the lamp stays dark until the zone is clear again."


def probe_off(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COOLDOWN, Stage.COAT)
    run.probe_off = True
    if desk.heat is not None:
        desk.heat.probe_off()
    return "The face is reckoned from here on, and shown as an estimate."


def coating(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COOLDOWN)
    lamp_away(desk, run, "put resin on")
    if run.mixed_at is None:
        run.mixed_at = desk.now
    at = desk.told_at(act, run.lamp_off_at)
    run.move(desk.now, ActKind.COATING, at)
    run.coating_at = at
    wet(desk)
    if desk.heat is not None and not run.probe_off:
        run.probe_off = True
        desk.heat.probe_off()
    if desk.heat is not None and desk.heat.face > run.coat.heat.window_high:
        return "The face is hotter than the coat window: the thinner flashes off. Work thin."
    return "Ends first, then the open grain. Keep it wet where it goes dull."


def lamp_away(desk: Desk, run: Run, what: str) -> None:
    if run.lamp.on or desk.rig.lamp_by_hand or desk.readings.lamp_fed:
        raise StageError(f"the lamp is on: it must be off and unplugged before you {what}")
    if not run.unplugged and desk.facts.lamp is not Wiring.ABSENT:
        raise StageError(f"pull the lamp's plug and press UNPLUGGED before you {what}")


def wet(desk: Desk) -> None:
    desk.rig.zone = Zone(wet=True)


def coated(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COAT)
    at = desk.told_at(act, run.coating_at)
    bagged = run.coat.bag is not None
    run.move(desk.now, ActKind.COATED if bagged else Cause.NO_BAG, at)
    run.coated_at = at
    if bagged:
        return "Film, breather, bag: roll the film down from one edge, pleats last."
    run.form, run.film_off_at = Form.UNBAGGED, at
    return "It sets in the open. Keep dust off it and the room warm."


def sealed(desk: Desk, act: Act, run: Run) -> str:
    at = desk.told_at(act, run.coated_at)
    run.move(desk.now, ActKind.SEALED, at)
    run.sealed_at = at
    run.bag = BagState(dry_rise=run.bag.dry_rise)
    used = act.values.get("used_g")
    if isinstance(used, float | int) and not isinstance(used, bool) and used > 0:
        run.used = float(used) / 1000.0
    return "The pump pulls. Watch for bubbles, and run a thumb along the tape."


def reseal(desk: Desk, act: Act, run: Run) -> str:
    if run.stage is Stage.HOLD and (run.form is not Form.HELD or run.has_set()):
        raise StageError("the resin has set: opening the seal now helps nothing")
    run.move(desk.now, ActKind.RESEAL)
    run.form = None
    run.bag = BagState(dry_rise=run.bag.dry_rise)
    return "The pump is off. Press the seam down and press SEALED."


def accept(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.ACCEPT)
    run.form = Form.HELD
    run.bag.accepted_rise = run.bag.rise
    return "Taken as good enough, and written down so. The hold is judged against this."


def let_up(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.HOLD)
    if run.form is not Form.HELD or run.coat.bag is None:
        raise StageError("there is no vacuum to let up")
    if not run.coat.bag.let_up:
        raise StageError("ends or back are bare: air would go in by them, not resin. Hold on")
    if run.may_have_gelled():
        raise StageError("the resin may have gelled: letting up moves nothing now. Hold on")
    run.form = Form.LET_UP
    return "Let the air in slowly. The pump stays off, and no vacuum alarm comes."


def opened(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.HOLD)
    reason = act.values.get("reason")
    if not run.may_open and not reason:
        raise StageError("it is before the open-from time: say why in 'reason'")
    run.move(desk.now, ActKind.OPENED)
    run.film_off_at = run.film_off_at if run.film_off_at is not None else desk.now
    return "Film off. Stand it on stickers with both faces open, and air the room."


def tidied(desk: Desk, act: Act, run: Run) -> str:
    if not desk.rig.zone.wet:
        raise StageError("nothing wet was told of: there is nothing to tidy")
    if run.stage in (Stage.COOLDOWN, Stage.COAT):
        raise StageError("the cup is still in use: tidy when the coat is on")
    desk.rig.zone.tidied_at = desk.now
    return "Thinner shut, cup out, air moving: written down."


def moved_out(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.FLASHOFF)
    place = act.values.get("place")
    if not isinstance(place, str) or not place.strip():
        raise StageError("say where it is now in 'place': 3 m off, or another room")
    if run is not desk.rig.run:
        run.place = place.strip()
        return f"Now at {run.place}."
    run.place = place.strip()
    desk.rig.zone.out_at = desk.now
    desk.rig.aside.append(run)
    desk.rig.run = None
    return f"{run.sheet.name} flashes off at {run.place}. The rig is free for the next batch."


def weighed(desk: Desk, act: Act, run: Run) -> str:
    mass, what = act.values.get("mass_g"), act.values.get("what", "board")
    if not isinstance(mass, float | int) or isinstance(mass, bool) or not mass > 0:
        raise StageError("say the mass in 'mass_g', in grams")
    if what not in ("board", "sister", "coupon"):
        raise StageError("'what' is board, sister or coupon")
    run.weigh_ins.append((desk.told_at(act, None), str(what), float(mass) / 1000.0))
    return f"Weigh-in {len(run.weigh_ins)}: {mass:g} g, {what}."


def next_coat(desk: Desk, act: Act, run: Run) -> str:
    if run.outcome == "abandoned" or run.coat_index + 1 >= len(run.sheet.coats):
        raise StageError("the sheet has no further coat: plan a new batch")
    if run is not desk.rig.run and desk.rig.run is not None:
        raise StageError(f"{desk.rig.run.sheet.name} is at the rig: finish or move it out")
    stages.after(run.stage, ActKind.NEXT_COAT)
    fresh = Run(
        id=run.id,
        sheet=run.sheet,
        coat_index=run.coat_index + 1,
        stage=Stage.PLANNED,
        since=desk.now,
        weigh_ins=run.weigh_ins,
        lamp=LampState(),
    )
    desk.rig.aside[:] = [other for other in desk.rig.aside if other is not run]
    desk.rig.run = fresh
    return f"Coat {fresh.coat.number} is planned. Clean the face and take the dust off."


def pump_on(desk: Desk, act: Act, run: Run) -> str:
    by_hand(desk.facts.pump, "pump")
    desk.rig.pump_by_hand = True
    return "The pump is told on."


def pump_off(desk: Desk, act: Act, run: Run) -> str:
    by_hand(desk.facts.pump, "pump")
    desk.rig.pump_by_hand = False
    return "The pump is told off."


COAT_ACTS: dict[ActKind, Callable[[Desk, Act, Run], str]] = {
    ActKind.DRY_PULL: dry_pull,
    ActKind.DRY_PULL_DONE: dry_pull_done,
    ActKind.THINNED: thinned,
    ActKind.PROBE_OFF: probe_off,
    ActKind.COATING: coating,
    ActKind.COATED: coated,
    ActKind.SEALED: sealed,
    ActKind.RESEAL: reseal,
    ActKind.ACCEPT: accept,
    ActKind.LET_UP: let_up,
    ActKind.OPENED: opened,
    ActKind.TIDIED: tidied,
    ActKind.MOVED_OUT: moved_out,
    ActKind.WEIGHED: weighed,
    ActKind.NEXT_COAT: next_coat,
    ActKind.PUMP_ON: pump_on,
    ActKind.PUMP_OFF: pump_off,
}
