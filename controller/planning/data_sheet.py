"""The tin in hand: what its data sheet says, in place of its class's row."""

import re
from dataclasses import replace
from math import inf
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo, field_validator

from controller.errors import InputError
from controller.planning.catalogue import GUESSED_GEL, ResinClass
from controller.quantities import (
    Density,
    Duration,
    Fraction,
    Mass,
    People,
    Temperature,
    Viscosity,
    parse_density,
    parse_duration,
    parse_fraction,
    parse_mass,
    parse_viscosity,
    say,
    shown,
)
from controller.science.cure import clock_time_for
from controller.science.viscosity import viscosity_at
from controller.settings.bounds import between, typed, warm

SHEET_COLD, SHEET_HOT = 273.15 + 15.0, 273.15 + 40.0
"""Temperatures a data sheet's times can hold at, [K]; own."""
_POT_MASS = "100 g"
_TIMES = ("pot_life", "gel_early", "gel_late", "open_early", "open_late")
"""In the order they come to pass."""
_RATIO = re.compile(r"([0-9.]+) ?: ?([0-9.]+) by (volume|weight)")


def _ratio(value: object) -> tuple[float, float, str]:
    """Parts of A, parts of B, and what they are parts of."""
    found = _RATIO.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        raise InputError(f"{shown(value)}: say e.g. '2:1 by volume' or '100:43 by weight'")
    try:
        a, b = float(found[1]), float(found[2])
    except ValueError as error:
        raise InputError(f"{shown(value)}: one of the two parts is no number") from error
    if not (b > 0 and 0.5 <= a / b <= 20):
        raise InputError("allowed: half to twenty parts of A to one of B")
    return a, b, found[3]


class DataSheetLines(BaseModel):
    """What a tin's data sheet says; each line is optional and outranks its class."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=True)

    ratio: Annotated[tuple[float, float, str], BeforeValidator(_ratio)] | None = None
    """Parts of A and B, by volume or by weight."""
    density_a: Annotated[Density, between(parse_density, "0.8 g/mL", "2 g/mL")] | None = None
    """[kg/m3]."""
    density_b: Annotated[Density, between(parse_density, "0.8 g/mL", "2 g/mL")] | None = None
    """[kg/m3]."""
    at: Annotated[Temperature, warm(SHEET_COLD, SHEET_HOT)] = typed("25 C")
    """Temperature the sheet's times and viscosity hold at, [K]."""
    viscosity: Annotated[Viscosity, between(parse_viscosity, "5 cP", "20000 cP")] | None = None
    """Of A and B mixed, [Pa s]."""
    pot_life: Annotated[Duration, between(parse_duration, "2 min", "24 h")] | None = None
    """In the cup, [s]."""
    pot_mass: Annotated[Mass, between(parse_mass, "10 g", "2 kg")] = typed(_POT_MASS)
    """Of the cup that pot life is of, [kg]. Default: common practice, no source."""
    gel_early: Annotated[Duration, between(parse_duration, "10 min", "4 days")] | None = None
    """Thin film: gel or tack-free, early end, [s]."""
    gel_late: Annotated[Duration, between(parse_duration, "10 min", "4 days")] | None = None
    """Late end, [s]."""
    open_early: Annotated[Duration, between(parse_duration, "1 h", "14 days")] | None = None
    """Hard enough to handle, early end, [s]."""
    open_late: Annotated[Duration, between(parse_duration, "1 h", "14 days")] | None = None
    """Late end, [s]."""
    coldest: Annotated[Temperature, warm(273.15, SHEET_HOT)] | None = None
    """Lowest temperature it is to be used at, [K]."""
    largest_thinner: Annotated[Fraction, between(parse_fraction, "0 %", "50 %")] | None = None
    """Most thinner the maker allows, of the whole mix by mass, [-]."""
    thinned_share: Annotated[Fraction, between(parse_fraction, "1 %", "50 %")] | None = None
    """Thinner in a mix whose viscosity was measured, by mass, [-]."""
    thinned_viscosity: Annotated[Viscosity, between(parse_viscosity, "1 cP", "20000 cP")] | None = (
        None
    )
    """What was measured there, [Pa s]."""

    @field_validator("pot_mass")
    @classmethod
    def _mass_of_a_pot_life(cls, value: float, info: ValidationInfo) -> float:
        # the default passes here too, and may stand without a pot life
        alone = "pot_life" in info.data and info.data["pot_life"] is None
        if alone and value != parse_mass(_POT_MASS):
            raise InputError("allowed: only beside pot_life, which it belongs to")
        return value

    @field_validator(*_TIMES[1:])
    @classmethod
    def _in_the_order_they_come(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is None or info.field_name is None:
            return value
        for key in _TIMES[: _TIMES.index(info.field_name)]:
            before = info.data.get(key)
            if before is not None and value < before:
                told = say(before, "duration", People())
                raise InputError(f"allowed: not before {key}, {told}")
        return value

    @field_validator("thinned_viscosity")
    @classmethod
    def _measured_beside_the_rest(cls, value: float | None, info: ValidationInfo) -> float | None:
        if {"thinned_share", "viscosity"} - info.data.keys():
            return value  # one of them has its own fault
        share, neat = info.data["thinned_share"], info.data["viscosity"]
        if (value is None) != (share is None):
            raise InputError("allowed: thinned_share and thinned_viscosity, both or neither")
        if value is not None and neat is None:
            raise InputError("allowed: only beside viscosity, of the mix without thinner")
        if value is not None and value >= neat:
            raise InputError("allowed: less than viscosity, of the mix without thinner")
        return value


def as_the_tin_says(row: ResinClass, tin: DataSheetLines | None) -> ResinClass:
    """The class's row with the tin's own figures in it, in SI; the class's name stays.

    row: the class      tin: what the data sheet says; None, or nothing in it, changes nothing

    Parts by weight become parts by volume through the densities. Once a time is told, the tin's
    temperature is the reference, and what it does not tell is carried there from the class:
    times by the activation energy, viscosity by its halving. One end of a pair brings the other, as
    far off as in the class. A pot life without gel makes the gel a guess from it. What is told
    stands; the rest makes way for it, so that pot life, gel and opening stay in their order (own).
    """
    given = [] if tin is None else [key for key in type(tin).model_fields if _is_told(tin, key)]
    if tin is None or not given:
        return row
    timed = bool(set(given) & set(_TIMES))
    reference = tin.at if timed else row.reference
    density_a = row.density_a if tin.density_a is None else tin.density_a
    density_b = row.density_b if tin.density_b is None else tin.density_b
    ratio_a, ratio_b = row.ratio_a, row.ratio_b
    if tin.ratio is not None:
        ratio_a, ratio_b, basis = tin.ratio
        if basis == "weight":
            ratio_a, ratio_b = ratio_a / density_a, ratio_b / density_b
            ratio_a, ratio_b = ratio_a / ratio_b, 1.0
    viscosity, known_at = row.viscosity, row.reference
    share, thinned = row.thinned_share, row.thinned_viscosity
    if tin.viscosity is not None:
        viscosity, known_at = tin.viscosity, tin.at
        share, thinned = tin.thinned_share, tin.thinned_viscosity
    most = row.largest_thinner if tin.largest_thinner is None else tin.largest_thinner
    return replace(
        _timed(row, tin) if timed else row,
        ratio_a=ratio_a,
        ratio_b=ratio_b,
        density_a=density_a,
        density_b=density_b,
        reference=reference,
        viscosity=viscosity_at(viscosity, known_at, reference, row.halving),
        coldest=row.coldest if tin.coldest is None else tin.coldest,
        largest_thinner=most,
        thinned_share=share,
        thinned_viscosity=None
        if thinned is None
        else viscosity_at(thinned, known_at, reference, row.halving),
        source=f"told: data_sheet ({', '.join(given)}); the rest, row {row.name}: {row.source}",
    )


def _is_told(tin: DataSheetLines, key: str) -> bool:
    # a temperature alone tells nothing, and the mass goes with its pot life
    return key not in ("at", "pot_mass") and getattr(tin, key) is not None


def _timed(row: ResinClass, tin: DataSheetLines) -> ResinClass:
    """The row with its times at the tin's temperature: as told or carried, in their order."""
    told = {key: getattr(tin, key) for key in _TIMES if getattr(tin, key) is not None}
    times = {
        key: clock_time_for(getattr(row, key), tin.at, row.reference, row.activation_energy)
        for key in _TIMES
    }
    gel_is_told = "gel_early" in told or "gel_late" in told
    if "pot_life" in told:
        times["gel_early"], times["gel_late"] = (part * told["pot_life"] for part in GUESSED_GEL)
    for early, late in (("gel_early", "gel_late"), ("open_early", "open_late")):
        spread = getattr(row, late) / getattr(row, early)
        if early in told:
            times[late] = told[early] * spread
        if late in told:
            times[early] = told[late] / spread
    least = 0.0
    for number, key in enumerate(_TIMES):
        most = min((told[after] for after in _TIMES[number:] if after in told), default=inf)
        least = times[key] = told.get(key, min(max(times[key], least), most))
    return replace(
        row,
        pot_life=times["pot_life"],
        pot_mass=tin.pot_mass if "pot_life" in told else row.pot_mass,
        gel_early=times["gel_early"],
        gel_late=times["gel_late"],
        gel_is_guess=not gel_is_told and (row.gel_is_guess or "pot_life" in told),
        open_early=times["open_early"],
        open_late=times["open_late"],
    )


__all__ = ["SHEET_COLD", "SHEET_HOT", "DataSheetLines", "as_the_tin_says"]
