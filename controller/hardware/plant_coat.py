"""The pretend coat: how its thinner leaves, how old it is, and when it gels.

Nothing here is the controller's own formula: thinner leaves from two stores, and one activation
energy carries the age of the resin.
"""

from dataclasses import dataclass
from math import exp

GAS_CONSTANT = 8.314462618
"""[J/mol K]; CODATA 2018, from memory, to be checked."""
AGE_TEMPERATURE = 296.15
"""Temperature at which an hour of age is an hour, 23 C, [K]; own."""


@dataclass(frozen=True, slots=True)
class CoatParameters:
    """The resin and its thinner as they truly are."""

    resin: float = 0.045
    """Mixed resin a coat takes, [kg]; own."""
    solvent: float = 0.0025
    """Thinner in it, [kg]; own."""
    heat_capacity: float = 2000.0
    """Of the liquid, [J/kg K]; own."""
    activation: float = 53e3
    """Of the cure, [J/mol]; within 44-60 kJ/mol published for amine-cured epoxy, from memory, to
    be checked."""
    gel_age: float = 5.5 * 3600
    """Age at which a thin film gels, [s at 23 C]; own."""
    free_share: float = 0.4
    """Thinner that leaves while the film is wet, of all, [1]; own."""
    free_time: float = 15 * 60.0
    """Time constant of that share, unbagged at 20 C, [s]; own."""
    bound_time: float = 22 * 3600.0
    """Time constant of the rest, unbagged at 20 C, [s]; own."""
    leaving_activation: float = 45e3
    """Of the leaving, [J/mol]; own."""
    film_slows: float = 25.0
    """How many times slower thinner leaves under bag film, [1]; own."""
    latent: float = 0.52e6
    """Heat to evaporate the thinner, [J/kg]; acetone, from memory, to be checked."""
    solvent_molar: float = 58.08e-3
    """Of the thinner, [kg/mol]; acetone, from memory, to be checked."""
    resin_molar: float = 0.36
    """Of the resin, [kg/mol]; own."""
    vapour_at_20c: float = 24.7e3
    """Vapour pressure of the neat thinner at 20 C, [Pa]; acetone, from memory, to be checked."""
    vapour_latent: float = 31.5e3
    """Molar heat of evaporation, [J/mol]; acetone near 20 C, from memory, to be checked."""


class Coat:
    """Resin and thinner on the board; none at first."""

    def __init__(self, parameters: CoatParameters) -> None:
        self.parameters = parameters
        self.resin = 0.0
        """Mixed resin of the newest coat, [kg]."""
        self.free = 0.0
        """Thinner that leaves easily, [kg]."""
        self.bound = 0.0
        """Thinner held in the film, [kg]."""
        self.age = 0.0
        """Of the newest coat, [s at 23 C]."""

    @property
    def solvent(self) -> float:
        """Thinner left in all coats, [kg]."""
        return self.free + self.bound

    @property
    def gelled(self) -> bool:
        """The newest coat has gelled."""
        return self.age >= self.parameters.gel_age

    def lay_on(self, resin: float, solvent: float) -> None:
        """A fresh coat of `resin` and `solvent`, [kg], over whatever thinner is left."""
        self.resin = resin
        self.free += solvent * self.parameters.free_share
        self.bound += solvent * (1 - self.parameters.free_share)
        self.age = 0.0

    def step(self, seconds: float, temperature: float, filmed: bool) -> tuple[float, float | None]:
        """Thinner that left, [kg], and how far into the step the coat gelled, [s] or None.

        seconds: length of the step, [s]      temperature: of the coat, [K]
        filmed: bag film lies over it
        """
        if self.resin == 0.0:
            return 0.0, None
        parameters = self.parameters
        reach = (1 / temperature - 1 / AGE_TEMPERATURE) / GAS_CONSTANT
        aged = seconds * exp(-parameters.activation * reach)
        wanting = parameters.gel_age - self.age
        gelled_after = seconds * wanting / aged if 0 < wanting <= aged else None
        self.age += aged
        if self.free + self.bound == 0.0:
            return 0.0, gelled_after
        ease = exp(-parameters.leaving_activation * (1 / temperature - 1 / 293.15) / GAS_CONSTANT)
        if filmed:
            ease /= parameters.film_slows
        before = self.free + self.bound
        self.free *= exp(-seconds * ease / parameters.free_time)
        self.bound *= exp(-seconds * ease / parameters.bound_time)
        return before - self.free - self.bound, gelled_after

    def draw_off(self, moles: float) -> None:
        """Take boiled-off thinner, [mol], away, the easy share first."""
        mass = moles * self.parameters.solvent_molar
        easy = min(mass, self.free)
        self.free -= easy
        self.bound = max(0.0, self.bound - (mass - easy))

    def vapour_floor(self, temperature: float) -> float:
        """Pressure below which the thinner boils out of the liquid coat at `temperature`, [Pa].

        Mole fraction times the neat thinner's vapour pressure; 0 once the coat has gelled.
        """
        parameters = self.parameters
        if self.solvent == 0.0 or self.gelled:
            return 0.0
        moles = self.solvent / parameters.solvent_molar
        fraction = moles / (moles + self.resin / parameters.resin_molar)
        climb = (1 / temperature - 1 / 293.15) * parameters.vapour_latent / GAS_CONSTANT
        return fraction * parameters.vapour_at_20c * exp(-climb)
