"""A pretend MCP3008 behind gpiozero's own device, answering whole words of its SPI.

gpiozero's mock SPI moves single bits over mock lines: right to the bit, but 1.5 ms a conversion,
and its lines remember every edge for good, which a night cannot afford.
"""

from collections.abc import Sequence
from typing import Any

from controller.hardware.raspberry_adc import MCP3008_REFERENCE, MCP3008_STEPS


class PretendConverter:
    """What stands on the inputs of a pretend MCP3008."""

    def __init__(self) -> None:
        self.inputs: dict[int, float] = {}
        """Volts by input, [V]; one that is not named is open and reads 0."""

    def count(self, channel: int) -> int:
        """What it converts an input to; the ends of its range clip."""
        steps = self.inputs.get(channel, 0.0) / MCP3008_REFERENCE * MCP3008_STEPS
        return max(0, min(MCP3008_STEPS - 1, round(steps)))

    def answer(self, words: Sequence[int]) -> list[int]:
        """The three bytes it sends for the three it gets.

        Start bit, single-ended, three bits of the input; then ten bits of the count. [1] Microchip,
        MCP3004/3008, DS21295, figure 6-1; from memory, to be checked.

        >>> PretendConverter().answer([0x01, 0x80, 0x00])
        [0, 0, 0]
        """
        return [0, *self.count(words[1] >> 4 & 0b111).to_bytes(2, "big")]

    def factory(self) -> Any:
        """A gpiozero factory whose SPI leads here and whose lines are mock ones of its own."""
        from gpiozero.pins import SPI
        from gpiozero.pins.mock import MockFactory, MockPin

        converter = self

        class Words(SPI):  # type: ignore[misc]
            """An SPI of whole words."""

            def transfer(self, data: Sequence[int]) -> list[int]:
                return converter.answer(data)

            def _get_clock_mode(self) -> int:
                return 0

            def _get_bits_per_word(self) -> int:
                return 8

        class Factory(MockFactory):  # type: ignore[misc]
            """Mock lines, each SPI of its own: gpiozero's mock ones are shared by all factories."""

            def spi(self, **wires: Any) -> Any:
                return Words(pin_factory=self)

        # named, or gpiozero takes both from the environment
        return Factory(revision="a02082", pin_class=MockPin)
