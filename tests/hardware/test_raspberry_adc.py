"""What the converters make of a voltage, and of a bus that fails."""

import errno
import gc
import threading
from collections.abc import Callable, Iterator

import pytest
from fake_bus import FakeAds1115, FakeBus
from gpiozero import MCP3008, Device
from gpiozero.pins.mock import MockFactory, MockPin, MockSPIDevice
from hypothesis import given
from hypothesis import strategies as st
from pretend_pi import Bench

from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_adc import Ads1115Adc, Mcp3008Adc
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.hardware.raspberry_pins import lgpio_pins

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")


class BitByBit(MockSPIDevice):  # type: ignore[misc]
    """An MCP3008 on gpiozero's mock SPI, a bit at a time.

    Microchip, DS21295, figure 5-1: start, single-ended, D2 to D0, a clock of rest, a null bit, ten
    bits of the count; from memory, to be checked.
    """

    counts = (0,) * 8

    def on_bit(self) -> None:
        if self.rx_bit == 12:
            asked = self.rx_word()
            assert asked >> 3 == 0b11
            self.tx_word(self.counts[asked & 7], 12)


Build = Callable[..., BitByBit]


@pytest.fixture
def chip() -> Iterator[BitByBit]:
    # the end of an older shared bus object takes a newer one off gpiozero's list of them
    gc.collect()
    # gpiozero's software bus takes its lines from the global factory, whatever it is given
    Device.pin_factory = factory = MockFactory(revision="a02082", pin_class=MockPin)
    chip = BitByBit(11, 10, 9, 8, pin_factory=factory)
    yield chip
    chip.close()
    factory.close()


def ads(volts: float, most: float = 3.2, looks: int = 0) -> Ads1115Adc:
    bus = FakeBus({0x48: FakeAds1115(lambda channel: volts * (channel + 1), looks)})
    return Ads1115Adc(bus.i2c(), most, pause=lambda seconds: None)


# Texas Instruments, ADS111x, SBAS444E, table of LSB sizes (seen): exact. The most that may stand
# there is just inside each full scale.
@pytest.mark.parametrize(
    ("full_scale", "microvolts"),
    [
        (6.144, 187.5),
        (4.096, 125.0),
        (2.048, 62.5),
        (1.024, 31.25),
        (0.512, 15.625),
        (0.256, 7.8125),
    ],
)
def test_each_gain_has_the_step_of_the_data_sheet(full_scale: float, microvolts: float) -> None:
    adc = ads(0.0, most=0.99 * full_scale)
    assert adc.full_scale == full_scale
    assert 1e6 * adc.step == pytest.approx(microvolts, abs=1e-9)


@given(volts=st.floats(-0.1, 3.2), channel=st.integers(0, 3), looks=st.integers(0, 3))
def test_an_ads1115_tells_what_stands_on_each_input_to_half_a_step(
    volts: float, channel: int, looks: int
) -> None:
    adc = ads(volts / (channel + 1), looks=looks)
    assert adc.volts(channel) == pytest.approx(volts, abs=0.5001 * adc.step)


def test_more_volts_than_an_ads1115_reads_are_refused_before_anything_is_asked() -> None:
    with pytest.raises(InputError, match="use a divider"):
        ads(0.0, most=6.13)


@pytest.mark.parametrize("volts", [4.09, 5.0, -5.0])
def test_a_clipped_value_is_no_reading(volts: float) -> None:
    with pytest.raises(ReadingError, match=r"ADS1115 input 0: at the end of its range, 4\.096 V"):
        ads(volts).volts(0)


def test_a_converter_that_never_gets_ready_is_given_up_within_20_ms() -> None:
    bus = FakeBus({0x48: FakeAds1115(lambda channel: 1.0, looks=99)})
    waited: list[float] = []
    with pytest.raises(ReadingError, match="no conversion in twice its time"):
        Ads1115Adc(bus.i2c(), 3.2, pause=waited.append).volts(0)
    # data sheet: 1 / 860 s at a rate that may be 10 % slow; and not so long that outputs wait
    assert 1.1 / 860 < waited[0]
    assert sum(waited) < 0.02


class Ones:
    """A bus whose SDA is stuck high."""

    def write(self, register: int, data: bytes) -> None:
        pass

    def read(self, register: int, length: int) -> bytes:
        return b"\xff" * length


class Zeros(Ones):
    """One whose SDA is stuck low, and which still acknowledges."""

    def read(self, register: int, length: int) -> bytes:
        return bytes(length)


@pytest.mark.parametrize(("stuck", "why"), [(Ones(), "ffff, not"), (Zeros(), "no conversion")])
def test_a_stuck_data_wire_is_no_reading(stuck: Ones, why: str) -> None:
    adc = Ads1115Adc(FakeBus({0x48: stuck}).i2c(), 3.2, pause=lambda seconds: None)
    with pytest.raises(ReadingError, match=why):
        adc.volts(0)


@pytest.mark.parametrize(
    ("number", "look"),
    [
        (errno.ETIMEDOUT, "held down; look for a short of SDA or SCL"),
        (errno.EREMOTEIO, "look at its supply, its plug and its address"),
        (errno.ENOENT, "dtparam=i2c_arm=on"),
        (errno.EACCES, "group i2c"),
        (errno.EIO, "look at its SDA and SCL wires"),
    ],
)
def test_each_error_of_the_bus_says_what_to_look_at_and_the_bus_is_opened_anew(
    number: int, look: str
) -> None:
    bus = FakeBus({0x48: FakeAds1115(lambda channel: 1.0)})
    adc = Ads1115Adc(bus.i2c(), 3.2, pause=lambda seconds: None)
    assert adc.volts(0) == pytest.approx(1.0, abs=1e-4)
    bus.broken = number
    with pytest.raises(ReadingError, match=look) as refused:
        adc.volts(0)
    assert str(refused.value).startswith("converter ADS1115: ")
    assert (bus.opened, bus.closed) == (1, 1)
    bus.broken = None
    assert adc.volts(0) == pytest.approx(1.0, abs=1e-4)
    assert bus.opened == 2


def test_an_answer_that_is_cut_short_is_no_reading() -> None:
    class Short(Ones):
        def read(self, register: int, length: int) -> bytes:
            return b"\xe3"

    adc = Ads1115Adc(FakeBus({0x48: Short()}).i2c(), 3.2, pause=lambda seconds: None)
    with pytest.raises(ReadingError, match="cut short"):
        adc.volts(0)


# Microchip, DS21295: D = 1024 V / VREF, from memory, to be checked; exact here, the chip itself is
# known to one step. 775 on 3.3 V is half of a 5 V supply.
@pytest.mark.parametrize(
    ("count", "volts"), [(0, 0.0), (155, 0.4995), (775, 2.4976), (1018, 3.2807)]
)
def test_an_mcp3008_is_read_bit_by_bit_on_each_input(
    chip: BitByBit, count: int, volts: float
) -> None:
    adc = Mcp3008Adc(lambda: Device.pin_factory)
    for channel in (0, 5, 7):
        chip.counts = tuple(count if at == channel else 511 for at in range(8))
        assert adc.volts(channel) == pytest.approx(volts, abs=5e-5)
    adc.close()


def test_the_half_step_that_gpiozero_adds_is_not_in_it(chip: BitByBit) -> None:
    adc, theirs = Mcp3008Adc(lambda: Device.pin_factory), MCP3008(0, pin_factory=Device.pin_factory)
    assert theirs.voltage - adc.volts(0) == pytest.approx(1.6e-3, abs=0.05e-3)
    theirs.close()
    adc.close()


@pytest.mark.parametrize("count", [1019, 1023])
def test_the_top_of_an_mcp3008_is_no_reading(chip: BitByBit, count: int) -> None:
    chip.counts = (count,) * 8
    adc = Mcp3008Adc(lambda: Device.pin_factory)
    with pytest.raises(ReadingError, match=r"MCP3008 input 2: at the end of its range, 3\.3 V"):
        adc.volts(2)
    adc.close()


@given(st.integers(0, 1018), st.integers(0, 7))
def test_the_pretend_converter_answers_the_driver_as_the_chip_does(
    count: int, channel: int
) -> None:
    pretend = PretendConverter()
    pretend.inputs[channel] = 3.3 * count / 1024
    adc = Mcp3008Adc(pretend.factory)
    assert adc.volts(channel) == 3.3 * count / 1024
    assert adc.volts((channel + 1) % 8) == 0.0
    adc.close()


@pytest.mark.usefixtures("lgpio_here")
def test_without_spi_there_is_no_reading_and_its_lines_are_not_driven_by_hand(
    bench: Bench,
) -> None:
    adc = Mcp3008Adc()
    for _ in range(3):
        with pytest.raises(ReadingError, match=r"look for dtparam=spi=on in config\.txt"):
            adc.volts(0)
    (bench.folder / "spi").write_text("512 256 0 0 0 0 0 0")
    assert (adc.volts(0), adc.volts(1)) == (1.65, 0.825)
    (bench.folder / "spi").unlink()
    with pytest.raises(ReadingError, match="SPI wires"):
        adc.volts(0)
    adc.close()
    # the kernel's SPI moved them, and no line was ever claimed
    assert not (bench.folder / "calls").exists()


@pytest.mark.usefixtures("lgpio_here")
def test_a_bus_that_is_thrown_away_while_an_output_is_claimed_stops_nobody(bench: Bench) -> None:
    # as when Python's collector happens to run in the middle of a claim: gpiozero's own bus then
    # waits for the lock its own thread holds
    (bench.folder / "spi").write_text("512 0 0 0 0 0 0 0")
    pins = lgpio_pins(bench.run)
    lock = pins.factory._res_lock = threading.Lock()
    adc = Mcp3008Adc()
    adc.volts(0)
    (device,) = adc._devices.values()
    bus = device._spi
    done = threading.Event()

    def collect() -> None:
        with lock:
            adc.close()
            bus.__del__()
        done.set()

    threading.Thread(target=collect, daemon=True).start()
    assert done.wait(5.0)
    pins.factory.close()
