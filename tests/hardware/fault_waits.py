"""Answers of a DS18B20 that take their time, or are older than they look."""

from collections.abc import Callable
from pathlib import Path

from at_work import Found
from fault_place import Place
from fault_probes import Done
from on_the_standin import OnTheStandin
from test_raspberry_probes import slave_file

from controller.batch.signals import Role
from controller.hardware.raspberry_mock_w1 import scratchpad
from controller.hardware.raspberry_probes import MEDIAN_AGE


def hanging(
    seconds: float | None, then: Callable[[OnTheStandin], None] = lambda work: None
) -> Done:
    """The face's answer hangs so long in a heat; None for ever."""

    def done(place: Place) -> Found:
        work = place.standin()
        work.heat(seconds=3.0)
        counts = round((work.plant.truth().face - 273.15) * 16)
        work.hang()
        found = None
        if seconds is None or seconds >= 5.0:
            found = work.met(lambda: not work.lamp(), 5.0, dark=True)
        if seconds is None:
            work.wait(30.0)
        else:
            work.wait(seconds - (0.0 if found is None else found.after))
        work.release(counts)
        work.wait(3.0)
        then(work)
        return work.met(lambda: True, 0.0) if found is None else found

    return done


def reads_again(work: OnTheStandin) -> None:
    face = work.rig.read(work.now).face
    assert face is not None and face.age(work.now) <= 1.0
    assert not work.lamp(), "a person has not been there yet"


def burns_on(work: OnTheStandin) -> None:
    assert work.lamp()


hangs_1 = hanging(1.0, burns_on)
hangs_5 = hanging(5.0, reads_again)
hangs_60 = hanging(60.0, reads_again)
hangs_for_ever = hanging(None)


def one_behind(place: Place) -> Found:
    """Nobody reads for a while; the first answer after it is the one before the pause."""
    work = place.mocked()
    # rig time moves by the second here as on a real rig, so the driver's own rule counts
    work.rig._reader._gap = MEDIAN_AGE
    last = [0]

    def behind(file: Path, counts: int) -> None:
        file.write_text(slave_file(scratchpad(last[0])))
        last[0] = counts

    last[0] = round((work.plant.truth().face - 273.15) * 16)
    work.tamper(Role.FACE, behind)
    work.heat()
    old = last[0]
    due, work.rig._reader.due = work.rig._reader.due, lambda now, others=1: []  # type: ignore[method-assign]
    work.wait(40.0)
    work.rig._reader.due = due  # type: ignore[method-assign]
    began = work.now
    taken = work.rig._reader._settled._samples
    newest = taken[-1].at
    work.after(lambda: taken[-1].at > newest, 7.0)
    assert taken[-1].value < old / 16 + 273.15 - 0.5, "the old answer was dropped"
    return Found(work.now - began, tuple(work.alarms), work.says())
