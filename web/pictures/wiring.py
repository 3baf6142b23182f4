"""Draws the wiring pictures of hardware.md: `.venv/bin/python web/pictures/wiring.py`.

Lines and their numbers come from controller/rig.example.toml, so a drawing cannot say another line
than the settings do; values come from wiring_parts.py.
"""

from collections.abc import Callable, Mapping
from pathlib import Path

import wiring_dead_man
import wiring_gauge
import wiring_header
import wiring_inputs
import wiring_mains
import wiring_outputs
from wiring_lines import Line, example_lines

FOLDER = Path(__file__).parent
DRAWINGS: Mapping[str, Callable[[tuple[Line, ...]], str]] = {
    "wiring-header.svg": wiring_header.drawing,
    "wiring-mains.svg": wiring_mains.drawing,
    "wiring-gauge.svg": wiring_gauge.drawing,
    "wiring-inputs.svg": wiring_inputs.drawing,
    "wiring-outputs.svg": wiring_outputs.drawing,
    "wiring-dead-man.svg": wiring_dead_man.drawing,
}
"""Each file, and what draws it."""


def drawn() -> dict[str, str]:
    """Every drawing's text, by its file's name."""
    found = example_lines()
    return {name: draw(found) for name, draw in DRAWINGS.items()}


if __name__ == "__main__":
    for name, text in drawn().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
