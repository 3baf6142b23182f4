"""DS18B20 probes through the real w1thermsensor, over files as the kernel writes them."""

import os
import threading
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.batch.signals import Role, Sample
from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_mock_w1 import crc8, scratchpad
from controller.hardware.raspberry_probes import (
    Probe,
    ProbeReader,
    Settled,
    checked_counts,
    readers_by_bus,
)

CHIP = "28-0123456789ab"


def slave_file(pad: bytes, verdict: str = "YES") -> str:
    """What the kernel shows for a scratchpad."""
    counts = int.from_bytes(pad[:2], "little", signed=True)
    words = pad.hex(" ")
    return f"{words} : crc={pad[8]:02x} {verdict}\n{words} t={counts * 1000 // 16}\n"


def pad_of(counts: int, byte_6: int) -> bytes:
    body = scratchpad(counts)[:6] + bytes((byte_6, 0x10))
    return body + bytes((crc8(body),))


@pytest.fixture
def bus(tmp_path: Path) -> Path:
    (tmp_path / CHIP).mkdir()
    return tmp_path


def show(bus: Path, text: str) -> None:
    (bus / CHIP / "w1_slave").write_text(text, encoding="ascii")


@pytest.mark.parametrize("celsius", [-20.0, -0.0625, 0.0625, 24.9375, 25.0, 84.9375, 110.0])
def test_a_good_conversion_is_its_temperature_stamped_as_handed_in(
    bus: Path, celsius: float
) -> None:
    show(bus, slave_file(scratchpad(round(celsius * 16))))
    sample = Probe(Role.FACE, CHIP, bus).sample(now=1234.5)
    assert sample == Sample(celsius + 273.15, 1234.5)


GOOD = slave_file(scratchpad(25 * 16))
BAD = {
    "power-on value": (slave_file(pad_of(0x0550, 0x0C)), "85.0 °C, which is its power-on value"),
    "a true 85.0": (slave_file(scratchpad(0x0550)), "85.0 °C, which is its power-on value"),
    "bad power": (slave_file(pad_of(0x07FF, 0x0C)), "lost its supply while measuring"),
    "127.94 said as true": (slave_file(scratchpad(0x07FF)), "127.9 °C, outside -20 to 110 °C"),
    "all zero": (slave_file(bytes(9)), "garbled or empty answer"),
    "all FF, passed by the kernel": (slave_file(b"\xff" * 9), "an empty answer"),
    "all FF, refused by the kernel": (slave_file(b"\xff" * 9, "NO"), "garbled or empty"),
    "-127": (slave_file(scratchpad(-127 * 16)), "-127.0 °C, outside -20 to 110 °C"),
    "200": (slave_file(scratchpad(200 * 16)), "200.0 °C, outside -20 to 110 °C"),
    "just too cold": (slave_file(scratchpad(-20 * 16 - 1)), "-20.1 °C, outside"),
    "just too hot": (slave_file(scratchpad(110 * 16 + 1)), "110.1 °C, outside"),
    "check byte wrong": (GOOD.replace("YES", "NO"), "garbled or empty answer"),
    "empty": ("", "garbled or empty answer"),
    "one line": (GOOD.splitlines()[0] + "\n", "cut short"),
    "second line cut": (GOOD[:60], "cut short"),
    "two lines that differ": (
        GOOD.splitlines()[0] + "\n" + slave_file(scratchpad(401)).splitlines()[1] + "\n",
        "garbled",
    ),
    "no hex": (GOOD.replace("90 01", "9g 01"), "garbled"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_reading_is_refused_in_one_line(bus: Path, name: str) -> None:
    text, said = BAD[name]
    show(bus, text)
    with pytest.raises(ReadingError) as caught:
        Probe(Role.FACE, CHIP, bus).sample(now=0.0)
    words = str(caught.value)
    assert words.startswith(f"face probe {CHIP}: ")
    assert said in words
    assert "look at" in words and "\n" not in words


def test_a_chip_that_is_not_there_is_said_and_found_when_it_comes(bus: Path) -> None:
    probe = Probe(Role.FILM, CHIP, bus)
    with pytest.raises(ReadingError, match=r"film probe .* not on the bus; look at its plug"):
        probe.sample(now=0.0)
    show(bus, GOOD)
    assert probe.sample(now=1.0).value == 298.15
    (bus / CHIP / "w1_slave").unlink()
    with pytest.raises(ReadingError, match="not on the bus"):
        probe.sample(now=2.0)


def test_an_error_of_the_kernel_is_no_reading(bus: Path) -> None:
    (bus / CHIP / "w1_slave").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ReadingError, match="unreadable \\(UnicodeDecodeError\\)"):
        Probe(Role.FACE, CHIP, bus).sample(now=0.0)


@pytest.mark.parametrize("sensor_id", ["", "0123456789ab", "10-0123456789ab", "28-0123", "28-../x"])
def test_an_id_of_another_chip_is_refused(sensor_id: str) -> None:
    with pytest.raises(InputError, match="no DS18B20"):
        Probe(Role.BACK, sensor_id)


def test_the_library_is_told_not_to_load_kernel_modules(bus: Path) -> None:
    show(bus, GOOD)
    Probe(Role.FACE, CHIP, bus).sample(now=0.0)
    from w1thermsensor import W1ThermSensor

    assert os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] == "1"
    assert Path("/sys/bus/w1/devices") == W1ThermSensor.BASE_DIRECTORY


@given(st.lists(st.text(alphabet="0123456789abcdef YESNO:=t", max_size=60), max_size=4))
def test_no_garbage_gets_past_as_anything_but_a_reading_error_or_a_sane_value(
    lines: list[str],
) -> None:
    try:
        counts = checked_counts(lines)
    except ReadingError:
        return
    assert -20 * 16 <= counts <= 110 * 16


@pytest.mark.parametrize(
    ("told", "newest"),
    [
        ([], None),
        ([(0.0, 300.0)], (0.0, 300.0)),
        ([(0.0, 300.0), (1.0, 301.0)], (1.0, 301.0)),
        ([(0.0, 301.0), (1.0, 300.0)], (1.0, 301.0)),
        ([(0.0, 300.0), (1.0, 390.0), (2.0, 301.0)], (2.0, 301.0)),
        ([(0.0, 300.0), (1.0, 301.0), (2.0, 302.0), (3.0, 303.0)], (3.0, 302.0)),
        ([(0.0, 390.0), (4.0, 300.0), (5.1, 301.0)], (5.1, 301.0)),
        ([(0.0, 390.0), (1.0, 391.0), (10.0, 300.0)], (10.0, 300.0)),
    ],
)
def test_the_face_is_the_median_of_three_that_are_no_older_than_five_seconds(
    told: list[tuple[float, float]], newest: tuple[float, float] | None
) -> None:
    settled = Settled()
    for at, value in told:
        settled.add(Sample(value, at))
    expected = None if newest is None else Sample(newest[1], newest[0])
    assert settled.newest() == expected


class FakeProbe(Probe):
    """A probe that answers from a list; an empty one is silent."""

    def __init__(self, role: Role, answers: list[float]) -> None:
        super().__init__(role, CHIP)
        self.answers = answers

    def sample(self, now: float) -> Sample:
        if not self.answers:
            raise ReadingError(f"{self.role} probe: nothing")
        return Sample(self.answers.pop(0), now)


def test_a_failed_read_keeps_the_last_good_sample_and_says_why() -> None:
    reader = ProbeReader([FakeProbe(Role.ROOM, [290.0])], lambda: 0.0)
    reader.turn(Role.ROOM, 1.0)
    assert reader.troubles() == {}
    reader.turn(Role.ROOM, 7.0)
    assert reader.newest(Role.ROOM) == Sample(290.0, 1.0)
    assert reader.troubles() == {"room": "room probe: nothing"}


def test_the_faces_first_answer_after_a_pause_is_dropped() -> None:
    reader = ProbeReader([FakeProbe(Role.FACE, [300.0, 301.0, 302.0, 303.0])], lambda: 0.0)
    reader.turn(Role.FACE, 0.0)
    assert reader.newest(Role.FACE) is None
    reader.turn(Role.FACE, 1.0)
    assert reader.newest(Role.FACE) == Sample(301.0, 1.0)
    reader.turn(Role.FACE, 6.1)
    assert reader.newest(Role.FACE) == Sample(301.0, 1.0)
    reader.turn(Role.FACE, 7.0)
    assert reader.newest(Role.FACE) == Sample(303.0, 7.0)


def test_the_face_is_read_each_round_and_the_others_take_turns() -> None:
    roles = [Role.ROOM, Role.FACE, Role.BACK, Role.FILM]
    reader = ProbeReader([FakeProbe(role, [300.0] * 99) for role in roles], lambda: 0.0)
    read_at: dict[Role, list[float]] = {role: [] for role in roles}
    now = 0.0
    for _ in range(20):
        due = reader.due(now)
        assert due[0] is Role.FACE and len(due) <= 2
        for role in due:
            reader.turn(role, now)
            read_at[role].append(now)
            now += 0.75
    for role in roles:
        gaps = [later - earlier for earlier, later in pairwise(read_at[role])]
        assert max(gaps) <= (1.5 if role is Role.FACE else 8.0)


class HangingProbe(Probe):
    """A probe whose every read hangs until it is let go."""

    def __init__(self) -> None:
        super().__init__(Role.FACE, CHIP)
        self.hanging = threading.Semaphore(0)
        self.reads: list[threading.Event] = []
        self.over = False

    def sample(self, now: float) -> Sample:
        go = threading.Event()
        self.reads.append(go)
        self.hanging.release()
        assert self.over or go.wait(30.0)
        return Sample(300.0 + now, now)

    def wait_for_a_read(self) -> None:
        assert self.hanging.acquire(timeout=30.0)


@pytest.fixture
def hung() -> Iterator[tuple[HangingProbe, ProbeReader]]:
    ticks = iter(range(100_000))
    probe = HangingProbe()
    reader = ProbeReader([probe], lambda: float(next(ticks)), gap=float("inf"))
    reader.start()
    probe.wait_for_a_read()
    yield probe, reader
    reader.stop(wait=0.0)
    probe.over = True
    for go in probe.reads:
        go.set()
    for thread in reader_threads():
        thread.join(30.0)


def reader_threads() -> list[threading.Thread]:
    return [thread for thread in threading.enumerate() if thread.name == "probes face"]


def test_a_read_that_hangs_holds_nobody_up_and_can_be_told_by_its_age(
    hung: tuple[HangingProbe, ProbeReader],
) -> None:
    probe, reader = hung
    assert reader.newest(Role.FACE) is None
    since = reader.reading_since()
    assert since is not None
    probe.reads[0].set()
    probe.wait_for_a_read()
    assert reader.newest(Role.FACE) == Sample(300.0 + since, since)


def test_a_hung_reader_is_left_behind_once_and_its_late_answer_is_nobodys(
    hung: tuple[HangingProbe, ProbeReader],
) -> None:
    probe, reader = hung
    (first,) = reader_threads()
    assert reader.restart()
    probe.wait_for_a_read()
    second = reader.reading_since()
    assert second is not None
    # a bus that hangs all night costs two threads and no more
    assert not reader.restart()
    assert len(reader_threads()) == 2
    probe.reads[0].set()
    first.join(30.0)
    assert reader.newest(Role.FACE) is None
    assert reader.reading_since() == second
    probe.reads[1].set()
    probe.wait_for_a_read()
    assert reader.newest(Role.FACE) == Sample(300.0 + second, second)


def test_each_bus_has_a_reader_and_a_lost_probe_joins_the_first(tmp_path: Path) -> None:
    ids = {Role.FACE: "28-00000000000f", Role.BACK: "28-00000000000b", Role.ROOM: CHIP}
    devices = tmp_path / "devices"
    devices.mkdir()
    for role, master in ((Role.FACE, "w1_bus_master1"), (Role.BACK, "w1_bus_master2")):
        chip = tmp_path / master / ids[role]
        chip.mkdir(parents=True)
        (devices / ids[role]).symlink_to(chip)
    probes = [Probe(role, sensor_id, devices) for role, sensor_id in ids.items()]
    readers = readers_by_bus(probes, lambda: 0.0)
    assert [reader.roles for reader in readers] == [{Role.FACE, Role.ROOM}, {Role.BACK}]
    assert readers_by_bus([], lambda: 0.0) == []
