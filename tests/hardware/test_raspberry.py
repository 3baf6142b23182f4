"""The real rig whole: its threads and lines over a pretend kernel."""

import os
import sys
import threading
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from time import monotonic
from types import ModuleType

import pytest
from fake_bus import FakeAds1115, FakeBmp280, FakeBus
from pretend_pi import Bench

from controller.batch.signals import Commands, Readings, Role, Sample
from controller.errors import BusyError, InputError, OutputError, ReadingError
from controller.hardware import raspberry_i2c
from controller.hardware.claimed import read_outputs
from controller.hardware.raspberry import Gauge, RaspberryRig
from controller.hardware.raspberry_mock import MADE_UP_IDS
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.quantities import Pressure
from controller.settings import Settings, default_settings_text, parse_settings

pytestmark = pytest.mark.usefixtures("gpiozero_as_found", "lgpio_here")

Build = Callable[..., RaspberryRig]


class FakeGauge:
    """A gauge that tells one pressure, or nothing."""

    def __init__(self, pressure: float | None) -> None:
        self.pressure = pressure

    def sample(self, now: float) -> Sample:
        if self.pressure is None:
            raise ReadingError("gauge: no answer")
        return Sample(self.pressure, now)


def settings(run_folder: Path, *, gauge: str = "wired", more: str = "") -> Settings:
    """more: lines of [gauge], in place of the example's of its converter"""
    text = default_settings_text()
    if more:
        wires, rest = text.index("# adc = "), text.index("[barometer]")
        text = text[:wires] + more + "\n\n" + text[rest:]
    text = text.replace('backend = "simulated"', 'backend = "raspberry"')
    text = text.replace('"/run/warmdraw"', f'"{run_folder}"')
    head, bench, tail = text.partition("[gauge]")
    return parse_settings(head + bench + tail.replace('"wired"', f'"{gauge}"', 1))


@pytest.fixture
def build(bench: Bench) -> Iterator[Build]:
    built = []
    for role, celsius in ((Role.FACE, 40), (Role.ROOM, 20)):
        PretendChip(bench.folder / "w1" / MADE_UP_IDS[role]).converted(celsius * 16)

    def build(
        gauge: Gauge | None = None, wired: str = "by hand", told: Settings | None = None
    ) -> RaspberryRig:
        # a clock that goes on by itself, so that no reader waits in real time
        ticks = count()
        rig = RaspberryRig(
            settings(bench.run, gauge=wired) if told is None else told,
            lambda: float(next(ticks)),
            gauge=gauge,
            w1_folder=bench.folder / "w1",
        )
        built.append(rig)
        return rig

    yield build
    for rig in built:
        rig.close()


def settled(rig: RaspberryRig) -> Readings:
    """Readings once the probes that are there have answered."""
    until = monotonic() + 30.0
    while monotonic() < until:
        readings = rig.read(0.0)
        if readings.face is not None and readings.room is not None and len(rig.troubles()) == 2:
            return readings
    raise AssertionError(f"no reading: {rig.troubles()}")


def test_it_reads_the_probes_that_answer_and_names_those_that_do_not(build: Build) -> None:
    rig = build()
    readings = settled(rig)
    assert readings.face is not None and readings.face.value == 313.15
    assert readings.room is not None and readings.room.value == 293.15
    assert (readings.back, readings.film, readings.bag) == (None, None, None)
    assert sorted(rig.troubles()) == ["back", "film"]
    assert not rig.simulated


def test_it_switches_reads_back_and_lets_go_at_off(build: Build, bench: Bench) -> None:
    rig = build()
    lines = {"lamp": 17, "pump": 27, "sounder": 24, "dead_man": 25}
    assert dict(read_outputs(bench.run).lines) == lines
    rig.apply(Commands(lamp=True, sounder=True))
    assert (bench.line(17), bench.line(27)) == ("out 1", "out 0")
    assert rig.outputs() == Commands(lamp=True, sounder=True)
    rig.off()
    assert bench.line(17) == "out 0"
    rig.apply(Commands(pump=True))
    rig.close()
    rig.close()
    rig.off()
    assert bench.line(27) == "out 0"
    with pytest.raises(OutputError, match="closed"):
        rig.apply(Commands())


def test_a_second_rig_is_refused_and_reads_nothing(build: Build) -> None:
    build()
    with pytest.raises(BusyError, match="lamp on GPIO17 is held"):
        build()


def test_a_reader_that_hangs_is_left_behind_and_another_reads_on(
    build: Build, bench: Bench
) -> None:
    # a pipe that nobody writes to: its reader hangs in the kernel, as on a bus that locked up
    file = bench.folder / "w1" / MADE_UP_IDS[Role.FACE] / "w1_slave"
    answer = file.read_text()
    file.unlink()
    os.mkfifo(file)
    rig = build()
    threads = reader_threads()
    rig.read(14.0)
    assert reader_threads() == threads
    until = monotonic() + 30.0
    while len(reader_threads()) < 2 and monotonic() < until:
        rig.read(1e6)
    rig.read(2e6)
    assert len(reader_threads()) == 2

    writer = os.open(file, os.O_RDWR)
    file.unlink()
    file.write_text(answer)
    os.close(writer)
    settled(rig)
    threads[0].join(30.0)
    assert len(reader_threads()) == 1


def reader_threads() -> list[threading.Thread]:
    return [thread for thread in threading.enumerate() if thread.name.startswith("probes")]


def test_a_gauge_that_fails_keeps_its_last_good_sample(build: Build) -> None:
    gauge = FakeGauge(25e3)
    rig = build(gauge=gauge, wired="wired")
    assert rig.read(1.0).bag == Sample(25e3, 1.0)
    gauge.pressure = None
    assert rig.read(2.0).bag == Sample(25e3, 1.0)
    assert rig.troubles()["gauge"] == "gauge: no answer"
    gauge.pressure = 26e3
    assert rig.read(3.0).bag == Sample(26e3, 3.0)
    assert "gauge" not in rig.troubles()


@pytest.mark.parametrize(("gauge", "wired"), [(None, "wired"), (FakeGauge(1e5), "by hand")])
def test_a_gauge_that_is_not_as_the_settings_say_is_refused_before_any_claim(
    build: Build, bench: Bench, gauge: Gauge | None, wired: str
) -> None:
    with pytest.raises(InputError, match=r"^\[gauge\] wired = "):
        build(gauge=gauge, wired=wired)
    assert not (bench.run / "outputs.json").exists()


def test_a_gauge_the_settings_wire_is_read_through_its_converter_and_its_loss_is_told(
    build: Build, bench: Bench
) -> None:
    told = settings(bench.run, more='adc = "mcp3008"\nsupply_channel = 1\ndivider = 0.5')
    rig = build(told=told)
    assert rig.read(1.0).bag is None
    assert "dtparam=spi=on" in rig.troubles()["gauge"]
    # 2.5 V of a supply of 5 V is half of the example's 115 kPa; a count of 388 of 776
    (bench.folder / "spi").write_text("388 776 0 0 0 0 0 0")
    assert rig.read(2.0).bag == Sample(pytest.approx(57.5e3), 2.0)
    assert "gauge" not in rig.troubles()
    (bench.folder / "spi").write_text("0 776 0 0 0 0 0 0")
    assert rig.read(3.0).bag == Sample(pytest.approx(57.5e3), 2.0)
    assert rig.troubles()["gauge"].startswith("gauge: 0.00 V, under 0.4 V: a wire is off")
    # the outputs stay ours, on lines of their own
    rig.apply(Commands(pump=True))
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 1")
    rig.close()
    assert bench.line(27) == "out 0"


@pytest.fixture
def bus(monkeypatch: pytest.MonkeyPatch) -> FakeBus:
    """A barometer and a converter on the header's bus, half of the gauge's range on input 2."""
    found = FakeBus({0x48: FakeAds1115(lambda channel: 2.5 if channel == 2 else 0.0)})
    found.chips[0x76] = FakeBmp280()
    library = ModuleType("smbus2")
    library.SMBus = lambda number: found.open()  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "smbus2", library)
    return found


def test_a_gauge_that_counts_from_the_air_takes_the_barometers(
    build: Build, bench: Bench, bus: FakeBus, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[tuple[object, ...]] = []
    monkeypatch.setattr(raspberry_i2c.fcntl, "ioctl", lambda *what: calls.append(what))
    told = settings(bench.run, more='adc = "ads1115"\nchannel = 2\ndivider = 1.0')
    gauge = told.gauge.model_copy(
        update={
            "low_pressure": Pressure(100e3, "vacuum"),
            "high_pressure": Pressure(0.0, "vacuum"),
        }
    )
    barometer = told.barometer.model_copy(update={"wired": "wired"})
    rig = build(told=told.model_copy(update={"gauge": gauge, "barometer": barometer}))
    # the example of the barometer's data sheet, 100653.27 Pa, less half of 100 kPa
    readings = rig.read(1.0)
    assert readings.barometer == Sample(pytest.approx(100653.27, abs=0.005), 1.0)
    assert readings.bag == Sample(pytest.approx(50653.27, abs=2.0), 1.0)
    # 20 ms in the kernel's 10 ms: I2C_TIMEOUT of linux/i2c-dev.h, from memory, to be checked
    assert calls == [(bus.fd, 0x0702, 2)]
    # a barometer that falls silent leaves its last word, no step to the altitude's air
    del bus.chips[0x76]
    later = rig.read(2.0)
    assert later.barometer == readings.barometer
    assert later.bag == Sample(pytest.approx(50653.27, abs=2.0), 2.0)
    assert "nobody answers at its address" in rig.troubles()["barometer"]
    rig.close()
    assert bus.closed == bus.opened


def test_without_smbus2_the_rig_starts_and_says_what_to_install(
    build: Build, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "smbus2", None)
    rig = build(told=settings(bench.run, more='adc = "ads1115"\ndivider = 1.0'))
    assert rig.read(1.0).bag is None
    assert "install warmdraw[pi]" in rig.troubles()["gauge"]
