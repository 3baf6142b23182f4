"""What the drivers make of what a sensor sends, for each model of sensor_rows.csv."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from fake_bus import FakeAds1115, FakeBus

from controller.batch.signals import Role
from controller.errors import ReadingError
from controller.hardware.raspberry_adc import ADS1115_ADDRESS, Ads1115Adc, Mcp3008Adc
from controller.hardware.raspberry_gauge import Line, TransducerGauge, at_five_volts
from controller.hardware.raspberry_infrared import ADDRESS, EMISSIVITY, UNITY, InfraredThermometer
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.hardware.raspberry_mock_i2c import PretendMlx90614, word
from controller.hardware.raspberry_mock_w1 import PretendChip, crc8, scratchpad
from controller.hardware.raspberry_probes import Probe
from controller.science.constants import ZERO_CELSIUS

CHIP = "28-0123456789ab"
LINE = Line(0.5, 0.0, 4.5, 100e3)
"""A transducer of 100 kPa."""


def _signed(raw: str | float) -> int:
    """A count from its two bytes, high one first."""
    return int.from_bytes(int(str(raw), 16).to_bytes(2, "big"), "big", signed=True)


def _sampled(raw: str | float) -> float:
    """What the driver reads in the file of a chip that holds a count, [K]."""
    with TemporaryDirectory() as folder:
        PretendChip(Path(folder) / CHIP).converted(_signed(raw))
        return Probe(Role.FACE, CHIP, Path(folder)).sample(0.0).value


def _refused(raw: str | float) -> float:
    """The temperature that the driver names as it refuses it, [K]."""
    try:
        _sampled(raw)
    except ReadingError as error:
        named = re.search(r"(-?\d+\.\d) °C", str(error))
        if named is not None:
            return float(named[1]) + ZERO_CELSIUS
    raise AssertionError(f"{raw} was not refused")


def _ratiometric(volts: float, supply: float, full_kpa: float) -> float:
    line = Line(0.5, 0.0, 4.5, 1e3 * full_kpa)
    return line.pressure(at_five_volts(volts, supply))


def _count_of_pressure(adc: str, divider: float) -> float:
    """From one count of the converter to the next, through the gauge's driver, [Pa]."""
    volts = [0.0]
    bus = FakeBus({ADS1115_ADDRESS: FakeAds1115(lambda channel: volts[0])})
    chip = PretendConverter()
    wired = {
        "ads1115": Ads1115Adc(bus.i2c(), most=4.0, pause=lambda seconds: None),
        "mcp3008": Mcp3008Adc(chip.factory),
    }[adc]
    gauge = TransducerGauge(wired, 0, LINE, divider=divider)
    step = {"ads1115": 4.096 / 32768, "mcp3008": 3.3 / 1024}[adc]
    found = []
    for count in (600, 601) if adc == "mcp3008" else (20000, 20001):
        volts[0] = chip.inputs[0] = count * step
        found.append(gauge.sample(0.0).value)
    wired.close()
    return found[1] - found[0]


def _infrared(seen_c: float, set: float, face: float, room_c: float) -> float:
    chip = PretendMlx90614()
    chip.held[EMISSIVITY] = word(EMISSIVITY, round(set * UNITY))
    chip.sees(round((seen_c + ZERO_CELSIUS) / 0.02))
    eye = InfraredThermometer(FakeBus({ADDRESS: chip}).i2c(), face)
    return eye.sample(0.0, lamp_on=False, reflected=room_c + ZERO_CELSIUS).value


MODELS: Mapping[str, Callable[..., float]] = {
    "probe_reads": _sampled,
    "probe_refuses": _refused,
    "check_byte": lambda bytes: float(crc8(bytearray.fromhex(str(bytes)))),
    "byte_6": lambda byte_0: float(scratchpad(_signed(byte_0))[6]),
    "ratiometric": _ratiometric,
    "ads1115_step": lambda full_volts: Ads1115Adc(FakeBus({}).i2c(), 0.99 * full_volts).step,
    "count_of_pressure": _count_of_pressure,
    "infrared_reads": _infrared,
}
"""Each model of the rows; takes a row's inputs by name, answers in SI."""
