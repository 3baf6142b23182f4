"""Every route under everything that can be sent to it: no fault of the page, nothing switched.

A rig at work stands behind the page, lamp lit or pump running. A client that is not paired changes
no output except by STOP, which puts them off; what a paired one presses breaks no invariant.
"""

from collections.abc import Iterator

import pytest
from api_cases import ROUTES
from api_tried import ROLES, STRANGER, Bench

from controller.page.access import Caller

FEW = 3
"""Requests of each kind in the default run."""
MANY = 200
"""The same in the long one: at least as many for each route, by each of the two clients."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    made = Bench(tmp_path_factory.mktemp("shop"))
    yield made
    made.close()


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("route", ROUTES)
def test_no_request_finds_a_fault_or_moves_an_output(bench: Bench, route: str, role: str) -> None:
    tally = bench.try_route(route, role, FEW)
    assert tally.requests >= FEW
    assert tally.wrong == []


def test_a_page_that_lets_strangers_press_is_found_out(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Caller, "must_be_paired", lambda caller: None)
    tally = bench.try_route("POST /api/acts", STRANGER, 10)
    assert any("a stranger pressed" in fault for fault in tally.wrong)


def test_a_route_that_breaks_is_found_out(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench.shop.live, "frame", lambda: {}["gone"])
    tally = bench.try_route("GET /api/snapshot", STRANGER, FEW)
    assert tally.faults > 0 and any("The page has a fault" in fault for fault in tally.wrong)


def test_a_stop_that_is_not_obeyed_is_found_out(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.at_work()
    lit = bench.shop.outputs
    monkeypatch.setattr(type(bench.shop), "outputs", property(lambda shop: lit))
    tally = bench.try_route("POST /api/stop", STRANGER, FEW)
    assert any("STOP left" in fault for fault in tally.wrong)


@pytest.mark.volume
@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("route", ROUTES)
def test_two_hundred_of_each_kind_find_none_either(bench: Bench, route: str, role: str) -> None:
    tally = bench.try_route(route, role, MANY)
    assert tally.requests >= MANY
    assert tally.wrong == []
