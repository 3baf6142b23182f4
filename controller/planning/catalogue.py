"""What a batch is made of: woods, classes of resin and thinners, from data files with sources."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from controller.errors import InputError
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
    """Temperature the times hold at, [K]."""
    activation_energy: float
    """Of the cure, [J/mol]."""
    pot_life: float
    """[s]."""
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
    largest_thinner: float
    """Most thinner by mass of the whole mix, [-]."""
    carrier: str | None
    """Thinner it comes with; None for none."""
    carrier_share: float
    """Of the mixed mass of A and B, [-]."""
    source: str
    """Where the row comes from."""

    @property
    def share_of_a(self) -> float:
        """Mass of A in the mass of A and B, [-]."""
        a = self.ratio_a * self.density_a
        return a / (a + self.ratio_b * self.density_b)

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
    """Key of science.solvent.SOLVENTS; None for no thinner."""
    note: str
    """What to know of it."""
    source: str
    """Where the row comes from."""


_HOUR, _MINUTE = 3600.0, 60.0
_Row = TypeVar("_Row", Wood, ResinClass, Thinner)


def _read(file: str) -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("controller.planning").joinpath(file).read_text(encoding="utf-8"))


@cache
def woods() -> Mapping[str, Wood]:
    """Every wood there is, by name."""
    return {
        name: Wood(
            name=name,
            basic_gravity=row["basic_gravity"],
            shrinkage=row["shrinkage_share"],
            grain=row["grain"],
            note=row["note"],
            source=row["source"],
        )
        for name, row in _read("woods.toml").items()
    }


@cache
def resins() -> Mapping[str, ResinClass]:
    """Every class of resin there is, by name."""
    return {
        name: ResinClass(
            name=name,
            says=row["says"],
            ratio_a=row["ratio_a"],
            ratio_b=row["ratio_b"],
            density_a=row["density_a_kg_m3"],
            density_b=row["density_b_kg_m3"],
            reference=row["reference_c"] + ZERO_CELSIUS,
            activation_energy=1000 * row["activation_kj_mol"],
            pot_life=_MINUTE * row["pot_life_min"],
            gel_early=_HOUR * row["gel_early_h"],
            gel_late=_HOUR * row["gel_late_h"],
            gel_is_guess=row["gel_is_guess"],
            open_early=_HOUR * row["open_early_h"],
            open_late=_HOUR * row["open_late_h"],
            coldest=row["coldest_c"] + ZERO_CELSIUS,
            largest_thinner=row["largest_thinner_share"],
            carrier=row["carrier"] or None,
            carrier_share=row["carrier_share"],
            source=row["source"],
        )
        for name, row in _read("resins.toml").items()
    }


@cache
def thinners() -> Mapping[str, Thinner]:
    """Every thinner there is, by name; 'none' is one."""
    return {
        name: Thinner(name, row["solvent"] or None, row["note"], row["source"])
        for name, row in _read("thinners.toml").items()
    }


def _find(rows: Mapping[str, _Row], name: str, what: str) -> _Row:
    try:
        return rows[name]
    except KeyError:
        known = ", ".join(rows)
        raise InputError(f"{shown(name)}: no such {what}; there is {known}") from None


def wood(name: str) -> Wood:
    """The wood of that name. Raises InputError that lists what there is."""
    return _find(woods(), name, "wood")


def resin(name: str) -> ResinClass:
    """The class of resin of that name. Raises InputError that lists what there is."""
    return _find(resins(), name, "resin")


def thinner(name: str) -> Thinner:
    """The thinner of that name. Raises InputError that lists what there is."""
    return _find(thinners(), name, "thinner")
