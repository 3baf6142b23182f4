"""A sheet to draw a circuit on: boxes, wires and symbols in black on white, as an SVG."""

from html import escape
from typing import Literal

LINE = 15.0
"""From one line of text to the next, [px]."""

STYLE = """
text{font:12px 'Helvetica Neue',Helvetica,Arial,'Liberation Sans','DejaVu Sans',sans-serif;
fill:#1a1a1a}
.loud{font-size:16px;font-weight:700}.strong{font-weight:700}.soft{fill:#555}.small{font-size:11px}
.white-ink{fill:#fff}
path,rect,circle{fill:none;stroke:#1a1a1a;stroke-width:1.4;stroke-linejoin:round;
stroke-linecap:round}
.paper{fill:#fff;stroke:#bbb;stroke-width:1}.white{fill:#fff}.tint{fill:#efefef}
.solid{fill:#1a1a1a}.thick{stroke-width:2.4}.faint{stroke:#bbb;stroke-width:1}
.dash{stroke-dasharray:5 4}.frame{stroke:#888;stroke-width:1;stroke-dasharray:2 3}
"""

LENGTH = 60.0
"""Of every symbol that stands in a wire, [px]."""
SYMBOLS = {
    "resistor": "M0 0H12M12 -7H48V7H12ZM48 0H60",
    "capacitor": "M0 0H26M26 -12V12M34 -12V12M34 0H60",
    "diode": "M0 0H60M22 -9V9L38 0ZM38 -9V9",
    "fuse": "M0 0H60M12 -6H48V6H12Z",
    "opens": "M0 0H16L47 -13M44 -17V0H60",
    "closes": "M0 0H16L42 -16M44 0H60",
    "coil": "M0 0H15M15 -12H45V12H15ZM45 0H60",
    "npn": "M0 0H16M16 -14V14M16 -6L32 -20M16 6L32 20M32 20l-8.5 -2.2l4.6 -5.2z",
    "ground": "M0 0V8M-10 8H10M-6 12H6M-2 16H2",
}
"""Drawn from left to right; a capacitor or a contact looks the same from both ends."""


class Sheet:
    """One drawing, filled from the back to the front."""

    def __init__(self, title: str, description: str, width: int, height: int) -> None:
        """title, description: for people who hear it      width, height: [px]"""
        self._size = width, height
        self._title, self._description = title, description
        self._marks: list[str] = []
        self.text(24, 34, title, look="loud")

    def text(self, x: float, y: float, *words: str, anchor: str = "start", look: str = "") -> None:
        """Lines of words from the baseline at x, y on."""
        for number, line in enumerate(words):
            self._marks.append(
                f'<text x="{x:g}" y="{y + LINE * number:g}"'
                f"{_if(anchor != 'start', 'text-anchor', anchor)}{_if(look, 'class', look)}>"
                f"{escape(line, quote=False)}</text>"
            )

    def path(self, shape: str, look: str = "") -> None:
        """Any shape, in SVG's own words."""
        self._marks.append(f'<path d="{shape}"{_if(look, "class", look)}/>')

    def wire(self, *points: tuple[float, float], look: str = "") -> None:
        """A line from point to point."""
        self.path("M" + "L".join(f"{x:g} {y:g}" for x, y in points), look)

    def arrow(self, *points: tuple[float, float], look: str = "") -> None:
        """The same with a head at its end."""
        self.wire(*points, look=look)
        (x0, y0), (x, y) = points[-2:]
        ahead = 8 if (x, y) > (x0, y0) else -8
        tail = f"{-ahead} -4v8" if y == y0 else f"-4 {-ahead}h8"
        self.path(f"M{x:g} {y:g}l{tail}z", "solid")

    def dot(self, x: float, y: float) -> None:
        """Where wires are joined."""
        self._marks.append(f'<circle cx="{x:g}" cy="{y:g}" r="2.6" class="solid"/>')

    def ring(self, x: float, y: float, radius: float, look: str = "white") -> None:
        """A circle."""
        self._marks.append(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" class="{look}"/>')

    def frame(self, x: float, y: float, width: float, height: float, look: str = "frame") -> None:
        """A rectangle without words."""
        self._marks.append(
            f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" rx="4"'
            f' class="{look}"/>'
        )

    def box(
        self, x: float, y: float, width: float, height: float, *words: str, look: str = "white"
    ) -> None:
        """A rectangle with words in its middle, the first line strong."""
        self.frame(x, y, width, height, look)
        first = y + height / 2 - LINE * (len(words) - 1) / 2 + 4
        for number, line in enumerate(words):
            self.text(
                x + width / 2,
                first + LINE * number,
                line,
                anchor="middle",
                look="strong" if number == 0 else "small",
            )

    def part(
        self,
        kind: str,
        x: float,
        y: float,
        *label: str,
        turn: Literal[0, 90, -90] = 0,
        beside: str = "",
        flip: bool = False,
    ) -> None:
        """A symbol that begins at x, y; turn: clockwise, [degrees].

        label: above one that lies, right of one that stands; beside: "below" or "left" instead
        flip: mirrored along its own line
        """
        moved = f"translate({x:g} {y:g})" + (f" rotate({turn})" if turn else "")
        moved += " scale(1 -1)" if flip else ""
        look = ' class="white"' if kind in ("resistor", "coil", "fuse") else ""
        self._marks.append(f'<path transform="{moved}" d="{SYMBOLS[kind]}"{look}/>')
        if turn == 0:
            top = y + 26 if beside == "below" else y - 14 - LINE * (len(label) - 1)
            self.text(x + LENGTH / 2, top, *label, anchor="middle", look="small")
        else:
            middle = y + (LENGTH / 2 if turn == 90 else -LENGTH / 2)
            top = middle + 4 - LINE * (len(label) - 1) / 2
            side, anchor = (-16, "end") if beside == "left" else (16, "start")
            self.text(x + side, top, *label, anchor=anchor, look="small")

    def ground(self, x: float, y: float) -> None:
        """The Pi's ground, hung at x, y."""
        self.part("ground", x, y)

    def svg(self) -> str:
        """The whole drawing."""
        width, height = self._size
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"'
            f' width="{width}" height="{height}" role="img">'
            f"<title>{escape(self._title, quote=False)}</title>"
            f"<desc>{escape(self._description, quote=False)}</desc><style>{STYLE}</style>\n"
            f'<rect x="0.5" y="0.5" width="{width - 1}" height="{height - 1}" rx="6"'
            ' class="paper"/>\n' + "\n".join(self._marks) + "\n</svg>\n"
        )


def _if(wanted: object, name: str, value: str = "") -> str:
    return f' {name}="{value}"' if wanted else ""
