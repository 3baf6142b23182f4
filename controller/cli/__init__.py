"""The commands of `warmdraw`: what is typed, what is said, and the exit code.

Rule 1: nothing is imported here that a broken rig could lack; each command brings its own.
Rule 2: an error is one line that says what to do: exit 2 for bad input, 1 for a failed run.
"""

import importlib
import sys
import traceback
from argparse import Namespace
from collections.abc import Callable, Sequence

from controller.cli.options import parser
from controller.cli.saying import complain
from controller.errors import BusyError, ControllerError, InputError

COMMANDS = {
    "demo": "daemons:demo",
    "simulate": "simulating:simulate",
    "plan": "batches:plan",
    "control": "daemons:control",
    "page": "daemons:page",
    "status": "talking:status",
    "press": "talking:press",
    "safe": "safety:safe",
    "pair": "talking:pair",
    "report": "batches:report",
    "export": "batches:export",
    "check": "checking:check",
    "backup": "keeping:backup",
    "restore": "keeping:restore",
}
"""Where each command is: module of this package, and function."""
BAD_INPUT, FAILED, INTERRUPTED = 2, 1, 130
"""Exit codes, beside 0; 130 is a shell's own for Ctrl-C."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; its exit code.

    argv: what was typed after `warmdraw`; the process's own when left out
    """
    args = parser().parse_args(argv)
    try:
        return _command(args.command)(args)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # whoever read this has enough; nothing more can be said to them
        sys.stdout = None
        return FAILED
    except Exception as error:
        if args.debug:
            traceback.print_exc()
        elif isinstance(error, ControllerError):
            complain(str(error))
        else:
            complain(f"unexpected {type(error).__name__}: {error}; --debug tells where")
        return BAD_INPUT if isinstance(error, InputError | BusyError) else FAILED


def _command(name: str) -> Callable[[Namespace], int]:
    module, function = COMMANDS[name].split(":")
    found: Callable[[Namespace], int] = getattr(
        importlib.import_module(f"controller.cli.{module}"), function
    )
    return found
