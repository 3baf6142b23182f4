"""Which readings count: corrections, and figures that are none."""

from dataclasses import replace
from math import inf, nan

import pytest
from made import made_facts

from controller.batch.believing import believed, corrected
from controller.batch.signals import Corrections, Readings, Sample

NOW = 1000.0
GOOD = {
    "face": 300.0,
    "back": 300.0,
    "room": 290.0,
    "film": 295.0,
    "bag": 30e3,
    "barometer": 101e3,
    "infrared": 300.0,
}


def read(**changes: float) -> Readings:
    return Readings(**{name: Sample(v, NOW) for name, v in (GOOD | changes).items()})


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("value", [nan, inf, -inf, -1e300, 1e300])
def test_a_figure_that_is_none_is_no_reading_in_any_field(name: str, value: float) -> None:
    found = believed(read(**{name: value}), NOW, {}, made_facts())
    assert getattr(found, name) is None
    others = [getattr(found, other) for other in GOOD if other != name]
    assert None not in others


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("at", [nan, inf, NOW + 60.0])
def test_a_time_that_cannot_be_is_no_reading_in_any_field(name: str, at: float) -> None:
    readings = replace(read(), **{name: Sample(GOOD[name], at)})
    assert getattr(believed(readings, NOW, {}, made_facts()), name) is None


def test_corrections_are_added_to_what_is_wired_and_to_nothing_else() -> None:
    by = Corrections(face=0.5, back=-0.5, room=0.25, film=-0.25, bag=-300.0)
    facts = made_facts(corrections=by)
    found = believed(read(), NOW, {}, facts)
    figures = {name: getattr(found, name).value for name in GOOD}
    assert figures == {
        "face": 300.5,
        "back": 299.5,
        "room": 290.25,
        "film": 294.75,
        "bag": 29700.0,
        "barometer": 101e3,
        "infrared": 300.0,
    }
    told = {"face": (310.0, NOW), "bag": (40e3, NOW)}
    by_hand = replace(facts, probes=frozenset(), gauge="by hand")
    found = believed(read(), NOW, told, by_hand)
    assert found.face == Sample(310.0, NOW) and found.bag == Sample(40e3, NOW)


def test_a_correction_that_is_no_figure_leaves_no_reading() -> None:
    facts = made_facts(corrections=Corrections(face=nan))
    assert believed(read(), NOW, {}, facts).face is None


def test_what_was_never_read_stays_so() -> None:
    assert corrected(Readings(), Corrections(face=1.0, bag=1.0)) == Readings()
