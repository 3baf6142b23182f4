"""What this lamp can do to this board: said before anything is lit."""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.lamp_reach import lamp_lines
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.warm_board import WarmBoard, heat_task, turn_of, warm_board
from controller.planning.heat_course import BRUSHING
from controller.science.constants import ZERO_CELSIUS

BACK_HALF_WAY = 0.379
"""Fourier number at which the insulated back of a board with a held face has half its rise, [-]:
4 / pi exp(-pi^2 Fo / 4) = 1/2, the first term of the slab's series; own arithmetic, and the terms
left out are under 1 %."""
RULE = 24e-6
"""Divides a thickness squared [m2] into the trade's seconds to half the back's rise, [m2/min];
common practice, no source: minutes are millimetres squared over 24."""
TRADE_WINDOW = (ZERO_CELSIUS + 90 / 1.8 - 32 / 1.8, ZERO_CELSIUS + 100 / 1.8 - 32 / 1.8)
"""Coat window of the trade, 90 to 100 F, [K]; common practice, no source."""
TRADE_PREHEAT = (ZERO_CELSIUS + 40, ZERO_CELSIUS + 50)
"""Preheat of the trade, [K]; common practice, no source."""
APART = 0.6
"""Temperatures that differ by less are called the same, [K]; own: the trade rounds to a degree."""
_PLAN = "own: heat through the slab of the thickest piece, controller/science/slab.py, with the "
_PLANNED = _PLAN + "rig's lamp.absorbed"


def section(case: Case) -> Section:
    """How hot it gets, how long it takes, whether it is hot through, and when it is coated."""
    return Section(
        f"coat {case.coat.number} warmth",
        f"Coat {case.coat.number}: warming the board",
        "How hot will it get, how long does it take, and is it hot through?",
        tuple(_lines(case)),
    )


def _lines(case: Case) -> Iterator[Line]:
    heat, board = case.coat.heat, warm_board(case)
    yield from lamp_lines(case)
    if heat.advice is not None:
        yield Line("warmth.advice", "change", heat.advice, care=True)
    yield _band(case)
    yield from _soak(case, board)
    yield _rule(case)
    yield from _turn(case)
    yield from _window(case)
    yield Line(
        "warmth.trip",
        "trip",
        "At {trip} the lamp is cut and stays off. Stay with it: nobody leaves a lamp that is lit.",
        {"trip": Told("temperature", heat.trip, "own: 10 °C over the band, at most 60 °C")},
    )


def _band(case: Case) -> Line:
    heat = case.coat.heat
    figures = {
        "low": Told("temperature", heat.band_low, _PLANNED),
        "high": Told("temperature", heat.band_high, _PLANNED),
        "foot": _foot(case),
        "needed": Told(
            "duration", heat.handling + BRUSHING, "own: handling time and a minute to brush"
        ),
    }
    why = (
        "the coolest band that leaves the face above {foot} until the coat is on, {needed} after "
        "lamp-off."
        if heat.advice is None or (heat.reachable and heat.shuts >= heat.handling + BRUSHING)
        else "the best there is for this lamp and board; it should leave the face above {foot} "
        "until the coat is on, {needed} after lamp-off."
    )
    text = "Hold the face between {low} and {high}: " + why
    low, high = TRADE_PREHEAT
    if heat.band_low < low - APART or heat.band_high > high + APART:
        figures["trade_low"] = Told("temperature", low, "common practice, no source")
        figures["trade_high"] = Told("temperature", high, "common practice, no source")
        text += (
            " The trade preheats to {trade_low} to {trade_high}; we go no hotter than the coat "
            "needs."
        )
    return Line("warmth.band", "preheat band", text, figures)


def _soak(case: Case, board: WarmBoard) -> Iterator[Line]:
    heat = case.coat.heat

    def told(kind: str, value: float) -> Told:
        return Told(kind, value, _PLANNED)

    early = {
        "mean": told("temperature", board.in_band.mean),
        "back": told("temperature", board.in_band.back),
        "face": told("temperature", board.in_band.face),
        "minutes": told("duration", heat.preheat),
    }
    if not heat.reachable:
        yield Line(
            "warmth.to_band",
            "to the band",
            "Not reached: after {minutes}, the longest that is planned, the face is at {face}, the "
            "mean at {mean}, the back at {back}.",
            early,
            care=True,
        )
        return
    yield Line(
        "warmth.to_band",
        "to the band",
        "The face gets there in about {minutes}. It tells nothing of the inside: the mean "
        "is then {mean} and the back {back}.",
        {name: early[name] for name in ("minutes", "mean", "back")},
    )
    yield Line(
        "warmth.soak",
        "soak",
        "Keep it there for {soak} more: the mean comes to {mean}, the back to {back}. The lamp "
        "burns for {lamp} of the whole.",
        {
            "soak": told("duration", heat.soak),
            "mean": told("temperature", board.at_off.mean),
            "back": told("temperature", board.at_off.back),
            "lamp": told("duration", heat.lamp_on),
        },
    )


def _rule(case: Case) -> Line:
    board = case.coat.board
    diffusivity = board.conductivity / (board.density * board.heat_capacity)
    ours = BACK_HALF_WAY * board.thickness**2 / diffusivity
    theirs = 60 * board.thickness**2 / RULE
    figures = {
        "thickness": Told("length", board.thickness, "told: pieces.thickness, the thickest"),
        "rule": Told("duration", theirs, "common practice, no source: mm x mm / 24 minutes"),
        "ours": Told(
            "duration",
            ours,
            "own: slab with a held face and a lined back, first term; the wood's conductivity is "
            "good to 20 %",
        ),
    }
    text = (
        "For {thickness} held at the face, the trade's rule says {rule} until the back has half "
        "its rise; for this wood we reckon {ours}"
    )
    text += ", much the same." if abs(ours / theirs - 1) < 0.1 else ": they differ, go by the mean."
    return Line("warmth.rule", "rule of thumb", text, figures)


def _turn(case: Case) -> Iterator[Line]:
    if not case.coat.heat.reachable:
        return
    turn = turn_of(heat_task(case))
    source = _PLANNED + "; handling left out"
    figures = {
        "at": Told("duration", turn.turn_at, source),
        "gain": Told("temperature_difference", abs(turn.gain), source),
        "mean": Told("temperature", turn.mean, source),
    }
    if turn.pays:
        yield Line(
            "warmth.turn",
            "turning",
            "Turn it once after {at}, begun with the other face up: the mean ends {gain} warmer, "
            "at {mean}. The trade turns every 5 to 10 min; it also keeps the board from cupping.",
            figures,
        )
        return
    text = "Turning it half-way is not needed for warmth: it gains {gain} on the mean"
    if turn.gain <= 0:
        text = "Do not turn it for warmth: it costs {gain} of the mean"
    elif turn.face < turn.band_low:
        text = "Turning it half-way gains {gain} on the mean, but the face has no time to come back"
    yield Line(
        "warmth.turn",
        "turning",
        text + ". The trade turns every 5 to 10 min; do that if you see it cup.",
        {"gain": figures["gain"]},
    )


def _window(case: Case) -> Iterator[Line]:
    heat = case.coat.heat
    low, high = _foot(case), Told("temperature", heat.window_high, _window_source(case, "high"))
    late = heat.shuts < heat.handling + BRUSHING
    opens = max(heat.opens, heat.handling)
    figures = {
        "low": low,
        "high": high,
        "opens": Told("duration", heat.opens, _PLANNED),
        "shuts": Told("duration", heat.shuts, _PLANNED),
        "handling": Told("duration", heat.handling, _handling_source(case)),
        "left": Told("duration", max(heat.shuts - opens, 0.0), _PLANNED),
    }
    text = "The falling face is inside {low} to {high} from {opens} to {shuts} after lamp-off. "
    text += (
        "Your first stroke at {handling} comes too late: rehearse it."
        if late
        else "First stroke at {handling}: {left} to coat in. Lamp off and away first."
    )
    if late:
        del figures["left"]
    yield Line("warmth.window", "coat window", text, figures, late)
    if max(abs(a - b) for a, b in zip(TRADE_WINDOW, (low.value, high.value), strict=True)) > APART:
        yield Line(
            "warmth.trade_window",
            "the trade's",
            "The trade's window is {low} to {high}; yours is another, so go by a test piece.",
            {
                "low": Told("temperature", TRADE_WINDOW[0], "common practice, no source"),
                "high": Told("temperature", TRADE_WINDOW[1], "common practice, no source"),
            },
        )


def _foot(case: Case) -> Told:
    return Told("temperature", case.coat.heat.window_low, _window_source(case, "low"))


def _window_source(case: Case, end: str) -> str:
    key = f"coat_{end}"
    if getattr(case.description.heat, key) is not None:
        return f"told: heat.{key}"
    if key in case.settings.heat.model_fields_set:
        return f"told: the rig's heat.{key}"
    return "common practice, no source"


def _handling_source(case: Case) -> str:
    if case.description.heat.handling_time is not None:
        return "told: heat.handling_time"
    if "handling_time" in case.settings.heat.model_fields_set:
        return "told: the rig's heat.handling_time"
    return "own"
