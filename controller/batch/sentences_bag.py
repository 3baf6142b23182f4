"""The words people read while the bag is sealed, pulled and held. Nothing is decided here."""

from controller.batch import senses, setting
from controller.batch.bag import does_not_come_down
from controller.batch.presses import may_let_up
from controller.batch.pumping import dry_pull_is_over
from controller.batch.signals import Wiring
from controller.batch.snapshot import Quantity, Sentence
from controller.batch.stages import Form
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.batch.wording import clock, say, temperature, vacuum
from controller.science.kinetics import CURED_AT

TRAP_FULL = "The trap is full and the pump waits: empty it and press ACKNOWLEDGE."
NO_READING = "The bag gauge gives no reading. Look at its plug."


def dry_pull(run: Run, rig: RigState, view: View) -> Sentence:
    """What the dry bag has told so far, or why it tells nothing."""
    if view.facts.gauge is not Wiring.WIRED:
        return say("Nothing reads the bag here. Look and listen, then DRY PULL DONE.")
    if run.bag.verdict == "not tested" and dry_pull_is_over(run, view.now):
        return say(
            "An hour told nothing of this bag, and the pump is off. DRY PULL DONE, and see to "
            "pump, hose and gauge before START."
        )
    if senses.trap_bars_pump(rig):
        return say(TRAP_FULL)
    if view.bag is None or view.bag.pressure is None:
        return say(NO_READING)
    text = {
        "tight": "The dry bag is tight. DRY PULL DONE.",
        "leaking": "The dry bag leaks. Press tape and pleats down and listen.",
    }.get(run.bag.verdict, "Pulling the dry bag. Then five minutes with the pump off.")
    return say(text)


def bag(run: Run, rig: RigState, view: View) -> Sentence:
    """What goes round the wet board before the pump may pull."""
    return say("Film, breather, bag, pleats, port. Press the tape down, then SEALED.")


def pulldown(run: Run, rig: RigState, view: View) -> Sentence:
    """How far the bag is down, and what the leak gate says of it."""
    plan, held = run.coat.bag, view.bag
    if view.facts.gauge is not Wiring.WIRED or held is None or plan is None:
        return say("Nothing reads the bag here. Look and listen, then ACCEPT.")
    if run.has_set():
        return say(
            "The resin has set before the bag was found tight, and the pump stays off. ACCEPT takes"
            " the coat as it lies."
        )
    if senses.trap_bars_pump(rig):
        return say(TRAP_FULL)
    if held.pressure is None:
        return say(NO_READING)
    bag_now = vacuum(held.air - held.pressure)
    if run.bag.verdict == "leaking":
        return say(
            "The bag leaks. At {bag}. Listen along the tape, press it down, RESEAL or ACCEPT.",
            bag=bag_now,
        )
    if run.bag.verdict == "cannot tell yet" and run.bag.retest_at is not None:
        return say(
            "At {bag}. Leak or wood: cannot tell yet, asked again at {again}.",
            bag=bag_now,
            again=clock(run.bag.retest_at),
        )
    if run.bag.reached:
        return say("At {bag}, pump off: five minutes show whether the bag is tight.", bag=bag_now)
    if does_not_come_down(run.bag, view.now):
        return say(
            "Still at {bag}: this bag does not come down. Look at pump, valve, hose and tape; "
            "RESEAL pulls anew, ACCEPT takes it as it is.",
            bag=bag_now,
        )
    return say(
        "Pulling down: {bag}, to {target}. Watch for bubbles, thumb along the tape.",
        bag=bag_now,
        target=vacuum(held.air - plan.target),
    )


def hold(run: Run, rig: RigState, view: View) -> Sentence:
    """How the bag holds, and when the resin gels and may be opened."""
    how, values = _how_it_holds(run, view)
    if run.may_open and setting.only_cold(run, view.film):
        return say(
            f"{how} Hard from the cold, not cured: warm the room to {{warm}} for a day, not with "
            "the lamp, before you peel.",
            warm=temperature(CURED_AT),
            **values,
        )
    if run.may_open:
        first = "Peel" if run.form is Form.HELD else "Try it with a thumbnail"
        return say(f"{how} It may be opened. {first} when you are ready.", **values)
    clocks = _clocks(run, view)
    if "opens" not in clocks:
        return say(
            f"{how} Too cold to set: it opens later. Warm the room, not with the lamp.", **values
        )
    values["opens"] = clocks["opens"]
    if run.gelled:
        return say(f"{how} Gelled. Nothing to do until {{opens}}.", **values)
    values["gel"] = clocks["gel"]
    how = f"{how} Gelled by about {{gel}}."
    if may_let_up(run):
        values["latest"] = clocks["latest"]
        how = f"{how} LET UP, if you will, by {{latest}}."
    return say(f"{how} May be opened from about {{opens}}.", **values)


def _clocks(run: Run, view: View) -> dict[str, Quantity]:
    """When the resin gels and opens if it stays as warm; nothing where it is too cold to set."""
    names = {"latest": "gel_early", "gel": "gel_late", "opens": "open_early"}
    at = {n: setting.reached_at(name, run, view.now, view.film) for n, name in names.items()}
    return {name: clock(then) for name, then in at.items() if then is not None}


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
        "bag": vacuum(view.air - view.bag.pressure),
        "possible": vacuum(possible),
    }
