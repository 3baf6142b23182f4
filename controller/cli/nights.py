"""`warmdraw simulate --random N`, `--healthy N`, `--preheats N`: many pretend jobs, all cores."""

import json
from argparse import Namespace
from collections import Counter
from typing import TYPE_CHECKING

from controller.cli.saying import complain, say
from controller.errors import InputError

if TYPE_CHECKING:
    from controller.rehearsal.many import Played, Tally
    from controller.rehearsal.preheat_tally import PreheatPlayed


def many(args: Namespace, kind: str, count: int) -> int:
    """Play that many of a kind; 0 when each went well, as `Played.well` has it.

    kind: "random" or "healthy"      count: how many, from number `--first` on
    """
    from rich.console import Console
    from rich.progress import Progress

    from controller.rehearsal.many import play_many

    if count < 1:
        raise InputError(f"--{kind} {count}: give 1 or more")
    first = _first(args)
    names = [f"{kind}-{number}" for number in range(first, first + count)]
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"{count} {kind} jobs, SIMULATED", total=count)

        def ended(each: "Played") -> None:
            bar.advance(task)
            if not each.well:
                bar.console.print(_told(each), markup=False, highlight=False)

        tally = play_many(names, args.kept, ended, args.cores)
    if args.json:
        say(json.dumps(tally.as_json() | {"alarms": _alarms(tally)}, indent=2))
    else:
        say("\n".join(_lines(tally, kind)))
    for each in tally.failing:
        complain(f"{_told(each)}; play it again: warmdraw simulate {each.name}")
    return 1 if tally.failing else 0


def preheats(args: Namespace) -> int:
    """Play that many preheats of each case; 0 when no healthy one was ended by a guard."""
    from rich.console import Console
    from rich.progress import Progress

    from controller.rehearsal.preheat_draws import CASES
    from controller.rehearsal.preheat_table import as_json, false_trips, markdown
    from controller.rehearsal.preheat_tally import play_preheats

    count: int = args.preheats
    if count < 1:
        raise InputError(f"--preheats {count}: give 1 or more")
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"{count} preheats of each case, SIMULATED", total=count * len(CASES))
        done = play_preheats(
            count, _first(args), args.kept, lambda each: bar.advance(task), args.cores
        )
    if args.json:
        say(json.dumps(as_json(done.all), indent=2))
    else:
        say(f"{len(done.all)} preheats, SIMULATED\n")
        say("\n".join(markdown(done.all)))
    wrong = false_trips(done.all)
    for each in wrong:
        complain(f"{_heat_told(each)}; play it again: {_again(each)}")
    return 1 if wrong else 0


def _first(args: Namespace) -> int:
    return 1 if args.first is None else int(args.first)


def _heat_told(each: "PreheatPlayed") -> str:
    return f"{each.name}: a board that reaches its band was ended by '{each.ended}'"


def _again(each: "PreheatPlayed") -> str:
    return f"warmdraw simulate --preheats 1 --first {each.name.rpartition('/')[2]}"


def _told(each: "Played") -> str:
    called = [f"called for nothing by '{alarm}'" for alarm in each.false_calls]
    why = [*each.unsafe, *called, *([each.crash] if each.crash else [])]
    return f"{each.name}: {each.outcome}{': ' if why else ''}{'; '.join(why)}"


def _alarms(tally: "Tally") -> dict[str, int]:
    """How often each alarm was raised, by its priority and name."""
    return dict(sorted(Counter(alarm for each in tally.all for alarm in each.alarms).items()))


def _lines(tally: "Tally", kind: str) -> list[str]:
    told = tally.as_json()
    outcomes = Counter(each.outcome for each in tally.all)
    return [
        f"{told['jobs']} {kind} jobs, SIMULATED, {told['simulated_h']} h of rig time",
        f"  ended: {', '.join(f'{number} {name}' for name, number in outcomes.most_common())}",
        f"  rules broken: {told['rules_broken']}",
        *([f"  called for nothing: {told['false_calls']}"] if kind == "healthy" else []),
        *(f"  {number:6d} {name}" for name, number in _alarms(tally).items()),
        f"{told['jobs_per_core_minute']} jobs a minute on each of {tally.cores} cores",
    ]
