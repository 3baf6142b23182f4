"""What the pretend rigs promise beside the contract: a plant that answers to what is switched."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from controller.batch.signals import Commands, Readings, Role
from controller.errors import OutputError, ReadingError
from controller.hardware.plant import Plant
from controller.hardware.raspberry_mock import MockedRaspberryRig
from controller.hardware.simulated import SimulatedRig
from controller.settings.panel import Panel

Pretended = SimulatedRig | MockedRaspberryRig
Build = Callable[..., Pretended]

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")

LAMP = Commands(lamp=True)
PUMP = Commands(pump=True)


@pytest.fixture(params=["simulated", "mock"])
def build(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Build]:
    built: list[Pretended] = []

    def build(probes: tuple[Role, ...] = tuple(Role), seed: int = 0) -> Pretended:
        plant = Plant(seed=seed)
        rig: Pretended
        if request.param == "simulated":
            rig = SimulatedRig(plant, probes, seed, stop=True, next=True)
        else:
            panel = Panel(stop=22, next=23)
            folder = tmp_path / str(len(built))
            rig = MockedRaspberryRig(plant, folder, probes, seed, panel=panel)
        built.append(rig)
        return rig

    yield build
    for rig in built:
        rig.close()


def run(rig: Pretended, start: int, seconds: int, tick: int = 1) -> Readings:
    for now in range(start, start + seconds, tick):
        readings = rig.read(float(now))
    return readings


def test_the_first_read_tells_every_wired_sensor_and_no_other(build: Build) -> None:
    readings = build(probes=(Role.FACE, Role.ROOM)).read(100.0)
    for sample in (readings.face, readings.room, readings.bag, readings.barometer):
        assert sample is not None and sample.at == 100.0
    assert (readings.back, readings.film) == (None, None)
    assert readings.face is not None and 263.15 < readings.face.value < 313.15
    assert readings.barometer is not None and 90e3 < readings.barometer.value < 105e3


def test_it_says_that_it_is_simulated(build: Build) -> None:
    assert build().simulated


def test_off_is_at_once_and_may_be_said_twice(build: Build) -> None:
    rig = build()
    rig.read(0.0)
    rig.person_did("START")
    rig.apply(Commands(lamp=True, pump=True))
    run(rig, 1, 5)
    assert rig.truth().lamp_lit and rig.truth().pump_running
    rig.off()
    rig.off()
    assert rig.outputs() == Commands()
    assert not rig.truth().lamp_lit and not rig.truth().pump_running
    rig.apply(PUMP)
    assert rig.outputs() == PUMP


def test_close_leaves_every_output_off_for_good(build: Build) -> None:
    rig = build()
    rig.read(0.0)
    rig.person_did("START")
    rig.apply(LAMP)
    rig.close()
    rig.close()
    rig.off()
    assert rig.outputs() == Commands()
    assert not rig.truth().lamp_lit
    with pytest.raises(OutputError, match="closed"):
        rig.apply(Commands())


def test_the_lamp_warms_the_face_it_reads_and_only_while_on(build: Build) -> None:
    rig = build()
    rig.read(0.0)
    rig.person_did("START")
    cold = run(rig, 1, 30).face
    rig.apply(LAMP)
    warm = run(rig, 31, 300).face
    rig.apply(Commands())
    after = run(rig, 331, 300).face
    assert cold is not None and warm is not None and after is not None
    assert warm.value > cold.value + 5.0
    assert after.value < warm.value - 1.0


def test_the_pump_empties_the_bag_the_gauge_reads(build: Build) -> None:
    rig = build()
    rig.read(0.0)
    rig.person_did("SEALED")
    rig.apply(PUMP)
    readings = run(rig, 1, 300)
    assert readings.bag is not None and readings.barometer is not None
    assert readings.bag.value < readings.barometer.value - 20e3
    assert readings.bag.value == pytest.approx(rig.truth().bag, abs=200.0)


def test_a_silent_probe_keeps_its_last_sample_and_grows_old(build: Build) -> None:
    rig = build()
    run(rig, 0, 10)
    rig.add_fault("probe_silent", role=Role.FACE)
    readings = run(rig, 10, 20)
    assert readings.face is not None and readings.face.at == 9.0
    assert readings.back is not None and readings.back.age(29.0) < 10.0
    rig.clear_fault("probe_silent", role=Role.FACE)
    readings = run(rig, 30, 3)
    assert readings.face is not None and readings.face.at == 32.0


def test_a_silent_bus_and_gauge_leave_nothing_fresh(build: Build) -> None:
    rig = build()
    run(rig, 0, 10)
    rig.add_fault("bus_silent")
    rig.add_fault("gauge_silent")
    readings = run(rig, 10, 20)
    for role in Role:
        sample = readings.role(role)
        assert sample is not None and sample.age(29.0) > 10.0
    assert readings.bag is not None and readings.bag.at == 9.0
    assert readings.barometer is not None and readings.barometer.at == 29.0


@pytest.mark.parametrize("tick", [1, 10, 600])
def test_no_value_is_ten_seconds_old_on_a_healthy_rig(build: Build, tick: int) -> None:
    rig = build()
    for now in range(0, 60 * tick, tick):
        readings = rig.read(float(now))
        for role in Role:
            sample = readings.role(role)
            assert sample is not None and sample.age(float(now)) < 10.0


def test_time_that_goes_back_is_refused(build: Build) -> None:
    rig = build()
    rig.read(10.0)
    with pytest.raises(ReadingError, match="went back"):
        rig.read(9.0)


def test_one_seed_is_one_story(build: Build) -> None:
    stories = []
    for seed in (3, 3, 4):
        rig = build(seed=seed)
        rig.read(0.0)
        rig.person_did("START")
        rig.apply(LAMP)
        stories.append([rig.read(float(now)) for now in range(1, 60)])
    assert stories[0] == stories[1]
    assert stories[0] != stories[2]
