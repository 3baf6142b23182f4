"""The piece in hand: the pretend board with the coat on it, wherever it lies."""

from controller.errors import InputError
from controller.hardware.plant_board import Board, BoardParameters
from controller.hardware.plant_coat import GAS_CONSTANT, Coat, CoatParameters


class Piece:
    """Board and coat, which warm, cool and dry each other."""

    def __init__(self, board: BoardParameters, coat: CoatParameters, room: float) -> None:
        """A dry board at `room`, [K]; coat: what will be spread on it."""
        self.board = Board(board, room)
        """Its heat."""
        self.coat = Coat(coat)
        """What lies on it."""
        self.gelled: float | None = None
        """When the newest coat gelled, [s] as `step` is told them; None before."""
        self._up = True
        self._drying = 0.0
        self._coated = room

    @property
    def _coat_temperature(self) -> float:
        return self.board.face if self._up else self.board.back

    @property
    def floor(self) -> float:
        """Pressure below which the thinner boils out of the coat, [Pa]."""
        return self.coat.vapour_floor(self._coated)

    def flip(self) -> None:
        """Turn it over."""
        self.board.flip()
        self._up = not self._up

    def spread(self, resin_kg: float, solvent_kg: float, room: float) -> None:
        """Spread resin and thinner, [kg], at `room`, [K], on the upper face.

        Raises InputError for no resin or less than no thinner.
        """
        if not (resin_kg > 0 and solvent_kg >= 0):
            raise InputError(f"a coat of {resin_kg} kg resin and {solvent_kg} kg thinner; weigh it")
        self.coat.lay_on(resin_kg, solvent_kg)
        warming = (resin_kg + solvent_kg) * self.coat.parameters.heat_capacity
        self.board.wet(warming / self.board.parameters.area, room)
        self._up, self.gelled, self._drying = True, None, 0.0

    def step(self, seconds: float, flux: float, room: float, end: float) -> None:
        """Move it on by `seconds`, to `end`, [s].

        flux: absorbed from the lamp, [W/m2]      room: shop air, [K]
        """
        before = self._coat_temperature
        self.board.step(seconds, flux, self._drying, room)
        self._coated = (before + self._coat_temperature) / 2
        dried, gelled_after = self.coat.step(seconds, self._coated, self.board.filmed)
        latent, area = self.coat.parameters.latent, self.board.parameters.area
        self._drying = dried * latent / (area * seconds)
        if gelled_after is not None:
            self.gelled = end - seconds + gelled_after

    def draw_off(self, vapour: float, temperature: float) -> None:
        """Take vapour, [Pa m3] at `temperature`, [K], away from the thinner in it."""
        self.coat.draw_off(vapour / (GAS_CONSTANT * temperature))
