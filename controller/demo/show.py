"""The demo from its two processes to its record.

Control and page are what runs in a shop, the rig's drivers the real ones over mock lines. The
operator sees what a phone sees and presses what a phone can press, over the same link.
"""

import asyncio
import json
import os
import re
import secrets
import signal
import tempfile
import time
import webbrowser
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.live import Live
from rich.table import Table

from controller.batch.acts import Act, ActKind
from controller.batch.snapshot import Snapshot
from controller.demo.child import Child
from controller.demo.scale import Scale
from controller.errors import BusyError, InputError, OutputError
from controller.link import ActMessage, Feed
from controller.planning.sheet_json import sheet_to_json
from controller.quantities import People, fill
from controller.rehearsal.operator import Operator
from controller.rehearsal.rig import sheet_for
from controller.rehearsal.scenario import scenario
from controller.report.record import record_html
from controller.science.air import standard_pressure
from controller.settings import Settings, default_settings_text, parse_settings
from controller.store.queries import LogReader

STORY = "good-night"
"""The scenario that is played."""
ANSWER = 8.0
"""How long control may take to answer a press, [s]. Own."""
CURTAIN = 15.0
"""From the page being up to the batch being planned, at the usual speed, [s]. Own: time to open
the page."""
LOOK_AGAIN = 0.5
"""After a press that was not answered, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """How the demo shall go."""

    folder: Path | None
    """Where it keeps its things; a new one when None."""
    speed: float
    """Factor on the pace of each stage."""
    hands_on: bool
    """The person presses, not the operator."""
    port: int
    """Of the page; 0 takes any free one."""
    opens_browser: bool
    """Where there is a graphical desktop."""
    ends: bool
    """When the batch has; else it stays up until Ctrl-C."""


def run_demo(wishes: Wishes, console: Console) -> int:
    """Play the batch; the exit code. Ctrl-C ends it at any time, outputs OFF.

    console: where to tell it

    Raises InputError when it cannot start, OutputError when it fails on the way.
    """
    folder = _folder(wishes.folder)
    text = rig_toml(folder)
    try:
        (folder / "rig.toml").write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(f"{folder} cannot be written: {error.strerror}") from error
    demo = Demo(wishes, folder, parse_settings(text), console)
    try:
        asyncio.run(demo.play())
    except (KeyboardInterrupt, asyncio.CancelledError):
        console.print("Ended; outputs are off.")
        return 0
    if demo.outcome != "FINISHED" and not wishes.hands_on:
        console.print(
            "The demo's operator gave the batch up; the record says why. Where this machine cannot"
            " keep that pace, take a lower --speed."
        )
        return 1
    return 0


class Demo:
    """One demo."""

    def __init__(self, wishes: Wishes, folder: Path, settings: Settings, console: Console) -> None:
        """folder: holds rig.toml, which says what `settings` do"""
        self._wishes = wishes
        self._folder = folder
        self._settings = settings
        self._console = console
        self._story = scenario(STORY)
        self._feed = Feed(settings.rig.run_folder / "control.sock")
        # a folder that was used before has had presses of the same numbers
        self._this = secrets.token_hex(3)
        self._stage = ""
        self.outcome = ""
        """How the batch ended, FINISHED or ABANDONED; empty until it has."""

    async def play(self) -> None:
        """Both processes up, the batch, and both down again, whatever happens."""
        me = asyncio.current_task()
        if me is not None:
            asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, me.cancel)
        async with self._processes() as (address, children):
            tasks = [asyncio.create_task(self._show(address))]
            tasks += [asyncio.create_task(self._feed.run())]
            tasks += [asyncio.create_task(child.gone()) for child in children]
            try:
                done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
                for task in done:
                    task.result()
            finally:
                for task in tasks:
                    task.cancel()
                await asyncio.gather(*tasks, return_exceptions=True)

    @asynccontextmanager
    async def _processes(self) -> AsyncIterator[tuple[str, list[Child]]]:
        """Control and page, and the page's address."""
        pretence = ["--scenario", STORY, "--speed", f"{self._wishes.speed:g}"]
        pretence += ["--hands-on"] if self._wishes.hands_on else []
        children: list[Child] = []
        try:
            children.append(await Child.start("control", self._folder, pretence))
            await children[0].first_line()
            port = ["--port", str(self._wishes.port)]
            children.append(await Child.start("page", self._folder, port))
            said = await children[1].first_line()
            yield said.removeprefix("page on "), children
        finally:
            await asyncio.gather(*(child.end() for child in children))

    async def _show(self, address: str) -> None:
        self._greet(address)
        last = await self._batch()
        self._write_record(last)
        if not self._wishes.ends:
            self._console.print("The page stays up; Ctrl-C ends the demo.")
            await asyncio.Event().wait()

    async def _batch(self) -> Snapshot:
        """Plan the batch and see it through; the last snapshot."""
        sheet = sheet_for(self._story, self._settings)
        name = f"washboard-{self._this}"
        values: dict[str, str | float | bool] = {"sheet": sheet_to_json(sheet), "id": name}
        plan = Act(
            id="plan", kind=ActKind.PLAN, batch=None, stage=None, by="operator", values=values
        )
        await asyncio.sleep(CURTAIN / self._wishes.speed)
        shown = await self._feed.changed(-1)
        await self._press(shown, plan)
        scale = Scale(sheet)
        operator = Operator(self._story.seed, scale=scale.weigh, dry_pull=self._story.dry_pull)
        with Live(console=self._console, auto_refresh=False, transient=True) as live:
            while True:
                shown = scale.shown = await self._feed.changed(shown.seq)
                if shown.batch is None or shown.batch.id != name:
                    continue
                self._tell(live, shown)
                if shown.batch.outcome is not None:
                    return shown
                act = None if self._wishes.hands_on else operator.looks(shown)
                if act is not None:
                    await self._press(shown, act)

    async def _press(self, shown: Snapshot, act: Act) -> None:
        """Press until it is answered; a refusal is for the operator's next look."""
        message = ActMessage(
            id=f"{act.id}-{self._this}",
            kind=act.kind,
            batch=act.batch,
            stage=act.stage,
            by=act.by,
            ago_s=act.ago,
            values=dict(act.values),
            seen_seq=shown.seq,
        )
        while True:
            fresh = message.model_copy(update={"received_utc": time.time()})
            try:
                answer = await self._feed.press(fresh, ANSWER)
            except BusyError:
                await asyncio.sleep(LOOK_AGAIN)
                continue
            if not answer.accepted and act.kind is ActKind.PLAN:
                raise OutputError(f"the demo's batch could not be planned: {answer.text}")
            return

    # --- what is told

    def _greet(self, address: str) -> None:
        self._console.print(f"A SIMULATED rig; its page is on {address}")
        self._console.print(f"Its things are kept in {self._folder}", soft_wrap=True)
        if self._wishes.hands_on:
            self._console.print("Yours are the hands: open the page and press what is due.")
        desktop = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
        if self._wishes.opens_browser and desktop:
            webbrowser.open(address)

    def _tell(self, live: Live, shown: Snapshot) -> None:
        """A line for each stage; on a terminal the present sentence below them."""
        units = People(zone=shown.time_zone)
        figures = {name: asdict(value) for name, value in shown.sentence.values.items()}
        said = fill(shown.sentence.text, figures, units, now=shown.told_utc)  # type: ignore[arg-type]
        told = datetime.fromtimestamp(shown.told_utc, UTC).astimezone(ZoneInfo(shown.time_zone))
        now = f"{told:%a %H:%M}"
        if shown.stage != self._stage:
            self._stage = shown.stage
            self._console.print(f"{now}  {shown.stage:11} {said}", markup=False, soft_wrap=True)
        if self._console.is_terminal:
            line = Table.grid(padding=(0, 2))
            line.add_row(f"[bold]{now}[/bold]", f"[reverse] {shown.stage} [/reverse]", said)
            live.update(line, refresh=True)

    def _write_record(self, shown: Snapshot) -> None:
        if shown.batch is None:
            return
        page = record_html(
            LogReader(self._settings.rig.state_folder / "log.db"),
            shown.batch.id,
            People(zone=shown.time_zone),
            shown.time_zone,
            simulated=True,
            air_pressure=standard_pressure(self._settings.shop.altitude),
        )
        path = self._folder / f"{shown.batch.id}.html"
        path.write_text(page, encoding="utf-8")
        self.outcome = (shown.batch.outcome or "").upper()
        self._console.print(f"{self.outcome}: its record is {path}", soft_wrap=True)


def _folder(wished: Path | None) -> Path:
    if wished is None:
        return Path(tempfile.mkdtemp(prefix="warmdraw-demo-"))
    try:
        wished.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{wished} cannot be made: {error.strerror}; give another") from error
    return wished.absolute()


def rig_toml(folder: Path) -> str:
    """The documented example, with the real drivers over mock lines and its folders in `folder`."""
    text = default_settings_text()
    wanted = {
        "backend": "mock",
        "state_folder": str(folder / "state"),
        "run_folder": str(folder / "run"),
    }
    for key, value in wanted.items():
        line = f"{key} = {json.dumps(value)}".replace("\\", r"\\")
        text = re.sub(rf'^{key} = "[^"]*"', line, text, count=1, flags=re.MULTILINE)
    return text
