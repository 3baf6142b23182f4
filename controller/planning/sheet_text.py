"""The batch sheet as lines for a terminal, in a person's own units."""

import re
from collections.abc import Iterable, Iterator
from itertools import groupby
from textwrap import wrap

from controller.planning.answers.line import Line, Section
from controller.planning.sheet import BatchSheet
from controller.quantities import Figure, People, fill

WIDTH = 100
"""Longest line, in characters; own."""
LABEL = 18
"""Width of the column with the labels, in characters; own."""
CARE, PLAIN = "! ", "  "
"""What a line begins with."""
ITEM = "- "
"""What stands before each of several lines under one label."""


def sheet_lines(
    sheet: BatchSheet,
    sections: tuple[Section, ...],
    units: People,
    now: float | None = None,
    *,
    numbered: bool = False,
) -> list[str]:
    """The sheet, a line each; what needs care begins with "! ".

    now: UTC epoch [s]; clocks on its day are said without their day
    numbered: each figure carries the number of its source, and the sources stand at the end
    """
    title = f"{sheet.name} - {sheet.shop}"
    lines = [*wrap(title, WIDTH), "=" * min(len(title), WIDTH)]
    sources: dict[str, int] = {}
    for section in sections:
        above = heading(section)
        lines += ["", *_wrapped(above, ""), "-" * min(len(above), WIDTH)]
        lines += _wrapped(section.question, PLAIN)
        for label, under in by_label(section.lines):
            for number, line in enumerate(under):
                text = _told(line, units, now, sources if numbered else None)
                lines += _hanging(
                    label if number == 0 else "",
                    text,
                    CARE if line.care else PLAIN,
                    LABEL,
                    ITEM if len(under) > 1 else "",
                )
    if sources:
        lines += ["", "Sources", "-------"]
        for source, number in sources.items():
            lines += _hanging(f"s{number}", source, PLAIN, 6)
    return lines


def heading(section: Section) -> str:
    """The section's title, with its coat in front where it is a coat's."""
    coat = re.match(r"coat [0-9]+(?= )", section.key)
    title = section.title
    if coat is None or title.lower().startswith(coat[0]):
        return title
    return f"{coat[0].capitalize()}: {title[0].lower()}{title[1:]}"


def by_label(lines: Iterable[Line]) -> Iterator[tuple[str, tuple[Line, ...]]]:
    """Each label with its lines: those that follow one another under the same one are a list."""
    for label, under in groupby(lines, key=lambda line: line.label):
        yield label, tuple(under)


def told(
    line: Line, units: People, now: float | None = None, marks: dict[str, str] | None = None
) -> str:
    """The line's sentence with its figures in the person's units.

    marks: what is written behind a figure, by its gap's name; nothing by default
    """
    text = line.text
    if marks:
        text = re.sub(
            r"\{([a-z][a-z0-9_]*)\}", lambda gap: gap[0] + marks.get(gap[1], ""), line.text
        )
    figures: dict[str, Figure] = {
        name: {"kind": figure.kind, "value": figure.value} for name, figure in line.figures.items()
    }
    return fill(text, figures, units, now=now)


def together(text: str) -> str:
    """The text with each number kept on one line with its unit: "45 C" does not break after 45."""
    return re.sub(r"(?<=\d) (?=[°%a-zA-Z\[])", "\N{NO-BREAK SPACE}", text)


def _told(line: Line, units: People, now: float | None, sources: dict[str, int] | None) -> str:
    marks = {}
    if sources is not None:
        for name, figure in line.figures.items():
            marks[name] = f" [s{sources.setdefault(figure.source, len(sources) + 1)}]"
    return told(line, units, now, marks)


def _hanging(label: str, text: str, mark: str, column: int, item: str = "") -> Iterator[str]:
    """The label, and the text beside it; a label too long for its column has a line of its own."""
    if len(label) >= column:
        yield f"{mark}{label}".rstrip()
        mark, label = PLAIN, ""
    for i, line in enumerate(_broken(together(text), WIDTH - len(mark) - column - len(item))):
        beside = f"{label:<{column}}{item}" if i == 0 else " " * (column + len(item))
        yield f"{mark if i == 0 else PLAIN}{beside}{line}".rstrip()


def _broken(text: str, width: int) -> list[str]:
    # wrap() counts the no-break space as a letter and never breaks at it
    lines = wrap(text, width, break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _wrapped(text: str, mark: str) -> list[str]:
    return [mark + line for line in wrap(text, WIDTH - len(mark))]
