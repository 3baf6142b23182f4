"""What the bag's transducer says, and when it says nothing."""

import pytest
from fake_bus import FakeAds1115, FakeBus
from hypothesis import given
from hypothesis import strategies as st

from controller.batch.signals import Sample
from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_adc import Ads1115Adc, Mcp3008Adc
from controller.hardware.raspberry_gauge import Line, TransducerGauge, gauge_on
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.settings import default_settings_text, parse_settings
from controller.settings.gauges import (
    LEAST_SUPPLY,
    MOST_SUPPLY,
    REACH,
    Gauge,
    most_volts,
)

LINE = Line(0.5, 0.0, 4.5, 100e3)
"""A transducer of 100 kPa: 0.5 V at nothing, 4.5 V at its end."""
VACUUM = Line(0.5, 100e3, 4.5, 0.0)
"""One that counts down from the air: 4.5 V with the bag open."""


class FakeAdc:
    """A converter that tells these volts, one a conversion, the last for good."""

    def __init__(self, **volts: float | list[float]) -> None:
        """volts: by input, named c0 to c7"""
        self._left = {int(name[1:]): told for name, told in volts.items()}

    def volts(self, channel: int) -> float:
        told = self._left[channel]
        if isinstance(told, list):
            return told.pop(0) if len(told) > 1 else told[0]
        return told

    def close(self) -> None: ...


def kilopascals(gauge: TransducerGauge) -> float:
    return gauge.sample(7.0).value / 1e3


# p = FS (V / Vcc - 0.1) / 0.8, the ratiometric rule (common practice, no source), a transducer of
# 100 kPa on a supply that is measured. Arithmetic, so exact; the transducer itself is good to 1 %.
# At 0 V of pressure the reading would be 0 Pa, which is none: its row is a hair above.
@pytest.mark.parametrize(
    ("volts", "supply", "expected"),
    [(0.5000004, 5.0, 1e-5), (2.5, 5.0, 50.0), (4.5, 5.0, 100.0), (2.4, 4.8, 50.0)],
)
def test_a_ratiometric_gauge_reads_the_published_rows(
    volts: float, supply: float, expected: float
) -> None:
    gauge = TransducerGauge(FakeAdc(c0=volts, c1=supply), 0, LINE, supply_channel=1)
    assert kilopascals(gauge) == pytest.approx(expected, abs=1e-6)


def test_a_sagging_supply_that_is_not_measured_is_read_as_less_pressure() -> None:
    # 2.4 V of 4.8 V is half of the range; taken for 5 V it is 47.5 %, the rule above
    assert kilopascals(TransducerGauge(FakeAdc(c0=2.4), 0, LINE)) == pytest.approx(47.5, abs=1e-6)
    measured = TransducerGauge(FakeAdc(c0=2.4, c1=4.8), 0, LINE, supply_channel=1)
    assert kilopascals(measured) == pytest.approx(50.0, abs=1e-6)


@given(
    share=st.floats(0.11, 0.9),
    supply=st.floats(LEAST_SUPPLY + 0.001, MOST_SUPPLY - 0.001),
    divider=st.floats(0.1, 1.0),
)
def test_no_supply_and_no_divider_moves_a_measured_gauge(
    share: float, supply: float, divider: float
) -> None:
    adc = FakeAdc(c0=divider * share * supply, c1=divider * supply)
    gauge = TransducerGauge(adc, 0, LINE, divider=divider, supply_channel=1)
    assert kilopascals(gauge) == pytest.approx(100 * (share - 0.1) / 0.8, abs=1e-6)


@given(st.floats(0.01, 1.0))
def test_what_the_line_makes_of_volts_it_gives_back(share: float) -> None:
    for line in (LINE, VACUUM, Line(0.6, 2e3, 3.0, 110e3)):
        volts = line.low_volts + share * (line.high_volts - line.low_volts)
        back = Line(line.low_pressure, line.low_volts, line.high_pressure, line.high_volts)
        assert back.pressure(line.pressure(volts)) == pytest.approx(volts)


# One count in kPa, 0.5-4.5 V for 100 kPa. Derived from the chips' steps: 3.3 V / 1024 behind a
# divider of 2/3, and 125 uV; to the digits given.
def test_one_count_is_worth_what_the_converters_steps_say() -> None:
    pretend = PretendConverter()
    coarse = TransducerGauge(Mcp3008Adc(pretend.factory), 0, LINE, divider=2 / 3)
    steps = []
    for count in (500, 501):
        pretend.inputs[0] = 3.3 * count / 1024
        steps.append(kilopascals(coarse))
    assert steps[1] - steps[0] == pytest.approx(0.1208, abs=0.0002)

    counts = iter([8000] * 3 + [8001] * 3)
    bus = FakeBus({0x48: FakeAds1115(lambda channel: next(counts) * 125e-6)})
    fine = TransducerGauge(Ads1115Adc(bus.i2c(), 3.2, pause=lambda seconds: None), 0, LINE)
    first = kilopascals(fine)
    assert kilopascals(fine) - first == pytest.approx(0.003125, abs=1e-7)


# Live zero, own: 0.8 of the foot of 0.5 V below, 4.8 V above; NAMUR NE 43 for a current, from
# memory, to be checked. 150 ohm: 0.6 V at 4 mA, 3 V at 20 mA.
@pytest.mark.parametrize(
    ("volts", "resistor", "why"),
    [
        (0.0, None, "0.00 V, under 0.4 V: a wire is off"),
        (0.399, None, "under 0.4 V"),
        (4.801, None, "over 4.8 V: its signal touches the supply"),
        (5.0, None, "over 4.8 V"),
        (float("nan"), None, "under 0.4 V"),
        (float("inf"), None, "over 4.8 V"),
        (0.0, 150.0, "0.0 mA, under 3.6 mA: its loop is open"),
        (0.53, 150.0, "3.5 mA, under 3.6 mA"),
        (3.18, 150.0, "21.2 mA, over 21 mA: its loop is shorted"),
        (float("nan"), 150.0, "under 3.6 mA"),
    ],
)
def test_what_no_live_transducer_gives_is_no_reading(
    volts: float, resistor: float | None, why: str
) -> None:
    line = LINE if resistor is None else Line(0.6, 0.0, 3.0, 100e3)
    gauge = TransducerGauge(FakeAdc(c0=volts), 0, line, resistor=resistor)
    with pytest.raises(ReadingError, match=why) as refused:
        gauge.sample(0.0)
    assert str(refused.value).startswith("gauge: ")


@given(st.floats(0.4, 4.8))
def test_all_between_the_live_limits_is_a_reading(volts: float) -> None:
    # 25 kPa a volt, from 20 kPa at 0.4 V on
    gauge = TransducerGauge(FakeAdc(c0=volts), 0, Line(0.4, 20e3, 4.4, 120e3))
    assert kilopascals(gauge) == pytest.approx(20 + 25 * (volts - 0.4))


# 4 mA is the foot, 20 mA the end, 12 mA the middle: what 4-20 mA means; exact.
@pytest.mark.parametrize(("milliamperes", "expected"), [(4.016, 0.1), (12.0, 50.0), (20.0, 100.0)])
def test_a_current_over_a_resistor_reads_from_4_to_20_milliamperes(
    milliamperes: float, expected: float
) -> None:
    adc = FakeAdc(c2=milliamperes * 0.150)
    gauge = TransducerGauge(adc, 2, Line(0.6, 0.0, 3.0, 100e3), resistor=150.0)
    assert kilopascals(gauge) == pytest.approx(expected, abs=1e-6)


def test_a_gauge_that_counts_from_the_air_is_made_absolute_with_the_air_of_the_moment() -> None:
    # 2.5 V is half of its 100 kPa below the air
    gauge = TransducerGauge(FakeAdc(c0=2.5), 0, VACUUM, air=lambda now: 90e3 + 1e3 * now)
    assert gauge.sample(3.0) == Sample(pytest.approx(43e3), 3.0)
    assert gauge.sample(9.0) == Sample(pytest.approx(49e3), 9.0)


def test_less_than_no_pressure_is_no_reading_and_asks_for_the_two_points() -> None:
    gauge = TransducerGauge(FakeAdc(c0=0.5), 0, VACUUM, air=lambda now: 96e3)
    with pytest.raises(ReadingError, match=r"gauge: -4\.0 kPa abs.*check its two points"):
        gauge.sample(0.0)


@pytest.mark.parametrize("spike", [4.7, 0.45, 0.0, 5.0])
def test_one_spike_in_three_conversions_passes_by(spike: float) -> None:
    gauge = TransducerGauge(FakeAdc(c0=[2.5, spike, 2.5]), 0, LINE)
    assert kilopascals(gauge) == pytest.approx(50.0)


@pytest.mark.parametrize("supply", [0.0, 3.3, 4.49, 5.26, float("nan")])
def test_a_supply_no_gauge_lives_on_is_named(supply: float) -> None:
    gauge = TransducerGauge(FakeAdc(c0=2.5, c1=supply), 0, LINE, supply_channel=1)
    with pytest.raises(ReadingError, match=r"its supply reads .* look at its 5 V wire"):
        gauge.sample(0.0)


def told(lines: str, high: str = "115 kPa abs", low: str = "0 kPa abs") -> Gauge:
    text = default_settings_text().replace('"115 kPa abs"', f'"{high}"')
    text = text.replace('"0 kPa abs"', f'"{low}"')
    return parse_settings(text.replace("divider = 0.5  ", f"{lines}\n#", 1)).gauge


def test_the_gauge_of_the_settings_is_wired_as_they_say() -> None:
    # the example's points: 0.5 V at 0 kPa, 4.5 V at 115 kPa; 2.4 V of a supply of 4.8 V is half
    gauge = told('adc = "mcp3008"\nsupply_channel = 5\ndivider = 0.5')
    adc = FakeAdc(c0=1.2, c5=2.4)
    assert gauge_on(adc, gauge, lambda now: 99e3).sample(0.0).value == pytest.approx(57.5e3)
    assert gauge.most() == 2.625


def test_points_told_as_vacuum_count_from_the_air() -> None:
    gauge = told('adc = "ads1115"\ndivider = 1.0', "0 kPa vacuum", "30 inHg vacuum")
    # half of 30 inHg of 3386.389 Pa each
    read = gauge_on(FakeAdc(c0=2.5), gauge, lambda now: 99e3).sample(0.0)
    assert read.value == pytest.approx(99e3 - 15 * 3386.389)


def test_points_that_are_not_told_are_asked_for() -> None:
    bare = parse_settings(
        '[rig]\nbackend = "raspberry"\n[shop]\naltitude = "3 m"\ntime_zone = "Europe/Oslo"\n'
    ).gauge
    with pytest.raises(InputError, match="needs low_volts"):
        gauge_on(FakeAdc(c0=2.5), bare, lambda now: 1e5)


def test_what_the_settings_call_in_reach_the_converters_do_not_call_clipped() -> None:
    pretend = PretendConverter()
    pretend.inputs[0] = REACH["mcp3008"]
    assert Mcp3008Adc(pretend.factory).volts(0) == pytest.approx(REACH["mcp3008"], abs=0.002)
    bus = FakeBus({0x48: FakeAds1115(lambda channel: REACH["ads1115"])})
    adc = Ads1115Adc(bus.i2c(), REACH["ads1115"], pause=lambda seconds: None)
    assert adc.volts(0) == pytest.approx(REACH["ads1115"], abs=0.0002)
    assert most_volts("current", 150.0, False) == pytest.approx(3.15)
