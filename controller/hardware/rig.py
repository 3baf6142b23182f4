"""What a rig is: the short list of things the runner may ask of one, real or pretended."""

from typing import Protocol

from controller.batch.signals import Commands, Readings, Role
from controller.settings import Settings


def wired_probes(settings: Settings) -> dict[Role, str]:
    """The ids of the probes that are wired, by role."""
    named = {role: getattr(settings.probes, role) for role in Role}
    return {role: probe.id for role, probe in named.items() if probe is not None}


class Rig(Protocol):
    """One lamp, one pump, their probes and a gauge.

    A back end is named in the settings and never replaced by another when it fails.
    """

    simulated: bool
    """True when nothing here touches the real world."""

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]. Never blocks on a sensor.

        On a simulated rig this is also what moves the plant on to `now`.
        """

    def apply(self, commands: Commands) -> None:
        """Switch the outputs.

        Raises OutputError when an output cannot be switched, or after `close`.
        """

    def outputs(self) -> Commands:
        """The outputs as last switched, read back where the hardware allows it."""

    def off(self) -> None:
        """Every output OFF, at once, from any thread or signal handler; safe to call twice.

        Raises OutputError, after trying all of them, when one could not be switched.
        """

    def close(self) -> None:
        """Outputs OFF, then let go of every line and file. Safe to call twice."""
