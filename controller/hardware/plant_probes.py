"""Where the pretend probes are: in their places, in the air, in a hand or in a bath."""

from math import exp

from controller.batch.signals import Role

FALLING = 20.0
"""Time constant with which a fallen probe takes the shop's temperature, [s]; own."""
LIGHTING = 10.0
"""Time constant with which the lamp's own light warms a badly shaded probe, [s]; own."""


class Probes:
    """The places of all probes, and the true temperature there."""

    def __init__(self, room: float) -> None:
        """Room and back in their places, the others in the air, at `room`, [K]."""
        self.on = {Role.ROOM, Role.BACK}
        """Those in their places."""
        self.held: dict[Role, float] = {}
        """Those in a hand or a bath, and its temperature, [K]."""
        self.fallen = False
        """The face probe hangs in the air of the shop."""
        self.share = 1.0
        """What the face probe sees of the face's rise over the room, [1]."""
        self.lit_by = 0.0
        """What a burning lamp warms the face probe by itself, in the end, [K]."""
        self._loose = room
        self._lit = 0.0

    def seen_by(self, role: Role, place: float, room: float) -> float:
        """True temperature where the probe in this role is, [K].

        place: what is true where it belongs, [K]      room: shop air, [K]

        A probe that is off, or has no place to be, lies in the shop's air.
        """
        if role in self.held:
            return self.held[role]
        if role not in self.on:
            return room
        if role is not Role.FACE:
            return place
        return self._loose if self.fallen else room + self.share * (place - room) + self._lit

    def step(self, seconds: float, lit: bool, face: float, room: float) -> None:
        """Move what follows slowly on by `seconds`.

        lit: the lamp burned on the face all the while      face, room: at the end of it, [K]
        """
        end = self.lit_by if lit else 0.0
        if end or self._lit:
            self._lit = end + (self._lit - end) * exp(-seconds / LIGHTING)
        if self.fallen:
            self._loose = room + (self._loose - room) * exp(-seconds / FALLING)
        else:
            self._loose = self.seen_by(Role.FACE, face, room)
