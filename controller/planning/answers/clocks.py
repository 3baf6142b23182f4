"""When it gels, when to sleep, when to open: the evening and the night of one coat."""

from collections.abc import Iterator
from dataclasses import replace

from controller.planning.answers.after_the_hold import after_the_hold
from controller.planning.answers.calendar_moments import (
    after_lamp_on,
    clock_face,
    far_off,
    if_lit_at,
    moment,
    on_the_calendar,
)
from controller.planning.answers.case import Case
from controller.planning.answers.cured_or_cold import cured_or_cold
from controller.planning.answers.film_course import (
    AIRING,
    BAGGING,
    Evening,
    evening_of,
    film_course,
)
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.shop_night import DAY, HOUR
from controller.planning.answers.two_laws import LAWS, Span, two_laws
from controller.planning.answers.where_from import of_resin
from controller.planning.heat_course import BRUSHING

FIRST_START = 6.0
"""Hour of the day before which nobody lights a lamp, [h]; own."""
SOONER = 5 * 60.0
"""A latest start is told in whole steps of this, the earlier one, [s]; own."""
UP_LATE = 6 * HOUR
"""A start this soon after bedtime still belongs to that evening, [s]; own."""
_HALVINGS = 9
"""Of the day before bedtime, to find the latest start, [-]; own: under three minutes are left."""
_PLAN = "worked: the heat's forecast, handling_time and own times for mixing, coating and bagging"


def section(case: Case) -> Section:
    """The clocks of one coat."""
    course = film_course(case.coat, case.night, case.cup)
    ages = two_laws(course, case.coat.resin)
    gel = ages.gel
    lines = [
        _evening(case, course.evening),
        *_mixed_late(case, course.evening),
        _gel(case, gel),
        *_in_a_hurry(case, gel, course.evening),
        *_too_cold(case),
        _latest_start(case),
        _sleep(case, gel),
        *_at_night(case, gel),
        _opening(case, ages.opening),
        *cured_or_cold(case, course, ages.opening),
        *after_the_hold(case, course, ages),
    ]
    return Section(
        f"coat {case.coat.number} clocks",
        "Clocks",
        "When can I sleep, when can I open it, and when is it done?",
        tuple(lines),
    )


def _evening(case: Case, evening: Evening) -> Line:
    figures = {
        "off": moment(case, evening.lamp_off, _PLAN),
        "mixed": moment(case, evening.mixed, _PLAN),
        "stroke": moment(case, evening.stroke, _PLAN),
    }
    told = on_the_calendar(case)
    counted, at = ("", "") if told else ("Counted from lamp-on: ", "at ")
    acts = [f"lamp off {at}about {{off}}", f"start mixing A and B {at}{{mixed}}"]
    if evening.mixed < evening.lamp_off:
        acts.reverse()
    text = f"{counted}{', '.join(acts)}, first stroke {at}{{stroke}}"
    if case.coat.bag is not None:
        figures["sealed"] = moment(case, evening.sealed, _PLAN)
        figures["bagging"] = Told("duration", BAGGING, "own: rehearsed, from film to tape")
        text += f", bag shut {at}{{sealed}}"
        text += ", with {bagging} for film, breather, bag and tape"
        if evening.sealed - evening.coated > BAGGING:
            practice = "common practice, no source: 10 to 30 min for a thinned coat"
            figures["airing"] = Told("duration", AIRING, practice)
            text += " after {airing} in the open for the thinner"
    return Line("clocks.evening", "evening", f"{text[0].upper()}{text[1:]}.", figures)


def _mixed_late(case: Case, evening: Evening) -> Iterator[Line]:
    """Where mixing after lamp-off takes longer than the face stays in the window."""
    stroke = evening.stroke - evening.lamp_off
    if case.coat.mix.carried <= 0 or stroke + BRUSHING <= case.coat.heat.shuts:
        return
    yield Line(
        "clocks.mixed_late",
        "mind",
        "This resin comes in solvent: it is mixed after lamp-off, and the first stroke comes "
        "{stroke} after it, when the face is out of the window. Write that as heat.handling_time "
        "and plan again.",
        {"stroke": Told("duration", stroke, _PLAN)},
        care=True,
    )


def _gel(case: Case, gel: Span) -> Line:
    guess = case.coat.resin.gel_is_guess
    watch = " A thin witness film beside the board tells."
    if guess:
        watch = " Both are a guess from the pot life: watch a thin witness film."
    source, after = f"{LAWS}; {of_resin(case, 'gel_early')}", after_lamp_on(case)
    if gel.early is None:
        text = (
            "Do not count on gel: this shop stays under {coldest}, the coldest this resin is for. "
            "Warm the shop or wait for a warmer day."
        )
        coldest = Told("temperature", case.coat.resin.coldest, of_resin(case, "coldest"))
        return Line("clocks.gel", "gel", text, {"coldest": coldest}, care=True)
    figures = {"early": moment(case, gel.early, source)}
    if gel.late is None:
        text = f"It gels from {{early}}{after} at the earliest, perhaps never: too cold."
        return Line("clocks.gel", "gel", text + watch, figures, care=True)
    figures["late"] = moment(case, gel.late, source)
    text = f"The film gels from {{early}} to {{late}}{after}; the cup goes off long before."
    return Line("clocks.gel", "gel", text + watch, figures, care=guess)


def _in_a_hurry(case: Case, gel: Span, evening: Evening) -> Iterator[Line]:
    """Where the film may gel before the bag pulls on it, or before it is spread."""
    bagged = case.coat.bag is not None
    ready = evening.sealed if bagged else evening.coated
    if gel.early is None or gel.early >= ready:
        return
    what = "the bag is shut" if bagged else "it is scraped off"
    yield Line(
        "clocks.hurry",
        "too fast",
        f"It may gel from {{early}}{after_lamp_on(case)}, before {what}, {{ready}}: take a slower "
        "hardener, fewer boards, or leave the bag off.",
        {
            "early": moment(case, gel.early, LAWS),
            "ready": moment(case, ready, _PLAN),
        },
        care=True,
    )


def _too_cold(case: Case) -> Iterator[Line]:
    """Where the night goes under the coldest the resin sets at."""
    low, coldest = case.night.low, case.coat.resin.coldest
    if low >= coldest:
        return
    yield Line(
        "clocks.stall",
        "too cold",
        "The shop falls to {low}, and under {coldest} nothing counts here: it may set on slowly or "
        "stop. Warm the whole shop, never the board with the lamp.",
        {
            "low": Told("temperature", low, "told: shop.night_low, or the room"),
            "coldest": Told("temperature", coldest, of_resin(case, "coldest")),
        },
        care=True,
    )


def _latest_start(case: Case) -> Line:
    """When the lamp must be lit at the latest for gel before bedtime."""
    bedtime = case.description.times.bedtime
    bed_hour = bedtime.hour + bedtime.minute / 60
    told = clock_face(bed_hour)
    before = latest_start(case)
    if before is None:
        text = (
            f"Even lit at {FIRST_START:02.0f}:00 it has not gelled by {told} in this shop: warm "
            "the shop, take a faster hardener, or let it set while you sleep, with the alarm on."
        )
        return Line("clocks.latest", "latest start", text, {}, care=True)
    source = f"{LAWS}; told: times.bedtime"
    figures = {"before": Told("duration", before, source)}
    by = clock_face(bed_hour - before / HOUR)
    late = False
    if on_the_calendar(case):
        starts = until_bedtime(case) - before
        late = starts < 0
        figures["start"], by = moment(case, starts, source), "{start}"
    text = f"For gel before {told}, light the lamp by {by}, {{before}} before that"
    if on_the_calendar(case):
        text += ". The start you told is too late for that" if late else ": your start is in time"
    return Line("clocks.latest", "latest start", f"{text}.", figures, late)


def until_bedtime(case: Case) -> float:
    """From lamp-on to bedtime, [s]; below 0 where the lamp is lit soon after it."""
    bedtime = case.description.times.bedtime
    hour = bedtime.hour + bedtime.minute / 60
    left = (hour - case.night.starts_at) % 24 * HOUR
    return left if left < DAY - UP_LATE else left - DAY


def latest_start(case: Case) -> float | None:
    """How long before bedtime the lamp must be lit at the latest, [s]; None: the day is too short.

    By halving: from FIRST_START on a later start never gels earlier. The room is as told whenever
    it is begun.
    """
    coat = case.coat
    bedtime = case.description.times.bedtime
    bed_hour = bedtime.hour + bedtime.minute / 60

    def gelled(before: float) -> bool:
        starts_at = (bed_hour - before / HOUR) % 24
        night = replace(case.night, starts_at=starts_at)
        # the film only has until bedtime
        until = max(before - evening_of(coat).mixed, 0.0) + SOONER
        late = two_laws(film_course(coat, night, case.cup), coat.resin, until).gel.late
        return late is not None and late <= before

    short, long = 0.0, ((bed_hour - FIRST_START) % 24 or 24.0) * HOUR
    if not gelled(long):
        return None
    for _ in range(_HALVINGS):
        middle = (short + long) / 2
        if gelled(middle):
            long = middle
        else:
            short = middle
    return -(-long // SOONER) * SOONER


def _sleep(case: Case, gel: Span) -> Line:
    source = f"{LAWS}; told: times.bedtime"
    bagged = case.coat.bag is not None
    wet = "a lost vacuum" if bagged else "dust, drips or a moved board"
    if gel.late is None or gel.early is None:
        text = f"Not by gel in this shop: {wet} could spoil it all night."
        return Line("clocks.sleep", "sleep", text, {}, care=True)
    bed, lit, after = until_bedtime(case), if_lit_at(case), after_lamp_on(case)
    figures = {"late": moment(case, gel.late, source)}
    if gel.late <= bed:
        text = (
            f"{lit}It has gelled by {{late}}{after}, before bedtime: sleep. {wet.capitalize()} can "
            "no longer spoil it."
        )
        return Line("clocks.sleep", "sleep", text, figures)
    begin = "It is still liquid at bedtime" if gel.early > bed else "It may be liquid at bedtime"
    watch = "Go to bed with the alarm beside you" if bagged else "Cover it without touching it"
    text = f"{lit}{begin}, and until {{late}}{after}. {watch}, or start earlier."
    return Line("clocks.sleep", "sleep", text, figures, care=True)


def _at_night(case: Case, gel: Span) -> Iterator[Line]:
    """What to do about a fault, by when it comes."""
    if case.coat.bag is None or gel.early is None:
        return
    figures = {"early": moment(case, gel.early, LAWS)}
    if gel.late is None:
        text = "If the vacuum goes at night before gel: get up, shut the leak, pull again slowly."
        yield Line("clocks.wrong", "if it goes wrong", text, {})
        return
    figures["late"] = moment(case, gel.late, LAWS)
    text = (
        f"If the vacuum goes before {{early}}{after_lamp_on(case)}: get up, find the leak, pull "
        "again slowly. Between that and {late}: hold what there is, do not pull hard through a "
        "stiff coat. After: leave it until morning."
    )
    yield Line("clocks.wrong", "if it goes wrong", text, figures)


def _opening(case: Case, opening: Span) -> Line:
    after = after_lamp_on(case)
    what = "Open the bag" if case.coat.bag is not None else "Handle it"
    if opening.early is None:
        text = "It does not come to be opened in this shop: warm it first."
        return Line("clocks.open", "open", text, {}, care=True)
    source = f"{LAWS}; {of_resin(case, 'open_early')}"
    first, figures = far_off(case, "early", opening.early, source)
    if opening.late is None:
        text = f"{what} from {first}{after} at the earliest, perhaps never: too cold."
        return Line("clocks.open", "open", text, figures, care=True)
    last, more = far_off(case, "late", opening.late, source)
    text = (
        f"{what} between {first} and {last}{after}, when a thumbnail leaves no dent in the "
        "witness film at room warmth. The cup ran hotter: it does not count."
    )
    return Line("clocks.open", "open", text, figures | more)


__all__ = ["latest_start", "moment", "section", "until_bedtime"]
