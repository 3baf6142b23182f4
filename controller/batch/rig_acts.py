"""Acts of the rig itself: a new sheet, STOP and going on, readings by hand, alarms."""

from collections.abc import Callable

from controller.batch.acts import Act, ActKind
from controller.batch.alarms import MUTE_TIME
from controller.batch.desk import Desk, only_in
from controller.batch.signals import Role
from controller.batch.stages import HALTED, WET, Stage
from controller.batch.state import Run
from controller.errors import StageError
from controller.planning.sheet_json import sheet_from_json
from controller.science.constants import ZERO_CELSIUS

TOLD_RANGE_C = (-20.0, 110.0)
"""Temperatures a person may tell, [degC]: what the probes may read as well. Own."""
TOLD_RANGE_PA = (100.0, 110e3)
"""Pressures a person may tell, [Pa]. Own."""


def plan(desk: Desk, act: Act) -> str:
    """A new sheet takes the place of one that was not started or is finished."""
    run = desk.rig.run
    if run is not None and run.stage not in (Stage.PLANNED, Stage.FINISHED):
        raise StageError(f"{run.sheet.name} is in {run.stage}: finish, move out or abandon it")
    text, name = act.values.get("sheet"), act.values.get("id")
    if not isinstance(text, str) or not isinstance(name, str):
        raise StageError("a plan carries 'sheet' and 'id': send it with warmdraw press PLAN")
    if any(other.id == name for other in desk.rig.aside):
        raise StageError(f"a batch {name} is flashing off already: choose another id")
    sheet = sheet_from_json(text)
    desk.rig.run = Run(id=name, sheet=sheet, coat_index=0, stage=Stage.PLANNED, since=desk.now)
    return f"{sheet.name} is planned. Nothing is switched before START."


def reading(desk: Desk, act: Act) -> str:
    role = str(act.values.get("role", ""))
    pressure = role in ("bag", "barometer")
    if not pressure and role not in {member.value for member in Role}:
        raise StageError("'role' is face, back, room, film, bag or barometer")
    name, (low, high) = ("value_pa", TOLD_RANGE_PA) if pressure else ("value_c", TOLD_RANGE_C)
    value = act.values.get(name)
    if not isinstance(value, float | int) or isinstance(value, bool):
        raise StageError(f"say the reading in '{name}'")
    if not low <= value <= high:
        raise StageError(f"'{name}' is from {low:g} to {high:g}: read it again")
    told = float(value) if pressure else float(value) + ZERO_CELSIUS
    desk.rig.told[role] = (told, desk.now - act.ago)
    return f"Written down for the {role}."


def stop(desk: Desk, act: Act) -> str:
    run = desk.rig.run
    if run is not None and run.stage not in HALTED:
        run.move(desk.now, ActKind.STOP)
        run.stop_cause = f"STOP from {act.by}"
    return "Lamp and pump are off."


def resume(desk: Desk, act: Act, run: Run) -> str:
    only_in(run, Stage.STOPPED, Stage.INTERRUPTED)
    run.move(desk.now, ActKind.RESUME)
    return f"On with {run.stage}."


def abandon(desk: Desk, act: Act, run: Run) -> str:
    wet = run.left in WET
    run.move(desk.now, ActKind.ABANDON)
    run.outcome = "abandoned"
    if wet:
        return "Given up and written down. The zone stays locked until TIDIED and aired."
    return "Given up and written down."


def acknowledge(desk: Desk, act: Act) -> str:
    name = str(act.values.get("alarm", ""))
    if desk.book.acknowledge(desk.now, name) is None:
        raise StageError(f"no alarm '{name}' stands")
    return f"Heard: {name}."


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
    ActKind.MUTE: mute,
}
