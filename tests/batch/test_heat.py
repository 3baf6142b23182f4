"""The heat estimate against boards it was told wrong, on a finer model with losses of its own."""

import json
from dataclasses import dataclass, field
from math import exp, sqrt
from random import Random
from statistics import fmean, stdev

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.batch.heat import HeatEstimate
from controller.errors import InputError, RangeError

ROOM = 291.15
CELLS = 80
BAND = (311.15, 315.15)
TOLD = {
    "thickness": 0.020,
    "conductivity": 0.159,
    "density": 670.0,
    "heat_capacity": 1559.0,
    "back_h": 6.0,
    "face_h": 11.0,
    "flux": 1000.0,
    "probe_lag": 10.0,
    "start": ROOM,
    "room": ROOM,
}


def told(**changes: float) -> HeatEstimate:
    return HeatEstimate(**(TOLD | changes))


def loss(surface: float, at_twenty: float) -> float:
    """Half radiation, half free convection, together `at_twenty` [W/(m2 K)] at 20 K over the
    room, [W/m2]."""
    gap = surface - ROOM
    grey = (surface**4 - ROOM**4) / ((ROOM + 20) ** 4 - ROOM**4) * 20
    return at_twenty * (0.5 * grey + 0.5 * gap * (abs(gap) / 20) ** 0.25)


@dataclass
class Truth:
    """A board in 80 even cells, stepped explicitly; nothing in it comes from the package."""

    thickness: float
    conductivity: float
    heat_capacity: float
    face_h: float
    back_h: float
    flux: float
    lamp_lag: float
    cells: list[float] = field(default_factory=lambda: [ROOM] * CELLS)
    face: float = ROOM
    probe: float = ROOM
    glow: float = 0.0

    def second(self, lamp: bool) -> None:
        width = self.thickness / CELLS
        capacity = 670.0 * self.heat_capacity
        steps = int(1 / (0.45 * width**2 * capacity / self.conductivity)) + 1
        ratio = self.conductivity / (capacity * width**2 * steps)
        warm = 1 / (capacity * width * steps)
        was = self.face
        for _ in range(steps):
            self.glow += (lamp - self.glow) * (1 - exp(-1 / (steps * self.lamp_lag)))
            into = self.glow * self.flux - loss(self.face, self.face_h)
            cells = self.cells
            after = [
                b + ratio * (a - b - b + c)
                for a, b, c in zip(
                    [cells[0], *cells[:-1]], cells, [*cells[1:], cells[-1]], strict=True
                )
            ]
            after[0] += into * warm
            after[-1] -= loss(cells[-1], self.back_h) * warm
            self.cells = after
            self.face = after[0] + into * width / (2 * self.conductivity)
        self.probe += ((self.face + was) / 2 - self.probe) * (1 - exp(-1 / 10.0))

    @property
    def mean(self) -> float:
        return sum(self.cells) / CELLS


@dataclass
class Course:
    """What one board showed."""

    face_misses: list[float] = field(default_factory=list)
    mean_misses: dict[int, float] = field(default_factory=dict)
    mean_ratios: list[float] = field(default_factory=list)
    cooling_misses: list[float] = field(default_factory=list)
    cooling_ratios: list[float] = field(default_factory=list)


def soak(seed: int) -> Course:
    """Half an hour in the band by a two-point relay on a 1/16 K contact probe, then 3 min off
    without the probe."""
    random = Random(seed)
    truth = Truth(
        thickness=random.uniform(0.020, 0.028),
        conductivity=0.159 * random.uniform(0.8, 1.2),
        heat_capacity=1559.0 * random.uniform(0.97, 1.03),
        face_h=random.uniform(8, 14),
        back_h=6.0 * random.uniform(0.7, 1.3),
        flux=1000.0 * random.uniform(0.7, 1.3),
        lamp_lag=random.uniform(0.5, 2.5),
    )
    heat = told(thickness=truth.thickness)
    course, lamp, held, reached, reading = Course(), False, 99, None, ROOM
    for now in range(4000):
        soaked = -1 if reached is None else now - reached
        if soaked >= 1980:
            break
        wanted = reading < BAND[0] + 1 or (lamp and reading < BAND[1] - 1)
        wanted = wanted and soaked < 1800
        lamp, held = (wanted, 0) if wanted != lamp and held >= 5 else (lamp, held + 1)
        truth.second(lamp)
        reading = round((truth.probe + random.gauss(0, 0.03)) * 16) / 16
        if reached is None and reading >= BAND[0]:
            reached = now
        if soaked == 1805:
            heat.probe_off()
        heat.advance(1.0, lamp, reading, ROOM)
        if soaked in (300, 600, 1200, 1799):
            course.mean_misses[soaked] = heat.mean - truth.mean
            course.mean_ratios.append((heat.mean - truth.mean) / heat.mean_sd)
        if 120 < soaked < 1800:
            course.face_misses.append(heat.face - truth.face)
        if soaked >= 1810 and soaked % 10 == 0:
            course.cooling_misses.append(heat.face - truth.face)
            course.cooling_ratios.append((heat.face - truth.face) / heat.face_sd)
    return course


@pytest.fixture(scope="module")
def courses() -> list[Course]:
    return [soak(seed) for seed in range(12)]


def test_the_mean_is_known_to_half_a_kelvin_after_half_an_hour(courses: list[Course]) -> None:
    misses = [course.mean_misses[1799] for course in courses]
    assert abs(fmean(misses)) <= 0.5
    assert stdev(misses) <= 0.5


def test_the_face_is_known_to_a_kelvin_and_a_half_while_the_lamp_cycles(
    courses: list[Course],
) -> None:
    assert max(abs(miss) for course in courses for miss in course.face_misses) <= 1.5


def test_the_face_is_still_known_three_minutes_after_the_probe_came_off(
    courses: list[Course],
) -> None:
    assert max(abs(miss) for course in courses for miss in course.cooling_misses) <= 1.5


def test_the_doubt_told_is_about_the_doubt_there_is(courses: list[Course]) -> None:
    # Root mean square of miss over standard error: 1 would be perfect, over 1.3 a boast.
    for ratios in (
        [ratio for course in courses for ratio in course.mean_ratios],
        [ratio for course in courses for ratio in course.cooling_ratios],
    ):
        assert 0.3 < sqrt(fmean(ratio**2 for ratio in ratios)) < 1.3


def test_doubt_grows_while_nobody_reads_the_probe() -> None:
    read, unread = told(), told()
    for now in range(900):
        for heat in (read, unread):
            heat.advance(1.0, now % 60 < 30, read.probe if heat is read else None, ROOM)
    assert unread.mean_sd > 2 * read.mean_sd
    before = read.face_sd
    read.probe_off()
    for _ in range(1200):
        read.advance(1.0, False, None, ROOM)
    assert read.face_sd > before


def test_a_probe_that_reads_low_does_not_become_a_weak_lamp() -> None:
    # -0.36 K once made the lamp's gain negative, and a controller locked the lamp off for good.
    heat = told()
    truth = Truth(0.020, 0.159, 1559.0, 11.0, 6.0, 1000.0, 1.2)
    for now in range(600):
        lamp = now >= 120 and now % 40 < 20
        truth.second(lamp)
        heat.advance(1.0, lamp, truth.probe - 0.36, ROOM)
        if now < 120:
            assert heat.gain == pytest.approx(1.0, abs=0.01)
    assert heat.gain == pytest.approx(1.0, abs=0.1)
    assert heat.face == pytest.approx(truth.face - 0.36, abs=1.0)


@pytest.mark.parametrize("reading", [250.0, 380.0])
def test_no_lie_drives_the_lamp_out_of_its_bounds(reading: float) -> None:
    heat = told()
    heat.advance(1.0, False, ROOM, ROOM)
    for _ in range(600):
        heat.advance(1.0, True, reading, ROOM)
        assert 0.3 <= heat.gain <= 2.5
        assert heat.flux == pytest.approx(1000.0 * heat.gain)


def test_a_board_stored_elsewhere_is_taken_as_warm_as_it_reads() -> None:
    heat = told(start=285.0)
    heat.advance(1.0, False, 296.0, ROOM)
    assert heat.mean == pytest.approx(296.0, abs=0.05)
    # In its one second in the cooler room the back loses some of that.
    assert heat.back == pytest.approx(296.0, abs=0.15)


def test_the_first_reading_still_counts_when_the_lamp_came_on_with_it() -> None:
    heat = told(start=285.0)
    heat.advance(1.0, True, ROOM, ROOM)
    assert heat.mean == pytest.approx(ROOM, abs=0.1)


def test_what_it_foretells_is_what_comes() -> None:
    heat = told()
    heat.advance(600.0, True, None, ROOM)
    for _ in range(20):
        heat.advance(1.0, True, None, ROOM)
    soon = heat.face_after(7.0, lamp_seconds=4.0)
    later = heat.face_after(300.0)
    reach = heat.seconds_until_face_below(312.0, 3600.0)
    assert reach is not None
    assert heat.face_after(reach) == pytest.approx(312.0, abs=0.02)
    other = HeatEstimate.from_state(heat.heat_state())
    for now in range(7):
        other.advance(1.0, now < 4, None, ROOM)
    assert other.face == pytest.approx(soon, abs=0.01)
    for _ in range(300):
        heat.advance(1.0, False, None, ROOM)
    assert heat.face == pytest.approx(later, abs=0.05)


def test_a_face_already_below_and_one_that_never_gets_there() -> None:
    heat = told(start=300.0)
    assert heat.seconds_until_face_below(300.0, 600.0) == 0.0
    assert heat.seconds_until_face_below(280.0, 600.0) is None
    assert heat.face_after(0.0) == 300.0


def test_a_lamp_on_for_ever_settles_where_it_says() -> None:
    heat = told(flux=400.0)
    # Absorbed, lost by the face, and by the back through 20 mm of wood.
    way_out = 11.0 + 1 / (1 / 6.0 + 0.020 / 0.159)
    assert heat.settles_at() == pytest.approx(ROOM + 400.0 / way_out)
    for _ in range(100):
        heat.advance(600.0, True, None, ROOM)
    assert heat.face == pytest.approx(heat.settles_at(), abs=0.05)
    assert heat.mean == pytest.approx(heat.mean_reachable(400.0), abs=0.05)
    assert heat.mean_reachable(310.0) < 310.0


def test_flipping_swaps_face_and_back_and_waits_for_the_probe() -> None:
    heat = told()
    for _ in range(300):
        heat.advance(1.0, True, heat.probe, ROOM)
    for _ in range(20):
        heat.advance(1.0, False, heat.probe, ROOM)
    face, mean, back, gain = heat.face, heat.mean, heat.back, heat.gain
    heat.flip()
    assert (heat.face, heat.back) == (back, face)
    assert heat.mean == pytest.approx(mean)
    heat.advance(1.0, False, face - 1.0, ROOM)
    assert heat.probe == pytest.approx(face - 1.0, abs=3.0)
    assert heat.face == pytest.approx(back, abs=0.2)
    assert heat.gain == gain


def test_a_probe_taken_off_and_put_back() -> None:
    heat = told()
    heat.advance(1.0, False, ROOM, ROOM)
    heat.advance(120.0, True, None, ROOM)
    silent = HeatEstimate.from_state(heat.heat_state())
    heat.probe_off()
    for _ in range(60):
        heat.advance(1.0, False, 250.0, ROOM)
        silent.advance(1.0, False, None, ROOM)
    assert heat.face == silent.face
    heat.probe_on()
    heat.advance(1.0, False, heat.face - 4.0, ROOM)
    assert heat.probe == pytest.approx(heat.face - 4.0, abs=0.6)


def test_kept_as_json_and_restored_it_goes_on_alike() -> None:
    heat = told()
    random = Random(1)
    for now in range(333):
        heat.advance(1.0 + random.uniform(-0.01, 0.01), now % 50 < 25, ROOM + now / 20, ROOM)
    kept = json.loads(json.dumps(heat.heat_state()))
    other = HeatEstimate.from_state(kept)
    for now in range(97):
        for each in (heat, other):
            each.advance(1.0, now % 20 < 10, ROOM + 15, ROOM)
    assert other.heat_state() == heat.heat_state()


@pytest.mark.parametrize("name", ["nodes_k", "doubt", "flags"])
def test_a_damaged_state_is_refused(name: str) -> None:
    kept = told().heat_state()
    short = kept | {name: kept[name][:-1]}
    missing = {key: value for key, value in kept.items() if key != name}
    infinite = kept | {name: [*kept[name][:-1], float("nan")]}
    for damaged in (short, missing, infinite):
        with pytest.raises(InputError, match="saved heat estimate"):
            HeatEstimate.from_state(damaged)


def test_seconds_a_little_off_make_no_difference() -> None:
    even, odd = told(), told()
    random = Random(2)
    for _ in range(400):
        even.advance(1.0, True, None, ROOM)
        odd.advance(1.0 + random.choice((-0.02, 0.02)), True, None, ROOM)
    assert odd.face == pytest.approx(even.face, abs=0.1)


@given(
    stretches=st.lists(
        st.tuples(
            st.floats(0.0, 600.0),
            st.booleans(),
            st.none() | st.floats(260.0, 400.0),
            st.floats(270.0, 310.0),
        ),
        max_size=25,
    )
)
@settings(max_examples=40, deadline=None)
def test_whatever_comes_the_estimate_stays_a_board(
    stretches: list[tuple[float, bool, float | None, float]],
) -> None:
    heat = told()
    for seconds, lamp, reading, room in stretches:
        heat.advance(seconds, lamp, reading, room)
        assert 200.0 < heat.face < 700.0
        assert 200.0 < heat.mean < 700.0
        assert 0.1 <= heat.mean_sd < 200.0
        assert 0.25 <= heat.face_sd < 200.0
        assert 0.3 <= heat.gain <= 2.5


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(RangeError, match="face loss"):
        told(face_h=0.0)
    with pytest.raises(RangeError, match="face loss"):
        told(flux=0.0)
    heat = told()
    for seconds in (-1.0, float("inf"), float("nan")):
        with pytest.raises(RangeError, match="go on by"):
            heat.advance(seconds, False, None, ROOM)
