"""A sheet to plan, and control on a pretend rig and on the real back end over pretend lines."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from running import ON_A_PRETEND_BUS, Control, rig_toml, start

from controller.commissioning.record import wiring
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.hardware.rig import wired_probes
from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import example
from controller.planning.sheet_json import sheet_to_json
from controller.settings import default_settings_text, parse_settings, read_settings

GAUGE = '[gauge]\nwired = "wired"'
"""In the example; the real back end has no driver for a gauge."""


@pytest.fixture(scope="session")
def sheet() -> str:
    description = parse_description(example("washboard-ash"), "washboard-ash")
    return sheet_to_json(plan(description, parse_settings(default_settings_text())))


@pytest.fixture
def launch(tmp_path: Path) -> Iterator[Callable[..., Control]]:
    """Starts processes, and sees to their end."""
    started: list[Control] = []

    def launched(*command: str, **more: object) -> Control:
        started.append(start(tmp_path, *command, **more))  # type: ignore[arg-type]
        return started[-1]

    yield launched
    for process in started:
        process.away()


@pytest.fixture
def pretend(launch: Callable[..., Control], tmp_path: Path) -> Control:
    """Control of the simulated rig, listening."""
    rig_toml(tmp_path, "simulated")
    return launch("control", "--speed", "0.5").up()


@pytest.fixture
def steady(launch: Callable[..., Control], tmp_path: Path) -> Control:
    """Control of the simulated rig, listening, a tick each second as on a real one."""
    rig_toml(tmp_path, "simulated")
    return launch("control", "--speed", "0.0167").up()


@pytest.fixture
def real(launch: Callable[..., Control], tmp_path: Path) -> Control:
    """Control of the real back end, listening, with a bench record in date."""
    config = rig_toml(tmp_path, "raspberry", {GAUGE: '[gauge]\nwired = "by hand"'})
    settings = read_settings(config)
    (tmp_path / "chips").write_text("0 pinctrl-bcm2711\n")
    # STOP, tilt, cut-out and trap of the example rig: closed while all is well
    (tmp_path / "grounded").write_text("13 16 22 26")
    for chip in wired_probes(settings).values():
        PretendChip(tmp_path / "w1" / chip).converted(20 * 16)
    bench_record(tmp_path, settings)
    return launch("control", standin=True, code=ON_A_PRETEND_BUS).up()


def bench_record(folder: Path, settings: object, **other: object) -> None:
    from running import note

    made = {
        "version": 2,
        "name": "bench 1",
        "made_utc": time.time(),
        "proof_utc": time.time(),
        "simulated": False,
        "wiring": wiring(settings),  # type: ignore[arg-type]
        "results": [],
    }
    note(folder / "state" / "bench-record.json", **(made | other))
