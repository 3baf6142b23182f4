"""What the page serves: snapshots, the record, the calendar, files, and errors in one sentence."""

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fake_control import TOLD, Page, make_page, make_snapshot
from fastapi import FastAPI
from pydantic import TypeAdapter

from controller.batch.snapshot import Snapshot
from controller.batch.stages import Stage
from controller.page import records
from controller.page.app import openapi_schema
from controller.page.jobs import changes
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Entry, NewBatch, SampleRow, Stamp


def got(page: Page, path: str) -> httpx.Response:
    async def story() -> httpx.Response:
        async with page.client() as client:
            return await client.get(path)

    return asyncio.run(story())


def test_a_frame_is_the_snapshot_with_its_age_and_the_state_of_the_link(page: Page) -> None:
    page.clock.now += 2.5
    page.link.connected = False
    frame = got(page, "/api/snapshot").json()
    assert (frame["connected"], frame["age_s"]) == (False, 2.5)
    snapshot = TypeAdapter(Snapshot).validate_python(frame["snapshot"])
    assert snapshot == make_snapshot()


def test_before_the_first_snapshot_a_frame_says_there_is_none(tmp_path: Path) -> None:
    page = make_page(tmp_path)
    page.link.latest, page.link.received = None, None
    assert got(page, "/api/snapshot").json() == {
        "connected": True,
        "age_s": None,
        "snapshot": None,
    }
    page.ledger.close()


def test_batches_are_listed_and_one_comes_with_its_sheet(page: Page) -> None:
    (line,) = got(page, "/api/batches").json()["batches"]
    assert line["id"] == "b7"
    whole = got(page, "/api/batches/b7").json()
    assert line.items() <= whole.items()
    assert whole["sheet"]["name"] == "Washboard, ash"
    assert whole["weigh_ins"] == [{"at_s": 12.0, "at_utc": TOLD, "what": "board", "mass_g": 1234.5}]
    assert whole["stages"][0]["ended_s"] is None


def test_samples_are_equally_long_columns_with_none_for_no_value(page: Page) -> None:
    columns = got(page, "/api/batches/b7/samples?points=100").json()["columns"]
    assert columns["face_c"] == [None, 21.0, 21.0]
    assert columns["face_low_c"] == [None, 20.0, 20.0]
    assert columns["face_high_c"] == [None, 22.0, 22.0]
    assert columns["bag_pa"] == [27_000.0] * 3
    assert (columns["bag_low_pa"], columns["bag_high_pa"]) == ([26_000.0] * 3, [28_000.0] * 3)
    assert {len(column) for column in columns.values()} == {3}


def test_a_short_spike_and_the_last_sample_stay_in_a_thinned_night(page: Page) -> None:
    log = Log.open(page.folder / "log.db", throwaway=True)
    washboard = NewBatch(id="b7", name="Washboard, ash", sheet="{}")
    stamp = Stamp(at=0.0, told_utc=TOLD, mono=0.0, boot_id="boot", clock_trusted=True)
    log.write(Entry(stamp=stamp, batches=(washboard,)))
    for at in range(12_001):
        log.sample(
            SampleRow(
                at=float(at),
                told_utc=TOLD + at,
                batch="b7",
                stage=Stage.HOLD,
                coat=1,
                bag=80_000.0 if at == 7_003 else 27_000.0,
                pump=at == 12_000,
            )
        )
    log.close()
    page.app = FastAPI()
    page.app.include_router(records.routes(LogReader(page.folder / "log.db")))
    columns = got(page, "/api/batches/b7/samples?points=600").json()["columns"]
    assert len(columns["at_s"]) <= 600
    assert max(columns["bag_pa"]) < 30_000 < max(columns["bag_high_pa"]) == 80_000
    assert min(columns["bag_low_pa"]) == 27_000
    assert columns["pump"][-1] > 0


def test_events_go_on_after_the_last_one_and_say_where_the_record_is_damaged(page: Page) -> None:
    first = got(page, "/api/batches/b7/events?limit=1").json()
    assert [event["text"] for event in first["events"]] == ["Warming begins."]
    rest = got(page, f"/api/batches/b7/events?after={first['last']}").json()
    assert [(event["seq"], event["damaged"]) for event in rest["events"]] == [(4, True)]
    assert got(page, "/api/batches/b7/events?after=4").json() == {"events": [], "last": 4}


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("/api/batches/none", 404),
        ("/api/batches/none/samples", 404),
        ("/api/batches/none/events", 404),
        ("/api/batches/b7/samples?points=9", 422),
        ("/api/batches/b7/samples?points=601", 422),
        ("/api/batches/b7/events?after=-1", 422),
        ("/api/batches/b7/events?after=99999999999999999999", 422),
        ("/api/batches/%00%ff", 404),
        ("/api/nothing", 404),
        ("/api/acts", 405),
        ("/docs", 404),
        ("/openapi.json", 404),
        ("/", 503),
    ],
)
def test_an_error_is_one_sentence_of_json(page: Page, path: str, expected: int) -> None:
    response = got(page, path)
    assert response.status_code == expected
    assert set(response.json()) == {"error"}


def test_a_record_that_cannot_be_read_is_503(page: Page) -> None:
    page.record.broken = True
    response = got(page, "/api/batches")
    assert response.status_code == 503
    assert response.json()["error"] == "log.db cannot be read: is control running?"


def test_due_times_are_listed_in_told_time(page: Page) -> None:
    page.ledger.write_due(changes(make_snapshot(), ()))
    listed = got(page, "/api/due").json()
    assert listed["told_utc"] == TOLD
    assert [(due["what"], due["state"]) for due in listed["due"]] == [
        ("let-up at the latest", "coming"),
        ("may be opened", "coming"),
    ]
    assert listed["due"][0]["at_utc"] == TOLD + 3_800


@pytest.fixture
def built(tmp_path: Path) -> Iterator[Page]:
    """A page whose web part is built."""
    web = tmp_path / "dist"
    (web / "assets").mkdir(parents=True)
    (web / "index.html").write_text("<!doctype html><title>front</title>")
    (web / "assets" / "page-1a2b.js").write_text("1;")
    page = make_page(tmp_path, web=web)
    yield page
    page.ledger.close()


@pytest.mark.parametrize("path", ["/", "/batch/b7", "/index.html"])
def test_any_address_a_person_types_shows_the_front_page(built: Page, path: str) -> None:
    response = got(built, path)
    assert response.status_code == 200
    assert "front" in response.text
    assert response.headers["content-security-policy"].startswith("default-src 'self'")
    assert response.headers["cache-control"] == "no-cache"


def test_built_files_are_kept_and_missing_ones_and_routes_are_not_the_front_page(
    built: Page,
) -> None:
    assert "immutable" in got(built, "/assets/page-1a2b.js").headers["cache-control"]
    for path in ("/assets/gone.js", "/api/nothing", "/api", "/../page.db", "/%2e%2e/page.db"):
        response = got(built, path)
        assert response.status_code == 404, path
        assert set(response.json()) == {"error"}


def test_a_fault_of_the_page_is_500_without_its_inside(page: Page) -> None:
    def broken() -> str:
        raise ZeroDivisionError("inside")

    page.live.frame = broken  # type: ignore[method-assign]

    async def story() -> httpx.Response:
        transport = httpx.ASGITransport(
            app=page.app, client=("10.0.0.2", 1), raise_app_exceptions=False
        )
        async with httpx.AsyncClient(transport=transport, base_url="http://rig.local") as client:
            return await client.get("/api/snapshot")

    response = asyncio.run(story())
    assert response.status_code == 500
    assert "inside" not in response.text


def test_the_schema_names_every_route_and_the_whole_snapshot() -> None:
    schema: dict[str, Any] = openapi_schema()
    assert set(schema["paths"]) == {
        "/api/snapshot",
        "/api/live",
        "/api/me",
        "/api/due",
        "/api/batches",
        "/api/batches/{batch}",
        "/api/batches/{batch}/samples",
        "/api/batches/{batch}/events",
        "/api/acts",
        "/api/stop",
        "/api/sheet",
        "/api/sheet/start",
        "/api/sheet/plan",
        "/api/pair",
        "/api/pairings",
        "/api/unpair",
    }
    fields = schema["components"]["schemas"]["Snapshot"]["properties"]
    assert set(fields) == set(Snapshot.__dataclass_fields__)
