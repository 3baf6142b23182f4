"""The real rig's infrared thermometer: read while the lamp has been dark, and then only."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic
from types import ModuleType

import pytest
from fake_bus import FakeBus
from pretend_pi import Bench

from controller.batch.signals import Commands, Role, Sample
from controller.hardware import raspberry_i2c
from controller.hardware.raspberry import RaspberryRig
from controller.hardware.raspberry_infrared import ADDRESS
from controller.hardware.raspberry_mock import MADE_UP_IDS
from controller.hardware.raspberry_mock_i2c import PretendMlx90614
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.settings import default_settings_text, parse_settings
from controller.settings.panel import Infrared, Panel, Sense

pytestmark = pytest.mark.usefixtures("gpiozero_as_found", "lgpio_here")

LAMP = Commands(lamp=True, dead_man=True)
SEES = 15500
"""What the eye is sent, [0.02 K]: 310 K."""
Build = Callable[..., RaspberryRig]


@pytest.fixture
def build(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Iterator[Build]:
    """A rig with nothing but lamp and infrared, and what else is asked for."""
    eye = PretendMlx90614()
    eye.sees(SEES)
    bus = FakeBus({ADDRESS: eye})
    library = ModuleType("smbus2")
    library.SMBus = lambda number: bus.open()  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "smbus2", library)
    monkeypatch.setattr(raspberry_i2c.fcntl, "ioctl", lambda *what: None)
    text = default_settings_text().replace('"/run/warmdraw"', f'"{bench.run}"')
    text = text.replace('backend = "simulated"', 'backend = "raspberry"')
    whole = parse_settings(text)
    built: list[RaspberryRig] = []

    def build(
        emissivity: float = 0.93,
        panel: Panel | None = None,
        sense: Sense | None = None,
        lamp: str = "wired",
        w1: Path = Path("/nowhere"),
    ) -> RaspberryRig:
        told = whole.model_copy(
            update={
                "gauge": whole.gauge.model_copy(update={"wired": "absent"}),
                "infrared": Infrared(wired="wired", emissivity=emissivity),
                "panel": panel or Panel(),
                "sense": sense or Sense(),
                "lamp": whole.lamp.model_copy(update={"wired": lamp}),
            }
        )
        rig = RaspberryRig(told, lambda: 0.0, w1_folder=w1)
        built.append(rig)
        return rig

    yield build
    for rig in built:
        rig.close()


def seen_at(rig: RaspberryRig, now: float) -> float | None:
    seen = rig.read(now).infrared
    return None if seen is None else seen.at


def test_it_is_read_again_two_seconds_after_the_lamp_went_dark(build: Build) -> None:
    rig = build()
    assert seen_at(rig, 0.0) == 0.0
    rig.apply(LAMP)
    assert [seen_at(rig, now) for now in (1.0, 2.0)] == [0.0, 0.0]
    rig.apply(Commands())
    # lit until just after the reading of 2 s, for all that the reading of 3 s can tell
    assert [seen_at(rig, now) for now in (3.0, 4.0, 5.0)] == [0.0, 0.0, 5.0]


def test_a_lamp_that_stop_put_out_between_two_readings_was_lit(build: Build) -> None:
    import lgpio

    rig = build(panel=Panel(stop=22))
    assert seen_at(rig, 0.0) == 0.0
    rig.apply(LAMP)
    lgpio.move_contact(22, closed=False)
    assert not rig.outputs().lamp
    assert [seen_at(rig, now) for now in (1.0, 2.0, 3.0)] == [0.0, 0.0, 3.0]


def test_a_lamp_that_is_sensed_live_is_lit_whatever_its_command(build: Build) -> None:
    import lgpio

    rig = build(sense=Sense(lamp=12))
    lgpio.move_contact(12, closed=True)
    assert rig.read(0.0).infrared is None
    lgpio.move_contact(12, closed=False)
    assert [seen_at(rig, now) for now in (1.0, 2.0)] == [None, 2.0]


@pytest.mark.parametrize(
    ("sense", "seen"), [(Sense(), None), (Sense(lamp=12), 0.0)], ids=["unsensed", "sensed"]
)
def test_a_lamp_switched_by_hand_is_dark_only_where_it_is_sensed(
    build: Build, sense: Sense, seen: float | None
) -> None:
    assert seen_at(build(lamp="by hand", sense=sense), 0.0) == seen


def test_a_black_face_mirrors_nothing(build: Build) -> None:
    assert build(emissivity=1.0).read(0.0).infrared == Sample(pytest.approx(310.0), 0.0)


def test_where_no_probe_tells_the_room_the_face_is_taken_to_mirror_twenty_degrees(
    build: Build,
) -> None:
    seen = build().read(0.0).infrared
    # what arrives is 93 % of the face's fourth power and 7 % of the room's
    assert seen is not None
    assert seen.value**4 == pytest.approx((310.0**4 - 0.07 * 293.15**4) / 0.93)


def test_the_face_mirrors_the_room_that_the_probe_tells(build: Build, bench: Bench) -> None:
    PretendChip(bench.folder / "w1" / MADE_UP_IDS[Role.ROOM]).converted(30 * 16)
    rig = build(w1=bench.folder / "w1")
    late, readings = monotonic() + 30.0, rig.read(0.0)
    while readings.room is None:
        assert monotonic() < late, rig.troubles()
        readings = rig.read(0.0)
    assert readings.infrared is not None
    assert readings.infrared.value**4 == pytest.approx((310.0**4 - 0.07 * 303.15**4) / 0.93)
