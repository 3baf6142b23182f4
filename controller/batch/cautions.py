"""What can hurt in each stage, said where it bites."""

from controller.batch.stages import Stage
from controller.batch.state import Run

CAUTIONS: dict[Stage, tuple[str, ...]] = {
    Stage.PLANNED: (
        "Not a safety device. The lamp is mains heat: stay with it, plug within reach.",
        "No solvent, no thinned resin, no rags near the lamp. Air the room first.",
    ),
    Stage.DRYPULL: ("Vacuum crushes glass: trap, tank and hose rated for it, eyes covered.",),
    Stage.PREHEAT: (
        "Stay with the lamp, plug within reach. Keep its maker's clearance.",
        "No solvent, thinned resin or rags in the lamp's zone.",
    ),
    Stage.SOAK: (
        "Stay with the lamp. Mix A and B elsewhere; the thinner stays shut.",
        "Gloves on: resin and hardener on skin sensitise. Never seal a cup of mix.",
    ),
    Stage.COOLDOWN: (
        "The bulb stays hot enough to light vapour: unplugged and away before thinner is opened.",
        "Gloves, moving air, a breathing mask for organic vapour or outdoors.",
    ),
    Stage.COAT: (
        "No flame, no lamp, no sparks. Moving air, breathing mask, gloves.",
        "A cup that warms or strings is done: spread it in a tray outdoors.",
    ),
    Stage.BAG: ("Left-over mix out of the cup, thin, outdoors. Rags flat, outdoors.",),
    Stage.PULLDOWN: (
        "Pump exhaust outdoors: it carries solvent. Trap clear and rated for vacuum.",
    ),
    Stage.HOLD: ("Pump exhaust outdoors, trap clear. Warm the room, never with the lamp.",),
    Stage.FLASHOFF: (
        "Solvent leaves for days: air the room, keep flames and the lamp away.",
        "Gloves and dust mask: resin this young still sensitises.",
    ),
    Stage.STOPPED: (
        "The bulb stays hot for a while. Mix in a cup goes on setting: spread it out.",
    ),
    Stage.INTERRUPTED: ("Look at lamp, bag and cup before you press anything.",),
}
"""Two lines at most, where they bite. Stages without a line have nothing new to hurt."""
SOLVENT_MIX = {
    Stage.SOAK: (
        "Stay with the lamp. This resin comes in solvent: its tins stay shut till it is out.",
        "Gloves on: resin and hardener on skin sensitise.",
    ),
}
"""The same for a resin that comes in solvent, where it differs."""


def cautions(run: Run | None) -> tuple[str, ...]:
    """What can hurt in this stage, two lines at most."""
    if run is not None and run.mix_is_solvent() and run.stage in SOLVENT_MIX:
        return SOLVENT_MIX[run.stage]
    return CAUTIONS.get(Stage.PLANNED if run is None else run.stage, ())
