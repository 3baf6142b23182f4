"""A pretend rig on the bench, and people who answer as they are told."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from controller.commissioning.bench import Bench
from controller.commissioning.record import Result
from controller.commissioning.walk import BY_NAME, walk
from controller.daemon.rigs import pretend_rig
from controller.hardware.raspberry_mock import MockedRaspberryRig
from controller.hardware.simulated import SimulatedRig
from controller.quantities import People
from controller.rehearsal.scenario import scenario
from controller.settings import Settings, default_settings_text, parse_settings

PretendRig = SimulatedRig | MockedRaspberryRig
BAROMETER = {'[barometer]\nwired = "absent"': '[barometer]\nwired = "wired"'}
MOCK = {'backend = "simulated"': 'backend = "mock"'}
NO_SENSES = {"lamp = 12": "", "cut_out = 16": ""}


def settings(folder: Path, changes: Mapping[str, str] | None = None) -> Settings:
    """The example rig with its folders in `folder`."""
    text = default_settings_text()
    folders = {"/var/lib/warmdraw": f"{folder}/state", "/run/warmdraw": f"{folder}/run"}
    for old, new in (folders | dict(changes or {})).items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "run").mkdir(exist_ok=True)
    return parse_settings(text, "rig.toml")


class Person:
    """Careful, but for the answers they are given."""

    def __init__(self, answers: Mapping[str, str] | None = None) -> None:
        """answers: part of a question, and what is answered to it"""
        self._answers = dict(answers or {})
        self.heard: list[str] = []

    def tell(self, text: str) -> None:
        self.heard.append(text)

    def ask(self, question: str, careful: str) -> str:
        self.heard.append(question)
        return next((said for part, said in self._answers.items() if part in question), careful)


@contextmanager
def bench(
    told: Settings,
    person: Person | None = None,
    spoil: Callable[[PretendRig, str], None] = lambda rig, act: None,
) -> Iterator[Bench]:
    """The pretend rig of these settings.

    spoil: called after each act of the person's hands
    """
    rig = pretend_rig(told, scenario("good-night"), 1)
    now = [0.0]

    def pause(seconds: float) -> None:
        now[0] += seconds

    def hands(act: str) -> None:
        rig.person_did(act)
        spoil(rig, act)

    try:
        yield Bench(
            rig,
            told,
            person or Person(),
            lambda: now[0],
            pause,
            hands,
            rig.troubles,
            People(zone="America/New_York"),
        )
    finally:
        rig.close()


def step(on: Bench, name: str) -> Result:
    """One step, alone."""
    return walk(on, (BY_NAME[name],))[0]
