"""Our formulas beside independent libraries over whole ranges; run with -m check.

A missing library fails: nothing here is skipped.
"""

import inspect
from math import nan

import library_board
import library_lamp
import library_resin
import library_solvent
import library_vacuum
import pytest
from library_comparisons import COMPARISONS
from library_points import Point, worst


# What a library deprecates is its own affair, not a warning about us.
@pytest.mark.check
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("name", COMPARISONS)
def test_our_formula_stays_as_near_to_the_library_as_it_says(name: str) -> None:
    point = worst(COMPARISONS[name]())
    assert point.strain <= 1, f"{name}, worst at {point}"


def test_every_comparison_that_is_written_is_run() -> None:
    written = {
        name
        for module in (library_board, library_lamp, library_resin, library_solvent, library_vacuum)
        for name, each in inspect.getmembers(module, inspect.isgeneratorfunction)
        if each.__module__ == module.__name__ and not name.startswith("_")
    }
    assert written == set(COMPARISONS)


def test_the_worst_point_is_the_one_that_uses_most_of_its_limit() -> None:
    near = Point("near", ours=10.0, theirs=11.0, allowed=10.0)
    far = Point("far", ours=1.0, theirs=1.2, allowed=0.1)
    assert worst([near, far]) is far
    assert far.strain == pytest.approx(2.0)
    assert "far: ours 1, theirs 1.2" in str(far)


def test_an_answer_that_is_no_number_is_the_worst_of_all() -> None:
    far = Point("far", ours=1.0, theirs=1.2, allowed=0.1)
    lost = Point("lost", ours=1.0, theirs=nan, allowed=0.1)
    assert worst([far, lost, far]) is lost


def test_a_comparison_without_points_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="empty"):
        worst([])
