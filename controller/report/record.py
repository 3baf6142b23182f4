"""The record of a batch: one file to print, to keep and to compare with the next board."""

from collections.abc import Iterator
from dataclasses import replace
from html import escape

from controller.batch.alarms import ALARMS
from controller.batch.events import Event, EventKind
from controller.quantities import SEA_LEVEL, People, say
from controller.report.account import (
    NOT_SAID,
    SIMULATED,
    Account,
    Passage,
    read_account,
)
from controller.report.coat_pages import figures_said, sheet_said, stages_said
from controller.report.figures import Figures, figures
from controller.report.lines import (
    AlarmTold,
    alarms_of,
    carried,
    clock,
    damaged,
    day,
    on_the_scale,
    switched,
    switched_runs,
    told_late,
)
from controller.report.paper import notes, page, row_of, table
from controller.report.traces import trace_svg
from controller.store.queries import Logged, LogReader

_BANNERS = {
    True: (SIMULATED, "This batch was run on a pretended rig. No board was warmed or coated."),
    None: (NOT_SAID, "The log does not say whether this rig was real or simulated."),
}


def record_html(
    reader: LogReader,
    batch_id: str,
    units: People,
    time_zone: str,
    *,
    simulated: bool | None = None,
    air_pressure: float | None = None,
) -> str:
    """The record of one batch as one HTML file that needs nothing beside it.

    time_zone: of its clocks, an IANA name
    simulated: whether the rig was pretended; None to take it from the log, and to say so where
    that does not tell
    air_pressure: counted against where no barometer was recorded, [Pa]; None for sea level

    Raises InputError for a batch or zone that is not there, and where the log cannot be read.
    """
    units = replace(units, zone=time_zone)
    account = read_account(reader, batch_id)
    pretended = account.simulated if simulated is None else simulated
    alarms = alarms_of(account)
    coats = [(passage, figures(reader, account, passage)) for passage in account.passages]
    body = [
        _banner(pretended),
        _head(account, units),
        notes(list(_doubts(account, coats, units, air_pressure))),
    ]
    for passage, came_to in coats:
        body.append(_coat(reader, account, passage, came_to, alarms, units, air_pressure))
    body += [
        _alarms(account, alarms, units),
        _told_late(account, units),
        _weigh_ins(account, units),
        _cautions(account),
        _events(account, units),
    ]
    mark = None if pretended is False else _BANNERS[pretended][0]
    title = f"{account.sheet.name}, record"
    return page(title if mark is None else f"{mark}: {title}", "".join(body), mark)


def _banner(simulated: bool | None) -> str:
    if simulated is False:
        return ""
    word, says = _BANNERS[simulated]
    return f'<div class="banner" role="note"><strong>{word}</strong>{escape(says)}</div>'


def _head(account: Account, units: People) -> str:
    sheet, batch = account.sheet, account.batch
    first = account.utc(account.passages[0].stages[0].began) if _stages(account) else None
    began = batch.planned_utc if first is None else first
    last = max((passage.ended for passage in account.passages), default=batch.planned_at)
    pieces = "; ".join(f"{piece.name} in {piece.wood}" for piece in sheet.pieces)
    facts = (
        ("From", day(began, units.zone)),
        ("to", day(max(batch.last_utc, account.utc(last)), units.zone)),
        ("Stage", batch.stage or "none yet"),
        ("Batch", batch.id),
        ("Pieces", pieces),
        ("Clocks", units.zone),
    )
    items = "".join(f"<li><b>{escape(name)}</b>{escape(value)}</li>" for name, value in facts)
    return (
        f'<div class="shop">{escape(sheet.shop)} · record of a batch</div>'
        f'<h1>{escape(sheet.name)}</h1><ul class="facts">{items}</ul>'
    )


def _stages(account: Account) -> bool:
    return bool(account.passages and account.passages[0].stages)


def _doubts(
    account: Account,
    coats: list[tuple[Passage, Figures]],
    units: People,
    air_pressure: float | None,
) -> Iterator[str]:
    """What this record cannot tell, said before anything else is."""
    bad = damaged(account)
    if bad:
        these = ", ".join(str(number) for number in bad)
        yield (
            f"Damaged: {len(bad)} of {len(account.lines)} lines do not agree with their checksum"
            f" (number {these}). What they said is not used below."
        )
    if any(not line.clock_trusted for line in account.lines):
        yield "Times marked ~ were written while the calendar was not known to be right."
    if any(line.event and line.event.kind == EventKind.CLOCK_STEP for line in account.lines):
        yield "The calendar was set during this batch; durations do not go by it."
    for passage, came_to in coats:
        which = f"Coat {passage.coat.number}. " if len(account.sheet.coats) > 1 else ""
        if came_to.holes:
            silent = sum(end - start for start, end in came_to.holes)
            longest = "; ".join(
                f"{clock(account.utc(start), units.zone)} to {clock(account.utc(end), units.zone)}"
                for start, end in came_to.holes[:6]
            )
            more = "" if len(came_to.holes) <= 6 else f" and {len(came_to.holes) - 6} more"
            yield (
                f"{which}Nothing was sampled for {say(silent, 'duration', units)} in all"
                f" ({longest}{more}). No figure counts that time."
            )
        if passage.coat.bag is not None and came_to.deepest is not None and came_to.air is None:
            air = SEA_LEVEL if air_pressure is None else air_pressure
            where = "at sea level" if air_pressure is None else "of the shop's altitude"
            yield (
                f"{which}No barometer was read: vacuum is counted against the air {where},"
                f" {say(air, 'pressure_abs', units)}."
            )


def _coat(
    reader: LogReader,
    account: Account,
    passage: Passage,
    came_to: Figures,
    alarms: tuple[AlarmTold, ...],
    units: People,
    air_pressure: float | None,
) -> str:
    coat = passage.coat
    first = passage.stages[0].began if passage.stages else passage.ended
    here = [(told.number, told.raised_at) for told in alarms]
    here = [(number, at) for number, at in here if first <= at <= passage.ended]
    air = air_pressure if came_to.air is None else came_to.air
    drawing = trace_svg(reader, account, passage, units, air_pressure=air, alarms=here)
    drawn = f'<div class="wide">{drawing}</div>' if drawing else "<p>Nothing was sampled.</p>"
    return (
        f"<h2>Coat {coat.number}, face {escape(coat.face)}: {escape(', '.join(coat.pieces))}</h2>"
        f"{drawn}<h3>What it came to</h3>"
        f"{figures_said(account, passage, came_to, units, air_pressure)}"
        f"<h3>Stages</h3>{stages_said(account, passage, units)}"
        f"<h3>The sheet's numbers</h3>{sheet_said(passage, came_to, units, air_pressure)}"
    )


def _alarms(account: Account, alarms: tuple[AlarmTold, ...], units: People) -> str:
    if not alarms:
        return "<h2>Alarms</h2><p>None.</p>"
    zone = units.zone
    rows = []
    for told in alarms:
        row = ALARMS.get(told.name)
        heard = "not acknowledged"
        if told.heard_at is not None:
            after = say(told.heard_at - told.raised_at, "duration", units)
            heard = f"{told.heard_by}, after {after}"
        gone = "still there"
        if told.cleared_at is not None:
            after = say(told.cleared_at - told.raised_at, "duration", units)
            gone = f"{clock(account.utc(told.cleared_at), zone)}, after {after}"
        rows.append(
            (
                told.number,
                f"{day(account.utc(told.raised_at), zone)} "
                f"{clock(account.utc(told.raised_at), zone)}",
                f"{told.priority} {told.name}. {'' if row is None else row.do}".strip(),
                heard,
                gone,
                ", ".join(told.done) or "nothing told",
            )
        )
    heads = ("No.", "Raised", "What, and what it asked for", "Heard by", "Cause gone", "Done")
    return f'<h2>Alarms</h2><div class="small">{table(heads, rows)}</div>'


def _told_late(account: Account, units: People) -> str:
    rows = [
        (
            str(event.data.get("act", event.kind)),
            str(event.data.get("by", "")),
            clock(line.told_utc - (event.at - happened), units.zone),
            clock(line.told_utc, units.zone),
            say(event.at - happened, "duration", units),
        )
        for line, event, happened in told_late(account)
    ]
    if not rows:
        return ""
    heads = ("What", "Told by", "True at", "Told at", "Late by")
    return f"<h2>Told late</h2>{table(heads, rows, right=(2, 3, 4))}"


def _weigh_ins(account: Account, units: People) -> str:
    firsts: dict[str, float] = {}
    rows = []
    for weighed in account.weigh_ins:
        first = firsts.setdefault(weighed.what, weighed.mass)
        gone = first - weighed.mass
        change = "first" if gone == 0 else on_the_scale(-gone, units)
        at = f"{day(weighed.told_utc, units.zone)} {clock(weighed.told_utc, units.zone)}"
        rows.append((at, weighed.what, on_the_scale(weighed.mass, units), change))
    if not rows:
        return ""
    heads = ("When", "What", "Mass", "Against its first")
    return f"<h2>Weigh-ins</h2>{table(heads, rows, right=(2, 3))}"


def _cautions(account: Account) -> str:
    if not account.sheet.cautions:
        return ""
    items = "".join(f"<li>{escape(caution)}</li>" for caution in account.sheet.cautions)
    return f"<h2>Cautions on the sheet</h2><ul>{items}</ul>"


def _events(account: Account, units: People) -> str:
    rows, shown = [], ""
    for lines in switched_runs(account):
        first, last = lines[0], lines[-1]
        today = day(first.told_utc, units.zone)
        if today != shown:
            shown = today
            rows.append(f'<tr class="day"><td colspan="4">{escape(today)}</td></tr>')
        at = ("" if first.clock_trusted else "~") + clock(first.told_utc, units.zone)
        event = first.event
        if event is None:
            says = f"Line {first.seq} is damaged: it does not agree with its checksum."
            rows.append(row_of((at, "damaged", "", says), look="damaged"))
            continue
        whose = "the rig" if event.batch is None else event.stage or ""
        if len(lines) > 1:
            until = clock(last.told_utc, units.zone)
            says = f"{switched(first)} switched {len(lines)} times until {until}, each in the CSV."
            rows.append(row_of((at, str(event.kind), whose, says)))
        else:
            rows.append(row_of((at, str(event.kind), whose, _happened(first, event, units))))
    head = "".join(
        f'<th scope="col">{words}</th>' for words in ("Time", "Kind", "Stage", "What happened")
    )
    return (
        '<h2>Everything that happened</h2><div class="small"><table><thead><tr>'
        f"{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _happened(line: Logged, event: Event, units: People) -> str:
    text = event.text
    figures_carried = carried(event, units)
    if figures_carried:
        text = f"{text} {figures_carried[0].upper()}{figures_carried[1:]}."
    if event.happened_at is not None:
        true = clock(line.told_utc - (event.at - event.happened_at), units.zone)
        text = f"{text} True at {true}, told late."
    return text
