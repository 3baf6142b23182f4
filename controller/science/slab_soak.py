"""How long a board from the shop's own warmth must lie under the lamp, and how it then cools.

The lamp is ideal: full on until the face is there, then dimmed so that it stays. The board starts
at the temperature of the room, so that one warming answers for every flux, and steps grow as the
change slows: within 0.05 K of the same board stepped a second at a time, which the tests keep.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from controller.errors import RangeError
from controller.science.slab import NODES, Slab, SlabStep, mean_temperature
from controller.science.slab_forecast import COOLING_STEP

Ladder = tuple[tuple[float, float], ...]
"""Rows of (until so many seconds after the change, steps of this length), [s]."""

LIT_STEPS: Ladder = ((60, 1), (180, 2), (300, 5), (600, 10), (1800, 20), (inf, 30))
"""Steps after a lamp comes on, [s]; own: the face rises as the square root of time, so that steps
of a thirtieth of the time passed place a crossing within 0.05 s."""
HELD_STEPS: Ladder = ((300, 10), (900, 20), (inf, 30))
"""Steps once the face is held, [s]; own: only the slow inside still moves."""
DARK_STEPS: Ladder = ((120, COOLING_STEP), (inf, 5 * COOLING_STEP))
"""Steps after a lamp goes off, whole numbers of COOLING_STEP, [s]; own."""


@dataclass(frozen=True, slots=True)
class Warming:
    """What a lamp of 1 W/m2, left on, does to a board that began as warm as the room."""

    seconds: tuple[float, ...]
    """Times since lamp-on, [s]."""
    faces: tuple[float, ...]
    """Rise of the face at those times, [K m2/W]."""
    means: tuple[float, ...]
    """Rise of the board's mean, [K m2/W]."""
    nodes: tuple[tuple[float, ...], ...]
    """Rise of every node, face first, [K m2/W]."""

    def nodes_at(self, seconds: float) -> list[float]:
        """Rise of every node this long after lamp-on, [K m2/W]; at most the last time."""
        i = min(max(bisect_left(self.seconds, seconds), 1), len(self.seconds) - 1)
        before, after = self.seconds[i - 1], self.seconds[i]
        return _between(self.nodes[i - 1], self.nodes[i], (seconds - before) / (after - before))

    def seconds_to(self, rises: Sequence[float], rise: float) -> float:
        """When one of `faces` and `means` is at this rise [K m2/W], [s]; inf if it never is."""
        if rise <= 0:
            return 0.0
        i = bisect_left(rises, rise)
        if i == len(rises):
            return inf
        share = (rise - rises[i - 1]) / (rises[i] - rises[i - 1])
        return self.seconds[i - 1] + share * (self.seconds[i] - self.seconds[i - 1])


@lru_cache(maxsize=16)
def warming(slab: Slab, limit_seconds: float) -> Warming:
    """How this board warms under 1 W/m2: rises at growing steps up to the limit, [K m2/W].

    slab: the board      limit_seconds: where it ends, [s], above 0; RangeError otherwise

    Own: the board is linear in the flux, so that one warming answers for every lamp.

    >>> lit = warming(Slab(0.020, 0.159, 670, 1559, 11, 6), 2700)
    >>> lit.seconds_to(lit.faces, 20 / 1000)  # 20 K under 1000 W/m2; half-space: 77.2
    77.6
    """
    if not limit_seconds > 0:
        raise RangeError(f"no warming in {limit_seconds} s; give the lamp more than 0")
    seconds, nodes = [0.0], [(0.0,) * NODES]
    for length, rises, _ in _lamp(slab, [0.0] * NODES, 1.0, inf, LIT_STEPS):
        share = min(1.0, (limit_seconds - seconds[-1]) / length)
        nodes.append(tuple(_between(nodes[-1], rises, share)))
        seconds.append(seconds[-1] + share * length)
        if seconds[-1] >= limit_seconds:
            break
    return Warming(
        seconds=tuple(seconds),
        faces=tuple(each[0] for each in nodes),
        means=tuple(mean_temperature(each, slab.thickness) for each in nodes),
        nodes=tuple(nodes),
    )


@dataclass(frozen=True, slots=True)
class Soak:
    """A board under a lamp that holds its face, up to lamp-off."""

    seconds_to_band: float
    """From lamp-on to the band's bottom, [s]; inf when it is not reached."""
    seconds: float
    """From there to lamp-off, [s]; 0 when it is not reached."""
    lamp_seconds: float
    """How long the lamp burns altogether, [s]."""
    nodes: tuple[float, ...]
    """The board at lamp-off, face first, [K]."""
    cut: bool
    """A limit ended it, not the mean that was wanted."""


def soak(
    slab: Slab,
    room: float,
    flux: float,
    low: float,
    held: float,
    mean: float,
    lamp_limit: float,
    soak_limit: float,
) -> Soak:
    """The shortest soak that brings the board's mean to `mean`, within its limits.

    slab: the board                              room: the air, and the board at first, [K]
    flux: absorbed under the lamp, [W/m2]        low: bottom of the band, [K]
    held: where the face is kept, [K]            mean: wanted, [K], above the room
    lamp_limit: most lamp-on time, [s]           soak_limit: most time from `low` on, [s]

    It never ends before the face is at `low`. Out of reach, it is the board at the lamp's limit.
    Leaves out a relay's swing about `held` (own). Raises RangeError unless low < held, flux and
    lamp_limit are above 0, and soak_limit is 0 or more.

    >>> maple = Slab(0.020, 0.159, 670, 1559, 11, 0.5)
    >>> soak(maple, 291.15, 600, 311.15, 313.15, 308.15, 2700, 7200).cut
    False
    """
    if not (low < held and flux > 0 and soak_limit >= 0):
        raise RangeError(
            f"no soak at {held} K over {low} K under {flux} W/m2 for {soak_limit} s: the face is "
            "held above the band's bottom, by a lamp of more than 0"
        )
    lit = warming(slab, lamp_limit)
    to_band = lit.seconds_to(lit.faces, (low - room) / flux)
    if to_band == inf:
        return Soak(inf, 0.0, lamp_limit, _lit_nodes(lit, lamp_limit, room, flux), False)
    to_held = lit.seconds_to(lit.faces, (held - room) / flux)
    wanted = max(to_band, lit.seconds_to(lit.means, (mean - room) / flux))
    stop = min(to_held, wanted, lamp_limit, to_band + soak_limit)
    nodes = _lit_nodes(lit, stop, room, flux)
    if stop < to_held or stop == wanted:
        return Soak(to_band, stop - to_band, stop, nodes, cut=stop < wanted)
    rises, level = [node - room for node in nodes], mean - room
    before = mean_temperature(rises, slab.thickness)
    now = burnt = to_held
    for length, after, lamp in _lamp(slab, rises, flux, held - room, HELD_STEPS):
        warmer = mean_temperature(after, slab.thickness)
        enough = (level - before) / (warmer - before) if warmer >= level else inf
        share = min(
            enough,
            (to_band + soak_limit - now) / length,
            (lamp_limit - burnt) / lamp if lamp > 0 else inf,
        )
        if share <= 1:
            end = tuple(room + rise for rise in _between(rises, after, share))
            now, burnt = now + share * length, burnt + share * lamp
            return Soak(to_band, now - to_band, burnt, end, cut=share < enough)
        rises, before, now, burnt = after, warmer, now + length, burnt + lamp
    raise AssertionError("the steps of a held face have no end")


def hold(
    slab: Slab, nodes: Sequence[float], room: float, flux: float, held: float, seconds: float
) -> Iterator[tuple[float, list[float]]]:
    """The board under a lamp that brings the face to `held` and keeps it: (time [s], nodes [K]).

    slab: the board                              nodes: the board at first, face first, [K]
    room: air on both sides, [K]                 flux: absorbed under the lamp, [W/m2]
    held: where the face is kept, [K]            seconds: how far it is followed, [s]

    Step by step, the last one ending at `seconds`; nothing for a time of 0 (own). Raises RangeError
    for a flux that is not above 0.

    >>> ash, even = Slab(0.020, 0.159, 670, 1559, 11, 6), [291.15] * NODES
    >>> [nodes[0] for _, nodes in hold(ash, even, 291.15, 800, 313.15, 900)][-1]
    313.15
    """
    if not flux > 0:
        raise RangeError(f"a lamp of {flux} W/m2 holds no face; give it more than 0")
    now, rises = 0.0, [node - room for node in nodes]
    steps = _lamp(slab, rises, flux, held - room, LIT_STEPS)
    while now < seconds:
        length, after, _ = next(steps)
        share = min(1.0, (seconds - now) / length)
        rises = _between(rises, after, share)
        now = seconds if share < 1 else now + length
        yield now, [room + rise for rise in rises]


def cooling_face(
    slab: Slab, nodes: Sequence[float], room: float, seconds: float, floor: float
) -> tuple[float, ...]:
    """The face after lamp-off, one value every COOLING_STEP, [K].

    slab: the board                              nodes: at lamp-off, face first, [K]
    room: air on both sides, [K]                 seconds: how far it is followed, [s]
    floor: it ends sooner once the face is at or under this, [K]

    Leaves out the wet coat, which cools the face further (own).

    >>> ash, even = Slab(0.020, 0.159, 670, 1559, 11, 6), [313.15] * NODES
    >>> cooling_face(ash, even, 291.15, 60, floor=0)[-1]  # half-space: 308.79
    308.8
    """
    rises = [node - room for node in nodes]
    faces = [nodes[0]]
    lengths, now, step = _lengths(DARK_STEPS), 0.0, 0.0
    while now < seconds and (now == 0 or faces[-1] > floor):
        length = next(lengths)
        if length != step:
            board, step = SlabStep(slab, length), length
        before = rises[0]
        rises = board.advance(rises, 0.0, 0.0)
        count = round(length / COOLING_STEP)
        faces += [room + before + (rises[0] - before) * i / count for i in range(1, count + 1)]
        now += length
    return tuple(faces)


def _lamp(
    slab: Slab, rises: list[float], flux: float, held: float, ladder: Ladder
) -> Iterator[tuple[float, list[float], float]]:
    """Steps without end of (length [s], rises [K], lamp-on time in it [s]), held at a rise [K].

    The board is linear in the flux: the excess over `held` tells how much less lamp will do.
    """
    last = 0.0
    for length in _lengths(ladder):
        if length != last:
            step, last = SlabStep(slab, length), length
            reply = step.advance([0.0] * NODES, flux, 0.0)
        rises = step.advance(rises, flux, 0.0)
        spared = min(1.0, max(0.0, (rises[0] - held) / reply[0]))
        if spared:
            rises = [rise - spared * gain for rise, gain in zip(rises, reply, strict=True)]
        yield length, rises, (1.0 - spared) * length


def _lengths(ladder: Ladder) -> Iterator[float]:
    """Lengths of the steps of a ladder, [s], without end."""
    now = 0.0
    for until, length in ladder:
        while now < until:
            now += length
            yield length


def _lit_nodes(lit: Warming, seconds: float, room: float, flux: float) -> tuple[float, ...]:
    """The board after this long under the lamp left on, [K]."""
    return tuple(room + flux * rise for rise in lit.nodes_at(seconds))


def _between(before: Sequence[float], after: Sequence[float], share: float) -> list[float]:
    return [a + share * (b - a) for a, b in zip(before, after, strict=True)]
