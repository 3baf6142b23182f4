"""Acts of the rig itself: a new sheet, STOP and going on, readings by hand, alarms."""

from collections.abc import Callable

from controller.batch.acts import Act, ActKind
from controller.batch.alarm_book import MUTE_TIME, SHELF_LONGEST, may_shelve
from controller.batch.alarm_state import AlarmState
from controller.batch.believing import AIR_PRESSURES, BAG_PRESSURES, TEMPERATURES
from controller.batch.desk import Desk, only_in, rested
from controller.batch.second_opinion import gun_asked, gun_read
from controller.batch.sheet_check import fault_of
from controller.batch.signals import Role
from controller.batch.stages import HALTED, ORDER, Stage, Use
from controller.batch.state import Run
from controller.errors import InputError, StageError
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_from_json
from controller.science.constants import ZERO_CELSIUS


def plan(desk: Desk, act: Act) -> str:
    """A new sheet takes the place of one that was not started or is finished."""
    run = desk.rig.run
    if run is not None and run.stage not in (Stage.PLANNED, Stage.FINISHED):
        raise StageError(f"{run.sheet.name} is in {run.stage}: finish, move out or abandon it")
    text, name = act.values.get("sheet"), act.values.get("id")
    if not isinstance(text, str) or not isinstance(name, str):
        raise StageError("a plan carries 'sheet' and 'id': send it with warmdraw press PLAN")
    if any(other.id == name for other in [run, *desk.rig.aside] if other is not None):
        raise StageError(f"a batch {name} is here already: choose another id")
    sheet = _sheet(text, desk)
    # What is over leaves the rig with the next sheet; what has a coat to come waits for it.
    waiting = [] if run is None or run.stage is Stage.PLANNED else [run]
    desk.rig.aside[:] = [other for other in desk.rig.aside + waiting if other.outcome is None]
    desk.rig.run = Run(id=name, sheet=sheet, coat_index=0, stage=Stage.PLANNED, since=desk.now)
    return f"{sheet.name} is planned. Nothing is switched before START."


def _sheet(text: str, desk: Desk) -> BatchSheet:
    try:
        sheet = sheet_from_json(text)
    except InputError as fault:
        raise StageError(str(fault)) from fault
    unfit = fault_of(sheet, desk.facts)
    if unfit is not None:
        raise StageError(f"this sheet cannot be worked from: {unfit}")
    return sheet


def reading(desk: Desk, act: Act) -> str:
    run = desk.rig.run
    asked = "gun" if run is not None and gun_asked(run) else ""
    role = str(act.values.get("role", asked))
    if role == "gun":
        return gun_read(desk, act)
    pressure = role in ("bag", "barometer")
    if not pressure and role not in {member.value for member in Role}:
        raise StageError("'role' is face, back, room, film, bag, barometer or gun")
    name, zero = ("value_pa", 0.0) if pressure else ("value_c", ZERO_CELSIUS)
    low, high = {"bag": BAG_PRESSURES, "barometer": AIR_PRESSURES}.get(role, TEMPERATURES)
    value = act.values.get(name)
    if not isinstance(value, float | int) or isinstance(value, bool):
        raise StageError(f"say the reading in '{name}'")
    if not low <= value + zero <= high:
        raise StageError(f"'{name}' is from {low - zero:g} to {high - zero:g}: read it again")
    at = desk.now - act.ago
    if role in desk.rig.told and desk.rig.told[role][1] > at:
        return f"A newer reading of the {role} is known already."
    desk.rig.told[role] = (float(value) + zero, at)
    return f"Written down for the {role}."


def stop(desk: Desk, act: Act) -> str:
    run = desk.rig.run
    if run is not None and run.stage not in HALTED:
        run.move(desk.now, ActKind.STOP)
        run.stop_cause = f"STOP from {act.by}"
    return "Lamp and pump are off."


def resume(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.STOPPED, Stage.INTERRUPTED)
    if desk.readings.stop_pressed:
        raise StageError("the STOP button is down: let it go first")
    if run.left is not None and ORDER[run.left].pump is Use.ALLOWED:
        rested(desk)
    run.move(desk.now, ActKind.RESUME)
    # The pump gets its time to bring the bag back before the vacuum counts as lost.
    run.bag.lost_since = run.bag.tried_from = None
    if run.stage is Stage.PULLDOWN and run.bag.stretch_from is None:
        # an outage ended the stretch the leak gate looked at, and a bag that holds is not pulled
        run.bag.stretch_from = desk.now
    return f"On with {run.stage}."


def abandon(desk: Desk, act: Act, run: Run) -> str:
    run.move(desk.now, ActKind.ABANDON)
    run.outcome = "abandoned"
    if desk.rig.zone.wet:
        return "Given up and written down. The zone is locked until TIDIED, MOVED OUT and aired."
    return "Given up and written down."


def acknowledge(desk: Desk, act: Act) -> str:
    alarm = _meant(desk, act)
    desk.book.acknowledge(desk.now, alarm.id)
    return f"Heard: {alarm.id}."


def shelve(desk: Desk, act: Act) -> str:
    alarm = _meant(desk, act)
    if not may_shelve(alarm):
        raise StageError(
            f"'{alarm.id}' is about heat or holds the lamp off: it is never put aside, see to it"
        )
    reason = str(act.values.get("reason", "")).strip()
    if not reason:
        raise StageError("say in 'reason' why nobody needs to hear it")
    minutes = act.values.get("minutes", SHELF_LONGEST / 60.0)
    if isinstance(minutes, bool | str) or not 0.0 < minutes <= SHELF_LONGEST / 60.0:
        raise StageError(f"'minutes' is more than 0, and {SHELF_LONGEST / 60.0:.0f} at most")
    desk.book.shelve(desk.now, alarm, minutes * 60.0, reason, desk.rig.run)
    return f"Put aside for {minutes:.0f} min: {alarm.id}. It comes back by itself."


def _meant(desk: Desk, act: Act) -> AlarmState:
    """The standing alarm an act names. Raises StageError where none of that name stands."""
    name = str(act.values.get("alarm", ""))
    alarm = desk.book.find(name)
    if alarm is None:
        raise StageError(f"no alarm '{name}' stands")
    return alarm


def mute(desk: Desk, act: Act) -> str:
    desk.rig.muted_until = desk.now + MUTE_TIME
    return "The sounder is quiet for 10 min."


HALT_ACTS: dict[ActKind, Callable[[Desk, Act, Run], str]] = {
    ActKind.RESUME: resume,
    ActKind.ABANDON: abandon,
}


RIG_ACTS: dict[ActKind, Callable[[Desk, Act], str]] = {
    ActKind.PLAN: plan,
    ActKind.READING: reading,
    ActKind.STOP: stop,
    ActKind.ACKNOWLEDGE: acknowledge,
    ActKind.SHELVE: shelve,
    ActKind.MUTE: mute,
}
