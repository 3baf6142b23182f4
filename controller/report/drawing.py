"""Lines, words and shading on an SVG sheet: what a trace is drawn with."""

from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise

SIZE = 12.5
"""Height of the letters, in units of a sheet 880 wide: 2.5 mm on A4. Own."""
HEAD, MARGIN = 34.0, 12.0
"""Over and around a sheet that is a picture by itself. Own."""
LETTER = 0.55
"""Width of a letter over its height, on the wide side for most faces. Own."""

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

STYLE = f"""
text{{font:{SIZE}px 'Helvetica Neue',Helvetica,Arial,'Liberation Sans','DejaVu Sans',sans-serif;
fill:#1a1a1a;font-variant-numeric:tabular-nums}}
.t-halo{{paint-order:stroke;stroke:#fff;stroke-width:3.5px;stroke-linejoin:round}}
.t-stage{{font-size:11px}}
.t-strong{{font-weight:700}}.t-loud{{font-size:16px;letter-spacing:.15em}}.t-soft{{fill:#555}}
path,line,rect{{fill:none;stroke:#1a1a1a;stroke-width:1}}
.t-grid{{stroke:#ddd}}.t-frame{{stroke:#777}}.t-edge{{stroke:#777;stroke-width:.7}}
.t-mark{{stroke:#1a1a1a;stroke-width:1;stroke-dasharray:1.5 2.5}}
.t-alarm{{stroke:#1a1a1a;stroke-width:1.6}}
.t-face{{stroke:#a3261a;stroke-width:1.9;stroke-linejoin:round}}
.t-mean{{stroke:#6b3d00;stroke-width:1.7;stroke-dasharray:9 4}}
.t-film{{stroke:#1b4f72;stroke-width:1.6;stroke-dasharray:9 3 2 3}}
.t-room{{stroke:#333;stroke-width:1.5;stroke-dasharray:1.5 3}}
.t-bag{{stroke:#123a63;stroke-width:1.6;stroke-linejoin:round}}
.t-target{{stroke:#1a1a1a;stroke-width:1.1;stroke-dasharray:7 4}}
.t-possible{{stroke:#1a1a1a;stroke-width:1.1;stroke-dasharray:1.5 3}}
.t-solid{{fill:#1a1a1a;stroke:none}}.t-tint{{fill:#e9e9e9;stroke:none}}
.t-empty{{fill:#fff;stroke:none}}.t-plain{{fill:#fff;stroke:#777}}.t-second{{fill:#f0f0f0;stroke:#777}}
"""
"""Every line has its own dashes and its own words: colour only helps."""


class Sheet:
    """One SVG being drawn, top to bottom in the order of the calls."""

    def __init__(self, width: float, height: float, name: str, title: str, says: str) -> None:
        """name: makes this sheet's inner names its own       title, says: for those who listen"""
        self.width, self.height = width, height
        self.name = name
        self._head = f"<title>{escape(title)}</title><desc>{escape(says)}</desc>"
        self._parts: list[str] = []

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: str = "start",
        look: str = "",
        turn: int = 0,
    ) -> None:
        """Words with their foot at (x, y); anchor: start, middle or end; turn: degrees."""
        turned = f' transform="rotate({turn} {x:.1f} {y:.1f})"' if turn else ""
        self._parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="{look}"{turned}>'
            f"{escape(words)}</text>"
        )

    def line(self, x1: float, y1: float, x2: float, y2: float, look: str) -> None:
        """A straight line."""
        self._parts.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" class="{look}"/>'
        )

    def rect(self, box: Box, look: str, title: str = "") -> None:
        """A rectangle; one without width or height is left out."""
        left, top, right, bottom = box
        if right > left and bottom > top:
            inside = f"<title>{escape(title)}</title>" if title else ""
            self._parts.append(
                f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}"'
                f' height="{bottom - top:.1f}" class="{look}">{inside}</rect>'
            )

    def shade(self, box: Box, pattern: str) -> None:
        """A rectangle filled with 'hatch', 'dots' or 'cross' instead of a colour."""
        left, top, right, bottom = box
        if right > left and bottom > top:
            self._parts.append(
                f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}"'
                f' height="{bottom - top:.1f}"'
                f' style="fill:url(#{self.name}-{pattern});stroke:none"/>'
            )

    def curve(self, pieces: Iterable[Sequence[Point]], look: str) -> None:
        """A line in pieces: what lies between two of them is not drawn."""
        drawn = " ".join(
            "M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in piece) for piece in pieces if piece
        )
        if drawn:
            self._parts.append(f'<path d="{drawn}" class="{look}"/>')

    def svg(self) -> str:
        """The whole sheet, to stand in a page that has its own paper."""
        return self._svg(f"0 0 {self.width:.0f} {self.height:.0f}", "")

    def picture(self, mark: str, heading: str) -> str:
        """The whole sheet on white paper of its own, with a line of words over it.

        mark: stands before the heading in capitals; empty for none
        """
        width, height = self.width + 2 * MARGIN, self.height + HEAD + MARGIN
        box = f'x="{-MARGIN:.0f}" y="{-HEAD:.0f}" width="{width:.0f}" height="{height:.0f}"'
        marked = f'<tspan class="t-loud">{escape(mark)}</tspan>' if mark else ""
        after = 10 if mark else 0
        paper = (
            f'<rect {box} class="t-empty"/><text x="4" y="{8 - HEAD / 2:.1f}" class="t-strong">'
            f'{marked}<tspan dx="{after}">{escape(heading)}</tspan></text>'
        )
        return self._svg(f"{-MARGIN:.0f} {-HEAD:.0f} {width:.0f} {height:.0f}", paper)

    def _svg(self, view: str, paper: str) -> str:
        name = self.name
        patterns = (
            f'<pattern id="{name}-hatch" width="7" height="7" patternUnits="userSpaceOnUse">'
            '<path d="M-1 8 L8 -1" style="stroke:#b5b5b5;stroke-width:1"/></pattern>'
            f'<pattern id="{name}-dots" width="7" height="7" patternUnits="userSpaceOnUse">'
            '<rect x="2" y="2" width="1.6" height="1.6" style="fill:#8a8a8a;stroke:none"/>'
            "</pattern>"
            f'<pattern id="{name}-cross" width="6" height="6" patternUnits="userSpaceOnUse">'
            '<path d="M-1 7 L7 -1 M-1 -1 L7 7" style="stroke:#cfcfcf;stroke-width:.8"/>'
            "</pattern>"
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" class="trace">'
            f"{self._head}<style>{STYLE}</style><defs>{patterns}</defs>{paper}"
            f"{''.join(self._parts)}</svg>"
        )


def width_of(words: str) -> float:
    """About how wide the words come out."""
    return LETTER * SIZE * len(words)


class Labels:
    """Finds room for words beside the lines they belong to, on top of as little as can be."""

    def __init__(self, bounds: Box) -> None:
        """bounds: nothing is put outside"""
        self._bounds = bounds
        self._taken: list[Box] = []
        self._points: list[Point] = []

    def avoid(self, pieces: Iterable[Sequence[Point]]) -> None:
        """Keep off this line where there is a choice."""
        for piece in pieces:
            for (x1, y1), (x2, y2) in pairwise(piece):
                steps = max(1, int(max(abs(x2 - x1), abs(y2 - y1)) / 4))
                self._points += [
                    (x1 + (x2 - x1) * i / steps, y1 + (y2 - y1) * i / steps) for i in range(steps)
                ]

    def take(self, box: Box) -> None:
        """Nothing else goes here."""
        self._taken.append(box)

    def place(self, words: str, wanted: Iterable[Point]) -> Point | None:
        """Foot of the first of the wanted places with least in the way; None without a place."""
        best: tuple[float, Point, Box] | None = None
        for x, y in wanted:
            box = (x - 1, y - 0.8 * SIZE, x + width_of(words), y + 0.25 * SIZE)
            if not (
                self._bounds[0] <= box[0]
                and self._bounds[1] <= box[1]
                and box[2] <= self._bounds[2]
                and box[3] <= self._bounds[3]
            ):
                continue
            cost = 1000.0 * sum(_overlap(box, other) for other in self._taken) + sum(
                box[0] < px < box[2] and box[1] < py < box[3] for px, py in self._points
            )
            if best is None or cost < best[0]:
                best = cost, (x, y), box
        if best is None:
            return None
        self._taken.append(best[2])
        return best[1]


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
