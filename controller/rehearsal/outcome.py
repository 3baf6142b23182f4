"""What is gathered while a scenario is played, and how it is told in the end."""

from dataclasses import dataclass, field
from typing import Any

from controller.batch.events import Event, EventKind
from controller.hardware.plant import PlantTruth
from controller.invariants import Breach
from controller.science.constants import ZERO_CELSIUS


def _no_figures() -> dict[str, float | None]:
    return {
        "face_max_c": None,
        "mean_at_lamp_off_c": None,
        "face_at_first_stroke_c": None,
        "gel_at_s": None,
        "opened_at_s": None,
        "leak_pa_s": None,
        "solvent_left_g": None,
    }


@dataclass(slots=True)
class Story:
    """What is gathered on the way."""

    stages: list[tuple[str, float, float | None]] = field(default_factory=list)
    """(name, began, ended), [s]; the last has no end."""
    alarms: list[dict[str, Any]] = field(default_factory=list)
    """Each with its id, priority and times, as it is told."""
    truth: dict[str, float | None] = field(default_factory=_no_figures)
    """Figures of the plant, the unit in the name; of several coats the last."""
    refused: list[str] = field(default_factory=list)
    """What the operator was told of presses that were refused."""

    def stage(self, name: str, now: float) -> None:
        """The stage now; a new one closes the last."""
        if self.stages and self.stages[-1][0] == name:
            return
        if self.stages:
            last = self.stages[-1]
            self.stages[-1] = (last[0], last[1], now)
        self.stages.append((name, now, None))

    def began(self, name: str) -> float | None:
        """When a stage was first reached, [s]."""
        return next((start for stage, start, _ in self.stages if stage == name), None)

    def happened(self, event: Event) -> None:
        """An event was recorded; alarms are kept."""
        name = str(event.data.get("alarm", ""))
        if event.kind is EventKind.ALARM_RAISED:
            priority = str(event.data["priority"])
            self.alarms.append(
                {"id": name, "priority": priority, "at_s": event.at, "cleared_s": None}
            )
        elif event.kind is EventKind.ALARM_CLEARED:
            for alarm in reversed(self.alarms):
                if alarm["id"] == name:
                    alarm["cleared_s"] = event.at
                    break

    def measured(self, truth: PlantTruth, stage_before: str) -> None:
        """What is so after a tick, and the stage before it."""
        figures = self.truth
        face, mean = truth.face - ZERO_CELSIUS, truth.mean - ZERO_CELSIUS
        figures["face_max_c"] = max(figures["face_max_c"] or face, face)
        if self.stages[-1][0] == "COOLDOWN" != stage_before:
            figures["mean_at_lamp_off_c"] = mean
        figures["gel_at_s"] = truth.gel_at
        figures["leak_pa_s"] = truth.leak
        figures["solvent_left_g"] = 1000.0 * truth.solvent_left


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a rehearsal went."""

    scenario: str
    """Its name."""
    seed: int
    """Of all its chance."""
    outcome: str
    """FINISHED, ABANDONED, REFUSED (three times no to START) or NOT ENDED."""
    as_expected: bool
    """The outcome and the alarms are the scenario's, and nothing was unsafe."""
    simulated_s: float
    """Rig time at the end, [s]."""
    wall_s: float
    """What it took, [s]."""
    story: Story
    """What happened."""
    unsafe: tuple[Breach, ...]
    """What must never be, and was."""

    def as_json(self) -> dict[str, Any]:
        """Plain data, times rounded to what the tick can know."""
        return {
            "scenario": self.scenario,
            "seed": self.seed,
            "outcome": self.outcome,
            "as_expected": self.as_expected,
            "simulated_s": round(self.simulated_s, 1),
            "wall_s": round(self.wall_s, 2),
            "stages": [
                {"stage": name, "from_s": round(start, 1), "to_s": end and round(end, 1)}
                for name, start, end in self.story.stages
            ],
            "alarms": self.story.alarms,
            "refused": self.story.refused,
            "truth": {
                name: None if value is None else round(value, 3)
                for name, value in self.story.truth.items()
            },
            "unsafe": [
                {"rule": breach.rule, "at_s": breach.at, "what": breach.what}
                for breach in self.unsafe
            ],
        }
