"""Made-up batch descriptions to start from."""

from importlib.resources import files

from controller.errors import InputError
from controller.quantities import shown

EXAMPLES = ("washboard-ash", "washboard-sapele")
"""What `example` knows."""


def example(name: str) -> str:
    """The TOML text of a made-up batch. Raises InputError that lists what there is."""
    if name not in EXAMPLES:
        raise InputError(f"{shown(name)}: no such example; there is {', '.join(EXAMPLES)}")
    file = files("controller.planning").joinpath("examples", f"{name}.toml")
    return file.read_text(encoding="utf-8")
