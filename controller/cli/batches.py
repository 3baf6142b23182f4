"""`warmdraw plan`, `report` and `export`: batches on paper."""

from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from controller.cli import places
from controller.cli.saying import pour, say
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
