"""`warmdraw simulate`: one scenario, or many."""

import json
from argparse import Namespace
from pathlib import Path

from controller.cli import places
from controller.cli.batches import read_text
from controller.cli.saying import complain, say
from controller.cli.simulate_options import refuse_idle
from controller.errors import InputError


def simulate(args: Namespace) -> int:
    """Play a scenario, or many; 0 when all went as they should."""
    from controller.cli.faults import faults
    from controller.cli.nights import many, preheats
    from controller.rehearsal.run import rehearse
    from controller.rehearsal.scenario import parse_scenario
    from controller.rehearsal.stories import story as story_named

    refuse_idle(args)
    if args.cores is not None and args.cores < 1:
        raise InputError(f"--cores {args.cores}: give 1 or more")
    if args.preheats is not None:
        return preheats(args)
    if args.faults:
        return faults(args)
    if args.scenario is None:
        if args.random is not None:
            return many(args, "random", args.random)
        return many(args, "healthy", args.healthy)
    path, named = Path(args.scenario), args.scenario
    toml = path.suffix == ".toml"
    story = parse_scenario(read_text(path), named) if toml else story_named(named)
    outcome = rehearse(story, args.seed, log=_fresh_log(args))
    if args.json:
        say(json.dumps(outcome.as_json(), indent=2))
        return 0 if outcome.as_expected else 1
    say(f"{outcome.scenario}, seed {outcome.seed}, SIMULATED: {story.says}")
    for stage in outcome.as_json()["stages"]:
        say(f"  {_hours(stage['from_s'])}  {stage['stage']}")
    for alarm in outcome.as_json()["alarms"]:
        say(f"  {_hours(alarm['at_s'])}  {alarm['priority']} {alarm['id']}")
    for breach in outcome.unsafe:
        complain(f"unsafe, {breach.rule}: {breach.what} at {_hours(breach.at)}")
    verdict = "as it should" if outcome.as_expected else "NOT as it should"
    hours = outcome.simulated_s / 3600.0
    say(f"{outcome.outcome} after {hours:.1f} h in {outcome.wall_s:.1f} s, {verdict}")
    return 0 if outcome.as_expected else 1


def _fresh_log(args: Namespace) -> Path | None:
    """Where a rehearsal's record is kept; None to throw it away.

    Raises InputError where a record is already kept: a pretend night is not written into it.
    """
    if args.state is None:
        return None
    path: Path = args.state / places.LOG
    if path.exists():
        raise InputError(f"{path} is there already: give --state an empty folder")
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def _hours(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes // 60:3d}:{minutes % 60:02d}"
