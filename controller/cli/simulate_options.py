"""The options of `warmdraw simulate`, and which of them go together."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from controller.errors import InputError

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


def add_to(made: ArgumentParser) -> None:
    """Give the command its options."""
    what = made.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "scenario",
        nargs="?",
        metavar="SCENARIO",
        help="name of one that ships, a TOML file, or random-N or healthy-N for any number N",
    )
    what.add_argument(
        "--random", type=int, metavar="COUNT", help="jobs nobody wrote, each with 1 to 5 faults"
    )
    what.add_argument(
        "--healthy", type=int, metavar="COUNT", help="nights on which nothing goes wrong"
    )
    what.add_argument(
        "--preheats", type=int, metavar="COUNT", help="heats of each case, as a table of the guards"
    )
    what.add_argument(
        "--faults", action="store_true", help="each fault of the catalogue in each of its stages"
    )
    many = made.add_mutually_exclusive_group()
    many.add_argument(
        "--pairs", action="store_true", help="of the faults, each once in a stage; the default"
    )
    many.add_argument(
        "--all",
        action="store_true",
        help="of the faults, begun early, halfway and late, short and long",
    )
    made.add_argument(
        "--only", metavar="NAMES", help="of the faults: L12, B, P01/PULLDOWN, divided by commas"
    )
    made.add_argument(
        "--first", type=int, metavar="N", help="of many, the first one's number; default 1"
    )
    made.add_argument(
        "--kept",
        type=Path,
        metavar="FILE",
        help="of many and of the faults, what was played; goes on from it",
    )
    made.add_argument(
        "--cores", type=int, metavar="N", help="of many and of the faults, on how many; default all"
    )
    made.add_argument(
        "--seed", type=int, metavar="N", help="of a scenario's chance; same seed, same story"
    )
    made.add_argument("--json", action="store_true", help="everything, as JSON")


def refuse_idle(args: Namespace) -> None:
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
