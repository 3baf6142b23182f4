"""The sounder from outside: what calls a person when control is gone for good, until it is back."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from controller.errors import ControllerError, OutputError
from controller.hardware.claimed import UNREAL_LABELS, read_outputs
from controller.hardware.raspberry_pins import claimed_off, lgpio_pins, one_line

LOUD, QUIET = 1.0, 1.0
"""One beat, [s]: unlike the sounder of a rig that is well enough to tell of an alarm. Own. Control
waits for its line longer than one of them, as it starts."""
SOUNDS_FOR = 600.0
"""How long it calls, [s]. Own."""


def sound(run_folder: Path, pause: Callable[[float], None], back: Callable[[], bool]) -> str:
    """Call with the sounder that control had; what was done, for people.

    run_folder: where control left its outputs.json
    pause: waits so many [s]; what it raises ends the call, the sounder OFF
    back: whether control is there again, which ends the call too

    Raises InputError when it cannot be known which line it is, BusyError when another holds it,
    OutputError when it cannot be claimed or switched.
    """
    outputs = read_outputs(run_folder)
    line = outputs.lines.get("sounder")
    if line is None or outputs.label in UNREAL_LABELS:
        return "no sounder is wired: nobody can be called from here"
    if back():
        return "control is there again: nobody is called"
    pins = lgpio_pins(run_folder, outputs.label)
    # lgpio and the kernel each have their own errors, and any of them means no sound, or no end
    try:
        device = claimed_off(pins, "sounder", line)
        try:
            called = _call(device, pause, back)
        finally:
            device.close()
    except ControllerError:
        raise
    except Exception as error:
        raise OutputError(
            f"sounder on GPIO{line} could not be switched ({one_line(error)}); look at its wires"
        ) from error
    finally:
        pins.factory.close()
        pins.inputs.close()
    if called < SOUNDS_FOR:
        return f"called for {called:.0f} s, until control was there again"
    return f"called for {SOUNDS_FOR / 60:.0f} min with the sounder on GPIO{line}"


def _call(device: Any, pause: Callable[[float], None], back: Callable[[], bool]) -> float:
    """Sound and pause in turn; for how long, [s]."""
    called = 0.0
    while called < SOUNDS_FOR:
        for on, seconds in ((True, LOUD), (False, QUIET)):
            if back():
                return called
            device.value = on
            pause(seconds)
            called += seconds
    return called
