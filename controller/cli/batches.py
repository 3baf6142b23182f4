"""`warmdraw plan`, `simulate`, `report` and `export`: batches on paper."""

import json
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from controller.cli import places
from controller.cli.saying import complain, pour, say
from controller.errors import InputError

if TYPE_CHECKING:
    from controller.planning.sheet_json import Answered


def plan(args: Namespace) -> int:
    """The batch sheet of a description."""
    from controller.planning.sheet_json import answers_json
    from controller.planning.sheet_text import sheet_lines
    from controller.report.sheet_page import sheet_html

    settings, own = places.settings_or_example(args)
    made = answered(args.file, args)
    if args.json:
        say(answers_json(made.sheet, made.sections))
        return 0
    units = places.people(args, settings.shop.time_zone)
    whose = None if own else "For the example rig: give yours with --config."
    if args.html is not None:
        path = Path(f"{Path(args.file).stem}.html") if args.html == Path() else args.html
        page = sheet_html(
            made.sheet,
            made.sections,
            units,
            simulated=settings.rig.pretended,
            note=whose,
        )
        _write(path, [page])
        say(f"written: {path}")
        return 0
    if whose is not None:
        say(f"! {whose}")
    say("\n".join(sheet_lines(made.sheet, made.sections, units, numbered=args.sources)))
    if not made.sections:
        say("\nThis file holds the sheet alone: plan its description to read what it tells.")
    return 0


def answered(name: str, args: Namespace) -> "Answered":
    """The sheet of a description or sheet in a file, or of an example of that name, and answers."""
    from controller.planning.answers.all_answers import answers
    from controller.planning.description import parse_description, read_description
    from controller.planning.examples import EXAMPLES, example
    from controller.planning.sheet_json import Answered, answers_from_json

    path = Path(name)
    if path.suffix == ".json":
        return answers_from_json(read_text(path))
    settings, _ = places.settings_or_example(args)
    catalogue = places.catalogue(args, settings)
    if name in EXAMPLES and not path.exists():
        description = parse_description(example(name), name, catalogue)
    else:
        description = read_description(path, catalogue)
    return Answered(*answers(description, settings, catalogue))


PLAYED = {
    "scenario": "SCENARIO",
    "random": "--random",
    "healthy": "--healthy",
    "preheats": "--preheats",
    "faults": "--faults",
}
"""What `simulate` plays, and how it is asked for."""
MANY = ("random", "healthy", "preheats")
BELONGS = {
    "only": ("faults",),
    "pairs": ("faults",),
    "all": ("faults",),
    "first": MANY,
    "kept": (*MANY, "faults"),
    "cores": (*MANY, "faults"),
    "seed": ("scenario",),
    "state": ("scenario",),
}
"""Its other options, and with what each goes."""


def simulate(args: Namespace) -> int:
    """Play a scenario, or many; 0 when all went as they should."""
    from controller.cli.faults import faults
    from controller.cli.nights import many, preheats
    from controller.rehearsal.run import rehearse
    from controller.rehearsal.scenario import parse_scenario
    from controller.rehearsal.stories import story as story_named

    _asked_in_vain(args)
    if args.cores is not None and args.cores < 1:
        raise InputError(f"--cores {args.cores}: give 1 or more")
    if args.preheats is not None:
        return preheats(args)
    if args.faults:
        return faults(args)
    if args.scenario is None:
        random = args.random is not None
        return many(args, *(("random", args.random) if random else ("healthy", args.healthy)))
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


def _asked_in_vain(args: Namespace) -> None:
    """Raises InputError for an option that says nothing about what is to be played."""

    def given(name: str) -> bool:
        value = getattr(args, name)
        return value is not None and value is not False

    asked = next(name for name in PLAYED if given(name))
    for option, played in BELONGS.items():
        if given(option) and asked not in played:
            beside = " or ".join(PLAYED[name] for name in played)
            raise InputError(
                f"--{option} goes with {beside}, not with {PLAYED[asked]}: leave it out"
            )


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


def report(args: Namespace) -> int:
    """Write a batch's record."""
    from controller.report.picture import night_picture
    from controller.report.record import record_html
    from controller.science.air import standard_pressure
    from controller.store.queries import LogReader

    settings, own = places.settings_or_example(args)
    zone = settings.shop.time_zone if own else "UTC"
    draw = record_html if args.picture is None else night_picture
    page = draw(
        LogReader(places.state_folder(args) / places.LOG),
        args.batch,
        places.people(args, zone),
        zone,
        air_pressure=standard_pressure(settings.shop.altitude) if own else None,
    )
    path = args.picture or args.output or Path(f"{args.batch}.html")
    _write(path, [page])
    say(f"written: {path}")
    return 0


def export(args: Namespace) -> int:
    """A batch's readings or events as CSV."""
    from controller.report.columns import events_csv, samples_csv
    from controller.store.queries import LogReader

    reader = LogReader(places.state_folder(args) / places.LOG)
    lines = (events_csv if args.events else samples_csv)(reader, args.batch)
    if args.output is None:
        pour(lines)
        return 0
    _write(args.output, lines)
    say(f"written: {args.output}")
    return 0


def read_text(path: Path) -> str:
    """The text of a file. Raises InputError."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path} cannot be read: {error}") from error


def _write(path: Path, text: Iterable[str]) -> None:
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            file.writelines(text)
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror}") from error


def _hours(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes // 60:3d}:{minutes % 60:02d}"
