"""Where a fault is done: a rig over mock lines, or over the stand-in for lgpio."""

from dataclasses import dataclass, field
from pathlib import Path

import pytest
from at_work import AtWork
from on_mock_lines import OnMockLines
from on_the_standin import OnTheStandin
from pretend_pi import Bench

from controller.settings import Settings


@dataclass
class Place:
    """Where a row is tried, and what has to be put away after it."""

    folder: Path
    bench: Bench
    patch: pytest.MonkeyPatch
    open: list[AtWork] = field(default_factory=list)

    def mocked(self, told: Settings | None = None) -> OnMockLines:
        """A rig over mock lines."""
        work = OnMockLines(self.folder, told)
        self.open.append(work)
        return work

    def standin(self) -> OnTheStandin:
        """A rig over the stand-in for lgpio."""
        work = OnTheStandin(self.bench, self.patch)
        self.open.append(work)
        return work

    def leave(self) -> None:
        """Everything closed."""
        (self.bench.folder / "fail").unlink(missing_ok=True)
        while self.open:
            self.open.pop().close()
