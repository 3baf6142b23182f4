"""The sheet of paper a record is printed on: one HTML file with everything in it."""

from collections.abc import Iterable, Sequence
from html import escape

STYLE = """
:root{--ink:#1a1a1a;--soft:#555;--rule:#bbb}
*{box-sizing:border-box}
body{margin:0 auto;padding:28px 36px 60px;max-width:960px;color:var(--ink);background:#fff;
font:15px/1.45 Charter,'Bitstream Charter','Iowan Old Style',Georgia,'DejaVu Serif',serif;
font-variant-numeric:tabular-nums lining-nums}
h1{font-size:30px;line-height:1.15;margin:2px 0 6px}
h2{font-size:21px;margin:34px 0 8px;padding-top:10px;border-top:2px solid var(--ink)}
h3{font-size:15px;margin:20px 0 4px;letter-spacing:.02em}
p{margin:4px 0 8px;max-width:70ch}
.shop{font-size:15px;color:var(--soft);letter-spacing:.04em}
.facts{display:flex;flex-wrap:wrap;gap:2px 28px;margin:0;padding:0;list-style:none}
.facts b{font-weight:400;color:var(--soft);margin-right:6px}
.banner{border:3px solid var(--ink);padding:8px 14px;margin:0 0 18px;font-size:17px}
.banner strong{letter-spacing:.18em;font-size:21px;margin-right:10px}
.each-page{display:none}
table{border-collapse:collapse;width:100%;margin:4px 0 10px}
th{font-weight:400;color:var(--soft);text-align:left;border-bottom:1px solid var(--ink);
padding:2px 14px 2px 0;vertical-align:bottom}
td{border-bottom:1px solid #ddd;padding:3px 14px 3px 0;vertical-align:top;overflow-wrap:break-word}
td.n,th.n{text-align:right;white-space:nowrap}
td.w{white-space:nowrap;overflow-wrap:normal}
tr.day td{border-bottom:1px solid var(--rule);padding-top:12px;font-weight:700}
tr.damaged td{font-style:italic;border-left:4px solid var(--ink);padding-left:8px}
.figures{columns:2;column-gap:36px;margin:10px 0 6px}
.figures div{display:flex;justify-content:space-between;align-items:baseline;gap:14px;
border-bottom:1px solid #ddd;padding:3px 0;break-inside:avoid}
.figures dt{color:var(--soft)}
.figures dd{margin:0;text-align:right;font-weight:700;white-space:nowrap}
.figures dd.none{font-weight:400;color:var(--soft);white-space:normal}
.two{display:grid;grid-template-columns:3fr 2fr;gap:0 36px}
.two td{padding-right:8px}
.notes{border-left:4px solid var(--ink);padding:2px 0 2px 14px;margin:14px 0}
.notes p{margin:3px 0}
ul{margin:4px 0 10px;padding-left:20px}
.small{font-size:13px}
.trace{display:block;width:100%;height:auto;margin:10px 0 4px}
@media (max-width:640px){body{padding:16px 14px 40px}.figures{columns:1}.two{display:block}
.wide{overflow-x:auto}.wide .trace{width:820px}
table{font-size:13px}td,th{padding-right:8px}td.w,th.n{white-space:normal}
.figures dd{max-width:60%}}
@page{size:A4;margin:12mm 13mm 13mm}
@media print{
body{padding:0;max-width:none;font-size:9.5pt;line-height:1.3}
h1{font-size:20pt}h2{font-size:14pt;margin-top:14pt}h3{font-size:10pt;margin-top:10pt}
body.marked{padding-left:10mm}
.each-page{display:flex;position:fixed;left:0;top:0;bottom:0;width:7mm;border:1.5pt solid #000;
align-items:center;justify-content:space-around;writing-mode:vertical-rl;transform:rotate(180deg);
font-weight:700;font-size:9pt;letter-spacing:.18em}
h2,h3{break-after:avoid}tr,.notes p,.trace{break-inside:avoid}
thead{display:table-header-group}
.small{font-size:8.5pt}.figures{font-size:9pt;break-inside:avoid;column-gap:8mm}
.figures div{padding:1pt 0}.notes{margin:8pt 0}.notes p{max-width:none}
.two{gap:0 8mm}.banner{font-size:11pt;margin-bottom:10pt}.banner strong{font-size:14pt}
}
"""


def page(title: str, body: str, mark: str | None, style: str = "") -> str:
    """The whole file.

    mark: a word that stands along the edge of every printed page
    style: rules of this paper alone, behind those of every paper
    """
    edge = (
        ""
        if mark is None
        else f'<div class="each-page" aria-hidden="true">{f"<span>{escape(mark)}</span>" * 3}</div>'
    )
    marked = ' class="marked"' if mark is not None else ""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}{style}</style></head>"
        f"<body{marked}>{edge}{body}</body></html>\n"
    )


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()) -> str:
    """A table of plain text; the columns numbered in `right` hold numbers. Empty without rows."""
    cells = "".join(row_of(row, right) for row in rows)
    if not cells:
        return ""
    head = "".join(
        f'<th scope="col"{_class(i, right, False)}>{escape(words)}</th>'
        for i, words in enumerate(heads)
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{cells}</tbody></table>"


def row_of(cells: Sequence[str], right: Sequence[int] = (), look: str = "") -> str:
    """One row; its first cell, a time or a name, does not break."""
    inside = "".join(
        f"<td{_class(i, right, i == 0)}>{escape(cell)}</td>" for i, cell in enumerate(cells)
    )
    return f'<tr class="{look}">{inside}</tr>' if look else f"<tr>{inside}</tr>"


def figure_list(figures: Iterable[tuple[str, str | None, str]]) -> str:
    """(what, its value with unit, what to say where there is none)."""
    return (
        '<dl class="figures">'
        + "".join(
            f"<div><dt>{escape(what)}</dt>"
            + (f"<dd>{escape(value)}</dd>" if value else f'<dd class="none">{escape(none)}</dd>')
            + "</div>"
            for what, value, none in figures
        )
        + "</dl>"
    )


def notes(lines: Sequence[str]) -> str:
    """Sentences that stand out; empty without any."""
    said = "".join(f"<p>{escape(line)}</p>" for line in lines)
    return f'<div class="notes">{said}</div>' if said else ""


def _class(i: int, right: Sequence[int], whole: bool) -> str:
    if i in right:
        return ' class="n"'
    return ' class="w"' if whole else ""
