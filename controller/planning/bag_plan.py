"""How deep the bag is pulled: what is asked, what this pump and wood allow, what would boil."""

from dataclasses import dataclass

from controller.errors import InputError
from controller.planning.catalogue import Thinner
from controller.planning.sheet import Bag, Mix
from controller.quantities import People, Pressure, say
from controller.science.constants import INCH_OF_MERCURY
from controller.science.solvent import CHI_ASSUMED
from controller.science.solvent_mixture import LIQUIDS, pressure_over_resin
from controller.science.wood import vapour_floor

BOIL_MARGIN = 2 * INCH_OF_MERCURY
"""Above the pressure at which thinner and wood's water would boil, [Pa]; own."""
POSSIBLE_MARGIN = 0.5 * INCH_OF_MERCURY
"""Above the deepest this rig can pull, so that the pump gets to rest, [Pa]; own."""
LEAK_LIMIT = 700.0 / 60
"""Rise that counts as a leak, [Pa/s]: 0.7 kPa/min, 1 inHg in 5 min; common practice, no source."""
LEAST_VACUUM = 4 * INCH_OF_MERCURY
"""Under this a bag does not press, and the leak gate cannot judge, [Pa]; own."""
SHALLOWEST_RESTART = 2 * INCH_OF_MERCURY
"""Vacuum the pump starts again at, at the latest, [Pa]; own."""


@dataclass(frozen=True, slots=True)
class BoilLimit:
    """What keeps a bag from being pulled deeper, part by part; the parts add up."""

    thinner: float
    """Vapour of the thinner over the mix, [Pa]."""
    water: float
    """Vapour over the wood, [Pa]."""
    margin: float
    """On top, [Pa]."""

    @property
    def pressure(self) -> float:
        """Absolute pressure under which the coat may boil, [Pa]."""
        return self.thinner + self.water + self.margin


def boil_limit(
    mix: Mix, thinner: Thinner | None, resin_density: float, moisture: float, temperature: float
) -> BoilLimit:
    """Where thinner or the wood's water may boil, margin on it.

    mix: what is in the cup      thinner: its row, weighed in or carried; None for none
    resin_density: of A and B together, [kg/m3]      moisture: of the wood, [-]
    temperature: of the coat, [K]

    Thinner by Flory-Huggins with an assumed chi, water as over wood that has had time, and
    BOIL_MARGIN. Eases as the board cools. It does not stop the foam of air from the pores.
    """
    water = vapour_floor(moisture, temperature)
    name = None if thinner is None else thinner.solvent or thinner.mixture
    if name is None:
        return BoilLimit(0.0, water, BOIL_MARGIN)
    resin = mix.a + mix.b - mix.carried
    vapour = pressure_over_resin(
        LIQUIDS[name], mix.thinner + mix.carried, resin, resin_density, CHI_ASSUMED, temperature
    )
    return BoilLimit(vapour, water, BOIL_MARGIN)


def plan_bag(
    *,
    asked: Pressure,
    hold_band: float,
    ultimate: float,
    air_pressure: float,
    moisture: float,
    room: float,
    boils: float,
    let_up: bool,
) -> Bag:
    """The bag of one coat.

    asked: for the hold      hold_band: [Pa]      ultimate: of the pump, absolute, [Pa]
    air_pressure: in the shop, [Pa]      moisture: of the wettest piece, [-]      room: [K]
    boils: the boil limit when the bag is first pulled, [Pa]      let_up: ends and backs are sealed

    A vacuum is counted from this shop's air. Raises InputError where hardly any can be had.
    """
    possible = max(ultimate, vapour_floor(moisture, room))
    wanted = asked.value if asked.kind == "abs" else air_pressure - asked.value
    target = max(wanted, possible + POSSIBLE_MARGIN, boils)
    if target > air_pressure - LEAST_VACUUM:
        left = say(max(air_pressure - target, 0.0), "vacuum", People())
        raise InputError(
            f"bag: {left} is all there is to be had (pump {ultimate / 1e3:.1f} kPa abs, boiling "
            f"{boils / 1e3:.1f}, air {air_pressure / 1e3:.1f}); less thinner, or bagged = false"
        )
    return Bag(
        target=target,
        restart=min(target + hold_band, air_pressure - SHALLOWEST_RESTART),
        possible=possible,
        boil_limit=boils,
        leak_limit=LEAK_LIMIT,
        let_up=let_up,
    )
