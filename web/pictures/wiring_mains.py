"""The mains side as blocks: what stands between the supply, the lamp and the pump, in order."""

from wiring_lines import Line, Use, by_name
from wiring_sheet import Sheet

FEED, PUMP, LAMP, COIL = 108, 216, 326, 410
"""Heights of the four rows, [px]."""
LOW = 500
"""Where low voltage begins, [px]."""
HALF = 30
"""Half the height of a box, [px]."""


def drawing(found: tuple[Line, ...]) -> str:
    """The mains side as an SVG."""
    named = by_name(found)
    sheet = Sheet(
        "Mains side: what stands between the supply and the lamp",
        "In order: supply, residual-current device, fuse, stop switch. Then the lamp's branch: its"
        " plug, thermal cut-out, contactor held by the dead-man relay, lamp relay, lamp. And the"
        " pump's branch: fuse, pump relay, pump with its own protector. Low voltage is below, in"
        " an enclosure of its own, and meets the mains in relays and isolated modules only.",
        940,
        650,
    )
    sheet.text(
        24,
        56,
        "Live and neutral are drawn as one line. Earth, not drawn, goes to every metal"
        " part. By a qualified person only.",
        look="soft",
    )
    _feed(sheet)
    _pump(sheet)
    _lamp(sheet)
    _low_voltage(sheet, named)
    return sheet.svg()


def _row(sheet: Sheet, y: float, *boxes: tuple[float, float, tuple[str, ...]]) -> None:
    """Boxes from left to right, each with its left and right edge, and a wire through them."""
    sheet.wire((boxes[0][1], y), (boxes[-1][0], y), look="thick")
    for left, right, words in boxes:
        sheet.box(left, y - HALF, right - left, 2 * HALF, *words)


def _feed(sheet: Sheet) -> None:
    _row(
        sheet,
        FEED,
        (24, 124, ("supply", "L, N, earth")),
        (154, 274, ("RCD or GFCI", "as local code says")),
        (304, 404, ("fuse F1", "slow, for both")),
        (434, 574, ("stop switch", "in reach, two poles,", "cuts lamp and pump")),
    )
    sheet.wire(
        (574, FEED), (606, FEED), (606, 160), (42, 160), (42, LAMP), (66, LAMP), look="thick"
    )
    sheet.wire((42, PUMP), (66, PUMP), look="thick")
    sheet.dot(42, PUMP)


def _pump(sheet: Sheet) -> None:
    _row(
        sheet,
        PUMP,
        (66, 152, ("fuse F2", "of the pump")),
        (425, 535, ("pump relay", "motor rating", "NO contact")),
        (625, 765, ("vacuum pump", "with its own", "thermal protector")),
    )


def _lamp(sheet: Sheet) -> None:
    _row(
        sheet,
        LAMP,
        (66, 152, ("lamp's plug", "out: all dark")),
        (182, 292, ("cut-out", "≤ 80 °C, on plate", "reset by hand")),
        (350, 460, ("contactor", "NO contacts,", "both poles")),
        (500, 610, ("lamp relay", "tungsten rating", "NO contact")),
        (685, 795, ("lamp", "porcelain socket,", "guard, two holds")),
    )
    # the contactor's coil, from behind the cut-out
    sheet.wire((316, LAMP), (316, COIL))
    sheet.dot(316, LAMP)
    sheet.part("closes", 316, COIL)
    sheet.part("coil", 375, COIL)
    sheet.wire((435, COIL), (450, COIL))
    sheet.text(455, COIL + 4, "N")
    sheet.text(308, COIL, "dead-man", "relay", anchor="end", look="small")
    sheet.text(405, COIL + 27, "coil", anchor="middle", look="small")
    sheet.wire((405, COIL - 12), (405, LAMP + HALF), look="dash")
    # the sense module, over the lamp's feed
    sheet.wire((648, LAMP), (648, COIL - HALF), look="thick")
    sheet.dot(648, LAMP)
    sheet.box(583, COIL - HALF, 130, 2 * HALF, "sense module", "relay or smoothed", "opto-coupler")


def _low_voltage(sheet: Sheet, named: dict[str, Line]) -> None:
    sheet.wire((24, LOW - 14), (916, LOW - 14), look="faint")
    sheet.text(24, LOW - 22, "mains", look="small soft")
    sheet.text(24, LOW + 2, "low voltage,", "in an enclosure", "of its own", look="small soft")
    sheet.text(24, LOW + 112, "Pi", look="small soft")
    y = LOW + 4
    boxes = (
        (170, 296, "cut-out's", "second contact", "insulated from mains"),
        (308, 424, "dead-man board", "its relay closes", "with the edges"),
        (436, 598, "relay board", "active high"),
        (610, 712, "its contact", "closed while live"),
        (724, 846, "tilt switch", "on the lamp's stand"),
    )
    for left, right, *words in boxes:
        sheet.box(left, y, right - left, 2 * HALF, *words)
    wires = (
        ("cut-out sense", 237, LAMP + HALF),
        ("dead-man", 345, COIL + 3),
        ("pump relay", 480, PUMP + HALF),
        ("lamp relay", 555, LAMP + HALF),
        ("lamp sense", 648, COIL + HALF),
        ("tilt switch", 755, LAMP + HALF),
    )
    bottom = y + 2 * HALF
    for name, x, top in wires:
        line = named[name]
        downward = 1 if line.use is Use.INPUT else -1
        sheet.arrow(*((x, top), (x, y))[::downward], look="dash")
        sheet.arrow(*((x, bottom), (x, bottom + 28))[::downward])
        sheet.text(x, bottom + 44, f"GPIO{line.bcm}", anchor="middle", look="strong")
        sheet.text(x, bottom + 59, f"pin {line.pin}", anchor="middle", look="small")
