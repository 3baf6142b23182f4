"""How much to mix on this scale, and what to do about a cup that was poured wrong."""

from collections.abc import Iterator
from dataclasses import dataclass

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.pot_clock import clock_of_the_cup, how_hot
from controller.planning.answers.poured_wrong import poured_wrong
from controller.planning.answers.where_from import of_resin
from controller.science.resin import share_error, smallest_batch

ALLOWED = 0.05
"""How far the ratio by weight may be off, [-]; common practice, no source: one maker's data sheet;
another writes of 10 % with loss."""
AIMED_AT = 0.03
"""How far the scale alone may put it off, [-]; own: leaves the rest of ALLOWED to the hand."""
FINER = 10.0
"""A finer scale shows steps this many times smaller, [-]; own: scales come in tenths."""
STIRRED = (180.0, 240.0)
"""How long A and B are stirred, [s]; common practice, no source; 120 s is the least told."""
THINNER_STIRRED = 60.0
"""How long the thinner is stirred in, [s]; common practice, no source."""
SAID = 0.05e-3
"""Least mass that is said in figures with one decimal, [kg]; own."""
_ALLOWED = "common practice, no source: one maker's data sheet"
_STIRRED = "common practice, no source"
_SCALE = "told: bench.scale"
_WORKED = "worked: told coats.weight, area of the pieces and waste, by the ratio of the resin"


@dataclass(frozen=True, slots=True)
class Weighed:
    """A cup as this scale can weigh it."""

    a: float
    """[kg]."""
    b: float
    """[kg]."""
    thinner: float
    """[kg]."""

    @property
    def total(self) -> float:
        """[kg]."""
        return self.a + self.b + self.thinner


def weighed(a: float, ratio: float, thinner_share: float, step: float) -> Weighed:
    """The cup in whole steps of the scale: A first, B to fit it, thinner to fit both.

    a: wanted, [kg]      ratio: B for one of A by mass, [-]
    thinner_share: of the whole, [-]      step: of the scale, [kg]
    """

    def in_steps(mass: float) -> float:
        return max(round(mass / step), 1) * step

    whole_a = in_steps(a)
    whole_b = in_steps(whole_a * ratio)
    thinner = (whole_a + whole_b) * thinner_share / (1 - thinner_share)
    return Weighed(whole_a, whole_b, in_steps(thinner) if thinner > 0 else 0.0)


def worst_error(cup: Weighed, ratio: float, step: float) -> float:
    """How far B is off its share at the worst, with half a step read wrong on each part, [-].

    ratio: B for one of A by mass, [-]      step: of the scale, [kg]
    """
    much = share_error(cup.a - step / 2, cup.b + step / 2, ratio)
    little = share_error(cup.a + step / 2, cup.b - step / 2, ratio)
    return max(abs(much), abs(little))


def section(case: Case) -> Section:
    """The cup of one coat."""
    mix, step = case.coat.mix, case.description.bench.scale
    cup = weighed(mix.a, case.resin.weight_ratio, mix.thinner / mix.total, step)
    lines = [
        _parts(case, cup),
        _stir(case),
        *_thinner(case, cup),
        _scale(case, cup),
        _ratio(case),
        *poured_wrong(case, ALLOWED),
        _rule(case),
        clock_of_the_cup(case, cup.total),
        how_hot(case, cup.total),
    ]
    if case.description.data_sheet is None:
        text = "Its data sheet outranks every figure here: write what it says into data_sheet."
        lines.append(Line("cup.tin", "your tin", text))
    return Section(
        f"coat {case.coat.number} cup",
        "The cup",
        "How much do I mix, and how long can I use it?",
        tuple(lines),
    )


def _parts(case: Case, cup: Weighed) -> Line:
    mix = case.coat.mix
    source = f"{_WORKED}; rounded to {_SCALE}"
    figures = {
        "a": Told("mass", cup.a, source),
        "b": Told("mass", cup.b, source),
        "total": Told("mass", cup.total, source),
        "coat": Told("mass", mix.coat, "worked: told coats.weight and area of the pieces"),
    }
    text = "Weigh A {a} and B {b}"
    if cup.thinner > 0:
        figures["thinner"] = Told("mass", cup.thinner, source)
        text += f", then {mix.thinner_name} {{thinner}}"
    text += ": {total} in all. The boards get {coat}; the rest stays on cup, tray and brush."
    if mix.carried > 0:
        figures["carried"] = Told("mass", mix.carried, of_resin(case, "carrier_share"))
        text += f" {{carried}} of it is {case.resin.carrier} that the resin comes with."
    return Line("cup.parts", "weigh", text, figures)


def _stir(case: Case) -> Line:
    text = (
        "Stir A and B for {least} to {most}, scraping wall and bottom. Do not scrape the cup out "
        "onto the board: what sticks to it is badly mixed."
    )
    if case.coat.mix.carried > 0:
        text = f"Open it only when the lamp is off, unplugged and away. {text}"
    return Line(
        "cup.stir",
        "stir",
        text,
        {
            "least": Told("duration", STIRRED[0], _STIRRED),
            "most": Told("duration", STIRRED[1], _STIRRED),
        },
    )


def _thinner(case: Case, cup: Weighed) -> Iterator[Line]:
    if cup.thinner <= 0:
        return
    mix, step = case.coat.mix, case.description.bench.scale
    coarse = mix.thinner < step
    text = (
        "Weigh it into a bottle that shuts, before the lamp is lit. It goes in last, when A and B "
        "are mixed and the lamp is unplugged and away: stir for {thin}. It is {share} of the whole "
        "by mass."
    )
    if coarse:
        text += " So little is less than this scale shows: use a finer one."
    figures = {
        "thin": Told("duration", THINNER_STIRRED, _STIRRED),
        "share": Told(
            "percent", cup.thinner / cup.total, "worked: told coats.thinner_share, as weighed"
        ),
    }
    yield Line("cup.thinner", "thinner", text, figures, coarse)


def _scale(case: Case, cup: Weighed) -> Line:
    """What this scale does to the ratio, and what to do where that is too much."""
    mix, step = case.coat.mix, case.description.bench.scale
    ratio, resin = case.resin.weight_ratio, mix.a + mix.b
    worst = worst_error(cup, ratio, step)
    least = smallest_batch(step, ratio, AIMED_AT)
    figures = {
        "worst": Told(
            "percent", worst, f"worked: as rounded, and half a step of {_SCALE} on each part"
        ),
        "allowed": Told("percent", ALLOWED, _ALLOWED),
    }
    fine = resin >= least and worst <= ALLOWED
    if fine:
        text = (
            "Fine enough: with half a step read wrong on each part the ratio is {worst} off at the "
            "worst, and {allowed} is allowed."
        )
        return Line("cup.scale", "scale", text, figures)
    begin = (
        "Too coarse for so little: with half a step read wrong on each part the ratio is {worst} "
        "off at the worst"
    )
    begin += (
        ", and only {allowed} is allowed."
        if worst > ALLOWED
        else ", and of the {allowed} that is allowed little is left for the hand."
    )
    wanted = max(least, resin) / (1 + ratio)
    more = weighed(wanted, ratio, mix.thinner / mix.total, step)
    # B in whole steps may still spoil it
    while worst_error(more, ratio, step) > ALLOWED:
        wanted += step
        more = weighed(wanted, ratio, mix.thinner / mix.total, step)
    source = f"worked: the least for {_SCALE} within {AIMED_AT:.0%} (own) of the ratio"
    figures |= {"a": Told("mass", more.a, source), "b": Told("mass", more.b, source)}
    finer, use = step / FINER, "Mix"
    if resin >= smallest_batch(finer, ratio, AIMED_AT) and finer >= SAID:
        figures["finer"] = Told("mass", finer, "own: scales come in tenths")
        use = "Use a scale that shows {finer}; or mix"
    text = f"{begin} {use} more, A {{a}}, B {{b}}"
    if more.thinner > 0:
        figures["thinner"] = Told("mass", more.thinner, source)
        text += f", {mix.thinner_name} {{thinner}}"
    text += ": what is over goes on a test piece."
    return Line("cup.scale", "scale", text, figures, care=True)


def _ratio(case: Case) -> Line:
    row = case.resin
    by_weight = Told("ratio", row.weight_ratio, of_resin(case, "ratio_a"))
    by_volume = Told("ratio", row.ratio_b / row.ratio_a, of_resin(case, "ratio_a"))
    return Line(
        "cup.ratio",
        "ratio",
        "A to B is {by_weight} by weight, {by_volume} by volume. The two are not the same: weigh, "
        "and never change the ratio to change the speed.",
        {"by_weight": by_weight, "by_volume": by_volume},
    )


def _rule(case: Case) -> Line:
    ratio = case.resin.weight_ratio
    source = "worked: from the ratio by weight"
    return Line(
        "cup.rule",
        "poured wrong",
        "Too much B: add {a} times that much of A. Too much A: add {b} times that much of B.",
        {"a": Told("factor", 1 / ratio, source), "b": Told("factor", ratio, source)},
    )
