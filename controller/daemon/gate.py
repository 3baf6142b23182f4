"""The rig as the loop has it: once control is leaving, nothing can be switched on again."""

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings
from controller.hardware.rig import Rig


class Gate:
    """A rig whose outputs can be shut for good, from a signal handler in the middle of a tick."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        """What is behind it."""
        self.simulated = rig.simulated
        self._shut = False

    def shut(self) -> None:
        """Every output OFF, and OFF from now on. Raises OutputError as `off` does."""
        self._shut = True
        self.rig.off()

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]."""
        return self.rig.read(now)

    def apply(self, commands: Commands) -> None:
        """Switch the outputs; OFF, once shut. Raises OutputError."""
        self.rig.apply(OUTPUTS_OFF if self._shut else commands)
        if self._shut:
            # the signal may have come between the question and the switching
            self.rig.off()

    def outputs(self) -> Commands:
        """The outputs as last switched."""
        return self.rig.outputs()

    def off(self) -> None:
        """Every output OFF until the next `apply`. Raises OutputError."""
        self.rig.off()

    def close(self) -> None:
        """Outputs OFF, then let go of everything."""
        self._shut = True
        self.rig.close()
