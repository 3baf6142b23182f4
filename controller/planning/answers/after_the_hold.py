"""After the bag: solvent out, next coat, sanding, oil, and the board back in the kitchen."""

from collections.abc import Iterator

from controller.planning.answers.calendar_moments import after_lamp_on, far_off, moment
from controller.planning.answers.case import Case
from controller.planning.answers.film_course import FilmCourse, progress
from controller.planning.answers.line import Line, Told
from controller.planning.answers.shop_night import DAY
from controller.planning.answers.two_laws import LAWS, Span, TwoLaws
from controller.planning.answers.where_from import of_thinner
from controller.science.cure import arrhenius_factor

UNTOUCHED = (DAY, 3 * DAY)
"""How long after coating a neat coat may be coated again with no sanding: by one boat shop, and
by the makers of low-blush resins, [s]; common practice, no source."""
HALF_CURED = 7 * DAY
"""Dust of a younger film sensitises, [s]; common practice, no source: one builder's guide."""
_FLASH = "common practice, no source: overnight, days where much of it is solvent; parted: own"
_FULL = f"common practice, no source: 7 days at 20 to 25 C, twice that at 15 C; {LAWS}"


def after_the_hold(case: Case, course: FilmCourse, ages: TwoLaws) -> Iterator[Line]:
    """What comes next after a coat, in order."""
    flash = flash_off(case, course, ages.opening)
    if flash is not None:
        yield _flash(case, flash)
    yield _recoat(case, course, ages, flash)
    yield _sanding(case, ages, flash)
    yield from _done(case, ages.full_cure, flash)


def flash_off(case: Case, course: FilmCourse, opening: Span) -> Span | None:
    """When the thinner has left, after lamp-on; None for a coat without any.

    Counted from the film's coming off, or from the coating where there is no bag.
    """
    row = case.coat.flash_off
    if row.late <= 0:
        return None

    def rate(temperature: float) -> float:
        return arrhenius_factor(temperature, row.reference, row.activation_energy)

    gone = progress(course.steps(), rate)
    bagged = case.coat.bag is not None
    early_from = opening.early if bagged else course.evening.coated
    late_from = opening.late if bagged else course.evening.coated
    return Span(
        None if early_from is None else gone.reached(row.early, since=early_from),
        None if late_from is None else gone.reached(row.late, since=late_from),
    )


def _flash(case: Case, flash: Span) -> Line:
    source = f"{_FLASH}; by the shop's warmth: own; {of_thinner(case)}"
    since = "the film is off" if case.coat.bag is not None else "it is coated"
    row = case.coat.flash_off
    figures = {
        "least": Told("duration", row.early, _FLASH),
        "most": Told("duration", row.late, _FLASH),
        "at": Told("temperature", row.reference, "own"),
    }
    text = f"The solvent wants {{least}} to {{most}} at {{at}} after {since}"
    if flash.early is not None and flash.late is not None:
        first, early = far_off(case, "early", flash.early, source)
        last, late = far_off(case, "late", flash.late, source)
        figures |= early | late
        text += f": out from {first} to {last}{after_lamp_on(case)}"
    text += (
        ". Weigh it beside an uncoated offcut and wait until the loss is the same; smell it warm. "
        "Only watched, airy hours count."
    )
    return Line("clocks.flash_off", "solvent out", text, figures)


def _recoat(case: Case, course: FilmCourse, ages: TwoLaws, flash: Span | None) -> Line:
    """The chemical window of a neat open coat; behind a bag or a solvent there is none to use."""
    after, gel = after_lamp_on(case), ages.gel
    if flash is None and case.coat.bag is None and gel.early is not None:
        practice = "common practice, no source: while it is tacky"
        figures = {
            "early": moment(case, gel.early, f"{practice}; {LAWS}"),
            "late": moment(case, course.evening.stroke + UNTOUCHED[0], practice),
            "last": moment(case, course.evening.stroke + UNTOUCHED[1], practice),
        }
        text = (
            "Coat it again with no washing or sanding while it is tacky: from {early} to {late}"
            f"{after}, or {{last}} at the most with a low-blush resin. After that wash with water, "
            "dry, and sand until dull."
        )
        return Line("clocks.recoat", "next coat", text, figures)
    first = flash or ages.opening
    why = "the solvent has to leave first" if flash else "a bag keeps it past being tacky"
    text = f"Not without sanding: {why}. Wash with water, dry, sand until dull"
    if first.early is None or first.late is None:
        return Line("clocks.recoat", "next coat", f"{text}.", {})
    soonest, early = far_off(case, "early", first.early, f"{LAWS}; {_FLASH}")
    surely, late = far_off(case, "late", first.late, f"{LAWS}; {_FLASH}")
    text += f", and coat from {soonest}{after}, or from {surely} to be sure."
    return Line("clocks.recoat", "next coat", text, early | late)


def _sanding(case: Case, ages: TwoLaws, flash: Span | None) -> Line:
    """Hard, and with the solvent gone where there was any: a soft film clogs the paper."""
    figures = {"young": Told("duration", HALF_CURED, "common practice, no source")}
    text = "Dust of a film younger than {young} counts as half cured: mask, gloves, and wet paper"
    ready, out = ages.opening.late, 0.0 if flash is None else flash.early
    if ready is not None and out is not None:
        last, more = far_off(case, "late", max(ready, out), LAWS)
        figures |= more
        text = f"Sand it from {last}{after_lamp_on(case)}, when it is hard. {text}"
    return Line("clocks.sand", "sand", f"{text}.", figures)


def _done(case: Case, cured: Span, flash: Span | None) -> Iterator[Line]:
    """Oil and food: the same wait, and what to ask for in writing."""
    ask = "Ask the resin's maker for the written statement on food; it speaks of the cured film"
    ask += ", and thinner of your own may void it." if case.coat.mix.thinner > 0 else "."
    if cured.early is None or cured.late is None:
        text = f"In this shop it never cures through: warm it for a week first. {ask}"
        yield Line("clocks.food", "food", text, {}, care=True)
        return
    # the solvent's leaving counts as well as the cure
    out = (None, None) if flash is None else (flash.early, flash.late)
    soonest, early = far_off(case, "early", max(cured.early, out[0] or 0.0), _FULL)
    surely, late = far_off(case, "late", max(cured.late, out[1] or 0.0), _FULL)
    figures = early | late
    last = "" if case.coat is case.sheet.coats[-1] else ", if no coat follows"
    when = f"not before {soonest}{after_lamp_on(case)}, and {surely} to be sure{last}"
    oil = (
        f"Oil that dries, {when}. Oil or wax that does not dry can go on as soon as it is hard and "
        "the smell is gone."
    )
    yield Line("clocks.oil", "oil", oil, figures)
    yield Line("clocks.food", "food", f"Food, {when}. {ask}", figures)
