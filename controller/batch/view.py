"""What one step knew beside the state: handed to whatever puts it in words or on a screen."""

from dataclasses import dataclass

from controller.batch.bag_view import BagView
from controller.batch.coat_moment import CoatMoment, Moment
from controller.batch.interlocks import Interlock
from controller.batch.signals import Readings, RigFacts


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the rig."""

    now: float
    """Rig time, [s]."""
    readings: Readings
    """With what was told by hand filled in."""
    facts: RigFacts
    """The rig's."""
    air: float
    """Air pressure the vacuum is told against, [Pa]."""
    room: float
    """Room temperature the clocks use, [K]."""
    film: float
    """Temperature the mix sets at, [K]."""
    face: float | None
    """Estimated face of the board, [K]."""
    mean: float | None
    """Estimated mean of the board, [K]."""
    settles: float
    """Face temperature this lamp is believed to settle at, [K]."""
    target_mean: float
    """Mean at which the soak is over for this board as it turned out, [K]."""
    soak_left: float | None
    """Expected time until then, [s]."""
    opens: float | None
    """Time until the face is in the coat window, [s]."""
    moment: CoatMoment | None
    """The coat moment, in COOLDOWN and COAT."""
    dark: Interlock | None
    """Why the lamp must be dark; None when it may burn."""
    bag: BagView | None
    """The bag's; None for a coat without one."""

    @property
    def coat_now(self) -> bool:
        """The face is in the coat window and falling, with the lamp proved off."""
        return self.moment is not None and self.moment.moment is Moment.NOW
