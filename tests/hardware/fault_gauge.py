"""What can be wrong with the bag's gauge, done to its converter's counts and its bus."""

import errno
from collections.abc import Callable

from at_work import Found
from fake_bus import FakeAds1115, FakeBus
from fault_place import Place
from fault_probes import start_refused
from on_mock_lines import OnMockLines

from controller.hardware.raspberry import Listened
from controller.hardware.raspberry_adc import ADS1115_ADDRESS, Adc, Ads1115Adc
from controller.hardware.raspberry_gauge import TransducerGauge
from controller.hardware.raspberry_mock import GAUGE_DIVIDER, GAUGE_INPUT, GAUGE_LINE

BLIND = 1800.0
"""Longest the pump goes on without a gauge, [s]; own."""
COUNT = 3.3 / 1024 / GAUGE_DIVIDER
"""What a count of the converter is worth at the gauge's plug, [V]; one is 145 Pa."""


def constant() -> Callable[[int], int]:
    """The count of now, for good."""
    kept: list[int] = []

    def same(count: int) -> int:
        kept.append(count)
        return kept[0]

    return same


def called(work: OnMockLines, alarm: str, limit: float) -> Found:
    return work.met(lambda: alarm in work.alarms, limit)


# --- its zero, with the bag open


def zero_moved(place: Place) -> Found:
    work = place.mocked()
    work.heat()
    work.convert(lambda count: count + 12)
    found = called(work, "gauge zero moved", 13.0)
    assert work.lamp(), "no bag is heated"
    return found


def zero_a_little_off(place: Place) -> Found:
    work = place.mocked()
    work.heat()
    work.convert(lambda count: count + 4)
    work.wait(60.0)
    return work.met(lambda: True, 0.0)


def zero_far_off(place: Place) -> Found:
    work = place.mocked()
    work.convert(lambda count: count - 28)
    return start_refused(work)


# --- no figure at all, in a hold


def lost(work: OnMockLines) -> Found:
    """It is told, no figure is shown, and the pump goes on as it was."""
    found = called(work, "bag gauge lost", 11.0)
    work.wait(60.0)
    shown = work.runner.snapshot(work._instant(), "UTC", "rig", None)
    assert shown.bag.value is None and shown.bag.source == "lost"
    assert work.rig.outputs().pump
    return found


def lost_for_good(work: OnMockLines) -> Found:
    """The same, and the pump does not run for ever on nobody's word."""
    began = work.now
    found = lost(work)
    work.after(lambda: not work.rig.outputs().pump, BLIND)
    assert BLIND - 60.0 < work.now - began <= BLIND + 2.0
    return found


def clipped(place: Place) -> Found:
    work = place.mocked()
    work.hold()
    work.convert(lambda count: 1023)
    return lost(work)


def wire_off(place: Place) -> Found:
    work = place.mocked()
    work.hold()
    work.convert(lambda count: 0)
    return lost_for_good(work)


def shorted(place: Place) -> Found:
    work = place.mocked()
    work.hold()
    work.convert(lambda count: round(4.83 / COUNT))
    return lost(work)


def read_by(work: OnMockLines, adc: Adc) -> None:
    """Another converter stands between gauge and driver."""
    driver = TransducerGauge(adc, GAUGE_INPUT, GAUGE_LINE, divider=GAUGE_DIVIDER)
    work.rig._gauge = Listened("gauge", driver)


def bus_held_down(place: Place) -> Found:
    """A chip holds SDA down, and every transfer times out."""
    work = place.mocked()
    inputs = work.rig._converter.inputs
    bus = FakeBus({ADS1115_ADDRESS: FakeAds1115(lambda channel: inputs.get(channel, 0.0))})
    read_by(work, Ads1115Adc(bus.i2c(), most=3.3, pause=lambda seconds: None))
    work.hold()
    assert work.troubles() == {}
    bus.broken = errno.ETIMEDOUT
    return lost_for_good(work)


def not_a_number(place: Place) -> Found:
    class Nothing:
        def volts(self, channel: int) -> float:
            return float("nan")

        def close(self) -> None:
            """Nothing to let go of."""

    work = place.mocked()
    work.hold()
    read_by(work, Nothing())
    return lost(work)


# --- the same figure for good


def frozen_in_a_run(place: Place) -> Found:
    work = place.mocked()
    work.hold()
    work.convert(constant())
    return frozen(work, 62.0)


def frozen_at_rest(place: Place) -> Found:
    work = place.mocked()
    work.hold()
    work.after(lambda: not work.rig.outputs().pump, 300.0)
    work.wait(60.0)
    work.convert(constant())
    return frozen(work, 1861.0)


def frozen(work: OnMockLines, limit: float) -> Found:
    found = called(work, "gauge frozen", limit)
    assert not work.rig.outputs().pump
    return found
