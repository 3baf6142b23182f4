"""Whether the coat heats itself: resin in a pool or a fold that gets hot as it sets.

Looked at under the film, with the lamp locked. A probe that is laid on a warm board rises as fast
as any exotherm, so a rise counts only above what the board was when the lamp went off, and above
the room: nothing but the resin makes the film hotter than both. Then a kelvin a minute for three
minutes is called, and 60 C at once. The cup is not seen: it has no probe. Threshold of the rise and
of the heat: common practice, no source; the rest is own.
"""

from controller.batch.looking import film_read
from controller.batch.signals import Role
from controller.batch.stages import Stage
from controller.batch.state import Run
from controller.batch.view import View
from controller.science.constants import ZERO_CELSIUS

UNDER_FILM = frozenset({Stage.BAG, Stage.PULLDOWN, Stage.HOLD})
"""Stages in which a coat lies under the film, or is about to."""
RISE_TIME = 180.0
"""How long it must rise, [s]."""
RISE = 3.0
"""By how much over the room, [K]."""
ABOVE = 2.0
"""How far above board and room the film must be for its rise to count, [K]."""
HOT = 60.0 + ZERO_CELSIUS
"""Film temperature that is called whatever it does, [K]."""
SPACING = 10.0
"""Least time between two readings kept, [s]."""


def follow(run: Run, view: View) -> None:
    """Take this step's film temperature in."""
    film = film_read(view.now, view.readings, view.facts)
    if run.at_work not in UNDER_FILM or Role.FILM not in view.facts.probes:
        run.warmth.clear()
        run.heats_itself = False
        return
    if film is None:
        run.warmth.clear()
        return
    if run.warmth and view.now - run.warmth[-1][0] < SPACING:
        return
    twice_hot = film >= HOT and bool(run.warmth) and run.warmth[-1][1] + view.room >= HOT
    run.warmth.append((view.now, film - view.room))
    while len(run.warmth) > 1 and view.now - run.warmth[1][0] >= RISE_TIME:
        del run.warmth[0]
    run.heats_itself = twice_hot or _rises(run, view, film)


def _rises(run: Run, view: View, film: float) -> bool:
    board = view.room if run.mean_at_off is None else run.mean_at_off
    if film <= max(board, view.room) + ABOVE:
        return False
    began, first = run.warmth[0]
    return view.now - began >= RISE_TIME and run.warmth[-1][1] - first >= RISE
