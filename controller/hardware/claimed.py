"""The note of which lines are claimed, kept in the run folder so that `warmdraw safe` finds them.

It outlives the process that wrote it, and needs no settings to be read.
"""

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from controller.errors import InputError, OutputError
from controller.hardware.raspberry_pins import check_lines, one_line
from controller.whole_files import write_whole

OUTPUTS_FILE = "outputs.json"
"""In the run folder: which lines are claimed, for `warmdraw safe` to find without settings."""
UNREAL_LABELS = frozenset({"mock", "simulated"})
"""Labels of lines that end with the process."""


@dataclass(frozen=True, slots=True)
class ClaimedOutputs:
    """What one process has claimed."""

    label: str
    """The chip's own name."""
    lines: Mapping[str, int]
    """BCM number of `lamp` and `pump`, those that are wired."""
    pid: int
    """The process that holds them."""
    started: int
    """When that process started, [clock ticks since boot]: its number may be given out again."""


def process_started(pid: int) -> int | None:
    """When a process started, [clock ticks since boot]; None when there is no such process."""
    try:
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except (FileNotFoundError, ProcessLookupError):
        return None
    # the name, in brackets, may hold spaces and brackets; the start time is field 22 of proc(5)
    return int(stat.rpartition(")")[2].split()[19])


def write_outputs(run_folder: Path, label: str, lines: Mapping[str, int]) -> None:
    """Note that this process holds these lines. Whole or not at all, never half a file.

    Raises OutputError when the folder cannot be written.
    """
    pid = os.getpid()
    note = {"label": label, "lines": dict(lines), "pid": pid, "started": process_started(pid)}
    path = run_folder / OUTPUTS_FILE
    try:
        write_whole(path, json.dumps(note) + "\n")
    except OSError as error:
        raise OutputError(
            f"{path} cannot be written ({error.strerror}); `warmdraw safe` needs it, so make the"
            " run folder writable"
        ) from error


def read_outputs(run_folder: Path) -> ClaimedOutputs:
    """Which lines were last claimed, and by whom. Raises InputError when that cannot be known."""
    path = run_folder / OUTPUTS_FILE
    try:
        note = json.loads(path.read_text(encoding="utf-8"))
        outputs = ClaimedOutputs(
            label=str(note["label"]),
            lines=MappingProxyType({str(name): int(line) for name, line in note["lines"].items()}),
            pid=int(note["pid"]),
            started=int(note["started"]),
        )
        check_lines(outputs.lines)
    except FileNotFoundError:
        raise InputError(f"{path} is not there: which lines are outputs is not known") from None
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(f"{path} cannot be used ({one_line(error)})") from error
    return outputs
