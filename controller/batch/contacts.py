"""What the engine remembers of the rig's contacts; what follows from them is in `senses.py`."""

from dataclasses import dataclass


@dataclass(slots=True)
class Contacts:
    """Since when each contact has been as it should not be, rig time; None while it is well."""

    tilted_since: float | None = None
    """The lamp leans."""
    cut_out_since: float | None = None
    """The lamp's cut-out is open."""
    trap_since: float | None = None
    """The trap's float is up."""
    fed_since: float | None = None
    """The lamp's line is live without a command."""
    unfed_since: float | None = None
    """The lamp's line is dead under a command."""
