"""A cup that came out wrong, put right by what is still missing; nothing can be taken out."""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Told
from controller.planning.sheet import Mix
from controller.science.resin import correct_a, share_error

LEAVE_IT = 0.02
"""Error of the ratio that is left as it is, [-]; own: what a scale reads wrong is about as much."""
AS_PLANNED = 0.03
"""How far below the sheet's mass the cup may be before it is called short, [-]; own."""


def poured_wrong(case: Case, allowed: float) -> Iterator[Line]:
    """What to add to this coat's cup as it was poured; nothing where none is told.

    allowed: how far the ratio may be off, [-]
    """
    poured, mix = case.description.poured, case.coat.mix
    if poured is None or poured.coat != case.coat.number:
        return
    ratio = case.resin.weight_ratio
    error = share_error(poured.a, poured.b, ratio)
    figures = {
        "poured_a": Told("mass", poured.a, "told: poured.a"),
        "poured_b": Told("mass", poured.b, "told: poured.b"),
        "error": Told("percent", abs(error), "worked: as poured over the right ratio"),
    }
    a, b, source = poured.a, poured.b, "worked: from what was poured and the ratio by weight"
    text = "A {poured_a} and B {poured_b}"
    if abs(error) <= LEAVE_IT:
        text += ": the ratio is right within the scale. Leave it."
    elif error > 0:
        a = correct_a(b, ratio)
        figures["add"] = Told("mass", a - poured.a, source)
        text += ": {error} too much B. Add {add} of A."
    else:
        b = a * ratio
        figures["add"] = Told("mass", b - poured.b, source)
        text += ": {error} too little B. Add {add} of B."
    if mix.thinner > 0:
        thinner = (a + b) * mix.thinner / (mix.a + mix.b)
        figures["thinner"] = Told("mass", thinner, f"{source}; told: coats.thinner_share")
        text += f" The {mix.thinner_name} that then belongs in it: {{thinner}}."
    figures["total"] = Told("mass", (a + b) * mix.total / (mix.a + mix.b), source)
    text += " In all {total}."
    yield Line("cup.poured", "as poured", text, figures, abs(error) > allowed)
    yield from _too_little(mix, a + b, ratio, source)


def _too_little(mix: Mix, resin: float, ratio: float, source: str) -> Iterator[Line]:
    """Where the cup put right is still less than the coat wants."""
    short = mix.a + mix.b - resin
    if short <= AS_PLANNED * (mix.a + mix.b):
        return
    a = short / (1 + ratio)
    yield Line(
        "cup.short",
        "short",
        "Put right it is still less than this coat wants: add A {a} and B {b} more.",
        {"a": Told("mass", a, source), "b": Told("mass", a * ratio, source)},
        care=True,
    )
