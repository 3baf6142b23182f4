"""The pretend chips answer as the drivers of the real ones expect."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from controller.errors import ReadingError
from controller.hardware.raspberry_barometer import LEAST, MOST, Barometer
from controller.hardware.raspberry_infrared import InfraredThermometer
from controller.hardware.raspberry_mock_i2c import PretendBmp280, PretendBus, PretendMlx90614, word


@given(st.lists(st.floats(LEAST + 1, MOST - 1), min_size=1, max_size=5))
@example([81874.75])  # its count is what both registers hold before the first measurement
def test_air_of_any_pressure_is_read_back_to_the_count(pressures: list[float]) -> None:
    air = PretendBmp280()
    barometer = Barometer(PretendBus({0x76: air}).i2c(), 0x76, pause=lambda seconds: None)
    for now, pressure in enumerate(pressures):
        air.in_air_of(pressure)
        # a count is 0.17 Pa at this calibration
        assert barometer.sample(float(now)).value == pytest.approx(pressure, abs=0.3)


@given(st.floats(250.0, 380.0))
def test_what_the_eye_is_sent_is_read_back_to_the_count(kelvin: float) -> None:
    eye = PretendMlx90614()
    thermometer = InfraredThermometer(PretendBus({0x5A: eye}).i2c(), emissivity=1.0)
    eye.sees(round(kelvin / 0.02))
    seen = thermometer.sample(0.0, lamp_on=False, reflected=293.15)
    assert seen.value == pytest.approx(kelvin, abs=0.011)


def test_its_words_are_those_of_the_printed_example() -> None:
    # Melexis, MLX90614 data sheet: 3AD2, check byte 30; from memory, to be checked
    assert word(0x07, 0x3AD2).hex() == "d23a30"


def test_at_an_address_without_a_chip_nobody_answers() -> None:
    bus = PretendBus({})
    with pytest.raises(ReadingError, match="nobody answers"):
        bus.i2c().read(0x76, 0xD0, 1)
    bus.chips[0x76] = PretendBmp280()
    assert bus.i2c().read(0x76, 0xD0, 1) == b"\x58"
    assert bus.opened == 2
