"""A batch at work on the real drivers, ticked second by second.

The engine goes through the runner as it does in control. Behind the drivers stands the documented
example rig with its plant; over which lines is in fault_place.py.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from controller.batch.acts import Act, ActKind
from controller.batch.alarms import ALARMS
from controller.batch.engine import Engine
from controller.batch.events import EventKind
from controller.batch.signals import Role
from controller.batch.stages import Form, Stage
from controller.batch.state import RigState, Run
from controller.hardware.plant import Plant, PlantTruth
from controller.hardware.rig import Rig
from controller.instant import Instant
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.rig import facts_for, sheet_for
from controller.rehearsal.scenario import scenario
from controller.runner import Runner, Tick
from controller.settings import Settings, default_settings_text, parse_settings
from controller.store.log import Log

YES = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
UTC = 1_800_000_000.0
STORY = scenario("good-night")
LONGER = 60.0
"""How long after its row's limit a fault is still waited for, so as to tell by how much, [s]."""


@dataclass(frozen=True, slots=True)
class Found:
    """How a fault was met."""

    after: float
    """So long after it was done, [s]."""
    alarms: tuple[str, ...]
    """Raised by then, in order."""
    says: str
    """All that people were told."""


def documented(run_folder: Path, backend: str) -> Settings:
    """The example rig on this back end."""
    text = default_settings_text().replace('"/run/warmdraw"', f'"{run_folder}"')
    return parse_settings(text.replace('backend = "simulated"', f'backend = "{backend}"'))


class AtWork:
    """One rig, the runner on it, and a clock of whole seconds."""

    plant: Plant

    def __init__(
        self, rig: Rig, told: Settings, folder: Path, person_did: Callable[[str], None]
    ) -> None:
        self.rig, self.told, self.person_did = rig, told, person_did
        self.sheet: BatchSheet = sheet_for(STORY, told)
        self.now = 0.0
        self.alarms: list[str] = []
        """Those raised, in order."""
        self.texts: list[str] = []
        """What people were told: answers refused and alarms."""
        self._count = 0
        self._path = folder / "log.db"
        self._log: Log | None = None
        self.runner = self.boot()

    def boot(self) -> Runner:
        """The controller starts, on the record as the last one left it."""
        if self._log is not None:
            self._log.close()
        self._log = Log.open(self._path, throwaway=True)
        wired = frozenset(role for role in Role if getattr(self.told.probes, role))
        facts = facts_for(self.told, wired, simulated=True, record="record", in_date=True)
        self.runner = Runner(self.rig, self._log, facts, self._instant())
        self.runner.on_accepted = lambda act, run: self.person_did(str(act.kind))
        return self.runner

    def _instant(self) -> Instant:
        return Instant(self.now, UTC + self.now, self.now, "boot", True)

    # --- what goes on

    def truth(self) -> PlantTruth:
        """What is so."""
        return self.plant.truth()

    def ready(self) -> None:
        """Before each tick: what has to be so for the drivers to read."""

    def tick(self, *acts: Act) -> Tick:
        """A second goes by. Raises as the runner does."""
        self.now += 1.0
        self.ready()
        done = self.runner.tick(self._instant(), acts)
        self.texts += [answer.text for answer in done.step.answers if not answer.accepted]
        for event in done.step.events:
            if event.kind is EventKind.ALARM_RAISED:
                name = str(event.data["alarm"])
                self.alarms.append(name)
                self.texts += [ALARMS[name].says, ALARMS[name].do]
        return done

    def press(self, kind: ActKind, **values: str | float | bool) -> None:
        """A person's press, and the tick that hears it."""
        self._count += 1
        run = self.runner.engine.rig.run
        stage = None if run is None else str(run.stage)
        batch = None if run is None else run.id
        self.tick(
            Act(
                id=f"act-{self._count}",
                kind=kind,
                batch=batch,
                stage=stage,
                by="test",
                values=values,
            )
        )

    def wait(self, seconds: float) -> None:
        """So many ticks."""
        for _ in range(round(seconds)):
            self.tick()

    def attended(self, true: Callable[[], bool], limit: float) -> float:
        """As `after`, with somebody there who says so every two minutes."""
        began = self.now
        while not true():
            assert self.now - began < limit + LONGER, f"not within {self.now - began:.0f} s"
            if self.now % 120.0 == 0.0:
                self.press(ActKind.PRESENT)
            else:
                self.tick()
        return self.now - began

    def after(self, true: Callable[[], bool], limit: float) -> float:
        """How long from now until it is so, [s]; fails long after the limit."""
        began = self.now
        while not true():
            assert self.now - began < limit + LONGER, f"not within {self.now - began:.0f} s"
            self.tick()
        return self.now - began

    def met(self, true: Callable[[], bool], limit: float, *, dark: bool = False) -> Found:
        """Go on until it is so; with `dark` the lamp is then, by its line and in truth."""
        after = self.after(true, limit)
        if dark:
            assert not self.lamp() and not self.truth().lamp_lit
        return Found(after, tuple(self.alarms), self.says())

    # --- how far the work is

    @property
    def run(self) -> Run:
        run = self.runner.engine.rig.run
        assert run is not None
        return run

    @property
    def stage(self) -> Stage:
        return self.run.stage

    def plan(self) -> None:
        """A sheet, and a second of quiet."""
        self.press(ActKind.PLAN, sheet=sheet_to_json(self.sheet), id="batch-1")
        self.tick()

    def heat(self, seconds: float = 60.0) -> None:
        """A board under a burning lamp that the probe has seen, so long into its heat."""
        self.plan()
        self.press(ActKind.START, **YES)
        self.after(lambda: self.run.lamp.proved and self.lamp(), 75.0)
        self.wait(seconds - 1.0)
        assert self.stage is Stage.PREHEAT and self.lamp() and not self.alarms

    def hold(self) -> None:
        """A coated board in a bag that the pump has just begun to pull, held before the gel."""
        self.plan()
        self.into_hold()
        self.wait(20.0)
        assert self.rig.outputs().pump and not self.alarms

    def into_hold(self) -> None:
        """The coated board is in its bag, whatever was before."""
        for kind in (ActKind.COATED, ActKind.SEALED):
            self.person_did(str(kind))
        run = Run("batch-1", self.sheet, 0, Stage.HOLD, self.now, form=Form.HELD)
        run.started_at = run.mixed_at = run.lamp_off_at = run.coating_at = self.now
        run.coated_at = run.sealed_at = self.now
        run.unplugged = run.thinner_open = run.probe_off = True
        run.bag.verdict, run.bag.accepted_rise = "tight", 1.0
        self.runner.engine = Engine(RigState(now=self.now, run=run))

    def lamp(self) -> bool:
        """The lamp's line is high."""
        return self.rig.outputs().lamp

    def says(self) -> str:
        """All that people were told, with what the drivers tell beside it."""
        return " ".join([*self.texts, *self.troubles().values()])

    def troubles(self) -> dict[str, str]:
        """Why sensors do not answer."""
        return dict(self.rig.troubles())  # type: ignore[attr-defined]

    def close(self) -> None:
        """Outputs off, the record closed."""
        self.rig.close()
        if self._log is not None:
            self._log.close()
