"""The values on the wiring drawings, and what they make: divider volts and hold time.

Values are this project's own; nothing of it is built yet.
"""

from math import log

from controller.settings.gauges import MOST_CURRENT, MOST_SUPPLY, MOST_VOLTS

ADC_REFERENCE = 3.3
"""On VDD and VREF of the converter, [V]: the Pi's own rail."""
DIVIDER_TOP, DIVIDER_BOTTOM = 10e3, 15e3
"""Two resistors before each input of the converter, 1 %, [ohm]."""
ADC_CAPACITOR = 100e-9
"""From an input to ground, [F]."""
MCP3008_SAMPLING = 20e-12
"""What the MCP3008 charges at each conversion, [F]. [1] Microchip, MCP3004/3008, DS21295, figure
4-1; from memory, to be checked."""
LOOP_RESISTOR = 150.0
"""What a 4-20 mA loop is read over, [ohm]."""
LOOP_SUPPLY = 24.0
"""Of the loop, [V]."""
LOOP_SERIES = 22e3
"""Between that resistor and the input, [ohm]: a shorted loop puts its whole supply there."""

SERIES = 1e3
"""Between the Pi's line and the dead-man board, and in an input's wire, [ohm]."""
PULL_DOWN = 10e3
"""From an output's line to ground, [ohm]: holds it low while nobody drives it."""
PULL_UP = 10e3
"""From an input's wire to 3.3 V, [ohm]."""
ONE_WIRE_PULL_UP = 4.7e3
"""From the 1-Wire data wire to 3.3 V, [ohm]; common practice, no source."""
COUPLING = 470e-9
"""Each of two capacitors in series that pass an edge and no level, film, [F]."""
TRIGGER_BASE = 10e3
"""Base resistor of the two transistors that an edge opens, [ohm]."""
TRIGGER_LEAK = 100e3
"""From those bases to ground, [ohm]."""
INVERTER_COLLECTOR = 4.7e3
"""Of the transistor that turns a falling edge into a rising one, [ohm]."""
INVERTER_FEED, INVERTER_STORE = 1e3, 470e-6
"""What feeds that resistor, [ohm], and from there to ground, electrolytic, [F]: the supply comes up
too slowly behind them to be taken for an edge."""
EMPTYING = 100.0
"""Between their collectors and the timing capacitor, [ohm]."""
TIMING_RESISTOR = 2.7e6
"""Each of two in parallel, 1 %, [ohm]: one that breaks doubles the hold, none holds for good."""
TIMING_CAPACITOR = 1e-6
"""Film, 5 %, [F]; a ceramic one loses half of it under voltage."""
DRIVER_BASE = 1e3
"""Base resistor of a transistor that drives a coil or the sounder, [ohm]."""
SUPPLY = 5.0
"""Of the dead-man board, the relay board and the sounder, [V]."""

SHORT_SHARE, LONG_SHARE = 0.99 * 0.95 * 0.97, 1.01 * 1.05 * 1.03
"""Hold time at both ends of the tolerances: resistor 1 %, capacitor 5 %, 555 3 % (from memory, to
be checked), [-]."""
SATURATION = 0.15
"""What an open transistor leaves on the timing capacitor, [V]; common practice, no source."""
COLLECTOR_LEAK = 50e-9
"""Of each of the two trigger transistors while shut, at the most, [A]; from memory, to be
checked."""
RELAY_RELEASE, CONTACTOR_RELEASE = 0.02, 0.10
"""Longest drop-out of a small relay with a diode over its coil, and of a contactor, [s]; from
memory, to be checked."""


def divider() -> float:
    """What an input of the converter sees of a volt, [-].

    >>> divider()
    0.6
    """
    return DIVIDER_BOTTOM / (DIVIDER_TOP + DIVIDER_BOTTOM)


def source_resistance() -> float:
    """Of the divider as an input sees it, [ohm]: both resistors in parallel."""
    return DIVIDER_TOP * DIVIDER_BOTTOM / (DIVIDER_TOP + DIVIDER_BOTTOM)


def most_on_input() -> float:
    """The most the divider puts on an input while all is well, [V]: from the highest supply."""
    return divider() * MOST_SUPPLY


def signal_on_input() -> float:
    """The most the transducer's own signal puts there, [V]."""
    return divider() * MOST_VOLTS


def loop_volts() -> tuple[float, float, float]:
    """Over the loop's resistor at 4 mA, at 20 mA, and at the most a live loop gives, [V]."""
    return 4e-3 * LOOP_RESISTOR, 20e-3 * LOOP_RESISTOR, MOST_CURRENT * LOOP_RESISTOR


def hold() -> float:
    """From the last edge to the 555's word, nominal, [s].

    R C ln 3, the time in which a capacitor goes two thirds of the way; the 555 asks at two thirds
    of its supply, so the supply does not matter. Common practice, no source.

    >>> round(hold(), 2)
    1.48
    """
    return timing_resistance() * TIMING_CAPACITOR * log(3.0)


def timing_resistance() -> float:
    """Of the two timing resistors in parallel, [ohm]."""
    return TIMING_RESISTOR / 2


def shortest_hold() -> float:
    """The same at the short end of its parts, from a capacitor not quite emptied, [s]."""
    begun = log((SUPPLY - SATURATION) / (SUPPLY / 3)) / log(3.0)
    return hold() * SHORT_SHARE * begun


def longest_hold() -> float:
    """The same at the long end, where leaking transistors keep the node from its supply, [s]."""
    reached = SUPPLY - timing_resistance() * 2 * COLLECTOR_LEAK
    late = log(reached / (reached - SUPPLY * 2 / 3)) / log(3.0)
    return hold() * LONG_SHARE * late


def contactor_open() -> float:
    """From the last edge until the lamp's contactor is open, at the worst, [s]."""
    return longest_hold() + trigger_pulse() + RELAY_RELEASE + CONTACTOR_RELEASE


def trigger_pulse() -> float:
    """How long an edge keeps the timing capacitor empty, at the most, [s]: five time constants."""
    return 5 * COUPLING / 2 * (TRIGGER_BASE + INVERTER_COLLECTOR)


def at_switch_on() -> float:
    """The most the supply's own rise puts on the falling edge's transistor, [V]; 0.5 opens it."""
    slope = SUPPLY / (INVERTER_FEED * INVERTER_STORE)
    return COUPLING / 2 * slope * TRIGGER_LEAK


def emptying_reserve(gain: float = 100.0) -> float:
    """Charge an edge of the Pi can draw from the timing capacitor, over what is in it, [-].

    gain: of the transistor, [-]
    """
    return gain * COUPLING / 2 * (ADC_REFERENCE - 0.7) / (TIMING_CAPACITOR * SUPPLY)


def ohms(value: float) -> str:
    """A resistance as a drawing says it.

    >>> ohms(4700), ohms(3e6), ohms(150)
    ('4.7 kΩ', '3 MΩ', '150 Ω')
    """
    for size, unit in ((1e6, "MΩ"), (1e3, "kΩ")):
        if value >= size:
            return f"{value / size:g} {unit}"
    return f"{value:g} Ω"


def farads(value: float) -> str:
    """A capacitance as a drawing says it.

    >>> farads(1e-6), farads(100e-9)
    ('1 µF', '100 nF')
    """
    return f"{value * 1e6:g} µF" if value >= 1e-6 else f"{value * 1e9:g} nF"
