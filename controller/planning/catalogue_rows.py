"""The columns of a data file's row, each bounded: the same bounds for our files and for yours."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from controller.errors import InputError
from controller.science.solvent import SOLVENTS
from controller.science.solvent_mixture import LIQUIDS
from controller.settings.bounds import as_tuple, like

GUESSED_GEL = (2.0, 6.0)
"""Gel of a thin film over the pot life of a cup, early and late, [-], where nothing better is
known; own: a film sheds the heat that hurries a cup."""


def _number(lowest: float, highest: float) -> AfterValidator:
    """Within these two, in the column's own unit."""

    def check(value: float) -> float:
        if not lowest <= value <= highest:
            raise InputError(f"allowed: {lowest:g} to {highest:g}")
        return value

    return AfterValidator(check)


def _a_carrier(value: str) -> str:
    if value and value not in SOLVENTS:
        raise InputError(f'allowed: {", ".join(SOLVENTS)}, or "" for none')
    return value


def _a_solvent(value: str) -> str:
    if value and value not in LIQUIDS:
        raise InputError(f'allowed: {", ".join(LIQUIDS)}, or "" for none')
    return value


Uptake = Literal["ready", "slow", "shut"]
Family = Literal["alcohol", "ketone", "aromatic"]
Families = Annotated[tuple[Family, ...], BeforeValidator(as_tuple), Field(max_length=3)]
Sentence = Annotated[str, like(r"[^\x00-\x1f\x7f{}]{1,600}", "a sentence on one line, no { or }")]
Source = Annotated[
    str, like(r"[^\x00-\x1f\x7f]{3,1500}", "where the figures come from, on one line")
]
Share = Annotated[float, _number(0.0, 0.5)]


class Row(BaseModel):
    """A row: nothing unknown, nothing converted in silence."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    source: Source
    """Where each figure comes from."""

    @model_validator(mode="after")
    def _columns_agree(self) -> Self:
        # the first is enough: what follows from it would only repeat it
        for fault in self._disagreements():
            raise InputError(fault)
        return self

    def _disagreements(self) -> Iterator[str]:
        yield from ()


class WoodRow(Row):
    """A row of woods.toml."""

    basic_gravity: Annotated[float, _number(0.2, 1.2)]
    """Oven-dry mass over green volume over water, [-]: balsa has less than 0.2."""
    shrinkage_share: Annotated[float, _number(0.03, 0.25)]
    """Of the volume from green to oven-dry, [-]."""
    grain: Literal["open", "semi-open", "close"]
    sapwood: Uptake
    """Does resin go in: 'ready', 'slow' or 'shut'."""
    heartwood: Uptake
    bleeds_in: Families
    """Families of thinner that its colour dissolves in."""
    oily: bool
    """Oil or pitch at the surface keeps resin from sticking."""
    note: Sentence


class ResinRow(Row):
    """A row of resins.toml."""

    says: Sentence
    ratio_a: Annotated[float, _number(0.1, 100)]
    """Parts by volume, [-]."""
    ratio_b: Annotated[float, _number(0.1, 100)]
    density_a_kg_m3: Annotated[float, _number(800, 2000)]
    density_b_kg_m3: Annotated[float, _number(800, 2000)]
    reference_c: Annotated[float, _number(15, 40)]
    """Temperature its times and viscosity hold at, [degC]."""
    activation_kj_mol: Annotated[float, _number(30, 110)]
    viscosity_mpas: Annotated[float, _number(5, 20000)]
    """A and B mixed, [mPa s]."""
    viscosity_halving_k: Annotated[float, _number(3, 20)]
    """Warmer by this, half as thick, [K]."""
    pot_life_min: Annotated[float, _number(2, 1440)]
    pot_mass_g: Annotated[float, _number(10, 2000)]
    """Of the cup that pot life is of, [g]."""
    gel_early_h: Annotated[float, _number(0.1, 100)]
    gel_late_h: Annotated[float, _number(0.1, 100)]
    gel_is_guess: bool
    open_early_h: Annotated[float, _number(1, 340)]
    open_late_h: Annotated[float, _number(1, 340)]
    coldest_c: Annotated[float, _number(0, 40)]
    glass_uncured_c: Annotated[float, _number(-60, 10)]
    """Glass temperature of the fresh mix, [degC]."""
    glass_cured_c: Annotated[float, _number(35, 200)]
    """Glass temperature of the full cure, [degC]."""
    glass_curvature: Annotated[float, _number(0.2, 1)]
    """DiBenedetto's lambda, [-]."""
    largest_thinner_share: Share
    carrier: Annotated[str, AfterValidator(_a_carrier)]
    carrier_share: Annotated[float, _number(0.0, 0.7)]
    thinned_share: Annotated[float, _number(0.01, 0.5)] | None = None
    """Thinner in a mix whose viscosity was measured, by mass, [-]."""
    thinned_viscosity_mpas: Annotated[float, _number(1, 20000)] | None = None
    """What was measured there, [mPa s]."""

    def _disagreements(self) -> Iterator[str]:
        if not 0.5 <= self.ratio_a / self.ratio_b <= 20:
            yield "ratio_a to ratio_b: allowed: half to twenty parts of A to one of B"
        pot_h = self.pot_life_min / 60
        if self.gel_is_guess:
            early, late = (pot_h * times for times in GUESSED_GEL)
            if abs(self.gel_early_h / early - 1) > 0.01 or abs(self.gel_late_h / late - 1) > 0.01:
                yield (
                    f"gel_is_guess: a guess from {self.pot_life_min:g} min in the cup is "
                    f"gel_early_h = {early:.3g}, gel_late_h = {late:.3g}; or give your own with "
                    "gel_is_guess = false"
                )
        order = {
            "pot_life_min": pot_h,
            "gel_early_h": self.gel_early_h,
            "gel_late_h": self.gel_late_h,
            "open_early_h": self.open_early_h,
            "open_late_h": self.open_late_h,
        }
        for before, after in pairwise(order):
            if order[before] >= order[after]:
                yield (
                    f"{after}: allowed: more than {before}; here {order[before]:.3g} h and then "
                    f"{order[after]:.3g} h"
                )
        if (self.carrier == "") != (self.carrier_share == 0):
            yield 'carrier and carrier_share: both, or carrier = "" and carrier_share = 0.0'
        if (self.thinned_share is None) != (self.thinned_viscosity_mpas is None):
            yield "thinned_share and thinned_viscosity_mpas: both or neither"
        thinned = self.thinned_viscosity_mpas
        if thinned is not None and thinned >= self.viscosity_mpas:
            yield (
                f"thinned_viscosity_mpas = {thinned:g}: allowed: less than viscosity_mpas, "
                f"{self.viscosity_mpas:g}"
            )


class ThinnerRow(Row):
    """A row of thinners.toml."""

    solvent: Annotated[str, AfterValidator(_a_solvent)]
    """A solvent or a mixture that controller/science knows; "" for no thinner."""
    families: Families
    """What it is kin to, for the colours it dissolves."""
    note: Sentence
