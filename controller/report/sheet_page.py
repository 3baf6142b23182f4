"""The batch sheet on paper: one HTML file to print and hang up at the rig, or for a phone."""

from html import escape

from controller.planning.answers.line import Line, Section
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_text import by_label, heading, together, told
from controller.quantities import People, say
from controller.report.account import SIMULATED
from controller.report.paper import page

STYLE = """
.asks{color:var(--soft);font-style:italic;margin:0 0 6px}
.says{margin:0 0 10px}
.says>div{display:grid;grid-template-columns:10em minmax(0,1fr);gap:0 16px;padding:4px 0 4px 12px;
border-bottom:1px solid #ddd;border-left:4px solid transparent;break-inside:avoid}
.says dt{color:var(--soft)}
.says dd{margin:0}
.says ul{margin:0;padding-left:1.1em}
.says>.care{border-left-color:var(--ink)}
.care b{letter-spacing:.06em}
details{font-size:13px;color:var(--soft)}
summary{cursor:pointer;min-height:24px}
details ul{margin:2px 0 6px;overflow-wrap:anywhere}
@media (max-width:640px){.says>div{grid-template-columns:minmax(0,1fr)}summary{min-height:44px;
padding-top:10px}}
@media print{.says>div{padding:1.5pt 0 1.5pt 8pt}details:not([open]){display:none}
details{font-size:8pt}summary{list-style:none}h2{break-after:avoid}.asks{break-after:avoid}}
"""
CARE = "CARE"
"""The word in front of a line that warns."""


def sheet_html(
    sheet: BatchSheet,
    sections: tuple[Section, ...],
    units: People,
    *,
    simulated: bool,
    now: float | None = None,
    note: str | None = None,
) -> str:
    """The sheet as one HTML file that needs nothing beside it.

    simulated: the rig it is for is a pretended one; it is said at the top and on every page
    now: UTC epoch [s]; clocks on its day are said without their day
    note: a sentence for the top, such as whose rig it was reckoned for
    """
    mark = SIMULATED if simulated else None
    banner = ""
    if simulated:
        banner = (
            f'<div class="banner" role="note"><strong>{SIMULATED}</strong>'
            "This sheet is for a pretended rig.</div>"
        )
    pieces = "; ".join(f"{piece.name} in {piece.wood}" for piece in sheet.pieces)
    head = (
        f'<div class="shop">{escape(sheet.shop)} · batch sheet</div>'
        f"<h1>{escape(sheet.name)}</h1><p>{escape(pieces)}</p>"
    )
    said = f'<div class="notes"><p>{escape(note)}</p></div>' if note else ""
    body = "".join(_section(section, units, now) for section in sections)
    title = f"{sheet.name}, batch sheet"
    return page(
        title if mark is None else f"{mark}: {title}",
        f"{banner}{head}{said}{body}",
        mark,
        STYLE,
    )


def _section(section: Section, units: People, now: float | None) -> str:
    lines = "".join(_lines(label, under, units, now) for label, under in by_label(section.lines))
    return (
        f"<section><h2>{escape(heading(section))}</h2>"
        f'<p class="asks">{escape(section.question)}</p>'
        f'<dl class="says">{lines}</dl>{_sources(section, units, now)}</section>'
    )


def _lines(label: str, under: tuple[Line, ...], units: People, now: float | None) -> str:
    """A label and what is said under it: a sentence, or a list of them."""
    said = [
        (f"<b>{CARE}.</b> " if line.care else "") + escape(together(told(line, units, now)))
        for line in under
    ]
    inside = said[0] if len(said) == 1 else f"<ul><li>{'</li><li>'.join(said)}</li></ul>"
    look = ' class="care"' if any(line.care for line in under) else ""
    return f"<div{look}><dt>{escape(label)}</dt><dd>{inside}</dd></div>"


def _sources(section: Section, units: People, now: float | None) -> str:
    """Folded away: the figures of each line, and where they come from."""
    items = ""
    for line in section.lines:
        of_source: dict[str, list[str]] = {}
        for figure in line.figures.values():
            figures = of_source.setdefault(figure.source, [])
            figures.append(say(figure.value, figure.kind, units, now=now))
        for source, figures in of_source.items():
            named = ", ".join((line.label, *figures))
            items += f"<li>{escape(named)}: {escape(source)}</li>"
    return f"<details><summary>Sources</summary><ul>{items}</ul></details>" if items else ""
