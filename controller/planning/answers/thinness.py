"""Is the mix thin enough to go in: in the cup, on the warm face, and with its thinner."""

from collections.abc import Iterator
from dataclasses import dataclass

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.where_from import of_resin
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import clock_time_for
from controller.science.solvent import RESIN_MOLAR_MASS
from controller.science.solvent_mixture import LIQUIDS, mean_molar_mass, parts_of
from controller.science.viscosity import (
    THINNER_VISCOSITY,
    ThinningCurve,
    calibrated,
    log_mixing,
    thinned,
    viscosity_at,
)

COLDEST_TOLD = ZERO_CELSIUS + 10.0
"""Under this no viscosity is told, [K]; own: viscosity_at ends there."""
WARM_BOTTLES = ZERO_CELSIUS + 30.0
"""Bottles that are warmed stand at about this, [K]; own: 25 to 35 C is common practice."""
HARDLY_THINNER = 3.0
"""Under so many times the thinner's own viscosity, thinning is no longer reckoned, [-]; own."""
COMMON_FIGURES = ((0.10, 1 / 3), (0.05, 0.4))
"""What the trade says of thinning, (share of the mix, what is left of the viscosity), [-]; common
practice, no source: a tenth makes it a third; a twentieth of lacquer thinner takes off 60 %."""
LADDER = (("water", 1e-3), ("varnish", 80e-3), ("a penetrating sealer", 100e-3), ("syrup", 5.0))
"""Liquids people know, [Pa s]; common practice, no source."""
ORDINARY = (0.7, 1.0)
"""Ordinary laminating mixes in the shop, [Pa s]; common practice, no source."""
ENOUGH = {"open": 0.5, "semi-open": 0.3, "close": 0.1}
"""Viscosity under which a mix is thin enough for the grain, [Pa s]; own: an ordinary mix on a warm
face for open pores, a penetrating sealer for close ones."""
_LADDER = "common practice, no source"
_TRADE = "common practice, no source: a tenth of thinner leaves a third, a twentieth 40 %"


@dataclass(frozen=True, slots=True)
class Thinness:
    """The coat's mix at one temperature."""

    neat: float
    """Without its thinner, [Pa s]."""
    low: float
    """With it, thin end, [Pa s]."""
    high: float
    """With it, thick end, [Pa s]."""


def section(case: Case) -> Section:
    """How thin the mix of one coat is."""
    face = case.coat.heat.window_high
    on_face = thinness_at(case, face)
    lines = [
        _in_the_cup(case),
        _on_the_face(case, face, on_face),
        *_with_thinner(case, face, on_face),
        *_trade_says(case, face, on_face),
        _ladder(),
        _advice(case, on_face),
    ]
    return Section(
        f"coat {case.coat.number} thinness", "Thinness", "Is it thin enough to go in?", tuple(lines)
    )


def thinness_at(case: Case, temperature: float) -> Thinness:
    """Viscosity of the coat's mix at this temperature [K], with and without its thinner.

    A solvent the resin comes with is in its row's viscosity already. The thinner's own change with
    warmth is left out: it is far smaller than the band is wide.
    """
    row, share = case.resin, case.coat.mix.thinner / case.coat.mix.total
    neat = viscosity_at(row.viscosity, row.reference, temperature, row.halving)
    if share <= 0:
        return Thinness(neat, neat, neat)
    thinner, molar_mass = _thinner(case)
    if neat < HARDLY_THINNER * thinner:
        return Thinness(neat, min(thinner, neat), neat)
    curve = _measured_curve(case, thinner)
    if curve is not None:
        at = max(neat * curve.at(share) / row.viscosity, thinner)
        return Thinness(neat, at, at)
    band = thinned(neat, thinner, share, max(RESIN_MOLAR_MASS, molar_mass), molar_mass)
    return Thinness(neat, band.low, band.high)


def measured(case: Case) -> bool:
    """Somebody measured this resin thinned, and what they found is between resin and thinner."""
    return case.coat.mix.thinner > 0 and _measured_curve(case, _thinner(case)[0]) is not None


def _measured_curve(case: Case, thinner: float) -> ThinningCurve | None:
    """The curve through the measured point at the row's reference; the same thinner is assumed."""
    row = case.resin
    share, found = row.thinned_share, row.thinned_viscosity
    if share is None or found is None or not thinner < found < row.viscosity:
        return None
    return calibrated(row.viscosity, thinner, share, found)


def _thinner(case: Case) -> tuple[float, float]:
    """Viscosity [Pa s] and molar mass [kg/mol] of the coat's thinner."""
    row = case.thinner
    liquid = LIQUIDS[(row.solvent or row.mixture or "") if row is not None else ""]
    parts = parts_of(liquid)
    viscosity = log_mixing(
        [share for _, share in parts], [THINNER_VISCOSITY[part.name] for part, _ in parts]
    )
    return viscosity, mean_molar_mass(liquid)


def _in_the_cup(case: Case) -> Line:
    row = case.resin
    at = max(case.cup, COLDEST_TOLD)
    neat = viscosity_at(row.viscosity, row.reference, at, row.halving)
    cup = "worked: the room" if case.description.bench.cup is None else "told: bench.cup"
    figures = {
        "neat": Told("viscosity", neat, _by_warmth(case)),
        "cup": Told("temperature", at, cup if at == case.cup else "own: no colder one is reckoned"),
        "halving": Told("temperature_difference", row.halving, of_resin(case, "halving")),
    }
    if at > case.cup:
        text = (
            "At {cup} A and B mixed have {neat}; yours are colder and thicker than is told here. "
            "Warm the bottles. Each {halving} of warmth halves it."
        )
        return Line("thinness.cup", "in the cup", text, figures, care=True)
    text = "A and B mixed have {neat} at {cup}. Each {halving} of warmth halves it."
    return Line("thinness.cup", "in the cup", text, figures)


def _on_the_face(case: Case, face: float, on_face: Thinness) -> Line:
    return Line(
        "thinness.face",
        "on the face",
        "On the face at {face}, the window's top, the same mix has {neat}. It thickens again as "
        "the board cools and as it sets.",
        {
            "face": Told("temperature", face, "told: heat.coat_high, or the rig's"),
            "neat": Told("viscosity", on_face.neat, _by_warmth(case)),
        },
    )


def _with_thinner(case: Case, face: float, on_face: Thinness) -> Iterator[Line]:
    mix = case.coat.mix
    if mix.thinner <= 0:
        return
    in_cup = thinness_at(case, max(case.cup, COLDEST_TOLD))
    share = Told("percent", mix.thinner / mix.total, "told: coats.thinner_share")
    if measured(case):
        source = f"own: curve through the measured point, {of_resin(case, 'thinned_viscosity')}"
        figures = {
            "share": share,
            "cup": Told("viscosity", in_cup.low, source),
            "face": Told("viscosity", on_face.low, source),
        }
        text = (
            f"With {{share}} {mix.thinner_name}, by what was measured: {{cup}} in the cup, "
            "{face} on the face, until the thinner leaves."
        )
        yield Line("thinness.thinned", "thinned", text, figures)
        return
    source = "own: log mixing by molecules at the thin end, by mass at the thick end"
    yield Line(
        "thinness.thinned",
        "thinned",
        f"With {{share}} {mix.thinner_name}: {{cup_low}} to {{cup_high}} in the cup, {{face_low}} "
        "to {face_high} on the face, until the thinner leaves. Nobody has published it closer: "
        "measure once with a flow cup and write thinned_share and thinned_viscosity in data_sheet.",
        {
            "share": share,
            "cup_low": Told("viscosity", in_cup.low, source),
            "cup_high": Told("viscosity", in_cup.high, source),
            "face_low": Told("viscosity", on_face.low, source),
            "face_high": Told("viscosity", on_face.high, source),
        },
    )


def _trade_says(case: Case, face: float, on_face: Thinness) -> Iterator[Line]:
    """The common figures, carried to this share by as many halvings, beside ours."""
    mix = case.coat.mix
    if mix.thinner <= 0:
        return
    share = mix.thinner / mix.total
    told = sorted(on_face.neat * left ** (share / at) for at, left in COMMON_FIGURES)
    thinnest, thickest = told
    inside = on_face.low <= thinnest and thickest <= on_face.high
    text = (
        "The trade's common figures, a tenth of solvent leaves a third, a twentieth of lacquer "
        "thinner leaves two fifths, would make it {thinnest} to {thickest} on the face"
    )
    if inside:
        text += ": inside ours."
    elif on_face.high < thinnest:
        text += ". Ours is thinner: trust neither without a flow cup."
    elif on_face.low > thickest:
        text += ". Ours is thicker: trust neither without a flow cup."
    else:
        text += ". The two overlap only in part: trust neither without a flow cup."
    yield Line(
        "thinness.trade",
        "trade says",
        text,
        {
            "thinnest": Told("viscosity", thinnest, _TRADE),
            "thickest": Told("viscosity", thickest, _TRADE),
        },
    )


def _ladder() -> Line:
    text = ", ".join(f"{name} {{rung_{number}}}" for number, (name, _) in enumerate(LADDER, 1))
    rungs = {
        f"rung_{number}": Told("viscosity", viscosity, _LADDER)
        for number, (_, viscosity) in enumerate(LADDER, 1)
    }
    ordinary = {
        "least": Told("viscosity", ORDINARY[0], _LADDER),
        "most": Told("viscosity", ORDINARY[1], _LADDER),
    }
    return Line(
        "thinness.ladder",
        "to compare",
        f"{text[0].upper()}{text[1:]}; an ordinary laminating mix {{least}} to {{most}}.",
        rungs | ordinary,
    )


def _advice(case: Case, on_face: Thinness) -> Line:
    """Warmth before thinner: what it would bring, and what it costs."""
    row = case.resin
    grains = [case.catalogue.wood(piece.wood).grain for piece in case.pieces]
    tightest = min(grains, key=ENOUGH.__getitem__)
    enough = ENOUGH[tightest]
    source = "own: an ordinary mix on a warm face for open pores, a penetrating one for close ones"
    figures = {"enough": Told("viscosity", enough, source)}
    grain = {"open": "open", "semi-open": "half-open", "close": "close"}[tightest]
    if on_face.high <= enough:
        text = f"Thin enough on the warm face for {grain} grain, which wants {{enough}} or less"
        if case.coat.mix.thinner <= 0:
            text += ": thinner would only weaken it, and has to leave again."
        elif on_face.neat <= enough:
            text += (
                "; warmth alone would do that. Thinner weakens it and has to leave again: try less."
            )
        else:
            text += ". More thinner would only weaken it, and leave later."
        return Line("thinness.advice", "so", text, figures)
    maybe = "may be" if on_face.low <= enough else "is"
    text = f"It {maybe} too thick for {grain} grain, which wants {{enough}} or less. "
    if case.cup < WARM_BOTTLES:
        figures |= {
            "bottles": Told("temperature", WARM_BOTTLES, "common practice, no source: 25 to 35 C"),
            "warm": Told(
                "viscosity",
                viscosity_at(row.viscosity, row.reference, WARM_BOTTLES, row.halving),
                _by_warmth(case),
            ),
            "pot": Told(
                "duration",
                clock_time_for(row.pot_life, WARM_BOTTLES, row.reference, row.activation_energy),
                f"worked: from {of_resin(case, 'pot_life')}",
            ),
        }
        text += (
            "Warmth first: bottles at {bottles} make the mix {warm} in the cup and cut the pot "
            "life to {pot}. "
        )
    text += "Then a longer soak, so that the face stays warm while you work it in; thinner last"
    share = case.coat.mix.thinner / case.coat.mix.total
    if share >= row.largest_thinner:
        figures["largest"] = Told("percent", row.largest_thinner, of_resin(case, "largest_thinner"))
        text += ", and it has all that it bears, {largest}"
    return Line("thinness.advice", "so", f"{text}.", figures)


def _by_warmth(case: Case) -> str:
    halving = "halving by halving of warmth, which sources put twofold apart"
    return f"worked: {halving}; {of_resin(case, 'viscosity')}"
