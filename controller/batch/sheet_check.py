"""What a sheet must be before the engine works from it: a PLAN is the one act that brings numbers
the engine then trusts for days.
"""

from collections.abc import Iterator
from dataclasses import asdict
from math import isfinite
from typing import Any

from controller.batch.looking import first_estimate
from controller.batch.setting import credit
from controller.batch.signals import RigFacts
from controller.errors import ControllerError
from controller.planning.cure_model import cure_model
from controller.planning.sheet import BatchSheet, Coat
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import arrhenius_factor
from controller.settings import BAND_TOP_LIMIT, TRIP_LIMIT

DRIEST, WETTEST = 0.01, 0.18
"""Moisture of a board, share of dry mass. Own."""
LIKE_ROOM = ZERO_CELSIUS + 20.0
"""Where the formulas are tried, [K]. Own."""


def fault_of(sheet: BatchSheet, facts: RigFacts) -> str | None:
    """The first thing about a sheet that cannot be worked from, in words; None for a good one."""
    for where, value in _leaves(asdict(sheet), "sheet"):
        # sentences keep their gaps in braces
        if isinstance(value, str) and (set("{}") & set(value) or not value.isprintable()):
            return f"{where}: write it without braces and line ends"
        if isinstance(value, float) and not isfinite(value):
            return f"{where} is no number"
    if not sheet.coats:
        return "it has no coat"
    for coat in sheet.coats:
        fault = _fault_of_coat(coat, facts)
        if fault is not None:
            return f"coat {coat.number}: {fault}"
    return None


def _fault_of_coat(coat: Coat, facts: RigFacts) -> str | None:
    heat, bag, board = coat.heat, coat.bag, coat.board
    if not heat.band_low < heat.band_high <= BAND_TOP_LIMIT:
        return f"a preheat band ends at {BAND_TOP_LIMIT - ZERO_CELSIUS:.0f} C at most"
    if not heat.band_high < heat.trip <= TRIP_LIMIT:
        return f"the trip is above the band and {TRIP_LIMIT - ZERO_CELSIUS:.0f} C at most"
    if not heat.window_low < heat.window_high:
        return "the coat window is upside down"
    if heat.lamp_on <= 0 or coat.mix.total <= 0 or coat.resin.pot_life <= 0:
        return "lamp time, mix and pot life are more than nothing"
    if not DRIEST <= board.moisture <= WETTEST:
        return f"the board's moisture is {DRIEST:g} to {WETTEST:g} of its dry mass"
    if bag is not None and not bag.boil_limit <= bag.target < bag.restart:
        return "the bag's target lies under its boil limit or over its restart"
    return _formulas_refuse(coat, facts)


def _formulas_refuse(coat: Coat, facts: RigFacts) -> str | None:
    """What the formulas say to this coat's figures; None when they can be used."""
    flash, resin = coat.flash_off, coat.resin
    try:
        first_estimate(coat, LIKE_ROOM, LIKE_ROOM, facts)
        arrhenius_factor(LIKE_ROOM, flash.reference, flash.activation_energy)
        credit(1.0, max(resin.coldest, LIKE_ROOM), resin)
        cure_model(resin)
    except ControllerError as refusal:
        return str(refusal)
    return None


def _leaves(tree: Any, where: str) -> Iterator[tuple[str, Any]]:
    """Every plain value of nested dicts and sequences, with its dotted name."""
    if isinstance(tree, dict):
        for name, value in tree.items():
            yield from _leaves(value, f"{where}.{name}")
    elif isinstance(tree, list | tuple):
        for number, value in enumerate(tree):
            yield from _leaves(value, f"{where}.{number}")
    else:
        yield where, tree
