"""Acts and STOP: one effect, one answer, refused when the screen was old."""

import asyncio
import json
import logging
from typing import Any
from urllib.parse import quote

import pytest
from fake_control import Page, batch, until
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from controller.page.complaint import EACH, Complaint
from controller.page.gate import BODY_MOST


def press(**changes: Any) -> dict[str, Any]:
    """A whole, good body: OPENED with its reason."""
    return {
        "id": "press-0001",
        "kind": "OPENED",
        "batch": "b7",
        "stage": "HOLD",
        "ago_s": 0,
        "values": {"reason": "tape let go"},
        "seen_seq": 41,
    } | changes


async def pressed(page: Page, body: Any, address: str = "127.0.0.1") -> tuple[int, dict[str, Any]]:
    async with page.client(address) as client:
        response = await client.post("/api/acts", json=body)
    return response.status_code, response.json()


def test_an_act_reaches_control_as_it_was_told_and_its_answer_comes_back(page: Page) -> None:
    status, answer = asyncio.run(pressed(page, press(ago_s=360)))
    assert (status, answer) == (
        200,
        {"act": "press-0001", "accepted": True, "text": "OPENED, effect 1."},
    )
    (sent,) = page.link.sent
    assert (sent.kind, sent.batch, sent.stage, sent.ago_s) == ("OPENED", "b7", "HOLD", 360)
    assert sent.values == {"reason": "tape let go"}
    assert (sent.by, sent.received_utc, sent.seen_seq) == ("at the rig", page.wall.now, 41)


def test_the_same_id_gets_the_same_answer_and_has_one_effect(page: Page) -> None:
    async def story() -> None:
        first = await pressed(page, press())
        page.clock.now += 3_600  # also long after the screen it was pressed on has gone
        page.link.connected = False  # and when control is not there
        assert await pressed(page, press()) == first

    asyncio.run(story())
    assert len(page.link.sent) == 1


def test_a_double_tap_waits_for_the_one_answer(page: Page) -> None:
    async def story() -> list[tuple[int, dict[str, Any]]]:
        page.link.gate.clear()
        taps = [asyncio.create_task(pressed(page, press())) for _ in range(5)]
        await until(lambda: page.link.sent)
        page.link.gate.set()
        return await asyncio.gather(*taps)

    answers = asyncio.run(story())
    assert len(page.link.sent) == 1
    assert all(answer == answers[0] for answer in answers)


def test_a_press_whose_answer_was_lost_goes_again_with_its_first_receipt(page: Page) -> None:
    async def story() -> None:
        page.link.silent = True
        assert (await pressed(page, press()))[0] == 503
        page.link.silent = False
        page.wall.now += 4
        page.show(seq=99, stage="FLASHOFF", batch=batch(stage="FLASHOFF"))
        assert (await pressed(page, press()))[0] == 200

    asyncio.run(story())
    first, again = page.link.sent
    assert first == again


def test_the_same_id_with_another_body_is_refused(page: Page) -> None:
    async def story() -> int:
        await pressed(page, press())
        status, _ = await pressed(page, press(values={"reason": "another"}))
        return status

    assert asyncio.run(story()) == 422
    assert len(page.link.sent) == 1


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"seen_seq": 40}, "too old"),
        ({"seen_seq": 42}, "too old"),
        ({"stage": "PULLDOWN"}, "moved on to HOLD"),
        ({"batch": "b5"}, "not at this rig"),
        ({"batch": "b6", "stage": "HOLD"}, "moved on to FLASHOFF"),
    ],
)
def test_an_act_from_a_screen_that_no_longer_holds_is_409(
    page: Page, changes: dict[str, Any], says: str
) -> None:
    status, answer = asyncio.run(pressed(page, press(**changes)))
    assert status == 409
    assert says in answer["error"]
    assert page.link.sent == []


def test_a_screen_goes_stale_after_ten_seconds(page: Page) -> None:
    page.clock.now += 10.0
    assert asyncio.run(pressed(page, press()))[0] == 200
    page.clock.now += 0.1
    assert asyncio.run(pressed(page, press(id="press-0002")))[0] == 409


def test_an_act_that_means_the_same_in_any_stage_is_not_held_up_by_a_move(page: Page) -> None:
    body = press(kind="LAMP OFF", stage="SOAK", values={})
    assert asyncio.run(pressed(page, body))[0] == 200


def test_what_control_refuses_is_409_in_its_own_words(page: Page) -> None:
    page.link.refusal = "pressed 7 s ago: look again"
    status, answer = asyncio.run(pressed(page, press()))
    assert (status, answer) == (409, {"error": "pressed 7 s ago: look again"})


def test_without_control_an_act_is_503_in_one_sentence(page: Page) -> None:
    page.link.connected = False
    status, answer = asyncio.run(pressed(page, press()))
    assert status == 503
    assert answer["error"].count(".") == 1


def test_an_unpaired_phone_may_not_act(page: Page) -> None:
    assert asyncio.run(pressed(page, press(), "192.168.1.20"))[0] == 401
    assert page.link.sent == []


@pytest.mark.parametrize(
    "changes",
    [
        {"more": 1},
        {"id": "short"},
        {"id": "with space here"},
        {"kind": "LIGHT UP"},
        {"stage": "SIMMER"},
        {"ago_s": -1},
        {"ago_s": 1e300},
        {"ago_s": "60"},
        {"seen_seq": 1.5},
        {"seen_seq": True},
        {"seen_seq": None},
        {"values": {"reason": "a\nb"}},
        {"values": {"reason": "x" * 501}},
        {"values": {"mass_g": 3.0}},
        {"values": {"reason": 1e10}},
        {"values": {"reason": None}},
        {"values": {"reason": ["deep"]}},
        {"batch": "b7\x00"},
        {"batch": ""},
    ],
)
def test_a_bad_body_is_422_and_goes_nowhere(page: Page, changes: dict[str, Any]) -> None:
    status, answer = asyncio.run(pressed(page, press(**changes)))
    assert status == 422
    assert "\n" not in answer["error"]
    assert page.link.sent == []


def raw(page: Page, content: bytes, path: str = "/api/acts", **headers: str) -> tuple[int, Any]:
    async def story() -> tuple[int, Any]:
        async with page.client("127.0.0.1", content_type="application/json", **headers) as client:
            response = await client.post(path, content=content)
        return response.status_code, response.json()

    return asyncio.run(story())


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe",
        b"[" * 50_000,
        b'{"id": "press-0001", "ago_s": NaN}',
        json.dumps(press(values={"reason": "\ud800"})).encode(),
        b'{"seen_seq": ' + b"9" * 20_000 + b"}",
        b'{"a":1,"a":2}',
    ],
)
def test_bytes_that_are_no_act_are_400_or_422(page: Page, content: bytes) -> None:
    status, answer = raw(page, content)
    assert status in (400, 422)
    assert set(answer) == {"error"}


def test_a_body_that_is_too_large_is_413(page: Page) -> None:
    assert raw(page, b" " * (BODY_MOST + 1))[0] == 413
    assert raw(page, b" " * BODY_MOST)[0] == 422


def test_a_sheet_is_let_through_only_with_plan(page: Page) -> None:
    sheet = json.dumps({"name": "Washboard", "n": list(range(5_000))}, indent=1)
    body = press(kind="PLAN", batch=None, values={"sheet": sheet})
    assert asyncio.run(pressed(page, body))[0] == 200
    assert page.link.sent[0].values["sheet"] == sheet
    assert asyncio.run(pressed(page, press(id="press-0002", values={"sheet": sheet})))[0] == 422


def test_an_act_control_has_taken_is_answered_though_the_page_cannot_keep_it(
    page: Page, caplog: pytest.LogCaptureFixture
) -> None:
    async def story() -> tuple[int, dict[str, Any]]:
        page.link.gate.clear()
        pressing = asyncio.create_task(pressed(page, press()))
        await until(lambda: page.link.sent)
        page.ledger._db.execute("PRAGMA query_only = ON")
        page.link.gate.set()
        return await pressing

    assert asyncio.run(story())[0] == 200
    assert "page.db" in caplog.text


def test_a_page_that_cannot_write_says_so_and_lets_stop_through(page: Page) -> None:
    page.ledger._db.execute("PRAGMA query_only = ON")
    status, answer = asyncio.run(pressed(page, press()))
    assert (status, set(answer)) == (503, {"error"})
    assert raw(page, b"{}", "/api/stop")[0] == 200


def test_the_same_complaint_is_made_once_a_minute_and_counted(
    caplog: pytest.LogCaptureFixture,
) -> None:
    now = 0.0
    disk = Complaint(logging.getLogger("page"), monotonic=lambda: now)
    for _ in range(5):
        disk.came("page.db: full")
    now = EACH
    disk.came("page.db: full")
    disk.came("page.db: full")
    assert [record.getMessage() for record in caplog.records] == [
        "page.db: full",
        "page.db: full (4 times more since the last line)",
    ]


# STOP


def test_stop_needs_no_pairing_no_header_and_no_good_body(page: Page) -> None:
    async def story() -> list[int]:
        bodies = [b"", b"{}", b"\xff not json", b'{"id": 7}', b"[" * 9_000, b"x" * (BODY_MOST + 9)]
        statuses = []
        async with page.client("192.168.1.77", x_warmdraw="-", origin="-") as client:
            for body in bodies:
                statuses.append((await client.post("/api/stop", content=body)).status_code)
        return statuses

    assert asyncio.run(story()) == [200] * 6
    assert {message.kind for message in page.link.sent} == {"STOP"}
    assert {message.by for message in page.link.sent} == {"unpaired 192.168.1.77"}


def test_stop_takes_its_id_and_goes_through_with_an_old_screen_and_an_old_page(page: Page) -> None:
    async def story() -> tuple[int, dict[str, Any]]:
        page.clock.now += 1_000
        async with page.client(x_warmdraw="0") as client:
            response = await client.post("/api/stop", json={"id": "stop-00001"})
        return response.status_code, response.json()

    status, answer = asyncio.run(story())
    assert status == 200
    assert answer["act"] == page.link.sent[0].id == "stop-00001"


def test_stop_as_an_act_is_never_stale(page: Page) -> None:
    body = press(kind="STOP", values={}, batch="gone", stage="PREHEAT", seen_seq=0)
    assert asyncio.run(pressed(page, body))[0] == 200


def test_stop_does_not_wait_for_an_act_that_control_is_slow_with(page: Page) -> None:
    async def story() -> None:
        page.link.gate.clear()
        slow = asyncio.create_task(pressed(page, press()))
        await until(lambda: page.link.sent)
        async with page.client() as client:
            stopping = asyncio.create_task(client.post("/api/stop"))
            await until(lambda: len(page.link.sent) == 2)
            page.link.gate.set()
            assert (await stopping).status_code == 200
        await slow

    asyncio.run(story())
    assert [message.kind for message in page.link.sent] == ["OPENED", "STOP"]


def test_a_hundred_stops_at_once_are_one_message_and_a_hundred_answers(page: Page) -> None:
    async def story() -> list[str]:
        page.link.gate.clear()
        async with page.client() as client:
            presses = [
                asyncio.create_task(client.post("/api/stop", json={"id": f"stop-{n:05}"}))
                for n in range(100)
            ]
            await until(lambda: page.link.sent)
            for _ in range(200):
                await asyncio.sleep(0)
            page.link.gate.set()
            return [(await press).json()["act"] for press in presses]

    assert asyncio.run(story()) == [f"stop-{n:05}" for n in range(100)]
    assert len(page.link.sent) == 1


def test_without_control_stop_says_to_pull_the_plug(page: Page) -> None:
    page.link.connected = False
    assert raw(page, b"{}", "/api/stop") == (
        503,
        {"error": "Control does not answer: pull the lamp's plug."},
    )


# Whatever is sent

ANY_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters(exclude_categories=()))
    | st.sampled_from(["OPENED", "PLAN", "HOLD", "b7", "START", "123456"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)
BODIES = (
    ANY_JSON
    | st.dictionaries(st.sampled_from([*press(), "pin", "name", "bearer"]), ANY_JSON)
    | st.builds(lambda key, value: press(**{key: value}), st.sampled_from(list(press())), ANY_JSON)
)


@settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # one page meets all of them
)
@given(
    body=BODIES.map(lambda value: json.dumps(value).encode()) | st.binary(max_size=200),
    path=st.sampled_from(["/api/acts", "/api/stop", "/api/pair", "/api/unpair"]),
)
def test_no_body_is_answered_with_a_server_error(page: Page, body: bytes, path: str) -> None:
    status, answer = raw(page, body, path)
    assert status < 500
    if status >= 400:
        assert set(answer) == {"error"}
    assert status == 200 or path != "/api/stop"


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # one page meets all of them
)
@given(
    path=st.text(min_size=1, max_size=40).map(lambda text: "/api/batches/" + quote(text, safe="/")),
    query=st.dictionaries(
        st.sampled_from(["points", "after", "limit", "other"]),
        st.text(max_size=8) | st.integers() | st.floats(),
        max_size=3,
    ),
)
def test_no_address_is_answered_with_a_server_error(
    page: Page, path: str, query: dict[str, Any]
) -> None:
    async def story() -> int:
        async with page.client() as client:
            return (await client.get(path, params=query)).status_code

    assert asyncio.run(story()) < 500
