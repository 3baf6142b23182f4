"""What can be wrong with a DS18B20 and its bus, done to the files the kernel shows."""

import shutil
import sys
from collections.abc import Callable
from itertools import chain, repeat
from pathlib import Path

from at_work import YES, Found
from benches import MOCK, bench, settings, step
from fault_place import Place
from on_mock_lines import OnMockLines, Tamper
from test_raspberry_probes import pad_of, slave_file

from controller.batch.acts import ActKind
from controller.batch.signals import Role, Sample
from controller.batch.stages import Stage
from controller.hardware.raspberry_mock_w1 import scratchpad
from controller.hardware.raspberry_probes import NO_CONVERSION, POWER_ON, STARVED

Done = Callable[[Place], Found]


def shows(pad: bytes, verdict: str = "YES") -> Tamper:
    """The file holds this for good."""

    def tamper(file: Path, counts: int) -> None:
        file.write_text(slave_file(pad, verdict))

    return tamper


def reads(fault: Callable[[int], int]) -> Tamper:
    """The file holds another conversion."""

    def tamper(file: Path, counts: int) -> None:
        file.write_text(slave_file(scratchpad(fault(counts))))

    return tamper


def cut(keep: Callable[[str], str]) -> Tamper:
    """The file holds a part of a good answer."""

    def tamper(file: Path, counts: int) -> None:
        file.write_text(keep(slave_file(scratchpad(counts))))

    return tamper


def gone(file: Path, counts: int) -> None:
    """The chip is off the bus, its folder with it."""
    shutil.rmtree(file.parent, ignore_errors=True)


def in_the_heat(tamper: Tamper, limit: float = 5.0) -> Done:
    """Done a minute into a heat; met when the lamp's line is low."""

    def done(place: Place) -> Found:
        work = place.mocked()
        work.heat()
        work.tamper(Role.FACE, tamper)
        return work.met(lambda: not work.lamp(), limit, dark=True)

    return done


def passing(tampers: list[Tamper], watched: float = 10.0) -> Done:
    """Done a minute into a heat, answer by answer, then good ones; nothing may follow."""

    def done(place: Place) -> Found:
        work = place.mocked()
        work.heat()
        script = chain(tampers, repeat(reads(lambda counts: counts)))
        work.tamper(Role.FACE, lambda file, counts: next(script)(file, counts))
        for _ in range(round(watched)):
            work.tick()
            assert work.lamp()
        return work.met(lambda: True, 0.0)

    return done


power_on = in_the_heat(shows(pad_of(POWER_ON, NO_CONVERSION)))
power_on_once = passing([shows(pad_of(POWER_ON, NO_CONVERSION))])
true_85 = in_the_heat(shows(scratchpad(POWER_ON)))
starved = in_the_heat(shows(pad_of(STARVED, NO_CONVERSION)))
drops_to_25 = in_the_heat(shows(scratchpad(25 * 16)))
all_zero = in_the_heat(shows(bytes(9)))
all_ones = in_the_heat(shows(b"\xff" * 9))
open_wire = in_the_heat(shows(b"\xff" * 9, "NO"))
minus_127 = in_the_heat(shows(scratchpad(-127 * 16)))
folder_gone = in_the_heat(gone)
one_line = in_the_heat(cut(lambda text: text.splitlines(keepends=True)[0]))
half_a_line = in_the_heat(cut(lambda text: text[:60]))
empty = in_the_heat(cut(lambda text: ""))
one_spike = passing([reads(lambda counts: counts + 160)])
a_step = in_the_heat(reads(lambda counts: counts + 160))


def stuck() -> Tamper:
    """A copy that keeps its last conversion when its chip is dead."""
    kept: list[int] = []

    def same(counts: int) -> int:
        kept.append(counts)
        return kept[0]

    return reads(same)


def keeps_its_value(place: Place) -> Found:
    return in_the_heat(stuck(), 67.0)(place)


def keeps_its_value_in_the_band(place: Place) -> Found:
    """The lamp is on for seconds at a time, and a true reading would go up and down with it. The
    moment is the one of eleven after which the face got hottest when nothing was told."""
    work = place.mocked()
    work.heat()
    began = work.now
    work.attended(lambda: work.now >= began + 700.0, 700.0)
    assert work.stage is Stage.SOAK
    work.tamper(Role.FACE, stuck())
    hottest: list[float] = []

    def halted() -> bool:
        hottest.append(work.truth().face)
        return work.stage is not Stage.SOAK

    after = work.attended(halted, 300.0)
    assert max(hottest) < work.run.coat.heat.trip
    assert work.stage is Stage.STOPPED and not work.lamp()
    return Found(after, tuple(work.alarms), work.says())


def clone_at_25(place: Place) -> Found:
    """A copy that holds 25.0 C where the true chip holds 85."""
    work = place.mocked()
    work.tamper(Role.FACE, shows(scratchpad(25 * 16)))
    return not_proved(work)


def not_proved(work: OnMockLines) -> Found:
    """START is taken, and the lamp's proof then fails."""
    work.plan()
    work.wait(10.0)
    work.press(ActKind.START, **YES)
    work.after(work.lamp, 3.0)
    return work.met(lambda: work.stage is Stage.STOPPED, 77.0, dark=True)


# --- which chip is which


def swapped(place: Place) -> Found:
    """The chip named as the face's hangs in the room, and the room's lies on the board."""
    work = place.mocked()
    chips = work.rig._chips
    chips[Role.FACE], chips[Role.ROOM] = chips[Role.ROOM], chips[Role.FACE]
    # each is read in its own turn, so what was written for the other has to be there by then
    work.rig._reader.due = lambda now, others=1: [Role.ROOM, Role.FACE]  # type: ignore[method-assign]
    return not_proved(work)


def missing(place: Place) -> Found:
    """No chip of that number is on the bus."""
    work = place.mocked()
    work.tamper(Role.FACE, gone)
    return start_refused(work)


def start_refused(work: OnMockLines) -> Found:
    """START is not taken, and says why."""
    work.plan()
    began = work.now
    work.press(ActKind.START, **YES)
    assert work.stage is Stage.PLANNED
    return Found(work.now - began, tuple(work.alarms), work.says())


def a_stranger(place: Place) -> Found:
    """Another chip hangs on the bus, cold."""
    work = place.mocked()
    work.heat()
    other = work.probe(Role.FACE).with_name("28-00000000beef")
    other.mkdir()
    (other / "w1_slave").write_text(slave_file(scratchpad(5 * 16)))
    work.wait(5.0)
    assert work.lamp()
    return work.met(lambda: True, 0.0)


def bench_check(counts: int) -> Done:
    """The two baths of the bench check, with a probe that is off by so many counts."""

    def done(place: Place) -> Found:
        with bench(settings(place.folder, MOCK)) as on:
            chip = on.rig._chips[Role.FACE]  # type: ignore[union-attr]
            right = chip.converted
            chip.converted = lambda true: right(true + counts)  # type: ignore[method-assign]
            result = step(on, "points")
        assert result.verdict == "fail"
        return Found(0.0, (), result.says)

    return done


four_too_high, four_too_low = bench_check(64), bench_check(-64)


# --- what no count can be


def driver_says(value: float) -> Done:
    """The face's driver gives this for a temperature, [K]."""

    class Broken:
        def sample(self, now: float) -> Sample:
            return Sample(value, now)

    def done(place: Place) -> Found:
        work = place.mocked()
        work.heat()
        work.rig._reader._probes[Role.FACE] = Broken()  # type: ignore[assignment]
        return work.met(lambda: not work.lamp(), 5.0, dark=True)

    return done


not_a_number, infinite, huge = (driver_says(each) for each in (float("nan"), float("inf"), 1e300))


def no_library(place: Place) -> Found:
    """The library that reads the probes is not there."""
    place.patch.setitem(sys.modules, "w1thermsensor", None)
    work = place.mocked()
    found = start_refused(work)
    shown = work.runner.snapshot(work._instant(), "UTC", "rig", None)
    assert shown.face.value is None and shown.stage == "PLANNED"
    return found
