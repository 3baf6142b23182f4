"""The one physical truth of a pretend rig: lamp, board, coat, bag and shop, and a person's hands.

Whatever pretends to be a rig holds one plant. It knows no sensor, no act and no formula of the
controller's: estimates are scored against it.
"""

from dataclasses import replace
from math import exp

from controller.batch.signals import Role
from controller.errors import InputError
from controller.hardware.faults import Where, fault_named, fault_value
from controller.hardware.plant_bag import Bag
from controller.hardware.plant_board import Board, BoardParameters
from controller.hardware.plant_coat import GAS_CONSTANT, Coat, CoatParameters
from controller.hardware.plant_lamp import Lamp
from controller.hardware.plant_shop import Shop
from controller.hardware.plant_truth import PlantParameters, PlantTruth

__all__ = ["Plant", "PlantParameters", "PlantTruth"]

SHORTEST = 0.5
"""Step of the board just after something changed, [s]; own."""
LONGEST = 120.0
"""Step of the board when nothing has for long, [s]; own."""
FALLING = 20.0
"""Time constant with which a fallen probe takes the shop's temperature, [s]; own."""


class Plant:
    """One rig's physics, moved on by `advance` and by a person's hands."""

    def __init__(
        self, parameters: PlantParameters | None = None, seed: int = 0, now: float = 0.0
    ) -> None:
        """A dry board at shop temperature beside a cold lamp; `now` is rig time, [s]."""
        self.parameters = parameters or PlantParameters()
        self._shop = Shop(self.parameters.shop, seed)
        self._origin, self._elapsed = now, 0.0
        self._board = Board(self.parameters.board, self.room)
        self._lamp = Lamp(self.parameters.lamp)
        self._coat = Coat(self.parameters.coat)
        self._bag = Bag(self.parameters.bag, self.barometer, self.room)
        self._faults: dict[str, float] = {}
        self._probes = {Role.ROOM, Role.BACK}
        self._loose = self.room
        self._gelled: float | None = None
        self._under_lamp = self._moved_out = self._pump_commanded = False
        self._aim = self._drying = 0.0
        self._coat_up, self._calm = True, LONGEST

    @property
    def now(self) -> float:
        """Rig time of the present state, [s]."""
        return self._origin + self._elapsed

    def start_clock(self, now: float) -> None:
        """Call the present state rig time `now`, [s]; nothing moves."""
        self._origin = now - self._elapsed

    @property
    def face(self) -> float:
        """Upper face of the board, [K]."""
        return self._board.face

    @property
    def mean(self) -> float:
        """Board's mean, [K]."""
        return self._board.mean

    @property
    def back(self) -> float:
        """Lower face of the board, [K]."""
        return self._board.back

    @property
    def room(self) -> float:
        """Shop air, [K]."""
        return self._shop.temperature

    @property
    def film(self) -> float:
        """Bag film over the board; shop air while there is none, [K]."""
        return self._board.film(self.room) if self._bag.film_on else self.room

    @property
    def bag(self) -> float:
        """Pressure in the bag, absolute, [Pa]."""
        return self._bag.pressure

    @property
    def pore(self) -> float:
        """Pressure of the air in the pores, absolute, [Pa]."""
        return self._bag.pore

    @property
    def barometer(self) -> float:
        """Air pressure, [Pa]."""
        return self._shop.pressure

    @property
    def lamp_fed(self) -> bool:
        """The lamp's circuit is live, bulbs or not."""
        return self._lamp.fed

    @property
    def lamp_lit(self) -> bool:
        """A bulb burns."""
        return self._lamp.lit

    @property
    def pump_running(self) -> bool:
        """The pump turns."""
        closed = self._pump_commanded or "pump_stuck_on" in self._faults
        return closed and "pump_dead" not in self._faults

    @property
    def solvent_left(self) -> float:
        """Thinner still in the board, [kg]."""
        return self._coat.solvent

    @property
    def gel_at(self) -> float | None:
        """Rig time at which the newest coat gelled, [s]; None before."""
        return None if self._gelled is None else self._origin + self._gelled

    def seen_by(self, role: Role) -> float:
        """True temperature at the place of the probe in this role, [K].

        A probe that is off, or has no place to be, lies in the shop's air.
        """
        if role not in self._probes or role is Role.ROOM:
            return self.room
        if role is not Role.FACE:
            return self.back if role is Role.BACK else self.film
        if "probe_fell" in self._faults:
            return self._loose
        share = self._faults.get("probe_half_seated", 1.0)
        return self.room + share * (self.face - self.room)

    def truth(self) -> PlantTruth:
        """Everything that is so at `now`."""
        return PlantTruth(
            at=self.now,
            face=self.face,
            mean=self.mean,
            back=self.back,
            room=self.room,
            film=self.film,
            bag=self.bag,
            pore=self.pore,
            barometer=self.barometer,
            lamp_lit=self.lamp_lit,
            lamp_fed=self.lamp_fed,
            pump_running=self.pump_running,
            solvent_left=self.solvent_left,
            cure_age=self._coat.age,
            gel_at=self.gel_at,
            leak=self._bag.leak,
            under_lamp=self._under_lamp,
            coated=self._bag.coated,
            sealed=self._bag.sealed,
            film_on=self._bag.film_on,
            moved_out=self._moved_out,
            faults=tuple(self._faults),
        )

    def advance(self, seconds: float, lamp: bool, pump: bool) -> None:
        """Move everything on by `seconds`, the two outputs commanded so all the while.

        With 0 s the outputs switch and nothing else moves. Raises InputError below 0 s.
        """
        if not seconds >= 0:
            raise InputError(f"the plant cannot move on by {seconds} s; time only goes forward")
        self._lamp.commanded, self._pump_commanded = lamp, pump
        if self._lamp.aim != self._aim:
            self._aim, self._calm = self._lamp.aim, 0.0
        left = seconds
        while left > 1e-9:
            length = min(left, max(SHORTEST, min(LONGEST, 0.2 * self._calm)))
            self._step(length)
            left -= length

    @property
    def _coat_temperature(self) -> float:
        return self._board.face if self._coat_up else self._board.back

    def _step(self, seconds: float) -> None:
        self._shop.step(seconds)
        self._elapsed += seconds
        self._calm += seconds
        room, coated_face = self.room, self._coat_temperature
        flux = self._lamp.shine(seconds)
        self._board.filmed = self._bag.film_on
        self._board.step(seconds, flux if self._under_lamp else 0.0, self._drying, room)
        coated_face = (coated_face + self._coat_temperature) / 2
        dried, gelled_after = self._coat.step(seconds, coated_face, self._bag.film_on)
        self._drying = dried * self.parameters.coat.latent / (self.parameters.board.area * seconds)
        if gelled_after is not None:
            self._gelled = self._elapsed - seconds + gelled_after
        inside, floor = (self._board.face + room) / 2, self._coat.vapour_floor(coated_face)
        boiled = self._bag.step(seconds, self.pump_running, self.barometer, inside, floor)
        if boiled:
            self._coat.draw_off(boiled / (GAS_CONSTANT * inside))
        if "probe_fell" in self._faults:
            self._loose = room + (self._loose - room) * exp(-seconds / FALLING)
        else:
            self._loose = self.seen_by(Role.FACE)

    def lay(self, board: BoardParameters, coat: CoatParameters) -> None:
        """Another board, dry and as warm as the shop, on the bench; the one before is carried off.

        coat: what will be spread on it
        """
        self.parameters = replace(self.parameters, board=board, coat=coat)
        self._board, self._coat = Board(board, self.room), Coat(coat)
        self._bag.open()
        self._bag.coated = self._under_lamp = self._moved_out = False
        self._gelled, self._drying, self._calm, self._coat_up = None, 0.0, 0.0, True

    def place_under_lamp(self) -> None:
        """Lay the board on its foam under the lamp, and plug the lamp in."""
        self.plug_in_lamp()
        self._under_lamp, self._moved_out = True, False
        self._board.open_back = not self.parameters.board.back_insulated
        self._calm = 0.0

    def take_off_lamp(self) -> None:
        """Carry the board to the bench; it stays on its foam."""
        self._under_lamp = False
        self._calm = 0.0

    def plug_in_lamp(self) -> None:
        """Plug the lamp in."""
        self._lamp.plugged_in = True

    def unplug_lamp(self) -> None:
        """Pull the lamp's plug: it is dark whatever its relay does."""
        self._lamp.plugged_in = False

    def flip(self) -> None:
        """Turn the board over where it lies."""
        self._board.flip()
        self._coat_up = not self._coat_up
        self._calm = 0.0

    def coat(self, resin_kg: float, solvent_kg: float) -> None:
        """Spread resin and thinner, [kg], at shop temperature on the upper face.

        Raises InputError for no resin or less than no thinner.
        """
        if not (resin_kg > 0 and solvent_kg >= 0):
            raise InputError(f"a coat of {resin_kg} kg resin and {solvent_kg} kg thinner; weigh it")
        self._coat.lay_on(resin_kg, solvent_kg)
        warming = (resin_kg + solvent_kg) * self.parameters.coat.heat_capacity
        self._board.wet(warming / self.parameters.board.area, self.room)
        self._bag.coated = self._coat_up = True
        self._gelled, self._drying, self._calm = None, 0.0, 0.0

    def seal_bag(self) -> None:
        """Film over the board, taped down, port connected."""
        self._bag.seal()
        self._calm = 0.0

    def vent_bag(self) -> None:
        """Let the bag up; the film stays where it is."""
        self._bag.vent()

    def open_bag(self) -> None:
        """Take the film off."""
        self._bag.open()
        self._calm = 0.0

    def move_out(self) -> None:
        """Carry the board to another place and stand it with air on both faces."""
        self._under_lamp, self._moved_out = False, True
        self._board.open_back = True
        self._calm = 0.0

    def probe_on(self, role: Role) -> None:
        """Put the probe of this role in its place."""
        self._probes.add(role)

    def probe_off(self, role: Role) -> None:
        """Take the probe of this role off and let it hang in the shop's air."""
        self._probes.discard(role)

    def add_fault(self, name: str, value: float | None = None) -> None:
        """Switch a fault on, at its usual value for None; again to change its value.

        Raises InputError for an unknown name, a sensor's fault, or a value out of range.
        """
        if fault_named(name).where is not Where.PLANT:
            raise InputError(f"fault {name} is a sensor's; ask the rig for it, not the plant")
        self._faults[name] = fault_value(name, value)
        self._wire_faults()

    def clear_fault(self, name: str) -> None:
        """Switch a fault off; one that was not on stays so. Raises InputError if unknown."""
        fault_named(name)
        self._faults.pop(name, None)
        self._wire_faults()

    def _wire_faults(self) -> None:
        self._lamp.stuck_on = "lamp_stuck_on" in self._faults
        self._lamp.stuck_off = "lamp_stuck_off" in self._faults
        self._lamp.dead_share = min(1.0, self._faults.get("bulb_out", 0.0))
        self._lamp.strength = self._faults.get("lamp_strong", 1.0)
        self._shop.drops = {name: self._faults.get(name, 0.0) for name in self._shop.drops}
        self._bag.extra_leak = self._faults.get("leak", 0.0)
        self._bag.extra_back_leak = self._faults.get("check_valve_fails", 0.0)
        self._bag.hose_off = self._faults.get("hose_off", 0.0)
