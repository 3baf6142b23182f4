"""`warmdraw control`, `page` and `demo`: the commands that stay."""

import dataclasses
from argparse import Namespace
from pathlib import Path

from controller.cli import places
from controller.cli.saying import say


def control(args: Namespace) -> int:
    """Own the rig until told to end."""
    from controller.daemon.main import Pretence, run_control

    settings = places.settings(args)
    typed = {
        "scenario": args.scenario,
        "seed": args.seed,
        "speed": args.speed,
        "hands_on": args.hands_on or None,
    }
    given = {name: value for name, value in typed.items() if value is not None}
    pretence = dataclasses.replace(Pretence(), **given) if given else None
    real = ", SIMULATED" if settings.rig.pretended else ""

    def ready(path: Path) -> None:
        say(f"control of {settings.rig.name}{real} listens on {path}")

    run_control(settings, pretence, ready=ready)
    return 0


def page(args: Namespace) -> int:
    """Serve the page until told to end."""
    from controller.page.main import run_page

    settings = places.settings(args)
    state = settings.rig.state_folder
    run_page(
        settings,
        folder=places.page_folder(state),
        control=settings.rig.run_folder / places.SOCKET,
        record=state / places.LOG,
        port=args.port,
        ready=lambda address: say(f"page on {address}"),
    )
    return 0


def demo(args: Namespace) -> int:
    """A batch on a pretend rig, from plan to record."""
    from rich.console import Console

    from controller.demo import Wishes, run_demo

    wishes = Wishes(
        folder=args.state,
        speed=1.0 if args.speed is None else args.speed,
        hands_on=args.hands_on,
        port=args.port,
        opens_browser=not args.no_open,
        ends=args.exit,
    )
    return run_demo(wishes, Console(highlight=False))
