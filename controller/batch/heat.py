"""What the board's face, mean and back are now: a slab model that the probe keeps correcting.

Temperatures are on the face probe's own scale: what it is off by, they are off by. One long file:
estimate, doubt and forecast are the same few numbers, and nothing else may touch them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, astuple
from itertools import islice
from math import exp, inf, isfinite

from controller.batch.heat_doubt import (
    BACK_LOSS,
    CONDUCTION,
    FACE_LOSS,
    LAG,
    LAMP,
    SHIFT,
    UNKNOWNS,
    HeatDoubt,
    lagging,
)
from controller.errors import InputError, RangeError
from controller.science.slab import (
    NODES,
    Slab,
    SlabStep,
    mean_temperature,
    steady_face,
    steady_mean,
)

HeatState = dict[str, list[float]]
"""An estimate as numbers JSON can hold."""

CORRECTION = 10
"""Seconds between corrections; own: no quicker than a contact probe's lag."""
FINE = 10
"""Longest stretch done in steps of 1 s; a longer one is a single step, [s]; own."""
LAMP_LAG = 1.2
"""Time in which a heat lamp's filament comes to 63 % of its glow, and loses it, [s]; own guess."""
QUICKEST_LAG = 0.5
"""A probe quicker than this is taken as this, [s]; own: steps are 1 s."""
REBUILD = 0.002
"""The slab's equations are factored anew once a share has moved by this much; own."""
_SLAB_SHARES = (FACE_LOSS, CONDUCTION, BACK_LOSS)
_STATE_LENGTHS = {
    "board": 6,
    "expected": 2,
    "nodes_k": NODES,
    "probe_and_room_k": 2,
    "shares": UNKNOWNS,
    "built": UNKNOWNS,
    "clock_s": 3,
    "glow": 1,
    "flags": 3,
    "doubt": UNKNOWNS * UNKNOWNS + LAG * NODES + UNKNOWNS + 1,
}


class HeatEstimate:
    """The board under the lamp as it is believed to be."""

    def __init__(
        self,
        *,
        thickness: float,
        conductivity: float,
        density: float,
        heat_capacity: float,
        back_h: float,
        face_h: float,
        flux: float,
        probe_lag: float,
        start: float,
        room: float,
    ) -> None:
        """A board of one even temperature.

        thickness [m], conductivity [W/(m K)], density [kg/m3], heat_capacity [J/(kg K)]
        back_h, face_h: film coefficients of the two sides, radiation in them, [W/(m2 K)]
        flux: expected to be absorbed under the lamp, [W/m2]
        probe_lag: time constant of the face probe, [s]
        start: the board now, [K]; the first reading overrules it       room: air, [K]
        """
        if min(face_h, flux) <= 0 or probe_lag < 0:
            raise RangeError(
                f"no heat estimate with a face loss of {face_h} W/(m2 K), a flux of {flux} W/m2 "
                f"and a probe lag of {probe_lag} s; check the board and the commissioning record"
            )
        self._board = Slab(thickness, conductivity, density, heat_capacity, face_h, back_h)
        self._expected_flux = flux
        self._probe_lag = max(probe_lag, QUICKEST_LAG)
        self._room = room
        self.begin(start)

    def begin(self, start: float) -> None:
        """Forget all that readings have taught: a board of one even temperature, [K]."""
        self._nodes = [start] * NODES
        self._probe = start
        self._share = [1.0, 1.0, 1.0, 1.0, 1.0, 0.0]
        self._build(self._share)
        self._doubt = HeatDoubt()
        self._owed = 0.0
        self._since = 0
        self._lit = 0.0
        self._glow = 0.0
        self._zeroed = False
        self._seated = True
        self._listening = True

    @property
    def face(self) -> float:
        """Face temperature, [K]."""
        return self._nodes[0]

    @property
    def mean(self) -> float:
        """Mean temperature of the board, [K]."""
        return mean_temperature(self._nodes, self._board.thickness)

    @property
    def back(self) -> float:
        """Back temperature, [K]."""
        return self._nodes[-1]

    @property
    def probe(self) -> float:
        """What the face probe should read, [K]."""
        return self._probe

    @property
    def face_sd(self) -> float:
        """Standard error of the face, [K]."""
        return self._doubt.face_sd()

    @property
    def mean_sd(self) -> float:
        """Standard error of the mean, [K]."""
        return self._doubt.mean_sd(self._board.thickness)

    @property
    def gain(self) -> float:
        """Absorbed flux as a share of what was expected, [-]."""
        return self._share[LAMP]

    @property
    def flux(self) -> float:
        """What the face is believed to absorb while the lamp is on, [W/m2]."""
        return self._share[LAMP] * self._expected_flux

    @property
    def flux_sd(self) -> float:
        """Standard error of that, [W/m2]."""
        return self._doubt.lamp_sd() * self._expected_flux

    @property
    def expected_flux(self) -> float:
        """What the face was expected to absorb while the lamp is on, [W/m2]."""
        return self._expected_flux

    def advance(self, seconds: float, lamp_on: bool, reading: float | None, room: float) -> None:
        """Go on by `seconds`, the lamp as it was during them, and take the reading at their end.

        reading: newest value of the face probe, [K]; None when there is none or it is too old
        room: air on both sides, [K]

        Whole seconds are done; the rest, at most half of one, is carried over.
        """
        if not 0 <= seconds < inf:
            raise RangeError(f"the board cannot go on by {seconds} s; use 0 or more")
        self._room = room
        heard = reading if self._listening else None
        if heard is not None:
            self._seat(heard)
        self._zeroed = self._zeroed or lamp_on
        self._owed += seconds
        whole = int(self._owed + 0.5)
        self._owed -= whole
        stretch = whole if whole > FINE else 1
        for _ in range(whole // stretch):
            self._march(stretch, lamp_on)
        self._since += whole
        if self._since >= CORRECTION:
            self._carry_doubt(heard is not None)
            if heard is not None:
                self._correct(heard)

    def face_after(self, seconds: float, lamp_seconds: float = 0.0) -> float:
        """Face `seconds` from now, [K], the lamp on for the first `lamp_seconds` and then off."""
        face = self.face
        for before, was, now, then in self._ahead(lamp_seconds, seconds):
            face = was + (then - was) * min(1.0, (seconds - before) / (now - before))
        return face

    def seconds_until_face_below(self, temperature: float, limit_seconds: float) -> float | None:
        """Time until the face is at `temperature` [K] with the lamp off, [s].

        0 when it is there already; None when it takes longer than `limit_seconds`.
        """
        if self.face <= temperature:
            return 0.0
        for before, was, now, then in self._ahead(0.0, limit_seconds):
            if then <= temperature:
                return before + (now - before) * (was - temperature) / (was - then)
        return None

    def settles_at(self) -> float:
        """Face with the lamp on for ever, as lamp and losses are believed now, [K]."""
        slab = self._slab
        return steady_face(
            self.flux, self._room, slab.face_h, slab.back_h, slab.conductivity, slab.thickness
        )

    def mean_reachable(self, band_top: float) -> float:
        """Mean with the face held for ever at `band_top` [K], or where the lamp gets it, [K]."""
        slab = self._slab
        face = min(band_top, self.settles_at())
        return steady_mean(face, self._room, slab.back_h, slab.conductivity, slab.thickness)

    def flip(self) -> None:
        """The board is turned over: face and back swap. The next reading re-seats the probe."""
        self._nodes.reverse()
        self._doubt.flip()
        self._seated = False

    def probe_off(self) -> None:
        """The probe comes off the board: readings are ignored from here."""
        self._listening = False

    def probe_on(self) -> None:
        """The probe is back on the face: readings count, and the next one re-seats it."""
        self._listening = True
        self._seated = False

    def heat_state(self) -> HeatState:
        """All of the estimate, to be kept and handed to `from_state`."""
        return {
            "board": list(astuple(self._board)),
            "expected": [self._expected_flux, self._probe_lag],
            "nodes_k": list(self._nodes),
            "probe_and_room_k": [self._probe, self._room],
            "shares": list(self._share),
            "built": list(self._built),
            "clock_s": [self._owed, float(self._since), self._lit],
            "glow": [self._glow],
            "flags": [float(self._zeroed), float(self._seated), float(self._listening)],
            "doubt": [entry for row in self._doubt.rows() for entry in row],
        }

    @classmethod
    def from_state(cls, state: Mapping[str, Sequence[float]]) -> "HeatEstimate":
        """The estimate that `heat_state` was asked of. Raises InputError if it cannot be used."""
        kept = {name: [float(entry) for entry in row] for name, row in state.items()}
        lengths = {name: len(row) for name, row in kept.items()}
        if lengths != _STATE_LENGTHS or not all(isfinite(v) for row in kept.values() for v in row):
            raise InputError(
                "the saved heat estimate is incomplete; begin a new one from the next reading"
            )
        board = Slab(*kept["board"])
        flux, probe_lag = kept["expected"]
        probe, room = kept["probe_and_room_k"]
        estimate = cls(**asdict(board), flux=flux, probe_lag=probe_lag, start=probe, room=room)
        estimate._nodes = kept["nodes_k"]
        estimate._share = kept["shares"]
        estimate._owed, since, estimate._lit = kept["clock_s"]
        estimate._since = int(since)
        (estimate._glow,) = kept["glow"]
        estimate._zeroed, estimate._seated, estimate._listening = map(bool, kept["flags"])
        estimate._build(kept["built"])
        entries = iter(kept["doubt"])
        lengths_of_rows = [UNKNOWNS] * UNKNOWNS + [NODES] * LAG + [UNKNOWNS + 1]
        estimate._doubt = HeatDoubt.restored(
            [list(islice(entries, length)) for length in lengths_of_rows]
        )
        return estimate

    def _seat(self, reading: float) -> None:
        # Before the lamp was ever on, board and probe are alike: a gap is the probe's own error
        # or a board that was stored elsewhere, and must not be read as lamp.
        if not self._zeroed:
            self._nodes = [node + reading - self._probe for node in self._nodes]
            self._probe = reading
            self._zeroed = True
        elif not self._seated:
            self._probe = reading
            self._doubt.probe_known()
        self._seated = True

    def _build(self, share: Sequence[float]) -> None:
        board = self._board
        self._built = list(share)
        self._steps: dict[int, SlabStep] = {}
        self._slab = Slab(
            board.thickness,
            board.conductivity * share[CONDUCTION],
            board.density,
            board.heat_capacity,
            board.face_h * share[FACE_LOSS],
            board.back_h * share[BACK_LOSS],
        )

    def _step(self, seconds: int) -> SlabStep:
        if seconds not in self._steps:
            self._steps[seconds] = SlabStep(self._slab, seconds)
        return self._steps[seconds]

    def _march(self, seconds: int, lamp_on: bool) -> None:
        was = self._nodes[0]
        share, self._glow = _glowing(self._glow, float(lamp_on), seconds)
        self._lit += share * seconds
        self._nodes = self._step(seconds).advance(self._nodes, share * self.flux, self._room)
        lag = self._probe_lag * self._share[LAG]
        self._probe = lagging(self._probe, was, self._nodes[0], seconds, lag)

    def _ahead(
        self, lamp_seconds: float, limit_seconds: float
    ) -> Iterator[tuple[float, float, float, float]]:
        """Steps of the future up to the limit: start [s], face there, end [s], face there."""
        nodes, now, glow = self._nodes, 0.0, self._glow
        while now < limit_seconds:
            # After a switching the face settles fast, then ever slower.
            settling = now - lamp_seconds
            length = 1 if settling < 10.0 else 5 if settling < 120.0 else 10
            lamp = min(1.0, max(0.0, (lamp_seconds - now) / length))
            share, glow = _glowing(glow, lamp, length)
            was = nodes[0]
            nodes = self._step(length).advance(nodes, share * self.flux, self._room)
            yield now, was, now + length, nodes[0]
            now += length

    def _carry_doubt(self, read: bool) -> None:
        seconds = self._since
        self._doubt.carry(
            seconds,
            self._step(seconds),
            self._expected_flux * self._lit / seconds,
            self._room,
            self._nodes,
            self._probe,
            self._probe_lag * self._share[LAG],
            self._built,
            read,
        )
        self._since, self._lit = 0, 0.0

    def _correct(self, reading: float) -> None:
        lag = self._probe_lag * self._share[LAG]
        moving = (self._nodes[0] - self._probe) / lag
        share = self._doubt.learn(reading - self._probe, moving, self._share)
        changes = [after - before for after, before in zip(share, self._share, strict=True)]
        self._nodes = self._doubt.corrected(self._nodes, changes)
        self._probe = self._doubt.corrected_probe(self._probe, changes)
        # A shift has moved the nodes and is done with.
        self._share = [*share[:SHIFT], 0.0]
        if any(abs(self._share[i] - self._built[i]) > REBUILD for i in _SLAB_SHARES):
            self._build(self._share)


def _glowing(glow: float, lamp: float, seconds: float) -> tuple[float, float]:
    """Mean share of the lamp's full glow during `seconds`, and the share at their end."""
    fade = exp(-seconds / LAMP_LAG)
    over = glow - lamp
    return lamp + over * LAMP_LAG / seconds * (1.0 - fade), lamp + over * fade
