"""What stands behind an output: the relay board's input, and the sounder's transistor."""

import wiring_parts as parts
from wiring_lines import Line, by_name, said
from wiring_parts import ohms
from wiring_sheet import Sheet

RELAYS, SOUNDER = 150, 350
"""Heights of the two lines, [px]."""


def drawing(found: tuple[Line, ...]) -> str:
    """Both drivers as an SVG."""
    named = by_name(found)
    sheet = Sheet(
        "Outputs: relay board and sounder",
        f"A relay's line, {said(named['lamp relay'])} or {said(named['pump relay'])}, has"
        f" {ohms(parts.PULL_DOWN)} to ground and goes to the opto-coupler of an active-high relay"
        f" board, whose relay is used on its normally open contact. The sounder on"
        f" {said(named['sounder'])} is switched by a transistor, with a diode across it.",
        940,
        450,
    )
    _relay(sheet, named["lamp relay"], named["pump relay"])
    sheet.wire((24, 262), (916, 262), look="faint")
    _sounder(sheet, named["sounder"])
    return sheet.svg()


def _line(sheet: Sheet, y: float, line: Line) -> None:
    """Where an output comes in, with the resistor that holds it low."""
    sheet.text(24, y - 12, said(line), look="strong")
    sheet.text(130, y - 12, line.name, look="small")
    sheet.wire((24, y), (220, y))
    sheet.dot(90, y)
    sheet.part("resistor", 90, y, ohms(parts.PULL_DOWN), turn=90)
    sheet.ground(90, y + 60)


def _relay(sheet: Sheet, lamp: Line, pump: Line) -> None:
    y = RELAYS
    sheet.text(24, 66, "Relay board, active high: the lamp's input", look="strong")
    again = f"{said(pump)}, {pump.name}: all of it once more, on an input of its own"
    sheet.text(290, 66, again, look="small soft")
    _line(sheet, y, lamp)
    sheet.frame(208, 96, 480, 140)
    sheet.text(676, 114, "relay board", anchor="end", look="small soft")
    sheet.part("resistor", 220, y, "its own")
    sheet.wire((280, y), (320, y))
    sheet.part("diode", 320, y, turn=90)
    sheet.ground(320, y + 60)
    for beam in (y + 24, y + 36):
        sheet.arrow((342, beam), (366, beam))
    sheet.text(320, y - 10, "opto-coupler", look="small")
    sheet.box(376, y + 4, 108, 52, "receiver", "and coil, 5 V")
    sheet.wire((484, y + 20), (560, y + 20), (560, y - 6), look="dash")
    sheet.part("closes", 530, y)
    sheet.wire((530, y), (512, y), (512, y + 64), (730, y + 64))
    sheet.wire((590, y), (730, y))
    sheet.text(738, y + 4, "normally open", look="small")
    sheet.text(738, y + 68, "common", look="small")
    sheet.text(738, y + 29, "to the coil of the tungsten-", "rated lamp relay", look="small soft")


def _sounder(sheet: Sheet, line: Line) -> None:
    y = SOUNDER
    sheet.text(24, 292, "Sounder, 5 V, with its own tone, up to 50 mA", look="strong")
    _line(sheet, y, line)
    sheet.part("resistor", 220, y, ohms(parts.DRIVER_BASE))
    sheet.wire((280, y), (310, y))
    sheet.part("npn", 310, y)
    sheet.ground(342, y + 20)
    sheet.wire((342, y - 20), (342, y - 28), (420, y - 28))
    sheet.box(420, y - 54, 100, 52, "sounder")
    sheet.wire((520, y - 28), (580, y - 28))
    sheet.text(588, y - 24, "+5 V", look="small")
    sheet.dot(390, y - 28)
    sheet.wire((390, y - 28), (390, y + 30), (440, y + 30))
    sheet.part("diode", 440, y + 30, "1N4007", beside="below")
    sheet.wire((500, y + 30), (550, y + 30), (550, y - 28))
    sheet.dot(550, y - 28)
