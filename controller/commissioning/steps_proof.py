"""What must work when all else has failed, asked for: cut-out, dead-man, STOP, sounder and senses.

A fault that shows only when it is needed is found in no other way.
"""

from dataclasses import replace

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings
from controller.commissioning.bench import LAMP, LOOK, Bench, must
from controller.commissioning.record import Result
from controller.commissioning.steps_outputs import plug_out

HEATED_WITHIN, ACTED_WITHIN, PRESSED_WITHIN, STAYS = 600.0, 10.0, 20.0, 10.0
"""How long a hot-air gun may take, a switch, and a hand to STOP; and how long a cut-out is watched
to stay open, [s]. Own."""
TRIED = 4.0
"""How long the lamp is told ON where it must stay dark, [s]. Own."""
HELD_FOR = 4.0
"""How long an edge a second holds the contactor before the line stands still, [s]. Own."""
DROPS_WITHIN = 2.0 + 3 * LOOK
"""From the last edge to a dark lamp, [s]: what the dead-man is made for, and three looks. A timer
that holds twice as long, by one part broken, is found so. Own."""
DRIVEN = Commands(lamp=True, pump=True, dead_man=True)
LOUD = replace(OUTPUTS_OFF, sounder=True)


def cut_out(bench: Bench) -> Result:
    """It opens when its plate is hot, the lamp is dark then, and it stays so until its button."""
    sensed = bench.settings.sense.cut_out is not None
    if not sensed and not bench.yes("Is a thermal cut-out fitted in the lamp's circuit?"):
        says = "none: no software sees a probe that is half off its seat, so close watch it is"
        return Result(step="cut-out", verdict="not fitted", says=says)
    bench.do(
        "Pull the lamp's plug. Warm the cut-out's plate with the hot-air gun until it clicks.",
        "LAMP OUT",
        "HEAT CUT OUT",
    )
    if sensed:
        opened = bench.until(lambda readings: readings.cut_out_open is True, HEATED_WITHIN)
        must(opened is not None, "it did not open, or its contact does not tell: change it")
        stayed = all(look.readings.cut_out_open for look in bench.watch(STAYS))
        must(stayed, "it closed again by itself: one with a reset by hand is wanted")
    _stays_dark(bench)
    bench.do("Let the plate cool, then press the cut-out's button.", "RESET CUT OUT")
    if sensed:
        closed = bench.until(lambda readings: readings.cut_out_open is False, HEATED_WITHIN)
        must(closed is not None, "its button does not close it: cool it, press again, or change it")
    says = "opened when hot, the lamp dark then; its button pressed"
    return Result(step="cut-out", verdict="pass", says=says)


def _stays_dark(bench: Bench) -> None:
    """With the cut-out open the lamp does not burn: a contact that tells may not be the one that
    cuts."""
    plug_in = "Nothing under the lamp. Plug it in"
    if bench.settings.lamp.wired == "wired":
        bench.do(f"{plug_in}: it must stay dark.", "LAMP IN")
    else:
        bench.do(f"{plug_in} and switch it on: it must stay dark.", "LAMP IN", "LAMP ON")
    try:
        lit = [look.readings.lamp_fed for look in bench.watch(TRIED, LAMP)]
        bench.rig.apply(OUTPUTS_OFF)
        sensed = bench.settings.sense.lamp is not None
        must(
            not any(lit) and (sensed or bench.yes("Did the lamp stay dark?")),
            "the lamp is fed with its cut-out open: pull the plug. The cut-out is bridged, or is"
            " not in the lamp's circuit",
        )
    finally:
        plug_out(bench)
        bench.hands("LAMP OFF")


def dead_man(bench: Bench) -> Result:
    """With the line standing still, high or low, the lamp's contactor opens by itself."""
    if bench.settings.panel.dead_man is None or bench.settings.lamp.wired != "wired":
        says = "none: a hung or dead Pi leaves the lamp as it was, so close watch it is"
        return Result(step="dead-man", verdict="not fitted", says=says)
    bench.person.tell("  Mains heat. Stay, one hand at the plug.")
    bench.do(
        "Plug the lamp in, nothing under it. Twice it burns for some seconds, then its line stands"
        " still and it must go dark by itself.",
        "LAMP IN",
    )
    try:
        # from low, where OFF leaves the line: an odd number of edges ends high, an even one low
        high, low = (_dropped(bench, HELD_FOR + more) for more in (0.0, 1.0))
    finally:
        plug_out(bench)
    if bench.settings.sense.lamp is None:
        must(
            bench.yes("Did the lamp burn, and go dark by itself within 2 s, both times?"),
            "the dead-man does not drop the contactor. Out of use until it does",
        )
        return Result(step="dead-man", verdict="pass", says="the person saw the contactor drop")
    return Result(
        step="dead-man",
        verdict="pass",
        says=f"contactor open {high:.1f} s after the line stood still high, {low:.1f} s low",
        figures={"dead_man_high_s": round(high, 2), "dead_man_low_s": round(low, 2)},
    )


def _dropped(bench: Bench, edges: float) -> float:
    """How long after its last edge the lamp was dark, [s]; nothing where nothing tells.

    edges: one a second before the last one, [s]
    """
    sensed = bench.settings.sense.lamp is not None
    burning = [look.readings.lamp_fed for look in bench.watch(edges, LAMP)]
    if sensed:
        must(any(burning), "the lamp is ON and its circuit was not seen live: plug, cut-out?")
        must(
            all(burning),
            "an edge a second does not hold the contactor: the dead-man counts only one kind of"
            " edge, or its time is too short",
        )
    bench.rig.apply(LAMP)
    start = bench.clock()
    seen = bench.still(lambda readings: readings.lamp_fed is False, DROPS_WITHIN)
    bench.watch(1.0)
    if sensed:
        must(
            bool(seen),
            f"the line stood still, and {DROPS_WITHIN:.2f} s later the lamp's circuit was live:"
            " pull the plug. The dead-man does not drop the contactor in time, or the contactor is"
            " welded. Out of use until it does",
        )
    return seen[-1].at - start if seen else 0.0


def stop_button(bench: Bench) -> Result:
    """STOP switches lamp and pump OFF at once."""
    if bench.settings.panel.stop is None:
        return Result(step="STOP", verdict="not fitted", says="no STOP button is wired")
    bench.do("Pull the plugs of lamp and pump: their relays will close.", "LAMP OUT")
    try:
        before = bench.watch(2.0, DRIVEN)[-1]
        must(not before.readings.lamp_fed, "the lamp's circuit is live: its plug is in")
        must(not before.readings.stop_pressed, "STOP reads as pressed: its contact or wire is open")
        bench.person.tell(f"  Within {PRESSED_WITHIN:.0f} s: press STOP and hold it down.")
        bench.hands("PRESS STOP")
        seen = bench.still(lambda readings: readings.stop_pressed, PRESSED_WITHIN)
        outputs = bench.rig.outputs()
    finally:
        bench.rig.apply(OUTPUTS_OFF)
    must(bool(seen), "STOP was not seen: its contact opens when pressed")
    must(
        not (outputs.lamp or outputs.pump),
        "STOP was seen, and an output stayed ON: leave the plugs out, and do not use this rig",
    )
    within = seen[-1].at - (seen[-2] if len(seen) > 1 else before).at
    bench.do("Seen. Let STOP go.", "LET GO STOP")
    gone = bench.until(lambda readings: not readings.stop_pressed, ACTED_WITHIN)
    must(gone is not None, "STOP still reads as pressed: its contact or its wire is open")
    return Result(
        step="STOP",
        verdict="pass",
        says=f"lamp and pump OFF within {1e3 * within:.0f} ms of the press",
        figures={"stop_within_s": round(within, 3)},
    )


def next_button(bench: Bench) -> Result:
    """NEXT is seen, and does not tap itself."""
    if bench.settings.panel.next is None:
        return Result(step="NEXT", verdict="not fitted", says="no NEXT button is wired")
    bench.read()
    by_itself = any(look.readings.next_pressed for look in bench.watch(3.0))
    must(not by_itself, "NEXT taps itself: its contact, or a wire beside a mains wire")
    bench.do("Tap NEXT once, with your elbow.", "TAP NEXT")
    must(bench.read().readings.next_pressed, "NEXT was not seen: its contact closes when tapped")
    return Result(step="NEXT", verdict="pass", says="seen once tapped")


def sounder(bench: Bench) -> Result:
    """It can be heard."""
    if bench.settings.panel.sounder is None:
        says = "none: a sleeping phone wakes nobody"
        return Result(step="sounder", verdict="not fitted", says=says)
    bench.do("The sounder will sound for 3 s.")
    bench.watch(3.0, LOUD)
    must(
        bench.yes("Did it sound, and would it wake you where you sleep?"),
        "nobody would wake: a louder one, or one by the bed",
    )
    return Result(step="sounder", verdict="pass", says="heard")


def tilt(bench: Bench) -> Result:
    """The stand's switch tells when it leans."""
    if bench.settings.sense.tilt is None:
        return Result(step="tilt", verdict="not fitted", says="no tilt switch is wired")
    return _contact(
        bench,
        "tilt",
        ("The lamp's plug out. Lean its stand over.", "TILT LAMP"),
        ("Set it upright.", "RIGHT LAMP"),
        "tilted",
    )


def trap(bench: Bench) -> Result:
    """The trap's float tells when it is up."""
    if bench.settings.sense.trap is None:
        return Result(step="float", verdict="not fitted", says="no float is wired")
    return _contact(
        bench,
        "float",
        ("Lift the float in the trap.", "LIFT FLOAT"),
        ("Let it down.", "DROP FLOAT"),
        "trap_full",
    )


def _contact(
    bench: Bench, step: str, there: tuple[str, str], back: tuple[str, str], field: str
) -> Result:
    def tells(readings: Readings) -> bool:
        return getattr(readings, field) is True

    # twice, as one that a knock opens counts only then
    already = tells(bench.watch(2.0)[-1].readings)
    must(not already, f"the {step} switch tells already: its wire or contact is open")
    bench.do(*there)
    must(bench.until(tells, ACTED_WITHIN) is not None, f"the {step} switch was not seen: its wires")
    bench.do(*back)
    gone = bench.until(lambda readings: not tells(readings), ACTED_WITHIN)
    must(gone is not None, f"the {step} switch does not go back")
    return Result(step=step, verdict="pass", says="told there and back")


def room(bench: Bench) -> Result:
    """What is no part of the rig and saves the shop."""
    alarm = bench.fact(
        "Press the smoke alarm's test button. In which room did it sound?", "this shop"
    )
    switch = bench.fact(
        "Stand at the board. Which plug or switch that cuts lamp and pump do you reach?",
        "the switch on the bench's left leg",
    )
    extinguisher = bench.fact("Where is the extinguisher?", "beside the door")
    says = f"smoke alarm: {alarm}; in reach: {switch}; extinguisher: {extinguisher}"
    return Result(step="room", verdict="pass", says=says)
