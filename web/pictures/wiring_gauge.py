"""The bag's gauge: transducer, dividers, converter, and the volts in between."""

import wiring_parts as parts
from wiring_lines import Line, by_name, said
from wiring_parts import farads, ohms
from wiring_sheet import Sheet

from controller.settings.gauges import MOST_SUPPLY, REACH, SUPPLY

SIGNAL, FEED, LOOP = 130, 260, 486
"""Heights of the signal, of the supply that is measured, and of the loop, [px]."""
LOW_VOLTS, HIGH_VOLTS = 0.5, 4.5
"""Of a ratiometric transducer at both ends of its range, on 5 V, [V]."""


def drawing(found: tuple[Line, ...]) -> str:
    """Both kinds of transducer as an SVG."""
    low, high, most = parts.loop_volts()
    sheet = Sheet(
        "Bag gauge: transducer, divider, converter",
        f"A ratiometric transducer on 5 V. Its signal and its supply each pass a divider of"
        f" {ohms(parts.DIVIDER_TOP)} over {ohms(parts.DIVIDER_BOTTOM)} with"
        f" {farads(parts.ADC_CAPACITOR)} to ground, and go to inputs CH0 and CH1 of an MCP3008 on"
        f" 3.3 V. Below: a 4 to 20 mA transducer over {ohms(parts.LOOP_RESISTOR)}.",
        940,
        600,
    )
    sheet.text(24, 56, "Ratiometric, 0.5 to 4.5 V on a supply of 5 V", look="strong")
    _transducer(sheet)
    divider = parts.divider()
    _divider(
        sheet,
        SIGNAL,
        f"{divider * LOW_VOLTS:.2f} to {divider * HIGH_VOLTS:.2f} V,",
        f"over {parts.signal_on_input():.2f} V: no reading",
    )
    _divider(
        sheet,
        FEED,
        f"{divider * SUPPLY:.2f} V at {SUPPLY:g} V,",
        f"{parts.most_on_input():.2f} V at {MOST_SUPPLY:g} V",
    )
    named = by_name(found)
    _converter(sheet, named)
    sheet.text(
        24,
        370,
        f"divider = {divider:g}, channel = 0, supply_channel = 1. The converter tells up to"
        f" {REACH['mcp3008']:g} V from a clipped value.",
        "With an ADS1115 on 3.3 V: the same dividers, on A0 and A1; SDA on"
        f" {said(named['I2C SDA'])}, SCL on {said(named['I2C SCL'])}.",
        look="small",
    )
    sheet.wire((24, 406), (916, 406), look="faint")
    sheet.text(24, 436, "4 to 20 mA over a resistor", look="strong")
    _loop(sheet)
    sheet.text(
        24,
        582,
        f'output = "current", resistor = "{parts.LOOP_RESISTOR:g} ohm": {low:.2f} V at'
        f" 4 mA, {high:.2f} V at 20 mA, {most:.2f} V at 21 mA; divider = 1, no supply_channel.",
        look="small",
    )
    return sheet.svg()


def _transducer(sheet: Sheet) -> None:
    sheet.box(
        24, SIGNAL - 36, 112, 226, "transducer", "on the bag, away", "from the pump's", "port"
    )
    for y, words in ((SIGNAL, "signal"), (FEED, "5 V"), (FEED + 36, "ground")):
        sheet.text(130, y + 4, words, anchor="end", look="small soft")
    sheet.wire((136, SIGNAL), (200, SIGNAL))
    sheet.wire((136, FEED), (200, FEED))
    sheet.dot(172, FEED)
    sheet.wire((172, FEED), (172, FEED - 38))
    sheet.text(172, FEED - 58, "+5 V", "pin 2", anchor="middle", look="small")
    sheet.wire((136, FEED + 36), (156, FEED + 36))
    sheet.ground(156, FEED + 36)


def _divider(sheet: Sheet, y: float, *volts: str) -> None:
    sheet.part("resistor", 200, y, ohms(parts.DIVIDER_TOP))
    sheet.wire((260, y), (600, y))
    for x, kind, value in (
        (290, "resistor", ohms(parts.DIVIDER_BOTTOM)),
        (370, "capacitor", farads(parts.ADC_CAPACITOR)),
    ):
        sheet.dot(x, y)
        sheet.part(kind, x, y, value, turn=90)
        sheet.ground(x, y + 60)
    sheet.text(448, y + 20, *volts, look="small")


def _converter(sheet: Sheet, named: dict[str, Line]) -> None:
    top = SIGNAL - 36
    sheet.frame(600, top, 160, 226, "white")
    sheet.text(680, top - 8, "MCP3008", anchor="middle", look="strong")
    sheet.text(606, SIGNAL + 4, "1 CH0", look="small soft")
    sheet.text(606, FEED + 4, "2 CH1", look="small soft")
    rows = (
        ("VDD 16, VREF 15", "+3.3 V", "pin 17"),
        ("CLK 13", named["SPI SCLK"], ""),
        ("DOUT 12", named["SPI MISO"], ""),
        ("DIN 11", named["SPI MOSI"], ""),
        ("CS 10", named["SPI CE0"], ""),
        ("AGND 14, DGND 9", "ground", "pin 20"),
    )
    for number, (pin, to, place) in enumerate(rows):
        y = top + 28 + 34 * number
        sheet.wire((760, y), (788, y))
        sheet.text(754, y + 4, pin, anchor="end", look="small soft")
        sheet.text(794, y + 4, said(to) if isinstance(to, Line) else f"{to}, {place}", look="small")


def _loop(sheet: Sheet) -> None:
    sheet.box(24, LOOP - 26, 92, 52, "supply", f"{parts.LOOP_SUPPLY:g} V DC")
    sheet.part("fuse", 122, LOOP, "50 mA")
    sheet.wire((116, LOOP), (122, LOOP))
    sheet.wire((182, LOOP), (200, LOOP))
    sheet.box(200, LOOP - 26, 112, 52, "transducer", "4 to 20 mA")
    sheet.wire((312, LOOP), (400, LOOP))
    sheet.dot(350, LOOP)
    sheet.part("resistor", 350, LOOP, ohms(parts.LOOP_RESISTOR), "0.1 %", turn=90)
    sheet.ground(350, LOOP + 60)
    sheet.part("resistor", 400, LOOP, ohms(parts.LOOP_SERIES))
    sheet.wire((460, LOOP), (600, LOOP))
    sheet.dot(500, LOOP)
    sheet.part("capacitor", 500, LOOP, farads(parts.ADC_CAPACITOR), turn=90)
    sheet.ground(500, LOOP + 60)
    sheet.box(600, LOOP - 26, 160, 52, "MCP3008", "CH0, as above")
    sheet.wire((70, LOOP + 26), (70, LOOP + 60))
    sheet.ground(70, LOOP + 60)
    sheet.text(86, LOOP + 52, "its minus on the Pi's ground", look="small soft")
