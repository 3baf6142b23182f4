"""The sheet on a phone: what a description comes to, its faults at their fields, and PLAN."""

import asyncio
import copy
import json
from typing import Any

import pytest
from fake_control import Page, make_page, planned, until
from sheet_asked import PHONE, answer, asked, tables
from starlette.exceptions import HTTPException

from controller.batch.acts import ActKind
from controller.link import ActMessage, encode
from controller.page.gate import BODY_MOST
from controller.page.sheets import SheetDesk
from controller.planning.catalogue import built_in
from controller.planning.form_blanks import GROUPS
from controller.planning.sheet_form import form
from controller.planning.sheet_json import sheet_from_json
from controller.settings import default_settings_text, parse_settings


def test_the_start_is_a_description_without_faults_whose_lamp_is_lit_today(page: Page) -> None:
    status, start = asyncio.run(asked(page, "/api/sheet/start"))
    assert status == 200
    assert start["description"]["times"]["start"].startswith("2026-11-18T")  # told, in Berlin
    assert {"white ash", "sapele"} <= set(start["choices"]["woods"])
    assert "none" in start["choices"]["thinners"]
    assert answer(page, start["description"])["faults"] == []


def test_a_good_description_comes_back_as_sections_and_fields_to_anyone(page: Page) -> None:
    said = answer(page, tables())
    (section,) = said["sections"]
    (line,) = section["lines"]
    assert (section["key"], line["text"], line["care"]) == ("coat 1 cup", "Mix {mass}.", True)
    assert line["figures"]["mass"]["kind"] == "mass"
    # 200 g/m2 on 450 x 300 mm, and 15 % on top: 31.05 g
    assert line["figures"]["mass"]["value"] == pytest.approx(0.03105)
    thickness = next(f for f in said["fields"] if f["key"] == "pieces 1 thickness")
    assert (thickness["text"], thickness["units"]) == ("20 mm", ["20 mm", "0.787 in"])
    assert [group["key"] for group in said["groups"]] == [group.key for group in GROUPS]


def test_each_fault_is_told_at_its_field_and_what_was_typed_stays(page: Page) -> None:
    bad = tables(resin="honey")
    bad["pieces"][0]["thickness"] = "20"
    bad["shop"]["room"] = "95 C"
    said = answer(page, bad)
    assert said["sections"] is None
    faults = {fault["key"]: fault["says"] for fault in said["faults"]}
    assert set(faults) == {"resin", "pieces 1 thickness", "shop room"}
    assert "no unit" in faults["pieces 1 thickness"]
    assert faults["shop room"].startswith("allowed: 5.0 °C")
    fields = {field["key"]: field for field in said["fields"]}
    assert set(faults) <= set(fields)
    assert (fields["pieces 1 thickness"]["text"], fields["pieces 1 thickness"]["units"]) == (
        "20",
        [],
    )


def test_what_only_planning_finds_is_told_at_the_field_of_that_board(page: Page) -> None:
    heavy = tables()
    heavy["pieces"][0]["mass"] = "45 kg"
    (fault,) = answer(page, heavy)["faults"]
    assert fault["key"] == "pieces 1 mass"


def test_the_largest_sheet_there_can_be_fits_the_line_to_control() -> None:
    large = tables()
    large["pieces"] = [large["pieces"][0] | {"name": f"board {n}"} for n in range(20)]
    every = [piece["name"] for piece in large["pieces"]]
    large["coats"] = [large["coats"][0] | {"pieces": every} for _ in range(20)]
    desk = SheetDesk(parse_settings(default_settings_text()), built_in(), planned)
    values = asyncio.run(desk.values("press-0001", large, 0.0))
    assert encode(ActMessage(id="press-0001", kind=ActKind.PLAN, by="x", values=values))


def test_every_blank_of_a_description_is_on_the_form(page: Page) -> None:
    full = tables(poured={"a": "1 g", "b": "1 g"}, data_sheet={"at": "25 C"})
    keys = [field.key for field in form(full, built_in())]
    assert len(keys) == len(set(keys))
    for group in GROUPS:
        for table in {blank.model for blank in (*group.blanks, *group.each)}:
            there = {
                blank.key.rpartition(" ")[2]
                for other in GROUPS
                for blank in (*other.blanks, *other.each)
                if blank.model is table
            }
            known = {
                name
                for name, field in table.model_fields.items()
                if name not in ("pieces", "coats") or table.__name__ == "CoatLines"
                if "Lines" not in str(field.annotation)
            }
            assert there == known, table.__name__


# --- onto the rig


def plan(**changes: Any) -> dict[str, Any]:
    return {"id": "press-0001", "description": tables(), "seen_seq": 41} | changes


def test_a_paired_phone_puts_the_sheet_on_the_rig(page: Page) -> None:
    status, said = asyncio.run(asked(page, "/api/sheet/plan", plan(), "127.0.0.1"))
    assert (status, said["accepted"]) == (200, True)
    (sent,) = page.link.sent
    assert (sent.kind, sent.by, sent.seen_seq) == ("PLAN", "at the rig", 41)
    assert sheet_from_json(str(sent.values["sheet"])).name == "Washboard in ash"
    assert str(sent.values["id"]).startswith("washboard-in-ash-2026")


def test_an_unpaired_phone_may_reckon_but_not_put_it_on_the_rig(page: Page) -> None:
    assert asyncio.run(asked(page, "/api/sheet/plan", plan()))[0] == 401
    assert page.link.sent == []


def test_a_sheet_with_faults_is_not_sent_and_the_first_is_named(page: Page) -> None:
    status, said = asyncio.run(
        asked(page, "/api/sheet/plan", plan(description=tables(resin="honey")), "127.0.0.1")
    )
    assert status == 422
    assert said["error"].startswith("No sheet yet. resin: no such")
    assert page.link.sent == []


def test_a_screen_too_old_or_a_rig_that_is_not_there_is_told(page: Page) -> None:
    old = asyncio.run(asked(page, "/api/sheet/plan", plan(seen_seq=40), "127.0.0.1"))
    assert old[0] == 409 and "too old" in old[1]["error"]
    page.link.latest = None
    gone = asyncio.run(asked(page, "/api/sheet/plan", plan(), "127.0.0.1"))
    assert gone[0] == 503 and "Control is not there" in gone[1]["error"]


def test_a_plan_that_got_lost_is_sent_again_as_the_same_act(page: Page) -> None:
    async def story() -> None:
        page.link.silent = True
        assert (await asked(page, "/api/sheet/plan", plan(), "127.0.0.1"))[0] == 503
        page.link.silent = False
        page.show(told_utc=page.wall.now + 60, seq=42)  # the batch's name would be another
        assert (await asked(page, "/api/sheet/plan", plan(), "127.0.0.1"))[0] == 200
        other = plan(description=tables(name="Other"))
        assert (await asked(page, "/api/sheet/plan", other, "127.0.0.1"))[0] == 422

    asyncio.run(story())
    first, again = page.link.sent
    assert first == again


def test_sheets_are_reckoned_one_at_a_time_and_a_long_queue_is_told_so(tmp_path: Any) -> None:
    async def story() -> tuple[int, int]:
        loop, held = asyncio.get_running_loop(), asyncio.Event()

        def slow(*given: Any) -> Any:
            asyncio.run_coroutine_threadsafe(held.wait(), loop).result(10)
            return planned(*given)

        rig = parse_settings(default_settings_text())
        desk = SheetDesk(rig, built_in(), slow, wait=0.0)
        first = asyncio.create_task(desk.answers(tables()))
        await until(desk._desk.locked)
        with pytest.raises(HTTPException, match="try again") as refused:
            await desk.answers(tables())
        held.set()
        _, sections = await first
        return refused.value.status_code, len(sections)

    assert asyncio.run(story()) == (503, 1)


def test_a_sheet_fits_the_line_to_control_with_as_many_coats_as_a_small_shop_has() -> None:
    four = tables()
    four["coats"] = [copy.deepcopy(four["coats"][0]) for _ in range(4)]
    rig = parse_settings(default_settings_text())
    desk = SheetDesk(rig, built_in(), planned)
    values = asyncio.run(desk.values("press-0001", four, 0.0))
    assert len(json.dumps(values)) < BODY_MOST


def test_a_page_is_made_without_what_the_sheet_tells(tmp_path: Any) -> None:
    made = make_page(tmp_path, answer=planned)
    assert asyncio.run(asked(made, "/api/sheet/start"))[0] == 200
    made.ledger.close()


def test_a_sheet_is_packed_for_a_phone_that_takes_it(page: Page) -> None:
    async def told(encoding: str) -> tuple[str | None, int]:
        async with page.client(PHONE) as client:
            response = await client.post(
                "/api/sheet",
                json={"description": tables()},
                headers={"accept-encoding": encoding},
            )
        sections = response.json()["sections"]
        assert sections is not None
        return response.headers.get("content-encoding"), response.num_bytes_downloaded

    (packed, small), (plain, large) = asyncio.run(told("gzip")), asyncio.run(told("identity"))
    assert (packed, plain) == ("gzip", None)
    assert small < large / 3
