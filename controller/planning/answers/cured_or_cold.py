"""In the morning: is it cured, or hard only because it is cold?"""

from collections.abc import Iterator

from controller.planning.answers.calendar_moments import (
    after_lamp_on,
    clock_face,
    far_off,
    if_lit_at,
    on_the_calendar,
)
from controller.planning.answers.case import Case
from controller.planning.answers.film_course import FilmCourse
from controller.planning.answers.line import Line, Told
from controller.planning.answers.shop_night import DAY, HOUR
from controller.planning.answers.two_laws import Span
from controller.planning.cure_model import cure_model
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import glass_temperature
from controller.science.kinetics import (
    CureState,
    Kinetics,
    advanced,
    speed_at,
    state_of,
)

MORNING = 7.0
"""Hour at which people look, [h]; own."""
WARM_TO = ZERO_CELSIUS + 25.0
"""What a film that is only cold is warmed to, [K]; common practice, no source."""
WARM_FOR = 24 * HOUR
"""And how long, [s]; common practice, no source."""
_MODEL = (
    "own: cure with a glass stop (controller/science/kinetics.py), an ordinary shape sped to this "
    "resin's gel and ended by its glass, not measured on this resin; thinner left out"
)


def cured_or_cold(case: Case, course: FilmCourse, opening: Span) -> Iterator[Line]:
    """What the film is in the first morning, and at the late end of its opening."""
    hours = (MORNING - case.night.starts_at) % 24
    morning = hours * HOUR
    # a coat that is begun late at night has not set by seven: the next morning is meant
    if morning < course.evening.sealed:
        morning += DAY
    moments = {"clocks.morning": ("in the morning", morning)}
    if opening.late is not None:
        moments["clocks.at_open"] = ("opened late", opening.late)
    kinetics = cure_model(case.coat.resin)
    for key, (label, at) in moments.items():
        yield _state(case, course, kinetics, key, label, at)


def conversion_by(course: FilmCourse, kinetics: Kinetics, until: float) -> float:
    """Share of the bonds made this long after lamp-on, [-].

    until: [s]; at freezing point no resin cures, and the model is asked no colder
    """
    conversion = 0.0
    for _, seconds, temperature in course.steps(until - course.evening.mixed):
        if temperature > ZERO_CELSIUS:
            conversion = advanced(speed_at(kinetics, temperature), conversion, seconds)
    return conversion


def _state(
    case: Case, course: FilmCourse, kinetics: Kinetics, key: str, label: str, at: float
) -> Line:
    conversion, shop = conversion_by(course, kinetics, at), course.temperature(at)
    state = state_of(kinetics, conversion, shop)
    glass = glass_temperature(conversion, kinetics.uncured, kinetics.cured, kinetics.curvature)
    morning = key == "clocks.morning"
    when, figures = far_off(case, "at", at, "own: 07:00" if morning else _MODEL)
    when += after_lamp_on(case)
    if morning and not on_the_calendar(case):
        when, figures = clock_face(MORNING), {}
    figures |= {
        "shop": Told("temperature", shop, "own: the shop's course from told shop.room, night_low"),
        "conversion": Told("percent", conversion, _MODEL),
        "glass": Told("temperature", glass, _MODEL),
    }
    begin = f"{if_lit_at(case)}At {when}, with the shop at {{shop}}, "
    ends = "{conversion} of it has reacted, and it softens above about {glass}."
    if state is CureState.CURED:
        return Line(key, label, f"{begin}it is hard because it has set: {ends}", figures)
    if state is CureState.LIQUID:
        text = f"{begin}it is still liquid, {{conversion}} reacted: leave everything as it is."
        del figures["glass"]
        return Line(key, label, text, figures, care=True)
    after = advanced(speed_at(kinetics, WARM_TO), conversion, WARM_FOR)
    then = glass_temperature(after, kinetics.uncured, kinetics.cured, kinetics.curvature)
    figures |= {
        "warm": Told("temperature", WARM_TO, "common practice, no source"),
        "hours": Told("duration", WARM_FOR, "common practice, no source"),
        "then": Told("temperature", then, _MODEL),
    }
    says = {
        CureState.GELLED: "it has gelled and is still soft: leave it shut.",
        CureState.GLASSY: "it may be hard to the nail because it is cold, and is not cured.",
        CureState.GLASSY_BEFORE_GEL: "it may be hard because it is cold, and flow when warmed.",
    }[state]
    text = (
        f"{begin}{says} {ends} Warm it slowly to {{warm}} for {{hours}}: then it softens only "
        "above about {then}."
    )
    return Line(key, label, text, figures, care=True)
