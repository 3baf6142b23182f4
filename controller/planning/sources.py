"""Where each figure of a batch sheet comes from, by its dotted name."""

from controller.planning.catalogue import Catalogue
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet

_HANDBOOK = "[1] Forest Products Laboratory, Wood Handbook, FPL-GTR-190, 2010, chapter 4"
_FORECAST = "own: forecast of a slab under a lamp, not measured on this board"

_FIXED = {
    "board.thickness": "told in the description",
    "board.conductivity": f"{_HANDBOOK}, eq. 4-15",
    "board.density": f"{_HANDBOOK}, eq. 4-10, from the wood's row",
    "board.heat_capacity": f"{_HANDBOOK}, eq. 4-16 to 4-18",
    "board.porosity": "[1] J. F. Siau, Transport Processes in Wood, 1984; from memory, to be "
    "checked",
    "board.moisture": "told in the description",
    "board.face_loss": "own: about 6 by radiation and 5 by free convection",
    "mix.a": "ratio by volume and densities of the resin's row; thinner counted in the whole",
    "mix.b": "as mix.a",
    "mix.thinner": "told in the description, as a share of the whole mix by mass",
    "mix.coat": "told in the description: weight times area of the pieces",
    "mix.carried": "the resin's row",
    "heat.band_low": "own: 4 K under the band's top",
    "heat.band_high": "own: the coolest band that keeps the face in the window long enough, never "
    "above 50 C",
    "heat.trip": "own: 10 K above the band, never above 60 C",
    "heat.window_low": "common practice, no source, unless the rig's settings or the description "
    "say otherwise",
    "heat.window_high": "as heat.window_low",
    "heat.target_mean": "own: 80 % of the mean rise this board can reach at this band and back",
    "heat.settles_at": "own: what the lamp is said to give in the settings, over what both faces "
    "lose",
    "heat.preheat": _FORECAST,
    "heat.soak": _FORECAST,
    "heat.lamp_on": _FORECAST,
    "heat.opens": _FORECAST,
    "heat.shuts": _FORECAST + "; the wet coat cools it further",
    "heat.handling": "own, 180 s, unless the rig's settings or the description say otherwise",
    "bag.target": "own, 22 inHg vacuum, unless the settings or the description say otherwise; "
    "never past the pump, the wood's vapour or the boil limit",
    "bag.restart": "common practice, no source: 3 inHg, unless the settings say otherwise",
    "bag.possible": "own: the pump's ultimate in the settings, or the vapour over this wood",
    "bag.boil_limit": "own: Flory-Huggins with chi 0.4 assumed, water over the wood, and 2 inHg; "
    "at the window's top",
    "bag.leak_limit": "common practice, no source: 1 inHg in 5 min",
    "flash_off.early": "common practice, no source; the thinner shares that part the rows: own",
    "flash_off.late": "as flash_off.early",
    "flash_off.reference": "own",
    "flash_off.activation_energy": "own: near the solvents' heat of evaporation, from memory, to "
    "be checked",
}
_OF_THE_RESIN = (
    "reference",
    "activation_energy",
    "pot_life",
    "gel_early",
    "gel_late",
    "open_early",
    "open_late",
    "coldest",
    "uncured_glass",
    "cured_glass",
    "glass_curvature",
)


def sources(sheet: BatchSheet, description: Description, catalogue: Catalogue) -> dict[str, str]:
    """Source of every figure in the sheet's coats, by "part.field", and of each row used."""
    found = dict(_FIXED)
    lined = description.heat.back == "lined"
    found["board.back_loss"] = f"own: a back that {'lies on foam' if lined else 'stands free'}"
    row = description.resin_in(catalogue)
    found |= {f"resin.{field}": f"row {row.name}" for field in _OF_THE_RESIN}
    found[f"row {row.name}"] = row.source
    for name in dict.fromkeys(piece.wood for piece in sheet.pieces):
        found[f"row {name}"] = catalogue.wood(name).source
    for coat in sheet.coats:
        if coat.mix.thinner_name is not None:
            found[f"row {coat.mix.thinner_name}"] = catalogue.thinner(coat.mix.thinner_name).source
    return found
