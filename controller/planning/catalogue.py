"""What a batch is made of: woods, classes of resin and thinners, from data files with sources."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TypeVar

from controller.errors import InputError
from controller.planning.catalogue_files import Rows, built_in_rows, rows_in
from controller.planning.catalogue_rows import GUESSED_GEL, ResinRow, ThinnerRow, WoodRow
from controller.quantities import shown
from controller.science.constants import ZERO_CELSIUS
from controller.science.solvent import SOLVENTS


@dataclass(frozen=True, slots=True)
class Wood:
    """One row of woods.toml."""

    name: str
    """As people write it."""
    basic_gravity: float
    """Oven-dry mass over green volume over water, [-]."""
    shrinkage: float
    """Of the volume from green to oven-dry, [-]."""
    grain: str
    """'open', 'semi-open' or 'close'."""
    sapwood: str
    """Does resin go in: 'ready', 'slow' or 'shut'."""
    heartwood: str
    """The same of the inner wood."""
    bleeds_in: tuple[str, ...]
    """Families of thinner its colour dissolves in: 'alcohol', 'ketone', 'aromatic'."""
    oily: bool
    """Oil or pitch at the surface keeps resin from sticking."""
    note: str
    """What to know of it."""
    source: str
    """Where the row comes from."""


@dataclass(frozen=True, slots=True)
class ResinClass:
    """One row of resins.toml."""

    name: str
    """What it is, never a brand."""
    says: str
    """The same in words."""
    ratio_a: float
    """Parts of A by volume, [-]."""
    ratio_b: float
    """Parts of B by volume, [-]."""
    density_a: float
    """[kg/m3]."""
    density_b: float
    """[kg/m3]."""
    reference: float
    """Temperature the times and the viscosity hold at, [K]."""
    activation_energy: float
    """Of the cure, [J/mol]."""
    viscosity: float
    """A and B mixed, at the reference, [Pa s]."""
    halving: float
    """Warmer by this, half as thick, [K]."""
    pot_life: float
    """[s]."""
    pot_mass: float
    """Of the cup that pot life is of, [kg]."""
    gel_early: float
    """Thin film, early end, [s]."""
    gel_late: float
    """Thin film, late end, [s]."""
    gel_is_guess: bool
    """The gel range is a guess from the pot life."""
    open_early: float
    """The bag may be opened, early end, [s]."""
    open_late: float
    """Late end, [s]."""
    coldest: float
    """Below it the class stalls, [K]."""
    glass_uncured: float
    """Glass temperature of the fresh mix, [K]."""
    glass_cured: float
    """Glass temperature of the full cure, [K]."""
    glass_curvature: float
    """Lambda of science.cure.glass_temperature, [-]."""
    largest_thinner: float
    """Most thinner by mass of the whole mix, [-]."""
    carrier: str | None
    """Thinner it comes with; None for none."""
    carrier_share: float
    """Of the mixed mass of A and B, [-]."""
    thinned_share: float | None
    """Thinner in a mix whose viscosity was measured, by mass, [-]."""
    thinned_viscosity: float | None
    """What was measured there, at the reference, [Pa s]."""
    source: str
    """Where the row comes from."""

    @property
    def share_of_a(self) -> float:
        """Mass of A in the mass of A and B, [-]."""
        a = self.ratio_a * self.density_a
        return a / (a + self.ratio_b * self.density_b)

    @property
    def weight_ratio(self) -> float:
        """B per A by mass, [-]."""
        return self.ratio_b * self.density_b / (self.ratio_a * self.density_a)

    @property
    def resin_density(self) -> float:
        """Of A and B together without their carrier, as if mixing took no room, [kg/m3]."""
        volume = self.share_of_a / self.density_a + (1 - self.share_of_a) / self.density_b
        if self.carrier is not None:
            volume -= self.carrier_share / SOLVENTS[self.carrier].density
        return (1 - self.carrier_share) / volume


@dataclass(frozen=True, slots=True)
class Thinner:
    """One row of thinners.toml."""

    name: str
    """As people write it."""
    solvent: str | None
    """Key of science.solvent.SOLVENTS; None for no thinner and for a mixture."""
    mixture: str | None
    """Key of science.solvent_mixture.MIXTURES; None for no thinner and for one solvent."""
    families: tuple[str, ...]
    """What it is kin to, for the colours it dissolves: 'alcohol', 'ketone', 'aromatic'."""
    note: str
    """What to know of it."""
    source: str
    """Where the row comes from."""


_Found = TypeVar("_Found", Wood, ResinClass, Thinner)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All the names that a description may use."""

    woods: Mapping[str, Wood]
    """By name."""
    resins: Mapping[str, ResinClass]
    """Classes of resin, by name."""
    thinners: Mapping[str, Thinner]
    """By name; 'none' is one."""

    def wood(self, name: str) -> Wood:
        """The wood of that name. Raises InputError with near names, or all."""
        return _find(self.woods, name, "wood")

    def resin(self, name: str) -> ResinClass:
        """The class of resin of that name. Raises InputError with near names, or all."""
        return _find(self.resins, name, "resin")

    def thinner(self, name: str) -> Thinner:
        """The thinner of that name. Raises InputError with near names, or all."""
        return _find(self.thinners, name, "thinner")


@cache
def built_in() -> Catalogue:
    """The catalogue that comes with the controller."""
    return _catalogue(built_in_rows())


def read_catalogue(folder: Path) -> Catalogue:
    """The built-in catalogue with the rows of this folder's woods.toml, resins.toml, thinners.toml.

    Any of the three will do. A known name changes only the columns given, and says anew where they
    come from; a new name needs every column. Raises InputError: a first line with the count, then
    a line for each fault of all three files.
    """
    return _catalogue(rows_in(folder))


def _find(rows: Mapping[str, _Found], name: str, what: str) -> _Found:
    try:
        return rows[name]
    except KeyError:
        there = {known.lower(): known for known in rows}
        near = difflib.get_close_matches(name.lower(), there, n=2, cutoff=0.75)
        near = [name.lower()] if name.lower() in there else near
        # all of them in one line hide the one that was meant
        which = f"did you mean {' or '.join(there[each] for each in near)}?"
        raise InputError(
            f"{shown(name)}: no such {what}; {which if near else 'there is ' + ', '.join(rows)}"
        ) from None


def _catalogue(rows: Rows) -> Catalogue:
    return Catalogue(
        woods={name: _wood(name, row) for name, row in rows.woods.items()},
        resins={name: _resin(name, row) for name, row in rows.resins.items()},
        thinners={name: _thinner(name, row) for name, row in rows.thinners.items()},
    )


def _wood(name: str, row: WoodRow) -> Wood:
    return Wood(
        name=name,
        basic_gravity=row.basic_gravity,
        shrinkage=row.shrinkage_share,
        grain=row.grain,
        sapwood=row.sapwood,
        heartwood=row.heartwood,
        bleeds_in=row.bleeds_in,
        oily=row.oily,
        note=row.note,
        source=row.source,
    )


def _resin(name: str, row: ResinRow) -> ResinClass:
    hour, minute = 3600.0, 60.0
    thinned = row.thinned_viscosity_mpas
    return ResinClass(
        name=name,
        says=row.says,
        ratio_a=row.ratio_a,
        ratio_b=row.ratio_b,
        density_a=row.density_a_kg_m3,
        density_b=row.density_b_kg_m3,
        reference=row.reference_c + ZERO_CELSIUS,
        activation_energy=1000 * row.activation_kj_mol,
        viscosity=row.viscosity_mpas / 1000,
        halving=row.viscosity_halving_k,
        pot_life=minute * row.pot_life_min,
        pot_mass=row.pot_mass_g / 1000,
        gel_early=hour * row.gel_early_h,
        gel_late=hour * row.gel_late_h,
        gel_is_guess=row.gel_is_guess,
        open_early=hour * row.open_early_h,
        open_late=hour * row.open_late_h,
        coldest=row.coldest_c + ZERO_CELSIUS,
        glass_uncured=row.glass_uncured_c + ZERO_CELSIUS,
        glass_cured=row.glass_cured_c + ZERO_CELSIUS,
        glass_curvature=row.glass_curvature,
        largest_thinner=row.largest_thinner_share,
        carrier=row.carrier or None,
        carrier_share=row.carrier_share,
        thinned_share=row.thinned_share,
        thinned_viscosity=None if thinned is None else thinned / 1000,
        source=row.source,
    )


def _thinner(name: str, row: ThinnerRow) -> Thinner:
    single = row.solvent in SOLVENTS
    return Thinner(
        name=name,
        solvent=row.solvent if single else None,
        mixture=None if single else row.solvent or None,
        families=row.families,
        note=row.note,
        source=row.source,
    )


__all__ = [
    "GUESSED_GEL",
    "Catalogue",
    "ResinClass",
    "Thinner",
    "Wood",
    "built_in",
    "read_catalogue",
]
