"""What the estimate does not know, against a Kalman filter written out in matrices, and against
boards whose shares are really moved. The figures of this file are its own."""

from dataclasses import replace
from math import exp, sqrt

import pytest

from controller.batch.heat_doubt import HeatDoubt, lagging
from controller.science.slab import NODES, Slab, SlabStep, mean_temperature

SLAB = Slab(0.02, 0.16, 670.0, 1560.0, 11.0, 6.0)
ROOM = 291.0
FLUX = 900.0
LAG = 12.0
SHARES = [1.2, 0.9, 1.1, 0.8, 1.3, 0.0]
DOUBT = [0.25, 0.25, 0.15, 0.2, 0.1, 0.2]
DRIFT = [0.005, 0.02, 0.003, 0.01, 0.003, 0.02]
LEAST = [0.3, 0.4, 0.6, 0.2, 0.3]
MOST = [2.5, 2.5, 1.6, 3.0, 3.0]


def step_of(shares: list[float], seconds: float) -> SlabStep:
    """The board as these shares have it."""
    return SlabStep(
        replace(
            SLAB,
            conductivity=SLAB.conductivity * shares[2],
            face_h=SLAB.face_h * shares[1],
            back_h=SLAB.back_h * shares[3],
        ),
        seconds,
    )


def settled(shares: list[float]) -> list[float]:
    """The board under its lamp for ever."""
    step, nodes = step_of(shares, 900.0), [ROOM] * NODES
    for _ in range(300):
        nodes = step.advance(nodes, FLUX * shares[0], ROOM)
    return nodes


def carried(doubt: HeatDoubt, seconds: int = 10, **changes: object) -> None:
    """One stretch of a lit board that is warmer at the face."""
    given = {
        "step": step_of(SHARES, seconds),
        "flux": FLUX,
        "room": ROOM,
        "nodes": [ROOM + 20.0 - node for node in range(NODES)],
        "probe": ROOM + 12.0,
        "lag": LAG,
        "shares": SHARES,
        "read": True,
        **changes,
    }
    doubt.carry(seconds, **given)  # type: ignore[arg-type]


def dot(row: list[float], column: list[float]) -> float:
    return sum(a * b for a, b in zip(row, column, strict=True))


def covariance(doubt: HeatDoubt) -> list[list[float]]:
    return [list(row) for row in doubt.rows()[:6]]


def diagonal(doubt: HeatDoubt) -> list[float]:
    return [row[i] for i, row in enumerate(covariance(doubt))]


def beside(doubt: HeatDoubt) -> list[float]:
    """The covariance off its diagonal."""
    rows = covariance(doubt)
    return [rows[i][j] for i in range(6) for j in range(6) if i != j]


def probe_column(doubt: HeatDoubt) -> list[float]:
    return list(doubt.rows()[-1][:6])


def lit(stretches: int = 6) -> HeatDoubt:
    """A doubt some stretches and as many readings old."""
    doubt = HeatDoubt()
    for stretch in range(stretches):
        carried(doubt, nodes=[ROOM + 5.0 * stretch - 0.3 * node for node in range(NODES)])
        doubt.learn(0.1 * (-1) ** stretch, 0.0, SHARES)
    return doubt


@pytest.mark.parametrize("share", range(4))
def test_slopes_are_what_a_board_with_that_share_moved_really_does(share: int) -> None:
    nodes, doubt = settled(SHARES), HeatDoubt()
    for _ in range(300):
        carried(doubt, 900, nodes=nodes, probe=nodes[0])
    moved = []
    for change in (1e-4, -1e-4):
        other = list(SHARES)
        other[share] += change
        moved.append(settled(other))
    real = [(more - less) / 2e-4 for more, less in zip(*moved, strict=True)]
    changes = [1.0 if unknown == share else 0.0 for unknown in range(6)]
    corrected = doubt.corrected(nodes, changes)
    believed = [after - before for after, before in zip(corrected, nodes, strict=True)]
    assert believed == pytest.approx(real, rel=1e-4, abs=1e-4)
    assert doubt.corrected_probe(nodes[0], changes) - nodes[0] == pytest.approx(real[0], rel=1e-4)


def test_a_shift_moves_every_node_alike_and_the_probe_as_it_comes_to_rest() -> None:
    doubt = HeatDoubt()
    shift = [0.0] * 5 + [0.7]
    assert doubt.corrected([300.0] * NODES, shift) == pytest.approx([300.7] * NODES)
    assert doubt.corrected_probe(300.0, shift) == pytest.approx(300.7)
    carried(doubt, lag=5.0)
    assert probe_column(doubt)[5] == 1.0, (
        "a probe that stands on a board all through so much warmer"
    )
    doubt.probe_known()
    assert not any(probe_column(doubt))
    carried(doubt, lag=5.0)
    assert probe_column(doubt)[5] == pytest.approx(1.0 - exp(-2.0))
    carried(doubt, lag=5.0)
    assert probe_column(doubt)[5] == pytest.approx(1.0 - exp(-4.0))


def test_the_probe_follows_the_slopes_of_the_face_and_its_own_lag() -> None:
    doubt = lit(3)
    before, rows = probe_column(doubt), doubt.rows()
    faces = [row[0] for row in rows[6:10]]
    carried(doubt)
    after = [row[0] for row in doubt.rows()[6:10]]
    due = [lagging(before[i], faces[i], after[i], 10.0, LAG) for i in range(4)]
    assert probe_column(doubt)[:4] == pytest.approx(due)
    pull, fade = (12.0 - 20.0) / 1.3, exp(-10.0 / LAG)
    assert probe_column(doubt)[4] == pytest.approx(pull * (1.0 - fade) + before[4] * fade)


def test_a_lagging_value_is_what_small_steps_make_of_it() -> None:
    value, was, now = 290.0, 300.0, 310.0
    small = value
    for number in range(100_000):
        ahead = was + (now - was) * (number + 0.5) / 100_000
        small += (ahead - small) * 10.0 / 100_000 / LAG
    assert lagging(value, was, now, 10.0, LAG) == pytest.approx(small, abs=1e-3)


def test_doubt_begins_as_told_and_only_the_shift_outgrows_that() -> None:
    doubt = HeatDoubt()
    squares = [sd**2 for sd in DOUBT]
    assert diagonal(doubt) == pytest.approx(squares) and not any(beside(doubt))
    carried(doubt, 300)
    squares[5] += 0.02**2 * 300 / 600
    assert diagonal(doubt) == pytest.approx(squares) and not any(beside(doubt))
    assert doubt.lamp_sd() == pytest.approx(0.25)


@pytest.mark.parametrize(("read", "shift"), [(True, 0.02), (False, 0.3)])
def test_doubt_drifts_with_time_and_faster_while_nobody_reads(read: bool, shift: float) -> None:
    doubt = lit()
    before, apart = diagonal(doubt), beside(doubt)
    assert all(variance < sd**2 for variance, sd in zip(before[:5], DOUBT, strict=False))
    carried(doubt, 20, read=read)
    drifts = [*DRIFT[:5], shift]
    grown = [a + drift**2 * 20 / 600 for a, drift in zip(before, drifts, strict=True)]
    assert diagonal(doubt) == pytest.approx(grown, rel=1e-12) and beside(doubt) == apart


@pytest.mark.parametrize("gap", [0.2, -0.35, 50.0, -50.0])
@pytest.mark.parametrize("moving", [0.0, 0.05])
def test_one_reading_teaches_what_the_matrices_say(gap: float, moving: float) -> None:
    doubt = lit()
    was, column, surprise = covariance(doubt), probe_column(doubt), doubt.rows()[-1][6]
    weights = [dot(row, column) for row in was]
    spread = dot(weights, column) + 0.15**2 + (8.0 * moving) ** 2
    believed = min(max(gap, -4.0 * sqrt(spread)), 4.0 * sqrt(spread))
    gains = [weight / spread for weight in weights]
    learnt = doubt.learn(gap, moving, SHARES)
    due = [share + gain * believed for share, gain in zip(SHARES, gains, strict=True)]
    for unknown, (least, most) in enumerate(zip(LEAST, MOST, strict=True)):
        due[unknown] = min(max(due[unknown], least), most)
    assert learnt == pytest.approx(due)
    for i, row in enumerate(covariance(doubt)):
        left = [was[i][j] - gains[i] * weights[j] for j in range(6)]
        assert row == pytest.approx(left)
    fresh = surprise + (believed**2 / spread - surprise) / 30.0
    assert doubt.rows()[-1][6] == pytest.approx(fresh)


@pytest.mark.parametrize("share", range(5))
def test_no_share_is_believed_past_its_bounds_and_a_shift_has_none(share: int) -> None:
    doubt = lit()
    beyond = [9.0 if unknown == share else 1.0 for unknown in range(6)]
    assert doubt.learn(0.0, 0.0, beyond)[share] == MOST[share]
    beyond[share] = -9.0
    assert doubt.learn(0.0, 0.0, beyond)[share] == LEAST[share]
    shifted = [1.0] * 5 + [-9.0]
    assert doubt.learn(0.0, 0.0, shifted)[5] == -9.0
    assert doubt.learn(0.0, 0.0, [1.0] * 5 + [9.0])[5] == 9.0


def spread_of(doubt: HeatDoubt, slopes: list[float], model: float) -> float:
    column = [*slopes, 0.0, 1.0]
    variance = dot([dot(row, column) for row in covariance(doubt)], column)
    return sqrt(variance * max(1.0, doubt.rows()[-1][6]) + model**2)


def test_face_and_mean_are_as_sure_as_the_six_together_and_no_surer_than_the_model() -> None:
    for gaps in ([0.1] * 4, [3.0] * 4):
        doubt = HeatDoubt()
        for gap in gaps:
            carried(doubt)
            doubt.learn(gap, 0.0, SHARES)
        assert (doubt.rows()[-1][6] > 1.0) is (gaps[0] > 1.0)
        columns = doubt.rows()[6:10]
        faces = [column[0] for column in columns]
        assert doubt.face_sd() == pytest.approx(spread_of(doubt, faces, 0.25))
        means = [mean_temperature(column, 0.02) for column in columns]
        assert doubt.mean_sd(0.02) == pytest.approx(spread_of(doubt, means, 0.1))
        assert doubt.lamp_sd() == pytest.approx(sqrt(covariance(doubt)[0][0]))


def test_a_variance_that_rounding_made_negative_counts_as_none() -> None:
    rows = HeatDoubt().rows()
    for row in rows[:6]:
        row[:] = [-1e-3] * 6
    doubt = HeatDoubt.restored(rows)
    assert doubt.face_sd() == pytest.approx(0.25) and doubt.mean_sd(0.02) == pytest.approx(0.1)


def test_a_flip_turns_the_slopes_over_and_a_copy_goes_on_alike() -> None:
    doubt = lit()
    rows = doubt.rows()
    kept = HeatDoubt.restored([list(row) for row in rows])
    assert kept.rows() == rows
    doubt.flip()
    assert doubt.rows()[6:10] == [list(reversed(row)) for row in kept.rows()[6:10]]
    assert doubt.rows()[:6] == rows[:6] and doubt.rows()[-1] == rows[-1]
    assert len(rows) == 6 + 4 + 1 and len(rows[-1]) == 7


def test_lists_of_another_length_are_refused_and_not_cut_short() -> None:
    doubt = lit()
    with pytest.raises(ValueError, match="zip"):
        doubt.learn(0.1, 0.0, [1.0] * 5)
    with pytest.raises(ValueError, match="zip"):
        carried(doubt, nodes=[ROOM] * (NODES - 1))
    with pytest.raises(ValueError, match="zip"):
        doubt.corrected([300.0] * (NODES - 1), [0.0] * 6)
    with pytest.raises(ValueError, match="zip"):
        doubt.corrected_probe(300.0, [0.0] * 5)


def test_a_board_at_rest_shows_nothing_of_lamp_losses_conduction_and_lag() -> None:
    doubt = HeatDoubt()
    assert doubt.rows()[6:10] == [[0.0] * NODES] * 4
    assert probe_column(doubt) == [0.0] * 5 + [1.0]


def test_before_the_first_reading_surprise_is_as_it_should_be() -> None:
    assert HeatDoubt().rows()[-1][6] == 1.0
