"""Many preheats of each case on all cores, and the table of what their guards caught."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from controller.rehearsal.cores import Shared, share
from controller.rehearsal.preheat_draws import CASES, drawn
from controller.rehearsal.preheats import can_reach, play
from controller.science.constants import ZERO_CELSIUS

BUDGET = "lamp time spent"
"""Ends a heat whatever is wrong with it, so it is not what caught it."""
UNCAUGHT = frozenset({"soaked", "given up", BUDGET})
"""Ends in which no guard knew that something was wrong."""


@dataclass(frozen=True, slots=True)
class PreheatPlayed:
    """How one preheat went, with its cut-out bridged and with it."""

    name: str
    """Case and number."""
    ended: str
    """'soaked', 'given up', or the guard or alarm that ended it, the cut-out bridged."""
    came: bool
    """The heat still ran when the fault came; True for a healthy one."""
    reachable: bool
    """The true lamp brings the true board into its band within an hour of light."""
    lamp_off_s: float | None
    """From the fault, or from the first lamp-on after it, to lamp OFF for good, [s]; None for a
    healthy heat."""
    spoke_s: float | None
    """The same to the end of the heat, [s]."""
    face_max_c: float
    """True face at its hottest without a cut-out, [C]."""
    with_cut_out_c: float
    """The same with it, [C]."""
    cut_out_opened: bool
    """It opened where it worked."""
    closures: int
    """Most closures of the lamp's relay in 5 min."""
    gain: float
    """Lamp as the estimate found it, as a share of what it was told, [-]."""

    @property
    def case(self) -> str:
        """Name of its case."""
        return self.name.rpartition("/")[0]

    @property
    def caught(self) -> bool:
        """A guard or a contact ended it."""
        return self.ended not in UNCAUGHT


def preheat_played(name: str) -> PreheatPlayed:
    """Play the preheat `case/number`; twice where the cut-out makes a difference."""
    case, _, number = name.rpartition("/")
    preheat = drawn(case, int(number))
    bare = play(preheat, cut_out=False)
    cut = bare if bare.plate_at is None else play(preheat, cut_out=True)
    healthy, came_at = preheat.case.fault is None, bare.fault_at
    from_at = None if came_at is None else max(came_at, bare.lamp_on_at)
    return PreheatPlayed(
        name=name,
        ended=bare.ended,
        came=healthy or came_at is not None,
        reachable=bare.ended == "soaked" or can_reach(preheat),
        lamp_off_s=None if from_at is None else bare.off_at - from_at,
        spoke_s=None if from_at is None else bare.ended_at - from_at,
        face_max_c=bare.hottest - ZERO_CELSIUS,
        with_cut_out_c=cut.hottest - ZERO_CELSIUS,
        cut_out_opened=bare.plate_at is not None,
        closures=bare.closures,
        gain=bare.gain,
    )


def play_preheats(
    count: int,
    first: int = 1,
    kept: Path | None = None,
    tell: Callable[[PreheatPlayed], None] = lambda done: None,
    cores: int | None = None,
) -> Shared[PreheatPlayed]:
    """Play `count` of each case, from number `first` on; kept, tell, cores: as `share` has them.

    Raises InputError for a file that holds something else.
    """
    numbers = range(first, first + count)
    names = [f"{case}/{number}" for number in numbers for case in CASES]
    return share(names, preheat_played, PreheatPlayed, kept, tell, cores)
