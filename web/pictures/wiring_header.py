"""The 40-pin header: which lines the rig uses, and what each leads to."""

from wiring_lines import FIVE_VOLTS, GROUNDS, PINS, THREE_VOLTS, Line, Use
from wiring_sheet import Sheet

ROW, TOP = 24, 104
"""Height of a row of pins, and where the first stands, [px]."""
LOOKS = {Use.OUTPUT: "solid", Use.INPUT: "white thick", Use.BUS: "tint thick"}


def drawing(found: tuple[Line, ...]) -> str:
    """The header as an SVG."""
    used = "; ".join(f"pin {line.pin} GPIO{line.bcm} {line.name}" for line in found)
    sheet = Sheet(
        "The Pi's header: lines the rig uses",
        f"Forty pins in two columns, odd ones left. In use: {used}.",
        940,
        656,
    )
    sheet.text(
        24,
        56,
        "Seen from above, the corner with pin 1 up and to the left. BCM numbers, as in rig.toml.",
        look="soft",
    )
    sheet.frame(438, TOP - 20, 64, 20 * ROW + 16, "tint")
    for pin in range(1, 41):
        _pin(sheet, pin, next((line for line in found if line.pin == pin), None))
    _legend(sheet)
    return sheet.svg()


def _pin(sheet: Sheet, pin: int, line: Line | None) -> None:
    y = TOP + (pin - 1) // 2 * ROW
    left = pin % 2 == 1
    away, anchor = (-1, "end") if left else (1, "start")
    x = 470 + away * 15
    look = LOOKS[line.use] if line else "white faint" if pin in PINS.values() else "white"
    ink = "small white-ink" if look == "solid" else "small" if line else "small soft"
    sheet.ring(x, y, 10.5, look)
    sheet.text(x, y + 4, str(pin), anchor="middle", look=ink)
    if line is None:
        look = "small soft" if pin in PINS.values() else ""
        sheet.text(470 + away * 44, y + 4, _idle(pin), anchor=anchor, look=look)
        return
    sheet.text(470 + away * 44, y + 4, f"GPIO{line.bcm}", anchor=anchor, look="strong")
    sheet.text(
        470 + away * 104,
        y + 4,
        {Use.OUTPUT: "out", Use.INPUT: "in", Use.BUS: "bus"}[line.use],
        anchor="middle",
        look="small soft",
    )
    sheet.text(470 + away * 126, y + 4, f"{line.name}: {line.goes_to}", anchor=anchor)


def _idle(pin: int) -> str:
    """What stands beside a pin no line of the rig is on."""
    if pin in GROUNDS:
        return "ground"
    if pin in THREE_VOLTS:
        return "3.3 V: probes, converter, pull-ups" if pin == 1 else "3.3 V"
    if pin in FIVE_VOLTS:
        return "5 V: transducer, relay board, dead-man board, sounder" if pin == 2 else "5 V"
    bcm = next(number for number, place in PINS.items() if place == pin)
    return f"GPIO{bcm}, not used"


def _legend(sheet: Sheet) -> None:
    y = TOP + 20 * ROW + 34
    told = (
        ("solid", "output: low, and so off, while nobody drives it"),
        ("white thick", "input: a contact to ground"),
        ("tint thick", "bus"),
        ("white", "supply or ground"),
        ("white faint", "not used"),
    )
    x = 44.0
    for (look, words), width in zip(told, (296, 180, 64, 146, 0), strict=True):
        sheet.ring(x, y, 8, look)
        sheet.text(x + 15, y + 4, words, look="small")
        x += width
