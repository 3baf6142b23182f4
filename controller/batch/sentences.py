"""The words people read: what is happening and what to do.

Of the bag they are in `sentences_bag.py`. Nothing is decided here.
"""

from controller.batch import flash_off, sentences_bag, setting
from controller.batch.coat_moment import Moment
from controller.batch.presses import open_presses
from controller.batch.signals import Role, Wiring
from controller.batch.snapshot import Quantity, Sentence
from controller.batch.stages import HALTED, HEATED, WET, Form, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.batch.wording import lasting, plain, say, temperature


def sentence(run: Run | None, rig: RigState, view: View) -> Sentence:
    """What is happening and what to do, in one breath."""
    if run is None:
        return _no_batch(rig)
    teller = {
        Stage.PLANNED: _planned,
        Stage.DRYPULL: sentences_bag.dry_pull,
        Stage.PREHEAT: _preheat,
        Stage.SOAK: _soak,
        Stage.COOLDOWN: _cooldown,
        Stage.COAT: _coat,
        Stage.BAG: sentences_bag.bag,
        Stage.PULLDOWN: sentences_bag.pulldown,
        Stage.HOLD: sentences_bag.hold,
        Stage.FLASHOFF: _flash_off,
        Stage.FINISHED: _finished,
        Stage.STOPPED: _halted,
        Stage.INTERRUPTED: _halted,
    }[run.stage]
    switch = _switch(run, rig, view)
    words = teller(run, rig, view)
    return say(f"{switch} {words.text}", **words.values) if switch else words


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
        return say("The rig is free. What was moved out flashes off on its own clock.")
    return say("No batch is planned. Make its Batch sheet, or: warmdraw press PLAN FILE.")


def _planned(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if rig.zone.wet:
        return say(
            "Solvent may still be in the lamp's zone: TIDIED, the wet work MOVED OUT, and ten "
            "minutes of moving air."
        )
    if not heat.reachable:
        return say(
            "This lamp settles at {settles} and the band starts at {band}. "
            + plain(heat.advice or "Change lamp or band first."),
            settles=temperature(heat.settles_at),
            band=temperature(heat.band_low),
        )
    return say(
        "Ready. Board under the lamp, probe on it, then START. Expect {heat} of lamp.",
        heat=lasting(heat.preheat + heat.soak),
    )


def _preheat(run: Run, rig: RigState, view: View) -> Sentence:
    heat = run.coat.heat
    if run.lamp.flipping:
        return say("The lamp is off. Turn the board, move the probe, press FLIPPED.")
    if view.facts.lamp is Wiring.ABSENT:
        return say(
            "This rig has no lamp: warm the board as you can. The band starts at {low}.",
            low=temperature(heat.band_low),
        )
    if view.dark is not None and view.dark.id == "I-2 reading" and _read_by_hand(view):
        return say("Measure the face and tell its READING: the lamp may burn 5 min on it.")
    if view.dark is not None and view.dark.id != "I-1 stage":
        return say(f"The lamp is off: {view.dark.why}. It comes back {view.dark.clears}.")
    if not run.lamp.proved and view.facts.lamp is Wiring.WIRED:
        return say("Proving the lamp: the probe must see it within 75 s.")
    return say(
        "Warming to {low}. Stay with it; about {time} in the band follow.",
        low=temperature(heat.band_low),
        time=lasting(heat.soak),
    )


def _read_by_hand(view: View) -> bool:
    return Role.FACE not in view.facts.probes


def _soak(run: Run, rig: RigState, view: View) -> Sentence:
    dark = view.dark is not None and view.dark.id not in ("I-1 stage", "I-1 none")
    if run.lamp.flipping or dark:
        return _preheat(run, rig, view)
    mean = view.room if view.mean is None else view.mean
    if view.soak_left is None:
        return say(
            "Hot at the face, {mean} inside. The rest gains little: FLIP or ENOUGH.",
            mean=temperature(mean),
        )
    mix = " Mix A and B now, away from the lamp." if run.mixed_at is None else ""
    soon = mix if any(p.act == "MIXED" and p.due for p in open_presses(run, rig, view)) else ""
    return say(
        "Hot at the face, {mean} inside. Lamp off in about {left}." + soon,
        mean=temperature(mean),
        left=lasting(view.soak_left),
    )


def _cooldown(run: Run, rig: RigState, view: View) -> Sentence:
    moment = view.moment
    if moment is None or run.lamp_off_at is None:
        told = "Then pull" if rig.lamp_by_hand else "The lamp is off. Pull"
        return say(f"{told} its plug and press UNPLUGGED.")
    draw = Quantity(kind="percent", value=moment.draw_left)
    if view.coat_now:
        left = moment.seconds_left
        shuts = "" if left is None else " About {left} before it is less thin."
        values = {} if left is None else {"left": lasting(left)}
        return say("COAT NOW. Ends first, then the open grain." + shuts, **values)
    face = temperature(moment.face)
    if view.opens is not None and view.opens > 0:
        return say(
            "The lamp is off and the face falls. Coat in about {opens}" + _before_the_coat(run),
            opens=lasting(view.opens),
        )
    if moment.moment is not Moment.LATE:
        return say("The lamp is off. Waiting to see the face fall" + _before_the_coat(run))
    return say(
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
        return say(
            "The cup has had {share} of its pot life. Finish, then COATED.",
            share=Quantity(kind="percent", value=share),
        )
    if view.opens is not None and view.opens > 0 and view.face is not None:
        return say(
            "The face is at {face}, over the coat window: the mix kicks early. Thin strokes, "
            "quick, then COATED.",
            face=temperature(view.face),
        )
    draw = None if view.moment is None else view.moment.draw_left
    if draw is None:
        return say("Keep it wet where it goes dull, scrape the rest off, then COATED.")
    return say(
        "Keep it wet where it goes dull: {draw} of the draw is still to come. Then COATED.",
        draw=Quantity(kind="percent", value=max(draw, 0.0)),
    )


def _flash_off(run: Run, rig: RigState, view: View) -> Sentence:
    return say(
        "The solvent leaves: {share} of the time it is given. Weigh it once a day.",
        share=Quantity(kind="percent", value=flash_off.share(run)),
    )


def _finished(run: Run, rig: RigState, view: View) -> Sentence:
    if run.outcome == "abandoned":
        return say("Given up. The record keeps what happened.")
    if run.coat_index + 1 < len(run.sheet.coats):
        return say("This coat is done. Sand until dull, dust off, then NEXT COAT.")
    return say("Finished. Sand when it is hard right through, a week at room warmth for oil.")


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
    return say(f"Halted: {why}. {what}")


def _vacuum_is_going(run: Run) -> bool:
    """A bag that was pulled is left without a pump while the resin can still let go."""
    pulled = run.left is Stage.PULLDOWN or (run.left is Stage.HOLD and run.form is Form.HELD)
    return run.stage in HALTED and pulled and not run.has_set()
