"""The figures of a coat against those worked out by hand from the made-up batch."""

from dataclasses import replace
from pathlib import Path

import pytest
import washboard
from washboard import COATED, GEL, HOLD, ID, LAMP_OFF, MAY_OPEN, OPENED, STROKE, C

from controller.report.account import read_account
from controller.report.figures import Figures, figures
from controller.science.cure import arrhenius_factor
from controller.store.queries import LogReader


@pytest.fixture(scope="module")
def came_to(tmp_path_factory: pytest.TempPathFactory) -> Figures:
    reader = LogReader(washboard.keep(tmp_path_factory.mktemp("log") / "log.db"))
    account = read_account(reader, ID)
    return figures(reader, account, account.passages[0])


def test_the_heat_is_as_it_was_sampled(came_to: Figures) -> None:
    # the face swings 1.2 K about 44.5; the highest whole second is within a millikelvin of it
    assert came_to.peak_face == pytest.approx(C + 45.7, abs=0.002)
    # lit from 600 to 2700 s
    assert came_to.lamp_on == pytest.approx(2100.0, abs=1.0)
    # in the band for the 900 s of soak, and on the way down until 43 C: 600 ln(24.5/23) = 37.9 s
    assert came_to.in_band == pytest.approx(937.9, abs=1.5)
    assert came_to.mean_at_lamp_off == pytest.approx(washboard.mean(LAMP_OFF), abs=0.02)


def test_the_coat_moment_is_as_it_was_told(came_to: Figures) -> None:
    assert (came_to.lamp_off_at, came_to.first_stroke_at) == (LAMP_OFF, STROKE)
    assert came_to.handling == STROKE - LAMP_OFF
    assert came_to.face_at_first_stroke == pytest.approx(washboard.face(STROKE - 1), abs=0.001)
    assert came_to.used == pytest.approx(0.084)
    assert came_to.used_on == pytest.approx(0.3)


def test_the_hold_counts_only_what_was_seen(came_to: Figures) -> None:
    assert came_to.held == OPENED - HOLD
    # an hour of the hold has no samples
    assert came_to.held_seen == pytest.approx(OPENED - HOLD - 3600.0, abs=10.0)
    assert came_to.holes == ((washboard.HOLE[0], washboard.HOLE[1]),)
    # once from sealing on, and every hour of the hold but in the hole: 1 + 12
    assert came_to.pump_starts == 13
    assert came_to.pump_duty == pytest.approx(12 * 60 / (OPENED - HOLD - 3600.0), rel=0.01)
    assert came_to.deepest == 27_000
    assert came_to.weakest == 60_000
    assert came_to.air == pytest.approx(100_000)


def test_time_out_of_the_band_is_split_at_gel(came_to: Figures) -> None:
    assert came_to.out_limit == 36_000
    assert came_to.out_before_gel == pytest.approx(600.0)
    assert came_to.out_after_gel == 0.0
    assert (came_to.gelled_at, came_to.may_open_at) == (GEL, MAY_OPEN)


def test_the_age_at_opening_goes_on_from_the_last_one_told(came_to: Figures) -> None:
    # 36 000 s told at MAY OPEN, then 1200 s at 22 C
    factor = arrhenius_factor(C + 22, C + 25, 55e3)
    expected = 36_000 + (OPENED - MAY_OPEN) * factor
    assert came_to.age_at_opening == pytest.approx(expected, abs=10.0)


def test_a_stage_told_late_begins_at_the_time_told(tmp_path: Path) -> None:
    account = read_account(LogReader(washboard.keep(tmp_path / "log.db")), ID)
    bag = next(time for time in account.passages[0].stages if time.stage == "BAG")
    assert (bag.began, bag.recorded) == (COATED, COATED + 120)
    coat = next(time for time in account.passages[0].stages if time.stage == "COAT")
    assert coat.ended == COATED


def test_each_coat_has_its_own_figures(tmp_path: Path) -> None:
    one = washboard.sheet()
    two = replace(one, coats=(one.coats[0], replace(one.coats[0], number=2, face="B")))
    path = washboard.keep(tmp_path / "log.db", of=two)
    log = washboard.Log.open(path, throwaway=True)
    for at, press, of in ((10.0, "NEXT COAT", "PLANNED"), (60.0, "START", "PREHEAT")):
        told = washboard.act(washboard.END + at, press, of)
        log.write(washboard.Entry(stamp=washboard.stamp(told.at), events=(told,)))
    for second in range(60, 120):
        at = washboard.END + second
        log.sample(replace(washboard.sample(at), face=C + 21, lamp=True))
    log.close()
    reader = LogReader(path)
    account = read_account(reader, ID)
    first, second_coat = (figures(reader, account, each) for each in account.passages)
    assert first.handling == STROKE - LAMP_OFF
    assert second_coat.lamp_on == pytest.approx(60.0)
    assert second_coat.peak_face == pytest.approx(C + 21)
    assert second_coat.first_stroke_at is None
    assert second_coat.opened_at is None
    assert account.passages[0].ended == washboard.END + 10.0


def test_a_coat_without_a_bag_has_no_hold_under_vacuum(tmp_path: Path) -> None:
    one = washboard.sheet()
    open_air = replace(one, coats=(replace(one.coats[0], bag=None),))
    reader = LogReader(washboard.keep(tmp_path / "log.db", of=open_air))
    account = read_account(reader, ID)
    came_to = figures(reader, account, account.passages[0])
    assert came_to.held == 0
    assert came_to.deepest is None
    assert came_to.pump_duty is None


def test_a_face_probe_that_came_off_reads_no_face(tmp_path: Path) -> None:
    log = washboard.Log.open(tmp_path / "log.db", throwaway=True)
    log.write(washboard.planned())
    for at, press, of in (
        (10.0, "START", "PREHEAT"),
        (100.0, "PROBE OFF", "COOLDOWN"),
        (150.0, "COATING", "COAT"),
    ):
        told = washboard.act(at, press, of)
        log.write(washboard.Entry(stamp=washboard.stamp(at), events=(told,)))
    for second in range(10, 160):
        there = C + 40 if second < 100 else C + 70
        log.sample(replace(washboard.sample(float(second)), face=there))
    log.close()
    reader = LogReader(tmp_path / "log.db")
    account = read_account(reader, ID)
    came_to = figures(reader, account, account.passages[0])
    assert came_to.peak_face == pytest.approx(C + 40)
    assert came_to.face_at_first_stroke is None
    assert came_to.first_stroke_at == 150.0
