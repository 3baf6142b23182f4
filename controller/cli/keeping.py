"""`warmdraw backup` and `warmdraw restore`: the log out of the machine, and back."""

from argparse import Namespace
from typing import TYPE_CHECKING

from controller.cli import places
from controller.cli.saying import say

if TYPE_CHECKING:
    from controller.store.backup import Copied


def backup(args: Namespace) -> int:
    """Copy the log to a new file; control may run."""
    from controller.store.backup import back_up

    copied = back_up(places.state_folder(args) / places.LOG, args.file)
    say(f"written: {args.file}, {_told(copied)}")
    return 0


def restore(args: Namespace) -> int:
    """Put a copy in the log's place; control may not run."""
    from controller.store.backup import put_back

    log = places.state_folder(args) / places.LOG
    copied, before = put_back(args.file, log)
    say(f"{log} is now {args.file}, {_told(copied)}")
    if before is not None:
        say(f"the log before it is kept as {before}")
    return 0


def _told(copied: "Copied") -> str:
    held = ", ".join(
        f"{count} {one if count == 1 else many}"
        for count, one, many in (
            (copied.batches, "batch", "batches"),
            (copied.events, "event", "events"),
            (copied.samples, "reading", "readings"),
        )
    )
    bad = f"; {copied.unsound} damaged before, see warmdraw report" if copied.unsound else ""
    return f"{held}, {copied.size / 1e6:.1f} MB{bad}"
