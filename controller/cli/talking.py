"""`warmdraw status`, `press` and `pair`: a shell in place of the page."""

import dataclasses
import re
import secrets
import time
from argparse import Namespace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from controller.batch.acts import ActKind
from controller.batch.snapshot import Press, Sentence, Shown, Snapshot, TicksShown
from controller.cli import places
from controller.cli.saying import complain, say
from controller.errors import BusyError, InputError
from controller.link import ActMessage, Hello, ask, snapshot_json
from controller.quantities import People, fill
from controller.quantities import say as said

PATIENCE = 8.0
"""How long control may take to answer a press, [s]: the record must be on disk first. Own."""
LOOK = Hello(who="shell", wants="snapshots")


def status(args: Namespace) -> int:
    """What the rig is doing now."""
    shown = _shown(args)
    if args.json:
        say(snapshot_json(shown).decode())
        return 0
    say("\n".join(lines(shown, places.people(args, shown.time_zone))))
    return 0


def press(args: Namespace) -> int:
    """Tell the rig something; 0 when it was accepted."""
    kind = act_named(args.act)
    shown = _shown(args)
    values = _plan(args, shown) if kind is ActKind.PLAN else carried(args.values)
    batch = args.batch or (None if shown.batch is None else shown.batch.id)
    message = ActMessage(
        id=f"shell-{secrets.token_hex(8)}",
        kind=kind,
        batch=batch,
        stage=None if args.batch else shown.stage,
        by="shell",
        ago_s=0.0 if args.ago is None else _ago(args.ago),
        values=values,
        seen_seq=shown.seq,
        received_utc=time.time(),
    )
    try:
        answer = ask(places.run_folder(args) / places.SOCKET, message, PATIENCE)
    except BusyError as error:
        complain(str(error))
        return 1
    (say if answer.accepted else complain)(answer.text)
    return 0 if answer.accepted else 1


def pair(args: Namespace) -> int:
    """A PIN for one phone."""
    from controller.page.pairing import PIN_LIFE, open_pairing

    pin = open_pairing(places.page_folder(places.state_folder(args)))
    say(f"PIN {pin}, good once within {PIN_LIFE / 60:.0f} min. Type it on the phone's page.")
    return 0


def lines(shown: Snapshot, units: People) -> list[str]:
    """The snapshot as a person reads it."""
    zone = ZoneInfo(shown.time_zone)
    told = datetime.fromtimestamp(shown.told_utc, UTC).astimezone(zone)
    pretended = f", SIMULATED at {shown.pace or 1:g}x" if shown.simulated else ""
    found = [f"{shown.rig}{pretended}, {told:%a} {told.day} {told:%b %H:%M}"]
    if shown.batch is not None:
        batch = shown.batch
        since = said(max(shown.now - batch.since, 0.0), "duration", units)
        coat = f"coat {batch.coat} of {batch.coats}, face {batch.face}"
        found.append(f"{batch.name}, {coat}: {shown.stage} for {since}")
    found.append(filled(shown.sentence, units, shown.told_utc))
    found += [f"! {caution}" for caution in shown.cautions]
    for name in ("face", "back", "room", "film"):
        found.append(_reading(name, getattr(shown, name), units, None))
    found.append(_reading("bag", shown.bag, units, shown.air_pa))
    for name, output in (("lamp", shown.lamp), ("pump", shown.pump)):
        found.append(f"  {name:5} {output.word}: {output.why}")
    found += [] if shown.blind is None else [shown.blind]
    for alarm in shown.alarms:
        what = filled(alarm.says, units, shown.told_utc)
        after = "" if alarm.follows is None else f", after {alarm.follows}"
        found.append(f"{alarm.priority} {alarm.id} ({alarm.state}{after}): {what} {alarm.do}")
        found.append(f"   usually: {alarm.cause}")
    found += [f"{other.place or 'aside'}: {other.name}, {other.stage}" for other in shown.aside]
    if shown.press is not None:
        found.append(f"next: {_press(shown.press)}")
    if shown.others:
        found.append(f"also: {', '.join(other.act for other in shown.others)}")
    if shown.ticks is not None:
        found.append(_ticks(shown.ticks))
    return found


def filled(words: Sentence, units: People, now: float) -> str:
    """A sentence with its figures in it, in the person's units."""
    figures = {name: dataclasses.asdict(value) for name, value in words.values.items()}
    return fill(words.text, figures, units, now=now)  # type: ignore[arg-type]


def act_named(typed: str) -> ActKind:
    """The act somebody means: `coated`, `DRY PULL`, `dry-pull`, `re-arm`. Raises InputError."""
    wanted = _letters(typed)
    for kind in ActKind:
        if _letters(kind) == wanted:
            return kind
    raise InputError(f"no act '{typed}': there are {', '.join(ActKind)}")


def carried(pairs: list[str]) -> dict[str, str | float | bool]:
    """What an act carries, from `key=value` as typed. Raises InputError."""
    found: dict[str, str | float | bool] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name:
            raise InputError(f"'{pair}' is no key=value, as in a_g=40 or reason=\"held all night\"")
        found[name] = _value(value)
    return found


def _value(typed: str) -> str | float | bool:
    if typed in ("true", "false", "yes", "no"):
        return typed in ("true", "yes")
    return float(typed) if re.fullmatch(r"-?\d+(\.\d+)?", typed) else typed


def _letters(name: str) -> str:
    return "".join(letter for letter in name.upper() if letter.isalnum())


def _ago(typed: str) -> float:
    from controller.quantities import parse_duration

    return parse_duration(typed)


def _plan(args: Namespace, shown: Snapshot) -> dict[str, str | float | bool]:
    from controller.cli.batches import answered
    from controller.planning.plan_act import plan_values

    if len(args.values) != 1:
        raise InputError("PLAN takes one file: warmdraw press PLAN washboard.toml")
    return plan_values(answered(args.values[0], args).sheet, shown.told_utc)


def _shown(args: Namespace) -> Snapshot:
    return ask(places.run_folder(args) / places.SOCKET, LOOK)


def _press(open_now: Press) -> str:
    asks = "".join(f" {name}=..." for name in open_now.asks)
    return f"{open_now.act}{asks}: {open_now.says}"


def _ticks(ticks: TicksShown) -> str:
    return (
        f"control's last {ticks.count} ticks: 99.9 % done within {ticks.most_late_s:.2f} s of their"
        f" time, the worst {ticks.worst_late_s:.2f} s after it"
    )


def _reading(name: str, shown: Shown, units: People, air: float | None) -> str:
    if shown.value is None or shown.age_s is None:
        age = "" if shown.age_s is None else f", {said(shown.age_s, 'duration', units)} old"
        return f"  {name:5} no reading{age}"
    if air is None:
        value = said(shown.value + 273.15, "temperature", units)
    else:
        value = said(air - shown.value, "vacuum", units)
    return f"  {name:5} {value}, {shown.source}, {said(shown.age_s, 'duration', units)} old"
