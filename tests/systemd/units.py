"""The project's unit files, read as systemd reads them."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

UNITS = Path(__file__).parents[2] / "systemd"
"""Where they are."""
INSTALLED = "/opt/warmdraw/.venv/bin"
"""Where they say that the command is."""
SERVICES = ("warmdraw-control", "warmdraw-page", "warmdraw-alarm")


def skip_loudly(why: str) -> None:
    """Skip, and say so on the terminal even where skips are not listed."""
    sys.__stderr__.write(f"\nSKIPPED: {why}\n")
    pytest.skip(why)


def values(name: str, key: str) -> list[str]:
    """All values of a key in a service's file, in order."""
    lines = (UNITS / f"{name}.service").read_text(encoding="utf-8").splitlines()
    return [value for line in lines for word, _, value in [line.partition("=")] if word == key]


def commands(name: str) -> list[list[str]]:
    """Every command a service runs, in words."""
    found = [values(name, key) for key in ("ExecStart", "ExecStartPre", "ExecStopPost")]
    return [command.split() for several in found for command in several]


def rendered(folder: Path) -> list[Path]:
    """The services with the command of the environment that runs this test."""
    made = []
    for service in SERVICES:
        text = (UNITS / f"{service}.service").read_text(encoding="utf-8")
        made.append(folder / f"{service}.service")
        made[-1].write_text(text.replace(INSTALLED, str(Path(sys.executable).parent)))
    return made


def systemd(tool: str, *words: str | Path) -> subprocess.CompletedProcess[str]:
    """What one of systemd's own tools says."""
    if shutil.which(tool) is None:
        skip_loudly(f"no {tool}: the units are not looked at; apt install systemd")
    return subprocess.run(
        [tool, *words],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "SYSTEMD_COLORS": "0"},
    )
