"""The pretend board: heat through its thickness, and what its two faces lose to the shop.

Finer and less linear than anything the controller estimates with, on purpose: an estimate must
not be scored on its own formula.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import cos, exp, pi
from operator import mul

from controller.errors import InputError

STEFAN_BOLTZMANN = 5.670374e-8
"""Radiation constant, [W/m2 K4]; CODATA 2018, from memory, to be checked."""
FACING_UP = 1.32
"""Free convection off a warm face looking up, h = this (dT/L)^(1/4), [W/m2 K^(5/4) m^(1/4)]; W. H.
McAdams' simplified form for air, from memory, to be checked."""
FACING_DOWN = 0.59
"""The same off a warm face looking down; from memory, to be checked."""
STILLEST = 0.3
"""Temperature difference below which draughts, not buoyancy, move the air, [K]; own."""
WETTED = 2e-3
"""Depth of wood that has cooled with the coat by the time it is spread, [m]; own."""
ROUND_LOSS = 11.0
"""Loss the implicit part of a step reckons with, [W/m2 K]; near radiation plus free convection of a
warm face, own."""
GAMMA = 1 - 0.5**0.5
"""Parameter for which the two-stage Rosenbrock step is L-stable, [1]; J. G. Verwer and others, SIAM
J. Sci. Comput. 20 (1999) 1456, from memory, to be checked."""
ROOT_2, ROOT_HALF, OVER = 2**0.5, 0.5**0.5, 1 + 0.5**0.5
"""Weights of that step, [1]; by its algebra."""


@dataclass(frozen=True, slots=True)
class BoardParameters:
    """The board as it truly is; nobody tells these to the controller."""

    length: float = 0.450
    """Along the grain, [m]; own example."""
    width: float = 0.300
    """Across the grain, [m]; own example."""
    thickness: float = 0.020
    """Between the faces, [m]; own example."""
    density: float = 670.0
    """Of ash in a dry shop, [kg/m3]; Wood Handbook ch. 5, from memory, to be checked."""
    heat_capacity: float = 1560.0
    """Of wood at 8 % moisture and 25 C, [J/kg K]; Wood Handbook eq. 4-16, from memory, to be
    checked."""
    conductivity: float = 0.16
    """Across the grain, [W/m K]; Wood Handbook eq. 4-15, from memory, to be checked."""
    emissivity: float = 0.90
    """Of bare wood at shop temperature, [1]; from memory, to be checked."""
    absorption_depth: float = 0.2e-3
    """Depth that keeps all but 1/e of the lamp's near infrared, [m]; 0 is the skin alone; own."""
    back_insulated: bool = True
    """The board lies on foam until it is flipped away or moved out."""
    back_conductance: float = 0.6
    """Through that foam to the shop, [W/m2 K]; own."""
    film_resistance: float = 0.045
    """Of bag film and breather over the upper face, [m2 K/W]; own."""
    linear_loss: float | None = None
    """When given, both faces lose exactly this, [W/m2 K], and neither foam nor film
    counts: for comparison with solutions on paper."""
    nodes: int = 64
    """Temperatures held through the thickness, [1]; own."""

    @property
    def area(self) -> float:
        """Of one face, [m2]."""
        return self.length * self.width


class Board:
    """Temperatures through the thickness, node 0 on the face that looks up."""

    def __init__(self, parameters: BoardParameters, temperature: float) -> None:
        """A board at `temperature`, [K], all through. Raises InputError for fewer than 60 nodes."""
        if parameters.nodes < 60:
            raise InputError(f"board: {parameters.nodes} nodes are too few; take 60 or more")
        self.parameters = parameters
        self.filmed = False
        """Bag film and breather lie on the upper face."""
        self._temperatures = [temperature] * parameters.nodes
        self._open_back = not parameters.back_insulated
        self._factored: dict[float, tuple[_Sweep, _Sweep]] = {}
        self._set_out(parameters)
        self._convecting = (parameters.length * parameters.width) / (
            2 * (parameters.length + parameters.width)
        )

    def _set_out(self, parameters: BoardParameters) -> None:
        """Place the nodes, closer together towards both faces, where the lamp's pulses live."""
        last = parameters.nodes - 1
        depth = [
            parameters.thickness * (0.3 * i / last + 0.35 * (1 - cos(pi * i / last)))
            for i in range(parameters.nodes)
        ]
        self._links = [
            parameters.conductivity / (below - above) for above, below in pairwise(depth)
        ]
        edges = [0.0, *((a + b) / 2 for a, b in pairwise(depth)), depth[-1]]
        volumetric = parameters.density * parameters.heat_capacity
        self._capacities = [volumetric * (below - above) for above, below in pairwise(edges)]
        kept = [exp(-edge / max(parameters.absorption_depth, 1e-9)) for edge in edges]
        self._light = [a - b for a, b in pairwise(kept)]
        self._light[-1] += kept[-1]
        self._dark = [0.0] * parameters.nodes
        self._skin = sum(1 for place in depth if place < WETTED)

    @property
    def face(self) -> float:
        """Temperature of the face that looks up, [K]."""
        return self._temperatures[0]

    @property
    def back(self) -> float:
        """Temperature of the face that looks down, [K]."""
        return self._temperatures[-1]

    @property
    def mean(self) -> float:
        """Mean temperature by heat content, [K]."""
        return self.heat / sum(self._capacities)

    @property
    def heat(self) -> float:
        """Heat held per area of face, above 0 K, [J/m2]."""
        return float(sum(map(mul, self._capacities, self._temperatures)))

    def film(self, room: float) -> float:
        """Temperature of the bag film over the face in a shop at `room`, [K]."""
        outside = self._exchange(self.face, room, FACING_UP)
        through = outside * self.parameters.film_resistance
        return (self.face + through * room) / (1 + through)

    @property
    def open_back(self) -> bool:
        """Nothing lies against the lower face."""
        return self._open_back

    @open_back.setter
    def open_back(self, is_open: bool) -> None:
        self._open_back = is_open
        self._factored.clear()

    def flip(self) -> None:
        """Turn the board over."""
        self._temperatures.reverse()
        self._capacities.reverse()
        self._factored.clear()

    def wet(self, capacity: float, temperature: float) -> None:
        """Lay liquid of `capacity`, [J/m2 K], at `temperature`, [K], on the upper face.

        It is spread over minutes, so the wood's outer part has cooled with it by the end.
        """
        cooled = sum(self._capacities[: self._skin])
        drop = capacity * (self.face - temperature) / (cooled + capacity)
        for i in range(self._skin):
            self._temperatures[i] -= drop
        self._capacities[0] += capacity
        self._factored.clear()

    def _exchange(self, surface: float, room: float, convection: float) -> float:
        """Radiation and free convection off one surface, [W/m2 K]."""
        radiation = (
            self.parameters.emissivity
            * STEFAN_BOLTZMANN
            * (surface * surface + room * room)
            * (surface + room)
        )
        difference = max(abs(surface - room), STILLEST)
        return radiation + convection * float((difference / self._convecting) ** 0.25)

    def _gained(self, face: float, room: float) -> float:
        """What the upper face takes up from a shop at `room`, beside what the damping reckons with
        to leave it, [W/m2]."""
        loss = self.parameters.linear_loss
        if loss is not None:
            return loss * room
        up = self._exchange(face, room, FACING_UP)
        if self.filmed:
            up = up / (1 + up * self.parameters.film_resistance)
        return up * (room - face) + ROUND_LOSS * face

    def _gained_below(self, back: float, room: float) -> float:
        """The same of the lower face, [W/m2]."""
        loss = self.parameters.linear_loss
        if loss is not None:
            return loss * room
        if not self.open_back:
            return self.parameters.back_conductance * room
        return self._exchange(back, room, FACING_DOWN) * (room - back) + ROUND_LOSS * back

    def step(self, seconds: float, flux: float, sink: float, room: float) -> None:
        """One linearly implicit step of second order.

        seconds: length of the step, [s]       flux: absorbed from the lamp, [W/m2]
        sink: drawn from the upper face by drying, [W/m2]      room: shop temperature, [K]

        Inside the board heat is kept to rounding; any length is stable. Resolves a change only as
        finely as the step: keep to a second or so just after one.

        Both Rosenbrock stages are written for temperatures in place of rates, which leaves of each
        one solution of the damped equations: x from now, then z from now + sqrt 2 (x - now), with
        the losses of now + (x - now) / gamma. The end is (1 + sqrt 1/2) z - sqrt 1/2 x.
        """
        now = self._temperatures
        down, up = self._sweeps(GAMMA * seconds)
        light = [flux * share for share in down.lit] if flux else self._dark
        carried = self._gained(now[0], room) - sink
        part = [
            carried := held * node + lit + factor * carried
            for held, factor, node, lit in zip(down.held, down.onward, now, light, strict=True)
        ]
        part[-1] += down.far * self._gained_below(now[-1], room)
        # x comes from the back up, and z is eliminated in the same order
        x = 0.0
        solved = [x := here + again * x for here, again in zip(part[::-1], down.again, strict=True)]
        carried = self._gained_below(now[-1] + (solved[0] - now[-1]) / GAMMA, room)
        light = [flux * share for share in up.lit] if flux else self._dark
        part = [
            carried := held * (node + ROOT_2 * (x - node)) + lit + factor * carried
            for held, factor, node, x, lit in zip(
                up.held, up.onward, now[::-1], solved, light, strict=True
            )
        ]
        part[-1] += up.far * (self._gained(now[0] + (solved[-1] - now[0]) / GAMMA, room) - sink)
        z = 0.0
        self._temperatures = [
            OVER * (z := here + again * z) - ROOT_HALF * x
            for here, again, x in zip(part[::-1], up.again, solved[::-1], strict=True)
        ]

    def _sweeps(self, damp: float) -> "tuple[_Sweep, _Sweep]":
        """The damped equations, factored from the upper face down and from the back up.

        The step is of second order whatever losses stand in these, so round ones do, and the
        factors of one length of step serve for hours.
        """
        known = self._factored.get(damp)
        if known is not None:
            return known
        up = down = self.parameters.linear_loss
        if up is None or down is None:
            up = ROUND_LOSS
            down = ROUND_LOSS if self.open_back else self.parameters.back_conductance
        if len(self._factored) >= 64:
            self._factored.clear()
        losses = [up, *self._links, down]
        known = (
            _sweep(damp, self._capacities, self._light, losses),
            _sweep(damp, self._capacities[::-1], self._light[::-1], losses[::-1]),
        )
        self._factored[damp] = known
        return known


@dataclass(frozen=True, slots=True)
class _Sweep:
    """Thomas' elimination of the damped equations from one face to the other, node by node."""

    held: list[float]
    """What a node's temperature counts, [1]."""
    lit: list[float]
    """What the light it takes up counts, [K m2/W]."""
    onward: list[float]
    """What the node before it counts; of the first node, its face's gain [K m2/W]."""
    again: list[float]
    """On the way back: what the node solved before counts, [1]."""
    far: float
    """What the gain of the other face counts for the last node, [K m2/W]."""


def _sweep(damp: float, capacities: list[float], light: list[float], losses: list[float]) -> _Sweep:
    """One sweep in the order of the lists.

    losses: conductance on either side of each node, so one more than nodes, [W/m2 K]
    """
    ties = [damp * loss for loss in losses]
    pivots: list[float] = []
    for capacity, before, behind in zip(capacities, ties, ties[1:], strict=False):
        taken = before * before / pivots[-1] if pivots else 0.0
        pivots.append(capacity + before + behind - taken)
    return _Sweep(
        held=[capacity / pivot for capacity, pivot in zip(capacities, pivots, strict=True)],
        lit=[damp * share / pivot for share, pivot in zip(light, pivots, strict=True)],
        onward=[damp / pivots[0]]
        + [tie / pivot for tie, pivot in zip(ties[1:-1], pivots[1:], strict=True)],
        again=[0.0]
        + [tie / pivot for tie, pivot in zip(ties[-2:0:-1], pivots[-2::-1], strict=True)],
        far=damp / pivots[-1],
    )
