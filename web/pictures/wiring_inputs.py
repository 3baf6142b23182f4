"""Contacts the Pi reads, and the board probes on their one wire."""

import wiring_parts as parts
from wiring_lines import Line, Use, by_name, said
from wiring_parts import farads, ohms
from wiring_sheet import Sheet

CONTACT = 190
"""Height of a contact's wire, [px]."""
SUPPLY, DATA, GROUND = 378, 438, 498
"""Heights of the probes' three wires, [px]."""
PROBES = ("face", "back", "room", "film")


def drawing(found: tuple[Line, ...]) -> str:
    """Contacts and probes as an SVG."""
    contacts = [line for line in found if line.use is Use.INPUT]
    told = "; ".join(f"{line.name} on {said(line)}: {line.goes_to}" for line in contacts)
    sheet = Sheet(
        "Inputs: contacts to ground, probes on one wire",
        f"Each contact stands between its line and ground, with {ohms(parts.PULL_UP)} up to 3.3 V,"
        f" {ohms(parts.SERIES)} towards the Pi and {farads(parts.ADC_CAPACITOR)} at its pin."
        f" {told}. Board probes: supply, data and ground side by side, with"
        f" {ohms(parts.ONE_WIRE_PULL_UP)} from data to supply.",
        940,
        600,
    )
    _contact(sheet)
    _table(sheet, contacts)
    sheet.wire((24, 312), (916, 312), look="faint")
    _probes(sheet, by_name(found)["1-Wire"])
    return sheet.svg()


def _contact(sheet: Sheet) -> None:
    sheet.text(24, 64, "One contact, drawn at rest; the same for each line", look="strong")
    sheet.part("opens", 60, CONTACT + 70, "long lead,", "twisted pair", turn=-90)
    sheet.ground(60, CONTACT + 70)
    sheet.wire((60, CONTACT + 10), (60, CONTACT), (220, CONTACT))
    sheet.dot(180, CONTACT)
    sheet.part("resistor", 180, CONTACT, ohms(parts.PULL_UP), turn=-90)
    sheet.wire((180, CONTACT - 60), (180, CONTACT - 68))
    sheet.text(180, CONTACT - 76, "+3.3 V", anchor="middle", look="small")
    sheet.part("resistor", 220, CONTACT, ohms(parts.SERIES))
    sheet.wire((280, CONTACT), (350, CONTACT))
    sheet.dot(310, CONTACT)
    sheet.part("capacitor", 310, CONTACT, farads(parts.ADC_CAPACITOR), turn=90, beside="left")
    sheet.ground(310, CONTACT + 60)
    sheet.box(350, CONTACT - 26, 70, 52, "Pi", "its line")


def _table(sheet: Sheet, contacts: list[Line]) -> None:
    sheet.text(470, 64, "line", look="small soft")
    sheet.text(590, 64, "what", look="small soft")
    sheet.text(690, 64, "its contact", look="small soft")
    for number, line in enumerate(sorted(contacts, key=lambda line: line.pin)):
        y = 92 + 32 * number
        sheet.text(470, y, said(line))
        sheet.text(590, y, line.name, look="strong")
        sheet.text(690, y, line.goes_to.removeprefix("contact, "), look="small")
        sheet.wire((470, y + 11), (916, y + 11), look="faint")
    sheet.text(
        470,
        288,
        "A broken wire is an open contact: pressed, leaning, open, full.",
        look="small soft",
    )


def _probes(sheet: Sheet, line: Line) -> None:
    sheet.text(24, 344, "DS18B20 probes, three wires each", look="strong")
    for y, name, pin in (
        (SUPPLY, "3.3 V", "pin 1"),
        (DATA, f"GPIO{line.bcm}", f"pin {line.pin}"),
        (GROUND, "ground", "pin 9"),
    ):
        sheet.text(24, y + 4, name, look="strong")
        sheet.text(84, y + 4, pin, look="small")
        sheet.wire((124, y), (830, y))
    sheet.dot(170, SUPPLY)
    sheet.dot(170, DATA)
    sheet.part("resistor", 170, DATA, turn=-90)
    sheet.text(186, (SUPPLY + DATA) / 2 + 4, ohms(parts.ONE_WIRE_PULL_UP), look="small")
    for number, role in enumerate(PROBES):
        x = 320 + 150 * number
        for leg, y in ((-28, SUPPLY), (0, DATA), (28, GROUND)):
            sheet.dot(x + leg, y)
            sheet.wire((x + leg, y), (x + leg, GROUND + 28))
        sheet.box(x - 52, GROUND + 28, 104, 36, f"{role} probe")
    sheet.text(250, 344, "the supply wired, never parasitic", look="small soft")
