"""The words for where a figure is from: a line of the description, or a row and its own source."""

from controller.planning.answers.case import Case
from controller.planning.catalogue import Catalogue

_AS_THE_TIN_CALLS_IT = {"ratio_a": "ratio", "ratio_b": "ratio", "reference": "at"}
_ALL_AT_ONCE = ("gel_early", "gel_late")
"""A tin that tells its pot life and no gel makes both a guess."""


def of_resin(case: Case, field: str) -> str:
    """Source of a figure of the resin: the tin's data sheet where it tells it, else the row.

    field: of ResinClass
    """
    tin = case.description.data_sheet
    if tin is not None:
        key = _AS_THE_TIN_CALLS_IT.get(field, field)
        if getattr(tin, key, None) is not None:
            return f"told: data_sheet.{key}"
        if field in _ALL_AT_ONCE and case.resin.gel_is_guess and tin.pot_life is not None:
            return "own: a guess from the pot life, told: data_sheet.pot_life"
    row = case.catalogue.resin(case.description.resin)
    return f"row {row.name}: {row.source}"


def of_wood(catalogue: Catalogue, name: str) -> str:
    """Source of a figure of a wood."""
    return f"row {name}: {catalogue.wood(name).source}"


def of_thinner(case: Case) -> str:
    """Source of what is said of the coat's thinner."""
    thinner = case.thinner
    return "told: coats.thinner" if thinner is None else f"row {thinner.name}: {thinner.source}"
