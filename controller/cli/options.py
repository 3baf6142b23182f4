"""What can be typed: every command, its options, its help with an example."""

import argparse
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NoReturn

from controller.cli import simulate_options

SPEED_HELP = "factor on the pace of each stage, 0.01 to 20; over 2 no hand keeps up with it"


class Parser(argparse.ArgumentParser):
    """A parser that complains in one line."""

    def error(self, message: str) -> NoReturn:
        """Exit 2, saying what was wrong with what was typed."""
        self.exit(2, f"{self.prog}: {message}; see {self.prog} --help\n")


def parser() -> argparse.ArgumentParser:
    """The parser of `warmdraw`."""
    whole = Parser(
        prog="warmdraw",
        description="Warm a board, coat it as it cools, hold it under vacuum overnight.",
        epilog="Start with: warmdraw demo",
    )
    whole.add_argument("--version", action="version", version=f"warmdraw {_version()}")
    commands = whole.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for add in (_demo, _simulate, _plan, _control, _page, _status, _press, _safe, _pair):
        add(commands)
    _report(commands)
    _export(commands)
    _check(commands)
    _keeping(commands)
    return whole


def _version() -> str:
    try:
        return version("warmdraw")
    except PackageNotFoundError:
        return "(not installed)"


Commands = argparse._SubParsersAction  # noqa: SLF001 (argparse gives it no other name)


def _command(commands: "Commands[Parser]", name: str, does: str, example: str) -> Parser:
    """A command with the options that all have."""
    made = commands.add_parser(
        name,
        help=does,
        description=f"{does[0].upper()}{does[1:]}.",
        epilog=f"Example: {example}",
    )
    made.add_argument("--debug", action="store_true", help="show the traceback of an error")
    made.add_argument(
        "--config", type=Path, metavar="FILE", help="settings; default /etc/warmdraw/rig.toml"
    )
    made.add_argument("--state", type=Path, metavar="FOLDER", help="in place of rig.state_folder")
    made.add_argument("--run", type=Path, metavar="FOLDER", help="in place of rig.run_folder")
    return made


def _units(made: Parser) -> None:
    made.add_argument(
        "--units",
        choices=("metric", "us"),
        default="metric",
        help="degrees C, grams and millimetres, or degrees F, ounces and inches; vacuum in inHg",
    )


def _pretence(made: Parser) -> None:
    made.add_argument("--speed", type=float, metavar="X", help=SPEED_HELP)
    made.add_argument(
        "--hands-on",
        action="store_true",
        help="rig time waits for your presses, and the coat moment runs in its own time",
    )


def _demo(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "demo",
        "a whole batch on a pretend rig, with its page, in some four minutes",
        "warmdraw demo --speed 2",
    )
    _pretence(made)
    made.add_argument("--port", type=int, default=8420, help="of the page; default 8420")
    made.add_argument("--no-open", action="store_true", help="open no browser")
    made.add_argument("--exit", action="store_true", help="end when the batch has")


def _simulate(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "simulate",
        "a scenario from start to end without a page, as fast as it goes",
        "warmdraw simulate good-night --seed 3 --json",
    )
    simulate_options.add_to(made)


def _plan(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "plan",
        "the batch sheet from a description of boards and resin",
        "warmdraw plan washboard.toml",
    )
    made.add_argument("file", metavar="FILE", help="a description, or the name of an example")
    shape = made.add_mutually_exclusive_group()
    shape.add_argument(
        "--json",
        action="store_true",
        help="the sheet and all it tells as JSON, in SI units, each figure with its source",
    )
    shape.add_argument(
        "--html",
        type=Path,
        nargs="?",
        const=Path(),
        metavar="OUT",
        help="as a page to print; default: FILE's name with .html",
    )
    shape.add_argument(
        "--sources", action="store_true", help="number the figures, and list where each is from"
    )
    made.add_argument(
        "--catalogue", type=Path, metavar="FOLDER", help="your own woods, resins and thinners"
    )
    _units(made)


def _control(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "control",
        "the process that owns the rig",
        "warmdraw control --config rig.toml",
    )
    made.add_argument("--scenario", metavar="NAME", help="whose board a pretend rig has")
    made.add_argument("--seed", type=int, metavar="N", help="of a pretend rig's chance")
    _pretence(made)


def _page(commands: "Commands[Parser]") -> None:
    made = _command(commands, "page", "the page for phones", "warmdraw page --port 8421")
    made.add_argument("--port", type=int, help="in place of page.port")


def _status(commands: "Commands[Parser]") -> None:
    made = _command(commands, "status", "what the rig is doing", "warmdraw status --units us")
    made.add_argument("--json", action="store_true", help="the whole snapshot, as JSON")
    _units(made)


def _press(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "press",
        "tell the rig something, as a button on the page does",
        'warmdraw press COATED --ago "6 min" (or: press PLAN washboard.toml)',
    )
    made.add_argument("act", metavar="ACT", help="for example START, COATED, STOP")
    made.add_argument(
        "values", nargs="*", metavar="KEY=VALUE", help="what it carries; for PLAN, the file"
    )
    made.add_argument("--ago", metavar="TIME", help='how long ago it was: "6 min"')
    made.add_argument("--batch", metavar="ID", help="another batch than the one at the rig")


def _safe(commands: "Commands[Parser]") -> None:
    made = _command(commands, "safe", "outputs OFF, whatever control is doing", "warmdraw safe")
    made.add_argument(
        "--sound", action="store_true", help="then call somebody with the sounder, for 10 min"
    )


def _pair(commands: "Commands[Parser]") -> None:
    _command(commands, "pair", "a PIN that lets one phone press buttons", "warmdraw pair")


def _report(commands: "Commands[Parser]") -> None:
    made = _command(
        commands, "report", "a batch's record as one HTML file", "warmdraw report ash-1 -o ash.html"
    )
    made.add_argument("batch", metavar="BATCH", help="its id")
    made.add_argument("-o", "--output", type=Path, metavar="FILE", help="default BATCH.html")
    made.add_argument(
        "--picture", type=Path, metavar="FILE", help="the traces alone, as SVG, in place of it"
    )
    _units(made)


def _export(commands: "Commands[Parser]") -> None:
    made = _command(
        commands, "export", "a batch's readings as CSV", "warmdraw export ash-1 -o ash.csv"
    )
    made.add_argument("batch", metavar="BATCH", help="its id")
    made.add_argument("--events", action="store_true", help="what happened, not what was read")
    made.add_argument("-o", "--output", type=Path, metavar="FILE", help="default: to the screen")


def _check(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "check",
        "the rig on the bench, step by step, and the dated record a lamp is armed by",
        "warmdraw check",
    )
    what = made.add_mutually_exclusive_group()
    what.add_argument("--list", action="store_true", help="what is wired, and does it answer")
    what.add_argument(
        "--only",
        nargs="+",
        metavar="STEP",
        help="these steps again, or proof: those of each month",
    )
    made.add_argument(
        "--rehearse", action="store_true", help="on a pretend rig, with a careful person's answers"
    )
    _units(made)


def _keeping(commands: "Commands[Parser]") -> None:
    made = _command(
        commands,
        "backup",
        "a copy of the log; control may run",
        "warmdraw backup /media/usb/log.db",
    )
    made.add_argument("file", type=Path, metavar="FILE", help="a new one; nothing is overwritten")
    made = _command(
        commands, "restore", "a copy in the log's place", "warmdraw restore /mnt/usb/log.db"
    )
    made.add_argument("file", type=Path, metavar="FILE", help="what backup wrote")
