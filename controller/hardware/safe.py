"""Outputs OFF from outside: what `warmdraw safe` does when control may be dead, hung or gone.

Imports little, and gpiozero and lgpio only when lines have to be claimed: it must start fast, and
also when much else is broken.
"""

import os
import select
import signal
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from controller.errors import ControllerError, InputError
from controller.hardware.claimed import (
    UNREAL_LABELS,
    ClaimedOutputs,
    process_started,
    read_outputs,
)
from controller.hardware.raspberry_pins import (
    Pins,
    claimed_off,
    lgpio_pins,
    one_line,
    spoken,
)

ANSWER_WITHIN = 1.0
"""How long control has to say that its outputs are off, [s]; own."""
END_WITHIN = 2.0
"""How long the kernel has to end a killed process and let its lines go, [s]; own."""


@dataclass(frozen=True, slots=True)
class SafeResult:
    """How it ended."""

    ok: bool
    """Every output is known to be OFF."""
    says: str
    """One line for the person."""
    code: int
    """Exit code of the command."""


def safe(run_folder: Path, ask: Callable[[float], bool]) -> SafeResult:
    """Every output OFF: by asking control, else by ending it and claiming its lines at OFF.

    run_folder: where control left its outputs.json
    ask: tells control to go OFF; True when it said within so many [s] that its outputs are off
    """
    # whatever goes wrong in asking, nobody has said that the outputs are off
    try:
        if ask(ANSWER_WITHIN):
            return SafeResult(True, "control switched its outputs OFF", 0)
        silence = "control did not answer"
    except Exception as error:
        silence = f"control could not be asked ({one_line(error)})"
    try:
        outputs = read_outputs(run_folder)
    except InputError as error:
        return _unknown(f"{silence}, and {error}")
    ended = _end(outputs)
    if outputs.label in UNREAL_LABELS:
        return SafeResult(True, f"{silence}{ended}; its outputs were only {outputs.label}", 0)
    if not outputs.lines:
        return SafeResult(True, f"{silence}{ended}; no output is wired", 0)
    try:
        pins = lgpio_pins(run_folder, outputs.label)
    except ControllerError as error:
        return _unknown(f"{silence}{ended}, and {error}")
    return _claim_all(pins, outputs, f"{silence}{ended}")


def _unknown(why: str) -> SafeResult:
    return SafeResult(False, f"pull the lamp's plug: {why}", 1)


def _claim_all(pins: Pins, outputs: ClaimedOutputs, before: str) -> SafeResult:
    """Each line at OFF and read back, then let go of: a Pi's kernel leaves it driven low.

    The lamp's first.
    """
    failed, held = [], []
    lamp_first = sorted(outputs.lines, key=lambda name: name != "lamp")
    where = {name: f"{spoken(name)} on GPIO{outputs.lines[name]}" for name in lamp_first}
    for name in lamp_first:
        line = outputs.lines[name]
        try:
            device = claimed_off(pins, name, line)
        except ControllerError as error:
            failed.append(str(error))
            continue
        held.append(device)
        try:
            if device.value:
                failed.append(f"{where[name]} was claimed at OFF and reads ON")
        except Exception as error:
            failed.append(f"{where[name]} cannot be read back ({one_line(error)})")
    for part in (*held, pins.factory, pins.inputs):
        try:
            part.close()
        except Exception as error:
            failed.append(f"a line could not be let go of ({one_line(error)})")
    if failed:
        return _unknown(f"{before}; {'; '.join(failed)}")
    return SafeResult(True, f"outputs OFF: {', '.join(where.values())} ({before})", 0)


def _end(outputs: ClaimedOutputs) -> str:
    """Kill the process that holds the lines, wait until it is gone, and say so.

    Empty when it was gone already. A pid given out again to another process is told by its start
    time, and spared.
    """
    if outputs.pid == os.getpid():
        return ""
    try:
        process = os.pidfd_open(outputs.pid)
    except ProcessLookupError:
        return ""
    try:
        if process_started(outputs.pid) != outputs.started:
            return ""
        signal.pidfd_send_signal(process, signal.SIGKILL)
        gone = select.poll()
        gone.register(process, select.POLLIN)
        if not gone.poll(1000 * END_WITHIN):
            return f", its process {outputs.pid} does not end"
        return f", its process {outputs.pid} was ended"
    except ProcessLookupError:
        return ""
    except PermissionError:
        return f", its process {outputs.pid} may not be ended by this user (try sudo)"
    finally:
        os.close(process)
