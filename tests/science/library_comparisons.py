"""Every comparison with an independent library, by name, and where each parts from ours most.

Run as a script, it tells the worst point of each; that takes the packages of the extra `check`.
"""

import sys
from collections.abc import Callable, Iterable, Mapping

import library_board as board
import library_lamp as lamp
import library_resin as resin
import library_solvent as solvent
import library_vacuum as vacuum
from library_points import Point, worst

COMPARISONS: Mapping[str, Callable[[], Iterable[Point]]] = {
    each.__name__: each
    for each in (
        solvent.vapour_pressures_of_coolprop,
        solvent.isopropanol_of_poling,
        solvent.isopropanol_of_landolt,
        solvent.mek_of_mcgarry,
        solvent.water_of_steam_tables,
        solvent.boiling_of_coolprop,
        solvent.dew_points_of_psychrolib,
        solvent.standard_air_of_fluids,
        solvent.station_pressure_of_psychrolib,
        solvent.cooling_air_of_coolprop,
        solvent.cooling_damp_air_of_coolprop,
        solvent.rows_of_chemicals,
        solvent.mixed_flames_of_chemicals,
        solvent.vapour_in_air_of_chemicals,
        solvent.thin_liquids_of_chemicals,
        vacuum.pumping_of_scipy,
        vacuum.pump_against_leak_of_scipy,
        vacuum.rises_of_scipy,
        vacuum.holes_of_fluids,
        vacuum.holes_of_real_air,
        vacuum.channels_of_fluids,
        vacuum.creeping_of_scipy,
        vacuum.filling_of_scipy,
        board.wood_of_chemics,
        board.wood_of_ashrae,
        lamp.radiation_of_ht,
        lamp.plates_of_ht,
        lamp.air_of_coolprop,
        lamp.films_of_ht,
        lamp.planck_of_scipy,
        lamp.beams_of_scipy,
        lamp.steady_faces_of_scipy,
        board.cooling_of_scipy,
        board.relayed_boards_of_scipy,
        board.warmings_of_scipy,
        board.thin_boards_of_scipy,
        resin.cures_of_scipy,
        resin.courses_of_scipy,
        resin.gels_of_scipy,
        resin.closed_cures,
        resin.ages_of_scipy,
        resin.cups_of_scipy,
        resin.films_of_scipy,
        resin.mixing_of_chemicals,
        resin.amines_of_chemicals,
    )
}
"""Each comparison by its function's name."""


def report() -> str:
    """The worst point of each comparison, the nearest to its limit first."""
    found = sorted(
        ((worst(points()), name) for name, points in COMPARISONS.items()),
        key=lambda each: -each[0].strain,
    )
    first = f"{len(found)} comparisons, worst point of each, as a share of its limit:"
    lines = [f"{point.strain:5.2f}  {name}: {point}" for point, name in found]
    return "\n".join([first, *lines])


if __name__ == "__main__":
    sys.stdout.write(report() + "\n")
