"""The dead-man board: a relay that edges hold, and that a still line drops, high or low."""

from math import exp

import wiring_parts as parts
from wiring_lines import Line, by_name, said
from wiring_parts import farads, ohms
from wiring_sheet import Sheet

RISING, MIDDLE, FALLING = 170, 265, 370
"""Heights of the path of a rising edge, of the line, and of the path of a falling edge, [px]."""
BASE = 490
"""Where the two trigger transistors begin, [px]."""
TIMING, RAIL = 215, 110
"""Heights of the timing node and of the supply, [px]."""
START, SECOND = 130, 92
"""Of the time line: where its 0 s is, and how long a second is, [px]."""
BEFORE, LAST, END = -0.4, 4, 8
"""Its begin, the last edge on it, and its end, [s]; the first edge is at 0."""


def drawing(found: tuple[Line, ...]) -> str:
    """The board and its time line as an SVG."""
    line = by_name(found)["dead-man"]
    sheet = Sheet(
        "Dead-man board: edges hold the relay, a level does not",
        f"{said(line)} goes through two paths, one for rising and one for falling edges. Each edge"
        " passes two capacitors in series and opens a transistor for some milliseconds, which"
        " pulls the timing node low. Two resistors in parallel let it rise again; at two thirds of"
        f" the supply, {parts.hold():.2f} s after the last edge, a 555 drops the relay. Below, the"
        " same as a time line.",
        960,
        680,
    )
    sheet.text(
        24,
        56,
        "Not built yet. Transistors: small NPN. Diodes without a name: small signal. Capacitors:"
        f" film, but for {farads(parts.INVERTER_STORE)}.",
        look="soft",
    )
    _entry(sheet, line)
    _trigger(sheet, RISING, 136)
    _trigger(sheet, FALLING, 336)
    _timer(sheet)
    _driver(sheet)
    _time_line(sheet, line)
    return sheet.svg()


def _entry(sheet: Sheet, line: Line) -> None:
    """The line, its pull-down, and the inverter of the falling edge's path."""
    sheet.text(24, MIDDLE - 32, f"GPIO{line.bcm}", look="strong")
    sheet.text(24, MIDDLE - 17, f"pin {line.pin}", look="small")
    sheet.wire((24, MIDDLE), (62, MIDDLE))
    sheet.dot(38, MIDDLE)
    sheet.part("resistor", 38, MIDDLE, ohms(parts.PULL_DOWN), turn=90)
    sheet.ground(38, MIDDLE + 60)
    sheet.part("resistor", 62, MIDDLE, ohms(parts.SERIES))
    sheet.dot(130, MIDDLE)
    sheet.wire((122, MIDDLE), (130, MIDDLE), (130, RISING), (260, RISING))
    sheet.wire((130, MIDDLE), (130, FALLING + 30), (140, FALLING + 30))
    sheet.part("resistor", 140, FALLING + 30, ohms(parts.TRIGGER_BASE), beside="below")
    sheet.part("npn", 200, FALLING + 30)
    sheet.ground(232, FALLING + 50)
    sheet.wire((232, FALLING + 10), (232, FALLING), (260, FALLING))
    sheet.dot(232, FALLING)
    sheet.part("resistor", 232, FALLING, turn=-90)
    sheet.text(246, FALLING - 38, ohms(parts.INVERTER_COLLECTOR), look="small")
    top = FALLING - 64
    sheet.wire((232, FALLING - 60), (232, top), (190, top))
    sheet.dot(232, top)
    sheet.part("capacitor", 190, top, farads(parts.INVERTER_STORE), turn=90, beside="left")
    sheet.ground(190, top + 60)
    sheet.part("resistor", 232, top, ohms(parts.INVERTER_FEED), turn=-90)
    sheet.text(232, top - 66, "+5 V", anchor="middle", look="small")
    sheet.text(140, RISING - 12, "rising edge", look="small soft")
    sheet.text(122, FALLING + 34, "falling edge", anchor="end", look="small soft")


def _trigger(sheet: Sheet, y: float, collector: float) -> None:
    """From an edge on the left to a transistor that is open for some milliseconds."""
    each = farads(parts.COUPLING)
    sheet.part("capacitor", 260, y, each)
    sheet.part("capacitor", 320, y, each)
    sheet.wire((380, y), (400, y))
    sheet.dot(390, y)
    sheet.part("diode", 390, y + 60, turn=-90)
    sheet.ground(390, y + 60)
    sheet.part("resistor", 400, y, ohms(parts.TRIGGER_BASE))
    sheet.wire((460, y), (BASE, y))
    sheet.dot(474, y)
    sheet.part("resistor", 474, y, ohms(parts.TRIGGER_LEAK), turn=90, beside="left")
    sheet.ground(474, y + 60)
    sheet.part("npn", BASE, y)
    sheet.ground(BASE + 32, y + 20)
    sheet.wire((BASE + 32, y - 20), (BASE + 32, collector), (556, collector))


def _timer(sheet: Sheet) -> None:
    """The timing node and the 555 that looks at it."""
    sheet.wire((556, 136), (556, 336))
    sheet.dot(556, TIMING)
    sheet.wire((556, TIMING), (566, TIMING))
    sheet.part("resistor", 566, TIMING, ohms(parts.EMPTYING), beside="below")
    sheet.wire((626, TIMING), (745, TIMING))
    sheet.text(662, TIMING + 20, "T", anchor="middle", look="strong")
    for x in (645, 700):
        sheet.dot(x, TIMING)
        sheet.wire((x, TIMING - 60), (x, RAIL))
        sheet.dot(x, RAIL)
    sheet.part(
        "capacitor",
        645,
        TIMING,
        farads(parts.TIMING_CAPACITOR),
        "film, 5 %",
        turn=-90,
        beside="left",
    )
    sheet.part("resistor", 700, TIMING, turn=-90)
    sheet.text(
        716,
        RAIL - 26,
        f"two of {ohms(parts.TIMING_RESISTOR)}, 1 %,",
        "in parallel",
        anchor="middle",
        look="small",
    )
    sheet.wire((620, RAIL), (800, RAIL))
    sheet.text(612, RAIL + 4, "+5 V", anchor="end", look="small")
    sheet.wire((785, RAIL), (785, 180))
    sheet.dot(785, RAIL)
    sheet.frame(745, 180, 80, 84, "white")
    sheet.text(793, 220, "555", anchor="middle", look="strong")
    sheet.text(793, 235, "CMOS", anchor="middle", look="small")
    for x, y, pin in (
        (757, TIMING + 4, "2, 6"),
        (785, 194, "4, 8"),
        (765, 258, "3"),
        (808, 258, "1"),
    ):
        sheet.text(x, y, pin, anchor="middle", look="small soft")
    sheet.ground(808, 264)
    sheet.text(
        596,
        400,
        "Not drawn: 100 nF from 8 to 1,",
        "10 nF from 5 to 1. 7 stays free.",
        look="small soft",
    )


def _driver(sheet: Sheet) -> None:
    """The relay, and the STOP button's second contact in its supply."""
    y = 400
    sheet.wire((765, 264), (765, y))
    sheet.part("resistor", 765, y, ohms(parts.DRIVER_BASE))
    sheet.wire((825, y), (850, y))
    sheet.dot(836, y)
    sheet.part("resistor", 836, y, ohms(parts.PULL_DOWN), turn=90, beside="left")
    sheet.ground(836, y + 60)
    sheet.part("npn", 850, y)
    sheet.ground(882, y + 20)
    sheet.wire((882, y - 20), (882, y - 34))
    sheet.part("coil", 882, y - 34, "relay,", "5 V", turn=-90)
    sheet.dot(882, y - 34)
    sheet.dot(882, y - 94)
    sheet.wire((882, y - 34), (848, y - 34))
    sheet.part("diode", 848, y - 34, "1N4007", turn=-90, beside="left")
    sheet.wire((848, y - 94), (882, y - 94))
    sheet.part("opens", 882, y - 94, turn=-90, flip=True)
    sheet.wire((882, y - 154), (882, y - 170))
    sheet.text(882, y - 176, "+5 V", anchor="middle", look="small")
    sheet.text(906, y - 138, "second", "contact", "of STOP", look="small")


def _time_line(sheet: Sheet, line: Line) -> None:
    """Edges each second, then a line that stands still."""
    high, low, held, dropped = 516, 532, 606, 622
    open_at = LAST + parts.hold()
    level = low
    points: list[tuple[float, float]] = [(_at(BEFORE), low)]
    for edge in range(LAST + 1):
        points.append((_at(edge), level))
        level = low if level == high else high
        points.append((_at(edge), level))
    sheet.wire(*points, (_at(END), level))
    limit = _node(sheet, 548, 588)
    sheet.wire((_at(BEFORE), dropped), (_at(0), dropped), (_at(0), held), (_at(open_at), held))
    sheet.wire((_at(open_at), held), (_at(open_at), dropped), (_at(END), dropped))
    for y, words in ((low, f"GPIO{line.bcm}"), (limit + 4, "T, and ⅔"), (dropped, "relay")):
        sheet.text(24, y, words, look="small")
    sheet.wire((_at(open_at), limit), (_at(open_at), dropped), look="dash")
    sheet.text(_at(LAST) + 8, high - 8, "the line stands still, high or low: no edge", look="small")
    drops = f"drops {parts.hold():.2f} s after the last edge"
    sheet.text(_at(open_at) + 8, dropped - 8, drops, look="small")
    axis = 640
    sheet.wire((_at(BEFORE), axis), (_at(END), axis), look="faint")
    for second in range(END + 1):
        sheet.wire((_at(second), axis), (_at(second), axis + 5), look="faint")
        sheet.text(_at(second), axis + 19, f"{second} s", anchor="middle", look="small soft")


def _at(seconds: float) -> float:
    """Where a moment stands on the time line, [px]."""
    return START + SECOND * seconds


def _node(sheet: Sheet, full: float, empty: float) -> float:
    """The timing node between its supply and empty; gives the height the 555 asks at, [px]."""
    limit = empty - (empty - full) * 2 / 3
    sheet.wire((_at(BEFORE), limit), (_at(END), limit), look="dash faint")
    constant = parts.timing_resistance() * parts.TIMING_CAPACITOR
    points: list[tuple[float, float]] = [(_at(BEFORE), full)]
    for edge in range(LAST + 1):
        until = 1.0 if edge < LAST else float(END - LAST)
        points.append((_at(edge), points[-1][1]))
        for step in range(25):
            after = until * step / 24
            risen = (empty - full) * (1 - exp(-after / constant))
            points.append((_at(edge + after), empty - risen))
    sheet.wire(*points)
    return limit
