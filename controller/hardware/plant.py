"""The one physical truth of a pretend rig: lamp, board, coat, bag and shop, and a person's hands.

Whatever pretends to be a rig holds one plant. It knows no sensor, no act and no formula of the
controller's: estimates are scored against it.
"""

from dataclasses import replace

from controller.batch.signals import Role
from controller.errors import InputError
from controller.hardware.faults import Where, fault_named, fault_value
from controller.hardware.plant_bag import Bag
from controller.hardware.plant_board import BoardParameters
from controller.hardware.plant_coat import CoatParameters
from controller.hardware.plant_faults import break_bag, break_lamp, break_probes, break_shop
from controller.hardware.plant_lamp import Lamp
from controller.hardware.plant_piece import Piece
from controller.hardware.plant_probes import Probes
from controller.hardware.plant_shop import Shop
from controller.hardware.plant_truth import PlantParameters, PlantTruth

__all__ = ["Plant", "PlantParameters", "PlantTruth"]

SHORTEST = 0.5
"""Step of the board just after something changed, [s]; own."""
LONGEST = 120.0
"""Step of the board when nothing has for long, [s]; own."""


class Plant:
    """One rig's physics, moved on by `advance` and by a person's hands."""

    def __init__(
        self, parameters: PlantParameters | None = None, seed: int = 0, now: float = 0.0
    ) -> None:
        """A dry board at shop temperature beside a cold lamp; `now` is rig time, [s]."""
        self.parameters = parameters or PlantParameters()
        self._shop = Shop(self.parameters.shop, seed)
        self._origin, self._elapsed = now, 0.0
        self._piece = Piece(self.parameters.board, self.parameters.coat, self.room)
        self.lamp = Lamp(self.parameters.lamp, self.room)
        """Its plug, its stand and its cut-out are a person's to handle."""
        self.probes = Probes(self.room)
        """A person puts them where they shall be."""
        self.sounding = False
        """The sounder speaks."""
        self.float_up = False
        """A person lifts the float in the trap."""
        self._bag = Bag(self.parameters.bag, self.barometer, self.room)
        self._faults: dict[str, float] = {}
        self._under_lamp = self._moved_out = self._pump_commanded = False
        self._aim, self._calm = 0.0, LONGEST

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
        return self._piece.board.face

    @property
    def mean(self) -> float:
        """Board's mean, [K]."""
        return self._piece.board.mean

    @property
    def back(self) -> float:
        """Lower face of the board, [K]."""
        return self._piece.board.back

    @property
    def room(self) -> float:
        """Shop air, [K]."""
        return self._shop.temperature

    @property
    def film(self) -> float:
        """Bag film over the board; shop air while there is none, [K]."""
        return self._piece.board.film(self.room) if self._bag.film_on else self.room

    @property
    def bag(self) -> float:
        """Pressure in the bag, absolute, [Pa]."""
        return self._bag.pressure

    @property
    def at_gauge(self) -> float:
        """What the bag's gauge is on, absolute, [Pa]: the bag, or less of the hose."""
        return self._bag.at_gauge

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
        return self.lamp.fed

    @property
    def lamp_lit(self) -> bool:
        """A bulb burns."""
        return self.lamp.lit

    @property
    def trap_full(self) -> bool:
        """The float in the trap is up."""
        return self.float_up or "trap_full" in self._faults

    @property
    def pump_running(self) -> bool:
        """The pump turns."""
        closed = self._pump_commanded or "pump_stuck_on" in self._faults
        return closed and "pump_dead" not in self._faults

    @property
    def solvent_left(self) -> float:
        """Thinner still in the board, [kg]."""
        return self._piece.coat.solvent

    @property
    def gel_at(self) -> float | None:
        """Rig time at which the newest coat gelled, [s]; None before."""
        gelled = self._piece.gelled
        return None if gelled is None else self._origin + gelled

    @property
    def under_lamp(self) -> bool:
        """The board lies under the lamp."""
        return self._under_lamp and "board_gone" not in self._faults

    @property
    def in_sight(self) -> float:
        """What an infrared thermometer beside the lamp looks at, [K]: the face, or the bench."""
        return self.face if self.under_lamp else self.room

    def seen_by(self, role: Role) -> float:
        """True temperature at the place of the probe in this role, [K].

        A probe that is off, or has no place to be, lies in the shop's air.
        """
        room = self.room
        match role:
            case Role.FACE:
                place = self.face
            case Role.BACK:
                place = self.back
            case Role.FILM:
                place = self.film
            case _:
                place = room
        return self.probes.seen_by(role, place, room)

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
            contactor=self.lamp.contactor,
            cut_out_open=self.lamp.cut_out_open,
            plate=self.lamp.plate,
            tilted=self.lamp.tilted,
            pump_running=self.pump_running,
            trap_full=self.trap_full,
            sounding=self.sounding,
            solvent_left=self.solvent_left,
            cure_age=self._piece.coat.age,
            gel_at=self.gel_at,
            leak=self._bag.leak,
            under_lamp=self.under_lamp,
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
        self.lamp.commanded, self._pump_commanded = lamp, pump
        left = seconds
        while left > 1e-9:
            if self.lamp.aim != self._aim:
                self._aim, self._calm = self.lamp.aim, 0.0
            steady = min(LONGEST, 0.2 * self._calm, self.lamp.sure_for())
            length = min(left, max(SHORTEST, steady))
            self._step(length)
            left -= length

    def _step(self, seconds: float) -> None:
        self._shop.step(seconds)
        self._elapsed += seconds
        self._calm += seconds
        room, board = self.room, self._piece.board
        lit, flux = self.lamp.lit and self.under_lamp, self.lamp.shine(seconds, room)
        board.filmed = self._bag.film_on
        heat = flux if self.under_lamp else 0.0
        if self._bag.coated:
            heat += self._faults.get("exotherm", 0.0)
        self._piece.step(seconds, heat, room, self._elapsed)
        inside, floor = room, 0.0
        if not self._bag.empty:
            inside, floor = (board.face + room) / 2, self._piece.floor
        boiled = self._bag.step(seconds, self.pump_running, self.barometer, inside, floor)
        if boiled:
            self._piece.draw_off(boiled, inside)
        self.probes.step(seconds, lit, board.face, room)

    def lay(self, board: BoardParameters, coat: CoatParameters) -> None:
        """Another board, dry and as warm as the shop, on the bench; the one before is carried off.

        coat: what will be spread on it
        """
        self.parameters = replace(self.parameters, board=board, coat=coat)
        self._piece = Piece(board, coat, self.room)
        self.open_bag()
        self._bag.coated = self._under_lamp = self._moved_out = False

    def place_under_lamp(self) -> None:
        """Lay the board on its foam under the lamp, and plug the lamp in."""
        self.lamp.plugged_in = self._under_lamp = True
        self._moved_out = False
        self._piece.board.open_back = not self.parameters.board.back_insulated
        self._calm = 0.0

    def take_off_lamp(self) -> None:
        """Carry the board to the bench; it stays on its foam."""
        self._under_lamp = False
        self._calm = 0.0

    def flip(self) -> None:
        """Turn the board over where it lies."""
        self._piece.flip()
        self._calm = 0.0

    def coat(self, resin_kg: float, solvent_kg: float) -> None:
        """Spread resin and thinner, [kg], at shop temperature on the upper face.

        Raises InputError for no resin or less than no thinner.
        """
        self._piece.spread(resin_kg, solvent_kg, self.room)
        self._bag.coated = True
        self._calm = 0.0

    def seal_bag(self) -> None:
        """Film over the board, taped down, port connected."""
        self._bag.seal(self.barometer)
        self._wire_faults()
        self._calm = 0.0

    def seal_empty_bag(self) -> None:
        """Shut a bag with nothing in it on the bench; the board is in none meanwhile."""
        self._bag.seal_empty(self.barometer)
        self._wire_faults()
        self._calm = 0.0

    def vent_bag(self) -> None:
        """Let the bag up; the film stays where it is."""
        self._bag.vent()

    def dose_bag(self, volume: float) -> None:
        """Let so much of the shop's air, [m3], into the shut bag at once."""
        self._bag.dose(volume, self.barometer)

    def open_bag(self) -> None:
        """Take the film off; an empty bag is put away."""
        self._bag.open(self.barometer)
        self._wire_faults()
        self._calm = 0.0

    def move_out(self) -> None:
        """Carry the board to another place and stand it with air on both faces."""
        self._under_lamp, self._moved_out = False, True
        self._piece.board.open_back = True
        self._calm = 0.0

    def probe_on(self, role: Role) -> None:
        """Put the probe of this role in its place."""
        self.probes.on.add(role)

    def probe_off(self, role: Role) -> None:
        """Take the probe of this role off and let it hang in the shop's air."""
        self.probes.on.discard(role)

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
        break_lamp(self.lamp, self._faults)
        break_probes(self.probes, self._faults)
        break_shop(self._shop, self._faults)
        larger = self.parameters.bag.volume / self._bag.parameters.volume
        break_bag(self._bag, self._faults, larger)
