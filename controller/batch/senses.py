"""What the rig's contacts tell beside the probes: a lamp that leans, its cut-out, its live line,
and the float in the trap.

A contact that is not wired is None and says nothing. One that opens must stay open for a second
before it counts as more than a knock or a relay's spark; the lamp does not wait for that, it is
dark at the first open reading, by its interlock.
"""

from controller.batch.contacts import Contacts
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import HEATED
from controller.batch.state import RigState, Run

STANDS = 1.0
"""How long a contact is open before an alarm follows, [s]. Own."""
FED_GRACE = 2.0
"""How long the lamp's line may differ from its command, [s]. Own."""
TRAP = "trap full"
"""Name of the trap's alarm."""


def follow(rig: RigState, readings: Readings, facts: RigFacts) -> None:
    """Take this step's contacts in: since when each has been as it should not be.

    The command they are held against is the last step's, which is what the lamp has had.
    """
    run, was = rig.run, rig.senses
    switched = facts.lamp is Wiring.WIRED
    on = switched and run is not None and run.lamp.on and not facts.lamp_held
    rig.senses = Contacts(
        tilted_since=_since(was.tilted_since, readings.tilted is True, rig.now),
        cut_out_since=_since(was.cut_out_since, readings.cut_out_open is True, rig.now),
        trap_since=_since(was.trap_since, readings.trap_full is True, rig.now),
        fed_since=_since(
            was.fed_since,
            switched and readings.lamp_fed is True and not (run is not None and run.lamp.on),
            rig.now,
        ),
        unfed_since=_since(was.unfed_since, on and readings.lamp_fed is False, rig.now),
    )


def _since(was: float | None, wrong: bool, now: float) -> float | None:
    if not wrong:
        return None
    return now if was is None else was


def _stands(since: float | None, now: float, seconds: float) -> bool:
    return since is not None and now - since >= seconds


def tripped(rig: RigState) -> str | None:
    """Name of the contact that stops a heat now; None when none does.

    The lamp's own switches come before its dark line, which they make dark.
    """
    found = _fallen_or_cut(rig)
    if found:
        return found[0]
    return "lamp not fed" if _stands(rig.senses.unfed_since, rig.now, FED_GRACE) else None


def _fallen_or_cut(rig: RigState) -> list[str]:
    senses, now = rig.senses, rig.now
    watched = (("lamp tilted", senses.tilted_since), ("cut-out open", senses.cut_out_since))
    return [name for name, since in watched if _stands(since, now, STANDS)]


def at_the_lamp(rig: RigState, run: Run) -> list[str]:
    """Names of the alarms whose contact stands open while the lamp is, or was just, at work.

    A lamp that was told unplugged may be carried off and laid down.
    """
    return _fallen_or_cut(rig) if run.at_work in HEATED and not run.unplugged else []


def burns_uncommanded(rig: RigState) -> bool:
    """The lamp's line is live and no command is: a welded relay, or one wired the wrong way."""
    return _stands(rig.senses.fed_since, rig.now, FED_GRACE)


def trap_is_full(rig: RigState) -> bool:
    """The float in the trap is up."""
    return _stands(rig.senses.trap_since, rig.now, STANDS)


def trap_bars_pump(rig: RigState) -> bool:
    """The pump stays off: the float is up, or nobody has said yet that the trap was seen to."""
    unheard = any(alarm.id == TRAP for alarm in rig.alarms)
    return unheard or trap_is_full(rig)
