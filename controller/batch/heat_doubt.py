"""What the heat estimate does not know well, and what one reading teaches about it.

Five things are off by a share: the lamp, the face's loss, the conductivity, the back's loss and
the probe's lag; the sixth is a shift of the whole board. Beside the nodes run their slopes in each
of them, so that a Kalman step on these six corrects all nodes, and the standard error of any
temperature is a sum over six.
"""

from collections.abc import Iterable, Sequence
from math import exp, inf, sqrt

from controller.science.slab import NODES, SlabStep, mean_temperature

LAMP, FACE_LOSS, CONDUCTION, BACK_LOSS, LAG, SHIFT = range(6)
"""The order of every list below."""
UNKNOWNS = 6
DOUBT = (0.25, 0.25, 0.15, 0.2, 0.1, 0.2)
"""Standard error at the start: shares of what was expected, the last in [K]; own. Handbook
conductivity is good to 20 % at the edges, and losses are guessed from 8 to 14 W/(m2 K)."""
DRIFT = (0.005, 0.02, 0.003, 0.01, 0.003, 0.02)
"""How far each may wander in DRIFT_TIME while a probe is read, same units; own, found on drawn
boards."""
UNREAD_SHIFT = 0.3
"""How far the whole board may wander in DRIFT_TIME while none is read, [K]; own: it is carried,
coated and stands in a draught."""
DRIFT_TIME = 600.0
"""Time that DRIFT speaks of, [s]."""
LEAST = (0.3, 0.4, 0.6, 0.2, 0.3, -inf)
MOST = (2.5, 2.5, 1.6, 3.0, 3.0, inf)
"""Bounds of the unknowns' shares; own. A probe that lies must not end up as a lamp of no or
negative power."""
READING_ERROR = 0.15
"""Standard error of one reading from a probe at rest, quantising and contact in it, [K]; own."""
TIMING_ERROR = 8.0
"""As much again for each kelvin a second the probe moves, [s]; own, found on drawn boards: far
above what reading and lamp are apart in time, because they are so every time the relay switches.
Without it a lamp that warmed 1.5 s later than modelled put 2 K on the board's mean."""
SURPRISE_LIMIT = 4.0
"""A reading further off than this many standard errors counts as this many; own."""
SURPRISE_MEMORY = 30.0
"""Readings over which surprise is averaged: 5 min; own."""
FACE_MODEL_ERROR = 0.25
"""Standard error of the modelled face beside all of the above, [K]; own."""
MEAN_MODEL_ERROR = 0.1
"""The same of the mean, [K]; own."""


class HeatDoubt:
    """Slopes of the nodes and of the probe in the six unknowns, and how sure the six are."""

    __slots__ = ("_columns", "_covariance", "_probe_column", "_surprise")

    def __init__(self) -> None:
        self._columns = [[0.0] * NODES for _ in range(LAG)]
        self._covariance = [
            [DOUBT[i] ** 2 if i == j else 0.0 for j in range(UNKNOWNS)] for i in range(UNKNOWNS)
        ]
        # Before the lamp was on, a board that is warmer all through shows on the probe in full.
        self._probe_column = [0.0] * SHIFT + [1.0]
        self._surprise = 1.0

    def carry(
        self,
        seconds: int,
        step: SlabStep,
        flux: float,
        room: float,
        nodes: Sequence[float],
        probe: float,
        lag: float,
        shares: Sequence[float],
        read: bool,
    ) -> None:
        """Bring slopes and doubt `seconds` on, to just before a reading.

        step: of the board as believed, that long          flux: expected, mean of that time, [W/m2]
        room: air, [K]      nodes, probe: temperatures at the end, [K]      lag: of the probe, [s]
        shares: of the unknowns, as `step` was built      read: a reading comes at the end
        """
        lamp, face_loss, conduction, back_loss = self._columns
        faces = [column[0] for column in self._columns]
        # More conduction acts on the slopes as it acts on the nodes themselves, so they go along.
        drive = [node / shares[CONDUCTION] for node in nodes]
        driven = step.advance(
            [a + b for a, b in zip(conduction, drive, strict=True)], 0.0, drive[0], drive[-1]
        )
        self._columns = [
            step.advance(lamp, flux, 0.0),
            step.advance(face_loss, 0.0, (room - nodes[0]) / shares[FACE_LOSS], 0.0),
            [a - b for a, b in zip(driven, drive, strict=True)],
            step.advance(back_loss, 0.0, 0.0, (room - nodes[-1]) / shares[BACK_LOSS]),
        ]
        for i, (was, column) in enumerate(zip(faces, self._columns, strict=True)):
            self._probe_column[i] = lagging(self._probe_column[i], was, column[0], seconds, lag)
        fade = exp(-seconds / lag)
        pull = (probe - nodes[0]) / shares[LAG]
        self._probe_column[LAG] = pull + (self._probe_column[LAG] - pull) * fade
        self._probe_column[SHIFT] = 1.0 + (self._probe_column[SHIFT] - 1.0) * fade
        drifts = DRIFT if read else (*DRIFT[:SHIFT], UNREAD_SHIFT)
        for i, drift in enumerate(drifts):
            if self._covariance[i][i] < DOUBT[i] ** 2 or i == SHIFT:
                self._covariance[i][i] += drift**2 * seconds / DRIFT_TIME

    def learn(self, gap: float, moving: float, shares: Sequence[float]) -> list[float]:
        """The six as believed after one reading, each within its bounds.

        gap: reading less the probe as modelled, [K]      moving: how fast the probe moves, [K/s]
        shares: the six as believed so far
        """
        column = self._probe_column
        weights = [_dot(row, column) for row in self._covariance]
        spread = _dot(weights, column) + READING_ERROR**2 + (TIMING_ERROR * moving) ** 2
        limit = SURPRISE_LIMIT * sqrt(spread)
        believed = max(-limit, min(limit, gap))
        self._surprise += (believed**2 / spread - self._surprise) / SURPRISE_MEMORY
        gains = [weight / spread for weight in weights]
        for row, gain in zip(self._covariance, gains, strict=True):
            row[:] = [entry - gain * weight for entry, weight in zip(row, weights, strict=True)]
        return [
            max(least, min(most, share + gain * believed))
            for least, most, share, gain in zip(LEAST, MOST, shares, gains, strict=True)
        ]

    def corrected(self, nodes: Sequence[float], changes: Sequence[float]) -> list[float]:
        """The nodes after the six were changed, [K]."""
        lamp, face_loss, conduction, back_loss, _, shift = changes
        return [
            node + lamp * a + face_loss * b + conduction * c + back_loss * d + shift
            for node, a, b, c, d in zip(nodes, *self._columns, strict=True)
        ]

    def corrected_probe(self, probe: float, changes: Sequence[float]) -> float:
        """The probe after the six were changed, [K]."""
        return probe + _dot(changes, self._probe_column)

    def flip(self) -> None:
        """The board is turned over, and what is not known of it with it."""
        for column in self._columns:
            column.reverse()

    def probe_known(self) -> None:
        """The probe was just set to its own reading: none of the six shows in it yet."""
        self._probe_column = [0.0] * UNKNOWNS

    def face_sd(self) -> float:
        """Standard error of the face, [K]."""
        return self._sd([column[0] for column in self._columns], FACE_MODEL_ERROR)

    def mean_sd(self, thickness: float) -> float:
        """Standard error of the mean of a board this thick [m], [K]."""
        means = [mean_temperature(column, thickness) for column in self._columns]
        return self._sd(means, MEAN_MODEL_ERROR)

    def lamp_sd(self) -> float:
        """Standard error of the lamp, as a share of what was expected."""
        return sqrt(self._covariance[LAMP][LAMP])

    def rows(self) -> list[list[float]]:
        """All of it as rows of numbers, for `restored`."""
        return [*self._covariance, *self._columns, [*self._probe_column, self._surprise]]

    @classmethod
    def restored(cls, rows: Sequence[list[float]]) -> "HeatDoubt":
        """The doubt that `rows` was asked of."""
        doubt = cls()
        doubt._covariance = [list(row) for row in rows[:UNKNOWNS]]
        doubt._columns = [list(row) for row in rows[UNKNOWNS:-1]]
        doubt._probe_column = list(rows[-1][:UNKNOWNS])
        doubt._surprise = rows[-1][UNKNOWNS]
        return doubt

    def _sd(self, slopes: Sequence[float], model_error: float) -> float:
        # Readings that keep surprising say that the six are not all that is wrong.
        column = [*slopes, 0.0, 1.0]
        variance = max(0.0, _dot((_dot(row, column) for row in self._covariance), column))
        return sqrt(variance * max(1.0, self._surprise) + model_error**2)


def _dot(row: Iterable[float], column: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(row, column, strict=True))


def lagging(value: float, was: float, now: float, seconds: float, lag: float) -> float:
    """A first-order lag [s] behind something that goes straight from `was` to `now`."""
    slope = (now - was) / seconds
    return now - slope * lag + (value - was + slope * lag) * exp(-seconds / lag)
