"""One of the demo's two processes: started under the same interpreter, heard, and ended."""

import asyncio
import sys
from contextlib import suppress
from pathlib import Path

from controller.errors import InputError, OutputError

UP_WITHIN = 60.0
"""How long a process has to come up, [s]. Own: a slow Pi with a cold card."""
DOWN_WITHIN = 8.0
"""How long it has to end, [s]; control may take 4 to put its record away. Own."""
BAD_INPUT = 2
"""The exit code of a command that was asked for what cannot be."""


class Child:
    """`warmdraw NAME`, running."""

    def __init__(self, name: str, process: asyncio.subprocess.Process, errors: Path) -> None:
        """errors: the file its complaints go to"""
        self._name = name
        self._process = process
        self._errors = errors

    @classmethod
    async def start(cls, name: str, folder: Path, options: list[str]) -> "Child":
        """Start it with the settings in `folder`, where its complaints go as well."""
        errors = folder / f"{name}.log"
        with errors.open("wb") as log:
            process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-m",
                "controller.cli",
                name,
                "--config",
                str(folder / "rig.toml"),
                *options,
                stdin=asyncio.subprocess.DEVNULL,
                stdout=asyncio.subprocess.PIPE,
                stderr=log,
            )
        return cls(name, process, errors)

    async def first_line(self) -> str:
        """What it says once it is up.

        Raises InputError when it was asked for what cannot be, OutputError when it failed; each
        with its own words.
        """
        line = b""
        if self._process.stdout is not None:
            try:
                async with asyncio.timeout(UP_WITHIN):
                    line = await self._process.stdout.readline()
            except TimeoutError as error:
                raise OutputError(f"{self._name} did not come up in {UP_WITHIN:.0f} s") from error
        if line:
            return line.decode().strip()
        code = await self._process.wait()
        raise (InputError if code == BAD_INPUT else OutputError)(self._last_words())

    async def gone(self) -> None:
        """Wait for its end. Raises OutputError: it was not to end by itself."""
        await self._process.wait()
        raise OutputError(f"{self._name} ended by itself: {self._last_words()}")

    async def end(self) -> None:
        """Ask it to end, and see that it does."""
        with suppress(ProcessLookupError):
            self._process.terminate()
        try:
            async with asyncio.timeout(DOWN_WITHIN):
                await self._process.wait()
        except TimeoutError:
            self._process.kill()
            await self._process.wait()

    def _last_words(self) -> str:
        said = self._errors.read_text(encoding="utf-8", errors="replace").strip()
        last = said.splitlines()[-1] if said else f"it said nothing; see {self._errors}"
        return last.removeprefix("warmdraw: ")
