"""The words people read: what is happening and what to do.

Text with {named} gaps; a gap's quantity is SI, a clock is rig time. Nothing is decided here.
"""

from controller.batch import flash_off, senses, setting
from controller.batch.coat_moment import Moment
from controller.batch.presses import may_let_up, open_presses
from controller.batch.signals import Role, Wiring
from controller.batch.snapshot import Quantity, Sentence
from controller.batch.stages import HALTED, HEATED, WET, Form, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.science.kinetics import CURED_AT


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
    switch = _switch(run, rig, view)
    words = teller(run, rig, view)
    return _say(f"{switch} {words.text}", **words.values) if switch else words


def plain(text: str) -> str:
    """Words from outside as they may stand in a sentence: braces are for gaps."""
    return text.replace("{", "(").replace("}", ")")


def _switch(run: Run, rig: RigState, view: View) -> str:
    """A command to an output that a person switches, as words."""
    if view.facts.lamp is Wiring.BY_HAND and rig.lamp_by_hand != run.lamp.on:
        word = "ON" if run.lamp.on else "OFF"
        return f"Switch the lamp {word.lower()} and press LAMP {word}."
    if view.facts.pump is Wiring.BY_HAND and rig.pump_by_hand != run.bag.pump_on:
        word = "ON" if run.bag.pump_on else "OFF"
        return f"Switch the pump {word.lower()} and press PUMP {word}."
    return ""


def _no_batch(rig: RigState) -> Sentence:
    if rig.aside:
        return _say("The rig is free. What was moved out flashes off on its own clock.")
    return _say("No batch is planned. Make its Batch sheet, or: warmdraw press PLAN FILE.")


def _planned(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if rig.zone.wet:
        return _say(
            "Solvent may still be in the lamp's zone: TIDIED, the wet work MOVED OUT, and ten "
            "minutes of moving air."
        )
    if not heat.reachable:
        return _say(
            "This lamp settles at {settles} and the band starts at {band}. "
            + plain(heat.advice or "Change lamp or band first."),
            settles=_temperature(heat.settles_at),
            band=_temperature(heat.band_low),
        )
    return _say(
        "Ready. Board under the lamp, probe on it, then START. Expect {heat} of lamp.",
        heat=_for(heat.preheat + heat.soak),
    )


def _dry_pull(run: Run, rig: RigState, view: View) -> Sentence:
    if view.facts.gauge is not Wiring.WIRED:
        return _say("Nothing reads the bag here. Look and listen, then DRY PULL DONE.")
    text = {
        "tight": "The dry bag is tight. DRY PULL DONE.",
        "leaking": "The dry bag leaks. Press tape and pleats down and listen.",
    }.get(run.bag.verdict, "Pulling the dry bag. Then five minutes with the pump off.")
    return _say(text)


def _preheat(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if run.lamp.flipping:
        return _say("The lamp is off. Turn the board, move the probe, press FLIPPED.")
    if view.facts.lamp is Wiring.ABSENT:
        return _say(
            "This rig has no lamp: warm the board as you can. The band starts at {low}.",
            low=_temperature(heat.band_low),
        )
    if view.dark is not None and view.dark.id == "I-2 reading" and _read_by_hand(view):
        return _say("Measure the face and tell its READING: the lamp may burn 5 min on it.")
    if view.dark is not None and view.dark.id != "I-1 stage":
        return _say(f"The lamp is off: {view.dark.why}. It comes back {view.dark.clears}.")
    if not run.lamp.proved and view.facts.lamp is Wiring.WIRED:
        return _say("Proving the lamp: the probe must see it within 75 s.")
    return _say(
        "Warming to {low}. Stay with it; about {time} in the band follow.",
        low=_temperature(heat.band_low),
        time=_for(heat.soak),
    )


def _read_by_hand(view: View) -> bool:
    return Role.FACE not in view.facts.probes


def _soak(run: Run, rig: RigState, view: View) -> Sentence:
    dark = view.dark is not None and view.dark.id not in ("I-1 stage", "I-1 none")
    if run.lamp.flipping or dark:
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
        told = "Then pull" if rig.lamp_by_hand else "The lamp is off. Pull"
        return _say(f"{told} its plug and press UNPLUGGED.")
    draw = Quantity(kind="percent", value=moment.draw_left)
    if view.coat_now:
        left = moment.seconds_left
        shuts = "" if left is None else " About {left} before it is less thin."
        values = {} if left is None else {"left": _for(left)}
        return _say("COAT NOW. Ends first, then the open grain." + shuts, **values)
    face = _temperature(moment.face)
    if view.opens is not None and view.opens > 0:
        return _say(
            "The lamp is off and the face falls. Coat in about {opens}" + _before_the_coat(run),
            opens=_for(view.opens),
        )
    if moment.moment is not Moment.LATE:
        return _say("The lamp is off. Waiting to see the face fall" + _before_the_coat(run))
    return _say(
        "Less thin now: the face is at {face}, {draw} of the draw still to come. Coat, or REHEAT "
        "if the thinner is still shut.",
        face=face,
        draw=draw,
    )


def _before_the_coat(run: Run) -> str:
    """What is left to do before the first stroke."""
    if not run.unplugged:
        return ": pull the lamp's plug now."
    if run.coat.mix.thinner > 0 and not run.thinner_open:
        return ": thin the mix."
    return "."


def _coat(run: Run, rig: RigState, view: View) -> Sentence:
    share = setting.pot_share(run)
    if share >= setting.POT_WARNING:
        return _say(
            "The cup has had {share} of its pot life. Finish, then COATED.",
            share=Quantity(kind="percent", value=share),
        )
    if view.opens is not None and view.opens > 0 and view.face is not None:
        return _say(
            "The face is at {face}, over the coat window: the mix kicks early. Thin strokes, "
            "quick, then COATED.",
            face=_temperature(view.face),
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
    if run.has_set():
        return _say(
            "The resin has set before the bag was found tight, and the pump stays off. ACCEPT takes"
            " the coat as it lies."
        )
    if senses.trap_bars_pump(rig):
        return _say("The trap is full and the pump waits: empty it and press ACKNOWLEDGE.")
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
    if run.may_open and setting.only_cold(run, view.film):
        return _say(
            f"{how} Hard from the cold, not cured: warm the room to {{warm}} for a day, not with "
            "the lamp, before you peel.",
            warm=_temperature(CURED_AT),
            **values,
        )
    if run.may_open:
        first = "Peel" if run.form is Form.HELD else "Try it with a thumbnail"
        return _say(f"{how} It may be opened. {first} when you are ready.", **values)
    clocks = _clocks(run, view)
    if "opens" not in clocks:
        return _say(
            f"{how} Too cold to set: it opens later. Warm the room, not with the lamp.", **values
        )
    values["opens"] = clocks["opens"]
    if run.gelled:
        return _say(f"{how} Gelled. Nothing to do until {{opens}}.", **values)
    values["gel"] = clocks["gel"]
    how = f"{how} Gelled by about {{gel}}."
    if may_let_up(run):
        values["latest"] = clocks["latest"]
        how = f"{how} LET UP, if you will, by {{latest}}."
    return _say(f"{how} May be opened from about {{opens}}.", **values)


def _clocks(run: Run, view: View) -> dict[str, Quantity]:
    """When the resin gels and opens if it stays as warm; nothing where it is too cold to set."""
    names = {"latest": "gel_early", "gel": "gel_late", "opens": "open_early"}
    at = {n: setting.reached_at(name, run, view.now, view.film) for n, name in names.items()}
    return {name: _clock(then) for name, then in at.items() if then is not None}


def _how_it_holds(run: Run, view: View) -> tuple[str, dict[str, Quantity]]:
    if run.form is Form.LET_UP and run.has_set():
        return "No vacuum on it any more; the resin has set.", {}
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
    why = plain(run.stop_cause or "stopped")
    if _vacuum_is_going(run):
        what = (
            "Lamp and pump are off, and the resin has not gelled: the bag loses its vacuum, and "
            "minutes matter. Look, then RESUME."
        )
    elif run.left in HEATED:
        what = "Lamp off, locked. See to it, then RE-ARM or ABANDON."
        if run.thinner_open:
            what = "The thinner is open: no lamp for this coat. RESUME or ABANDON."
    elif run.left in WET:
        what = "Lamp and pump are off. The resin goes on setting. Look, then RESUME or ABANDON."
    else:
        what = "Lamp and pump are off. RESUME or ABANDON."
    return _say(f"Halted: {why}. {what}")


def _vacuum_is_going(run: Run) -> bool:
    """A bag that was pulled is left without a pump while the resin can still let go."""
    pulled = run.left is Stage.PULLDOWN or (run.left is Stage.HOLD and run.form is Form.HELD)
    return run.stage in HALTED and pulled and not run.has_set()
