"""The sheet when anything at all is sent to it: a sheet, faults, or one sentence; never a crash."""

import asyncio
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fake_control import Page, make_page
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from sheet_asked import PHONE, answer, asked, tables

from controller.page.gate import BODY_MOST
from controller.planning.answers.all_answers import answers
from controller.planning.catalogue import built_in
from controller.planning.form_blanks import GROUPS


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"description": []},
        {"description": {}, "more": 1},
        {"description": {"pieces": [[]]}},
        {"description": {"pieces": [{}] * 21}},
        {"description": {f"key_{n}": "" for n in range(25)}},
        {"description": {"name": "x" * 121}},
        {"description": {"name": None}},
        {"description": {"A b": "x"}},
        {"description": {"shop": {"room": {"deep": "er"}}}},
        {"description": {"waste": 1e12}},
    ],
)
def test_what_is_no_description_at_all_is_422_in_a_sentence(page: Page, body: Any) -> None:
    for path in ("/api/sheet", "/api/sheet/plan"):
        told = body if path == "/api/sheet" else body | {"id": "press-0001", "seen_seq": 41}
        status, said = asyncio.run(asked(page, path, told, "127.0.0.1"))
        assert status == 422
        assert list(said) == ["error"]


def test_deep_and_large_bodies_are_refused_in_a_sentence(page: Page) -> None:
    async def statuses() -> list[int]:
        found = []
        async with page.client(PHONE, content_type="application/json") as client:
            for body in (
                '{"description": ' + "[" * 20_000 + "]" * 20_000 + "}",
                '{"description": {"name": "' + "x" * BODY_MOST + '"}}',
                '{"description": {"waste": NaN}}',
                "not json",
            ):
                response = await client.post("/api/sheet", content=body)
                assert list(response.json()) == ["error"]
                found.append(response.status_code)
        return found

    assert set(asyncio.run(statuses())) <= {400, 413, 422}


SCRAPS = ["", "20 mm", "20", "1e308 mm", "-5 C", "nan %", "22 inHg vacuum", "ethanol", "none"]
WORDS = st.sampled_from(SCRAPS) | st.text(max_size=12) | st.booleans() | st.integers(-9, 9)
KEYS = [(group.table, blank.key) for group in GROUPS for blank in group.each]
KEYS += [("", blank.key) for group in GROUPS for blank in group.blanks]
SHARED = [HealthCheck.function_scoped_fixture]


# the page keeps nothing of what it reckons, so that examples may share it
@settings(max_examples=40, deadline=None, suppress_health_check=SHARED)
@given(st.dictionaries(st.sampled_from(KEYS), WORDS | st.lists(WORDS, max_size=2), max_size=4))
def test_whatever_stands_in_the_blanks_there_is_a_sheet_or_faults_and_the_form(
    page: Page, typed: dict[tuple[str, str], Any]
) -> None:
    description = tables()
    for (table, key), value in typed.items():
        head, _, last = key.rpartition(" ")
        if table:
            description[table][0][key] = value
        elif head:
            description.setdefault(head, {})[last] = value
        else:
            # a list there is no list of tables, and no body of this address: refused elsewhere
            assume(not isinstance(value, list))
            description[key] = value
    said = answer(page, description)
    assert (said["sections"] is None) == bool(said["faults"])
    assert len(said["fields"]) >= sum(len(group.blanks) for group in GROUPS)


LEAVES = st.none() | WORDS | st.floats() | st.integers() | st.text(max_size=200)
ANYTHING = st.recursive(
    LEAVES,
    lambda inside: (
        st.lists(inside, max_size=4)
        | st.dictionaries(st.sampled_from(["name", "wood", "room"]) | st.text(), inside, max_size=4)
    ),
    max_leaves=12,
)
NAMES = ["name", "resin", "pieces", "coats", "shop", "bag", "data_sheet", "poured", "more"]


@pytest.fixture
def whole(tmp_path: Path) -> Iterator[Page]:
    """A page that tells all there is to tell, on a rig that is there."""
    made = make_page(tmp_path, answer=answers)
    yield made
    made.ledger.close()


async def sent(page: Page, path: str, body: str) -> tuple[int, Any]:
    async with page.client("127.0.0.1", content_type="application/json") as client:
        response = await client.post(path, content=body)
    return response.status_code, response.json()


@settings(max_examples=60, deadline=None, suppress_health_check=SHARED)
@given(st.dictionaries(st.sampled_from(NAMES), ANYTHING, max_size=3) | ANYTHING, st.booleans())
def test_whatever_is_sent_comes_back_as_a_sheet_as_faults_or_as_one_sentence(
    whole: Page, typed: Any, beside: bool
) -> None:
    description = tables() | typed if beside and isinstance(typed, dict) else typed
    status, said = asyncio.run(sent(whole, "/api/sheet", json.dumps({"description": description})))
    if status == 200:
        assert (said["sections"] is None) == bool(said["faults"])
        assert all(fault["says"] for fault in said["faults"])
    else:
        assert status in (400, 413, 422), said
        assert list(said) == ["error"] and "\n" not in said["error"]


def measured(least: float, most: float, unit: str) -> st.SearchStrategy[str]:
    """What a person may type of a quantity that is allowed from `least` to `most`."""
    return st.builds(f"{{:.4g}} {unit}".format, st.floats(least, most))


NEAR = st.fixed_dictionaries(
    {},
    optional={
        ("pieces", "length"): measured(30, 3000, "mm"),
        ("pieces", "width"): measured(1.2, 118, "in"),
        ("pieces", "thickness"): measured(3, 60, "mm"),
        ("pieces", "moisture"): measured(3, 16, "%"),
        ("pieces", "wood"): st.sampled_from(sorted(built_in().woods)),
        ("pieces", "ends"): st.sampled_from(["sealed", "bare"]),
        ("pieces", "back"): st.sampled_from(["sealed", "bare"]),
        ("coats", "weight"): measured(20, 500, "g/m2"),
        ("coats", "thinner"): st.sampled_from(sorted(built_in().thinners)),
        ("coats", "thinner_share"): measured(0, 12, "%"),
        ("coats", "bagged"): st.booleans(),
    },
)


@settings(max_examples=40, deadline=None, suppress_health_check=SHARED)
@given(
    NEAR,
    st.sampled_from(sorted(built_in().resins)),
    measured(5, 30, "C"),
    st.sampled_from(["2026-03-29 02:30", "2026-10-25 02:30", "0001-01-01 00:00", "9999-12-31"]),
)
def test_all_that_a_sheet_tells_is_finite_or_there_are_faults(
    whole: Page, typed: dict[tuple[str, str], Any], resin: str, room: str, start: str
) -> None:
    description = tables(resin=resin, shop={"room": room}, times={"start": start})
    for (table, key), value in typed.items():
        description[table][0][key] = value
    said = answer(whole, description)
    assert (said["sections"] is None) == bool(said["faults"])
    for section in said["sections"] or ():
        for line in section["lines"]:
            # JSON has no word for what is not finite: it would be null
            assert all(isinstance(f["value"], float) for f in line["figures"].values()), line


@pytest.mark.parametrize(
    "description",
    [
        '{"name": "\\ud800"}',
        '{"name": "a\\u0000b"}',
        '{"a\\nb": {"A b": 1}}',
        '{"\\ud800": 1}',
        '{"waste": ' + "9" * 5000 + "}",
        '{"waste": 1e999}',
        '{"waste": -Infinity}',
        '{"name": ' + '{"a":' * 9000 + "1" + "}" * 9000 + "}",
        '{"pieces": [' + ",".join(["{}"] * 15_000) + "]}",
        '{"name": "a", "name": "b"}',
        '"\\ud800"',
    ],
)
def test_what_only_a_hand_writes_is_refused_in_one_sentence_on_both_ways(
    whole: Page, description: str
) -> None:
    for path, more in (
        ("/api/sheet", ""),
        ("/api/sheet/plan", ', "id": "press-01", "seen_seq": 41'),
    ):
        status, said = asyncio.run(sent(whole, path, f'{{"description": {description}{more}}}'))
        if status == 200:
            assert said["faults"]
        else:
            assert status in (400, 413, 422), said
            assert list(said) == ["error"] and "\n" not in said["error"]
    assert whole.link.sent == []
