"""The words people read: what is happening, what to do, and what can hurt here.

Text with {named} gaps; a gap's quantity is SI, a clock is rig time. Nothing is decided here.
"""

from controller.batch import flash_off, setting
from controller.batch.presses import open_presses
from controller.batch.signals import Wiring
from controller.batch.snapshot import Quantity, Sentence
from controller.batch.stages import HEATED, WET, Form, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View

CAUTIONS: dict[Stage, tuple[str, ...]] = {
    Stage.PLANNED: (
        "Not a safety device. The lamp is mains heat: stay with it, plug within reach.",
        "No solvent, no thinned resin, no rags near the lamp. Air the room first.",
    ),
    Stage.DRYPULL: ("Vacuum crushes glass: trap, tank and hose rated for it, eyes covered.",),
    Stage.PREHEAT: (
        "Stay with the lamp, plug within reach. Keep its maker's clearance.",
        "No solvent, thinned resin or rags in the lamp's zone.",
    ),
    Stage.SOAK: (
        "Stay with the lamp. Mix A and B elsewhere; the thinner stays shut.",
        "Gloves on: resin and hardener on skin sensitise. Never seal a cup of mix.",
    ),
    Stage.COOLDOWN: (
        "The bulb stays hot enough to light vapour: unplugged and away before thinner is opened.",
        "Gloves, moving air, a breathing mask for organic vapour or outdoors.",
    ),
    Stage.COAT: (
        "No flame, no lamp, no sparks. Moving air, breathing mask, gloves.",
        "A cup that warms or strings is done: spread it in a tray outdoors.",
    ),
    Stage.BAG: ("Left-over mix out of the cup, thin, outdoors. Rags flat, outdoors.",),
    Stage.PULLDOWN: (
        "Pump exhaust outdoors: it carries solvent. Trap clear and rated for vacuum.",
    ),
    Stage.HOLD: ("Pump exhaust outdoors, trap clear. Warm the room, never with the lamp.",),
    Stage.FLASHOFF: (
        "Solvent leaves for days: air the room, keep flames and the lamp away.",
        "Gloves and dust mask: resin this young still sensitises.",
    ),
    Stage.STOPPED: (
        "The bulb stays hot for a while. Mix in a cup goes on setting: spread it out.",
    ),
    Stage.INTERRUPTED: ("Look at lamp, bag and cup before you press anything.",),
}
"""Two lines at most, where they bite. Stages without a line have nothing new to hurt."""


def _say(text: str, **values: Quantity) -> Sentence:
    return Sentence(text=text, values=values)


def _temperature(kelvin: float) -> Quantity:
    return Quantity(kind="temperature", value=kelvin)


def _for(seconds: float) -> Quantity:
    return Quantity(kind="duration", value=max(seconds, 0.0))


def _clock(at: float) -> Quantity:
    return Quantity(kind="clock", value=at)


def _vacuum(below: float) -> Quantity:
    return Quantity(kind="vacuum", value=max(below, 0.0))


def sentence(run: Run | None, rig: RigState, view: View) -> Sentence:
    """What is happening and what to do, in one breath."""
    if run is None:
        return _no_batch(rig)
    teller = {
        Stage.PLANNED: _planned,
        Stage.DRYPULL: _dry_pull,
        Stage.PREHEAT: _preheat,
        Stage.SOAK: _soak,
        Stage.COOLDOWN: _cooldown,
        Stage.COAT: _coat,
        Stage.BAG: _bag,
        Stage.PULLDOWN: _pulldown,
        Stage.HOLD: _hold,
        Stage.FLASHOFF: _flash_off,
        Stage.FINISHED: _finished,
        Stage.STOPPED: _halted,
        Stage.INTERRUPTED: _halted,
    }[run.stage]
    return teller(run, rig, view)


def cautions(run: Run | None) -> tuple[str, ...]:
    """What can hurt in this stage, two lines at most."""
    return CAUTIONS.get(Stage.PLANNED if run is None else run.stage, ())


def _no_batch(rig: RigState) -> Sentence:
    if rig.aside:
        return _say("The rig is free. What was moved out flashes off on its own clock.")
    return _say("No batch is planned. Send a sheet: warmdraw press PLAN FILE.")


def _planned(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if rig.zone.wet:
        return _say("Solvent may still be in the lamp's zone. Tidy, move the work out, air it.")
    if not heat.reachable:
        return _say(
            "This lamp settles at {settles} and the band starts at {band}. " + (heat.advice or ""),
            settles=_temperature(heat.settles_at),
            band=_temperature(heat.band_low),
        )
    return _say(
        "Ready. Board under the lamp, probe on it, then START. Expect {heat} of lamp.",
        heat=_for(heat.preheat + heat.soak),
    )


def _dry_pull(run: Run, rig: RigState, view: View) -> Sentence:
    text = {
        "tight": "The dry bag is tight. DRY PULL DONE.",
        "leaking": "The dry bag leaks. Press tape and pleats down and listen.",
    }.get(run.bag.verdict, "Pulling the dry bag. Then five minutes with the pump off.")
    return _say(text)


def _preheat(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if run.lamp.flipping:
        return _say("The lamp is off. Turn the board, move the probe, press FLIPPED.")
    if view.dark is not None and view.dark.id != "I-1 stage":
        return _say(f"The lamp is off: {view.dark.why}. It comes back {view.dark.clears}.")
    if not run.lamp.proved and view.facts.lamp is Wiring.WIRED:
        return _say("Proving the lamp: the probe must see it within 75 s.")
    return _say(
        "Warming to {low}. Stay with it; about {time} in the band follow.",
        low=_temperature(heat.band_low),
        time=_for(heat.soak),
    )


def _soak(run: Run, rig: RigState, view: View) -> Sentence:
    if run.lamp.flipping or (view.dark is not None and view.dark.id != "I-1 stage"):
        return _preheat(run, rig, view)
    mean = view.room if view.mean is None else view.mean
    if view.soak_left is None:
        return _say(
            "Hot at the face, {mean} inside. The rest gains little: FLIP or ENOUGH.",
            mean=_temperature(mean),
        )
    mix = " Mix A and B now, away from the lamp." if run.mixed_at is None else ""
    soon = mix if any(p.act == "MIXED" and p.due for p in open_presses(run, rig, view)) else ""
    return _say(
        "Hot at the face, {mean} inside. Lamp off in about {left}." + soon,
        mean=_temperature(mean),
        left=_for(view.soak_left),
    )


def _cooldown(run: Run, rig: RigState, view: View) -> Sentence:
    moment = view.moment
    if moment is None or run.lamp_off_at is None:
        return _say("The lamp is off. Pull its plug and press UNPLUGGED.")
    draw = Quantity(kind="percent", value=moment.draw_left)
    if view.coat_now:
        left = moment.seconds_left
        shuts = "" if left is None else " About {left} before it is less thin."
        values = {} if left is None else {"left": _for(left)}
        return _say("COAT NOW. Ends first, then the open grain." + shuts, **values)
    face = _temperature(moment.face)
    if view.opens is not None and view.opens > 0:
        return _say(
            "The lamp is off and the face falls. Coat in about {opens}: unplug, then thin.",
            opens=_for(view.opens),
        )
    return _say(
        "Less thin now: the face is at {face}, {draw} of the draw still to come. Coat, or REHEAT "
        "if the thinner is still shut.",
        face=face,
        draw=draw,
    )


def _coat(run: Run, rig: RigState, view: View) -> Sentence:
    share = setting.pot_share(run)
    if share >= setting.POT_WARNING:
        return _say(
            "The cup has had {share} of its pot life. Finish, then COATED.",
            share=Quantity(kind="percent", value=share),
        )
    draw = None if view.moment is None else view.moment.draw_left
    if draw is None:
        return _say("Keep it wet where it goes dull, scrape the rest off, then COATED.")
    return _say(
        "Keep it wet where it goes dull: {draw} of the draw is still to come. Then COATED.",
        draw=Quantity(kind="percent", value=max(draw, 0.0)),
    )


def _bag(run: Run, rig: RigState, view: View) -> Sentence:
    return _say("Film, breather, bag, pleats, port. Press the tape down, then SEALED.")


def _pulldown(run: Run, rig: RigState, view: View) -> Sentence:
    plan, held = run.coat.bag, view.bag
    if view.facts.gauge is not Wiring.WIRED or held is None or plan is None:
        return _say("Nothing reads the bag here. Look and listen, then ACCEPT.")
    if held.pressure is None:
        return _say("The bag gauge gives no reading. Look at its plug.")
    bag_now = _vacuum(held.air - held.pressure)
    if run.bag.verdict == "leaking":
        return _say(
            "The bag leaks. At {bag}. Listen along the tape, press it down, RESEAL or ACCEPT.",
            bag=bag_now,
        )
    if run.bag.verdict == "cannot tell yet" and run.bag.retest_at is not None:
        return _say(
            "At {bag}. Leak or wood: cannot tell yet, asked again at {again}.",
            bag=bag_now,
            again=_clock(run.bag.retest_at),
        )
    if run.bag.reached:
        return _say("At {bag}, pump off: five minutes show whether the bag is tight.", bag=bag_now)
    return _say(
        "Pulling down: {bag}, to {target}. Watch for bubbles, thumb along the tape.",
        bag=bag_now,
        target=_vacuum(held.air - plan.target),
    )


def _hold(run: Run, rig: RigState, view: View) -> Sentence:
    how, values = _how_it_holds(run, view)
    if run.may_open:
        first = "Peel" if run.form is Form.HELD else "Try it with a thumbnail"
        return _say(f"{how} It may be opened. {first} when you are ready.", **values)
    gel = run.coat.resin
    opens = setting.reached_at(gel.open_early, run, view.now, view.film)
    if opens is None:
        return _say(
            f"{how} Too cold to set: it opens later. Warm the room, not with the lamp.", **values
        )
    values["opens"] = _clock(opens)
    if run.gelled:
        return _say(f"{how} Gelled. Nothing to do until {{opens}}.", **values)
    gelled = setting.reached_at(gel.gel_late, run, view.now, view.film)
    if gelled is not None:
        values["gel"] = _clock(gelled)
        how = f"{how} Gelled by about {{gel}}."
    return _say(f"{how} May be opened from about {{opens}}.", **values)


def _how_it_holds(run: Run, view: View) -> tuple[str, dict[str, Quantity]]:
    if run.form is Form.LET_UP:
        return "Let up: the air presses the resin in.", {}
    if run.form is Form.UNBAGGED:
        return "Setting in the open.", {}
    if view.bag is None or view.bag.pressure is None:
        return "Holding; nothing reads the bag.", {}
    possible = max(view.air - view.bag.plan.possible, 0.0)
    return "Holding at {bag} of a possible {possible}.", {
        "bag": _vacuum(view.air - view.bag.pressure),
        "possible": _vacuum(possible),
    }


def _flash_off(run: Run, rig: RigState, view: View) -> Sentence:
    return _say(
        "The solvent leaves: {share} of the time it is given. Weigh it once a day.",
        share=Quantity(kind="percent", value=flash_off.share(run)),
    )


def _finished(run: Run, rig: RigState, view: View) -> Sentence:
    if run.outcome == "abandoned":
        return _say("Given up. The record keeps what happened.")
    if run.coat_index + 1 < len(run.sheet.coats):
        return _say("This coat is done. Sand until dull, dust off, then NEXT COAT.")
    return _say("Finished. Sand when it is hard right through, a week at room warmth for oil.")


def _halted(run: Run, rig: RigState, view: View) -> Sentence:
    why = run.stop_cause or "stopped"
    if run.left in HEATED:
        what = "Lamp off, locked. See to it, then RE-ARM or ABANDON."
        if run.thinner_open:
            what = "The thinner is open: no lamp for this coat. RESUME or ABANDON."
    elif run.left in WET:
        what = "Lamp and pump are off. The resin goes on setting. Look, then RESUME or ABANDON."
    else:
        what = "Lamp and pump are off. RESUME or ABANDON."
    return _say(f"Halted: {why}. {what}")
