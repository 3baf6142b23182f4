"""The lines of a pretend Pi that outlive the processes using them, for tests."""

import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import controller

STANDIN = Path(__file__).parent / "lgpio_standin"
"""The folder that takes the name of the real module."""
OWNER = """
import sys
from pathlib import Path
from controller.hardware.raspberry_pins import lgpio_pins
from controller.hardware.raspberry_relays import Relays
run = Path(sys.argv[1])
bench = Relays(lgpio_pins(run), run, lamp=17, pump=27)
"""
"""A process that has claimed its outputs."""
LAMP_ON = OWNER + "bench.switch(True, False); print('on', flush=True); sys.stdin.readline()"
"""One that holds the lamp on until it is told to go on."""


@dataclass
class Bench:
    """The lines of a pretend Pi, and the processes that use them."""

    folder: Path
    processes: list[subprocess.Popen[str]] = field(default_factory=list)

    @property
    def run(self) -> Path:
        return self.folder / "run"

    def start(self, code: str) -> subprocess.Popen[str]:
        """A process on this bench; its argument is the run folder."""
        ours = STANDIN, Path(controller.__file__).parents[1]
        path = os.pathsep.join([*map(str, ours), os.environ.get("PYTHONPATH", "")])
        process = subprocess.Popen(
            [sys.executable, "-W", "error", "-c", code, str(self.run)],
            env={**os.environ, "PYTHONPATH": path, "LGPIO_STANDIN": str(self.folder)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.processes.append(process)
        return process

    def result(self, code: str) -> str:
        """What a process on this bench prints; its failure is ours."""
        process = self.start(code)
        out, err = process.communicate(timeout=30)
        assert process.returncode == 0, err
        assert err == ""
        return out.strip()

    def line(self, number: int, chip: int = 0) -> str:
        """Direction and level of a line, whoever holds it."""
        return (self.folder / f"line-{chip}-{number}").read_text().strip()

    def contact(self, number: int, closed: bool) -> None:
        """Close or open the contact between a line and ground, whoever reads it."""
        file = self.folder / "grounded"
        lines = set(file.read_text().split()) - {str(number)}
        half = self.folder / "grounded.half"
        half.write_text(" ".join(sorted(lines | ({str(number)} if closed else set()))))
        half.replace(file)

    def calls(self, number: int) -> list[str]:
        """What was done to a line, in order."""
        words = [line.split() for line in (self.folder / "calls").read_text().splitlines()]
        return [" ".join([name, *level]) for _, name, gpio, *level in words if gpio == str(number)]
