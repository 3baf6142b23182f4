"""The stream: the newest frame to everybody, nothing kept for the slow, an end when asked."""

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from fake_control import Page, batch, make_snapshot, until
from fastapi.sse import ServerSentEvent

from controller.batch.acts import ActKind
from controller.batch.snapshot import Snapshot
from controller.errors import BusyError
from controller.page.live import REMEMBERED, STREAMS, STREAMS_PER_ADDRESS, Live


def said(event: ServerSentEvent) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(event.raw_data or "")
    return told


async def following(page: Page) -> "asyncio.Task[None]":
    task = asyncio.create_task(page.live.follow(lambda snapshot: None))
    await asyncio.sleep(0)
    return task


def test_a_phone_gets_a_frame_at_once_and_then_each_newest(page: Page) -> None:
    async def story() -> None:
        stream = page.live.stream(page.live.enter("192.168.1.20"))
        first = await anext(stream)
        assert (first.event, first.id) == (None, "41")
        assert said(first)["snapshot"]["seq"] == 41
        page.show(seq=42)
        assert said(await anext(stream))["snapshot"]["seq"] == 42

    asyncio.run(story())


def test_a_slow_phone_skips_what_it_missed_and_nothing_is_kept_for_it(page: Page) -> None:
    async def story() -> None:
        stream = page.live.stream(page.live.enter("192.168.1.20"))
        await anext(stream)
        for seq in range(100, 100 + 4 * REMEMBERED):
            page.show(seq=seq)
        assert said(await anext(stream))["snapshot"]["seq"] == 99 + 4 * REMEMBERED
        assert len(page.live._came) == REMEMBERED

    asyncio.run(story())


def test_a_quiet_stream_says_that_the_page_lives_and_how_old_the_frame_is(page: Page) -> None:
    live = Live(page.link, monotonic=page.clock, gap=0.0, beat=0.0)

    async def story() -> None:
        stream = live.stream(live.enter("192.168.1.20"))
        await anext(stream)
        page.link.connected = False
        page.clock.now += 31
        event = await anext(stream)
        assert event.event == "alive"
        assert said(event) == {"connected": False, "age_s": 31.0}

    asyncio.run(story())


def test_frames_leave_no_faster_than_the_gap(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    waits: list[float] = []
    real = asyncio.sleep

    async def noted(seconds: float) -> None:
        waits.append(seconds)
        await real(0)

    monkeypatch.setattr("controller.page.live.asyncio.sleep", noted)
    live = Live(page.link, monotonic=page.clock)

    async def story() -> None:
        stream = live.stream(live.enter("192.168.1.20"))
        for seq in range(3):
            page.link.show(make_snapshot(seq=seq))
            live.put(page.link.latest or make_snapshot())
            await anext(stream)

    asyncio.run(story())
    assert waits == [0.25, 0.25]


def test_a_lost_link_is_told_without_waiting_for_the_beat(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("controller.page.live.GLANCE", 0.001)

    async def story() -> None:
        task = await following(page)
        stream = page.live.stream(page.live.enter("192.168.1.20"))
        await anext(stream)
        page.link.connected = False
        assert said(await anext(stream))["connected"] is False
        task.cancel()

    asyncio.run(story())


def test_the_follower_hands_on_each_snapshot_the_link_shows(page: Page) -> None:
    heard: list[int] = []

    async def story() -> None:
        def hear(snapshot: Snapshot) -> None:
            heard.append(snapshot.seq)

        task = asyncio.create_task(page.live.follow(hear))
        for seq in (7, 8, 1):  # a control that started anew counts from one
            page.link.show(make_snapshot(seq=seq))
            await until(lambda: heard and heard[-1] == page.link.latest.seq)
        task.cancel()

    asyncio.run(story())
    assert heard == [7, 8, 1]


def test_streams_are_bounded_for_one_address_and_in_all(page: Page) -> None:
    mine = [page.live.enter("192.168.1.20") for _ in range(STREAMS_PER_ADDRESS)]
    with pytest.raises(BusyError):
        page.live.enter("192.168.1.20")
    for n in range(STREAMS - STREAMS_PER_ADDRESS):
        page.live.enter(f"192.168.2.{n}")
    with pytest.raises(BusyError):
        page.live.enter("192.168.1.21")
    page.live.leave(mine[0])
    page.live.enter("192.168.1.21")
    assert page.live.streams == STREAMS


def test_a_stream_too_many_is_503_in_one_sentence(page: Page) -> None:
    for _ in range(STREAMS_PER_ADDRESS):
        page.live.enter("192.168.1.20")

    async def story() -> httpx.Response:
        async with page.client() as client:
            return await client.get("/api/live")

    response = asyncio.run(story())
    assert response.status_code == 503
    assert set(response.json()) == {"error"}


def test_a_stream_that_ends_gives_its_place_back(page: Page) -> None:
    async def story() -> str:
        async with page.client() as client:
            asking = asyncio.create_task(client.get("/api/live"))
            await until(lambda: page.live.streams)
            page.live.end()
            response = await asking
        assert response.headers["content-type"].startswith("text/event-stream")
        return response.text

    asyncio.run(story())
    assert page.live.streams == 0
    with pytest.raises(BusyError):
        page.live.enter("192.168.1.20")


def test_streams_end_when_the_page_does(page: Page) -> None:
    async def story() -> list[ServerSentEvent]:
        stream: AsyncIterator[ServerSentEvent] = page.live.stream(page.live.enter("192.168.1.20"))
        await anext(stream)
        rest = asyncio.create_task(_all(stream))
        await asyncio.sleep(0)
        page.live.end()
        return await rest

    assert len(asyncio.run(story())) <= 1


async def _all(stream: AsyncIterator[ServerSentEvent]) -> list[ServerSentEvent]:
    return [event async for event in stream]


def test_a_batch_moved_out_is_judged_by_its_own_stage(page: Page) -> None:
    judge = page.live.out_of_date
    page.show(batch=batch(stage="HOLD"))
    assert judge(ActKind.WEIGHED, "b6", "FLASHOFF", 41) is None
    assert judge(ActKind.WEIGHED, "b6", "HOLD", 41) is not None
    assert judge(ActKind.PLAN, None, "HOLD", 41) is None
