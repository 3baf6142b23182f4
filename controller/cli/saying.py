"""The only place that prints."""

import sys
from collections.abc import Iterable


def say(text: str) -> None:
    """A line, or lines, of what was asked for; out at once, also into a pipe."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def pour(chunks: Iterable[str]) -> None:
    """Much text, as it is."""
    sys.stdout.writelines(chunks)
    sys.stdout.flush()


def complain(text: str) -> None:
    """What went wrong, and what to do."""
    sys.stderr.write(f"warmdraw: {text}\n")
    sys.stderr.flush()
