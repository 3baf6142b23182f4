"""Acts once the lamp is off: thinner, coat, bag, hold, and what comes after."""

from collections.abc import Callable
from math import isfinite

from controller.batch import stages
from controller.batch.acts import Act, ActKind
from controller.batch.desk import Desk, by_hand, lamp_away, only_in, rest_left, rested, wet
from controller.batch.gauge_doubt import may_pull
from controller.batch.lamp_acts import begin_pot
from controller.batch.signals import Wiring
from controller.batch.stages import Form, Stage, Trigger
from controller.batch.state import LampState, PullState, Run
from controller.errors import StageError


def dry_pull(desk: Desk, act: Act, run: Run) -> str:
    if run.coat.bag is None:
        raise StageError("this coat has no bag: go on with START")
    stages.after(run.stage, ActKind.DRY_PULL)
    rested(desk)
    if not run.bag.starts:
        # A bag that was pulled before may still hold its vacuum: that is no fault of the gauge.
        may_pull(run, desk.now, desk.readings, desk.facts)
    run.move(desk.now, ActKind.DRY_PULL)
    run.bag = run.bag.anew(None)
    run.bag.pull = PullState()
    return "The pump pulls the dry bag. Seal it round the board and listen."


def dry_pull_done(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.DRY_PULL_DONE)
    # the rise of a bag that was never pulled says nothing of it
    run.bag = run.bag.anew(run.bag.rise if run.bag.reached else None)
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
    at = desk.told_at(act, run)
    if run.mixed_at is None:
        begin_pot(desk, run, at)
    run.move(desk.now, ActKind.COATING, at)
    run.coating_at = at
    wet(desk)
    if desk.heat is not None and not run.probe_off:
        run.probe_off = True
        desk.heat.probe_off()
    if desk.heat is not None and desk.heat.face > run.coat.heat.window_high:
        return "The face is hotter than the coat window: the mix kicks early. Thin strokes, quick."
    if desk.heat is not None and desk.heat.face < run.coat.heat.window_low:
        return "The face is under the coat window: the mix is less thin. Work it in longer."
    return "Ends first, then the open grain. Keep it wet where it goes dull."


def coated(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.COAT)
    at = desk.told_at(act, run)
    bagged = run.coat.bag is not None
    run.move(desk.now, ActKind.COATED if bagged else Trigger.NO_BAG, at)
    run.coated_at = at
    if bagged:
        return "Film, breather, bag: roll the film down from one edge, pleats last."
    run.form, run.film_off_at = Form.UNBAGGED, at
    return "It sets in the open. Keep dust off it and the room warm."


def sealed(desk: Desk, act: Act, run: Run) -> str:
    at = desk.told_at(act, run)
    run.move(desk.now, ActKind.SEALED, at)
    run.sealed_at = at
    run.bag = run.bag.anew(run.bag.dry_rise)
    used = grams(act, "used_g")
    if used is not None:
        run.used = used / 1000.0
    rest = rest_left(desk)
    if rest is not None and desk.facts.pump is Wiring.WIRED:
        return (
            f"Written down. The pump rests for another {rest:.0f} min and then starts by itself:"
            " the controller came back too often. Look at its supply and its plug."
        )
    return "The pump pulls. Watch for bubbles, and run a thumb along the tape."


def grams(act: Act, name: str) -> float | None:
    """A mass the act carries, [g]; None where it carries none that can be."""
    mass = act.values.get(name)
    if not isinstance(mass, float | int) or isinstance(mass, bool):
        return None
    return float(mass) if isfinite(mass) and mass > 0 else None


def reseal(desk: Desk, act: Act, run: Run) -> str:
    if run.stage is Stage.HOLD and run.form is not Form.HELD:
        raise StageError(f"the hold is {run.form}: there is no vacuum to seal in")
    if run.has_set():
        raise StageError("the resin has set: opening the seal now helps nothing")
    run.move(desk.now, ActKind.RESEAL)
    run.form = None
    run.bag = run.bag.anew(run.bag.dry_rise)
    return "The pump is off. Press the seam down and press SEALED."


def accept(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.ACCEPT)
    if run.has_set():
        run.form = Form.LET_UP
        return "Taken as it lies: the resin has set, so the pump stays off."
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
    if not run.may_open and not str(act.values.get("reason", "")).strip():
        raise StageError("it is before the open-from time: say why in 'reason'")
    at = desk.told_at(act, run)
    run.move(desk.now, ActKind.OPENED, at)
    if run.film_off_at is None:
        run.film_off_at = at
    return "Stand it on stickers with both faces open, and air the room."


def tidied(desk: Desk, act: Act, run: Run) -> str:
    if not desk.rig.zone.wet:
        raise StageError("nothing wet was told of: there is nothing to tidy")
    if run.stage in (Stage.COOLDOWN, Stage.COAT):
        raise StageError("the cup is still in use: tidy when the coat is on")
    desk.rig.zone.tidied_at = desk.now
    return "Thinner shut, cup out, air moving: written down."


def moved_out(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.PLANNED, Stage.FLASHOFF, Stage.FINISHED)
    place = act.values.get("place")
    if not isinstance(place, str) or not place.strip():
        raise StageError("say where it is now in 'place': 3 m off, or another room")
    if run is not desk.rig.run:
        run.place = place.strip()
        return f"Now at {run.place}."
    if run.stage is not Stage.FLASHOFF:
        # Given up while it was wet, or wet work of a batch that is no more: the board may stay
        # wet for days, and the zone must not wait for a flash-off that nobody counts.
        if not desk.rig.zone.wet or desk.rig.zone.out_at is not None:
            raise StageError(
                "nothing wet is told to be in the lamp's zone: there is nothing to move"
            )
        desk.rig.zone.out_at = desk.now
        return "Written down. The zone is clear 10 min after this and TIDIED."
    run.place = place.strip()
    desk.rig.zone.out_at = desk.now
    desk.rig.aside.append(run)
    desk.rig.run = None
    return f"{run.sheet.name} flashes off at {run.place}. The rig is free for the next batch."


def weighed(desk: Desk, act: Act, run: Run) -> str:
    mass, what = grams(act, "mass_g"), act.values.get("what", "board")
    if mass is None:
        raise StageError("say the mass in 'mass_g', in grams")
    if what not in ("board", "sister", "coupon"):
        raise StageError("'what' is board, sister or coupon")
    run.weigh_ins.append((desk.told_at(act, run), str(what), mass / 1000.0))
    run.weigh_ins.sort(key=lambda weigh_in: weigh_in[0])
    return f"Weigh-in {len(run.weigh_ins)}: {mass:g} g, {what}."


def next_coat(desk: Desk, act: Act, run: Run) -> str:
    if run.outcome == "abandoned" or run.coat_index + 1 >= len(run.sheet.coats):
        raise StageError("the sheet has no further coat: plan a new batch")
    here = desk.rig.run
    if here is not None and here is not run and here.outcome is None:
        raise StageError(f"{here.sheet.name} is at the rig: finish or move it out")
    stages.after(run.stage, ActKind.NEXT_COAT)
    fresh = Run(
        id=run.id,
        sheet=run.sheet,
        coat_index=run.coat_index + 1,
        stage=Stage.PLANNED,
        since=desk.now,
        weigh_ins=list(run.weigh_ins),
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
