"""Which settings hold, and where things are, from what was typed."""

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from controller.quantities import People
from controller.settings import Settings, default_settings_text, parse_settings, read_settings

if TYPE_CHECKING:
    from controller.planning.catalogue import Catalogue

CONFIG = Path("/etc/warmdraw/rig.toml")
"""The rig's settings unless told otherwise."""
SOCKET = "control.sock"
"""In the run folder."""
LOG = "log.db"
"""In the state folder."""


def settings(args: Namespace) -> Settings:
    """The settings, with the folders that were typed in place of theirs.

    Raises InputError when there are none, or they have faults.
    """
    return with_folders(read_settings(args.config or CONFIG), args.state, args.run)


def settings_or_example(args: Namespace) -> tuple[Settings, bool]:
    """The settings, and True; where there are none, the example rig's, and False.

    Raises InputError for a file that was named and cannot be read.
    """
    if args.config is not None or CONFIG.exists():
        return settings(args), True
    example = parse_settings(default_settings_text(), "the example rig")
    return with_folders(example, args.state, args.run), False


def catalogue(args: Namespace, found: Settings) -> "Catalogue":
    """Woods, resins and thinners: of the folder that was typed, or of the settings, or built in.

    Raises InputError for a folder that is not there, and with every fault of its files.
    """
    from controller.planning.catalogue import built_in, read_catalogue

    folder = vars(args).get("catalogue") or found.shop.catalogue
    return built_in() if folder is None else read_catalogue(folder)


def run_folder(args: Namespace) -> Path:
    """The run folder. Raises InputError as `settings` does, where it is not typed."""
    return args.run.absolute() if args.run else settings_or_example(args)[0].rig.run_folder


def state_folder(args: Namespace) -> Path:
    """The state folder. Raises InputError as `settings` does, where it is not typed."""
    return args.state.absolute() if args.state else settings_or_example(args)[0].rig.state_folder


def page_folder(state: Path) -> Path:
    """The page's own folder, beside control's: neither may write the other's."""
    return state.with_name(f"{state.name}-page")


def people(args: Namespace, zone: str) -> People:
    """The units that were asked for.

    zone: IANA name of the shop's
    """
    if args.units == "us":
        return People(
            temperature="F", vacuum="inHg", mass="oz", volume="fl oz", length="in", zone=zone
        )
    return People(zone=zone)


def with_folders(found: Settings, state: Path | None, run: Path | None) -> Settings:
    """The settings with these folders in place of theirs; None leaves one as it is."""
    folders = {"state_folder": state, "run_folder": run}
    given = {name: folder.absolute() for name, folder in folders.items() if folder is not None}
    return found.model_copy(update={"rig": found.rig.model_copy(update=given)})
