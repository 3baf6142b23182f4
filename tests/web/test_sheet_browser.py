"""The batch sheet under a thumb: filling in, what it tells, its faults, the way to the rig."""

import queue
from typing import Any

import pytest
import scenes
import sheets
from phone import WEB, Open, shown, skip_loudly, stand_still, stop_is_in_reach
from playwright.sync_api import Page, expect
from stand_in_rig import StandInRig

pytestmark = pytest.mark.browser


@pytest.fixture
def open_sheet(rig: StandInRig, open_page: Open) -> Any:
    """Opens the page and goes to its sheet by the link."""
    rig.start, rig.reckon = sheets.start(), sheets.reckon
    # the first of all wakes the tables of units, which a phone need not wait for here
    sheets.reckon(rig.start)
    rig.show({**scenes.planned(), "batch": None, "press": None})

    def open_sheet(width: int = 390, height: int = 844) -> Page:
        page = open_page(width, height)
        shown(page, "to-sheet").click()
        expect(shown(page, "answers")).to_be_visible()
        return page

    return open_sheet


def unfold(page: Page) -> None:
    """Open every group of blanks."""
    page.evaluate("document.querySelectorAll('.form details').forEach((one) => (one.open = true))")


def settle(page: Page) -> None:
    """Until what was typed has been reckoned."""
    expect(shown(page, "answers")).to_have_attribute("data-old", "false")


def test_the_sheet_is_reached_by_a_link_and_an_address_and_left_again(open_sheet: Any) -> None:
    page = open_sheet()
    assert page.url.endswith("#sheet")
    expect(page.locator("h1")).to_have_text("Batch sheet")
    assert stop_is_in_reach(page)
    page.reload()
    expect(shown(page, "answers")).to_be_visible()
    page.get_by_role("link", name="Back to the rig").click()
    expect(shown(page, "sentence")).to_be_visible()
    expect(shown(page, "batch-sheet")).to_have_count(0)


@pytest.mark.parametrize("width", [360, 390, 1280])
def test_it_fits_and_stop_and_the_strip_stay(open_sheet: Any, width: int) -> None:
    page = open_sheet(width, 844)
    unfold(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate("scrollTo(0, document.body.scrollHeight / 2)")
    assert stop_is_in_reach(page)
    expect(shown(page, "simulated")).to_be_in_viewport()
    form, answers = page.locator(".form").bounding_box(), shown(page, "answers").bounding_box()
    assert form is not None and answers is not None
    side_by_side = answers["x"] > form["x"] + form["width"] / 2
    assert side_by_side == (width == 1280)


def test_what_is_typed_is_reckoned_after_a_pause_and_kept_on_the_phone(
    rig: StandInRig, open_sheet: Any
) -> None:
    page = open_sheet()
    expect(shown(page, "boards")).to_contain_text("20 mm thick")
    while not rig.reckoned.empty():
        rig.reckoned.get()
    stand_still(page)
    blank = page.get_by_role("textbox", name="Thickness")
    for typed in ("2", "25", "25 ", "25 mm"):
        blank.fill(typed)
        page.clock.run_for(150)
    with pytest.raises(queue.Empty):
        rig.reckoned.get(timeout=0.2)
    page.clock.run_for(400)
    assert rig.reckoned.get(timeout=5)["pieces"][0]["thickness"] == "25 mm"
    expect(shown(page, "boards")).to_contain_text("25 mm thick")
    expect(shown(page, "state")).to_have_text("1 line asks for care.")
    page.clock.resume()
    page.reload()
    expect(page.get_by_role("textbox", name="Thickness")).to_have_value("25 mm")


def test_the_other_unit_is_shown_beside_and_a_touch_writes_it(open_sheet: Any) -> None:
    page = open_sheet()
    page.get_by_role("button", name="Thickness: write 0.787 in").click()
    expect(page.get_by_role("textbox", name="Thickness")).to_have_value("0.787 in")
    expect(page.get_by_role("button", name="Thickness: write 20 mm")).to_be_visible()
    page.get_by_text("Units and light").click()
    page.get_by_label("in", exact=True).check()
    expect(shown(page, "boards")).to_contain_text("0.79 in thick")


def test_a_fault_is_told_at_its_blank_and_the_last_good_answers_are_greyed(
    open_sheet: Any,
) -> None:
    page = open_sheet()
    blank = page.get_by_role("textbox", name="Thickness")
    blank.fill("25")
    fault = page.locator("#pieces-1-thickness-fault")
    expect(fault).to_contain_text("Put right: no unit")
    expect(blank).to_have_attribute("aria-invalid", "true")
    expect(blank).to_have_attribute("aria-describedby", "pieces-1-thickness-fault")
    expect(shown(page, "state")).to_contain_text("1 fault")
    expect(shown(page, "state")).to_have_attribute("aria-live", "polite")
    expect(shown(page, "blanks-boards").locator("summary")).to_contain_text("1 to put right")
    expect(shown(page, "answers")).to_have_attribute("data-old", "true")
    expect(shown(page, "boards")).to_contain_text("20 mm thick")
    expect(page.get_by_role("button", name="PUT ON THE RIG")).to_have_count(0)
    blank.fill("1 in")
    settle(page)
    expect(fault).to_have_count(0)
    expect(shown(page, "boards")).to_contain_text("25 mm thick")


def test_a_folded_group_with_a_fault_opens_and_stays_open_once_it_is_put_right(
    open_sheet: Any,
) -> None:
    page = open_sheet()
    shop, room = shown(page, "blanks-shop"), page.locator("#shop-room")
    expect(room).not_to_be_visible()
    # as if it had been folded before the answer came
    room.evaluate(
        """(room) => {
          room.value = "95 C";
          room.dispatchEvent(new Event("input", { bubbles: true }));
        }"""
    )
    expect(room).to_be_visible()
    expect(shop).to_contain_text("allowed: 5.0 °C (41 °F) to 30.0 °C (86 °F)")
    room.fill("19 C")
    settle(page)
    expect(shop).not_to_contain_text("to put right")
    expect(room).to_be_visible()


def test_boards_and_coats_are_added_renamed_and_taken_away(
    rig: StandInRig, open_sheet: Any
) -> None:
    page = open_sheet()
    page.get_by_role("button", name="Add a board").click()
    settle(page)
    name = page.locator("#pieces-2-name")
    expect(name).to_have_value("board 2")
    name.fill("sill")
    name.blur()
    page.get_by_text("Coats", exact=True).click()
    shown(page, "blanks-coats").get_by_label("sill").check()
    settle(page)
    page.get_by_role("button", name="Add a coat").click()
    settle(page)
    draft = page.evaluate("JSON.parse(localStorage['sheet-draft'])")
    assert [coat["pieces"] for coat in draft["coats"]] == [["washboard", "sill"]] * 2
    page.locator("#pieces-1-name").fill("door")
    page.locator("#pieces-1-name").blur()
    settle(page)
    page.get_by_role("button", name="Take board 2 away").click()
    settle(page)
    draft = page.evaluate("JSON.parse(localStorage['sheet-draft'])")
    assert [coat["pieces"] for coat in draft["coats"]] == [["door"]] * 2
    assert shown(page, "state").inner_text() == "1 line asks for care."
    page.get_by_role("button", name="Begin again").click()
    expect(page.locator("#pieces-1-name")).to_have_value("washboard")


def test_a_warning_is_marked_by_a_word_and_each_figure_has_its_source(open_sheet: Any) -> None:
    page = open_sheet()
    cup = page.locator("[data-show='coat 1 cup']")
    expect(cup.locator(".care")).to_have_count(1)
    expect(cup.locator(".care")).to_contain_text("CARE This scale is too coarse.")
    cup.get_by_text("Sources").click()
    expect(cup).to_contain_text("mix 27.0 g, spare 27.0 g: worked: area times coat weight")


def test_a_good_sheet_is_put_on_the_rig_by_a_held_press(rig: StandInRig, open_sheet: Any) -> None:
    page = open_sheet()
    settle(page)
    rig.answers = [
        (503, {"error": "Control has not answered yet."}),
        (200, {"act": "x", "accepted": True, "text": "Washboard in ash is planned."}),
    ]
    page.get_by_role("button", name="PUT ON THE RIG").scroll_into_view_if_needed()
    page.get_by_role("button", name="PUT ON THE RIG").focus()
    page.keyboard.down("Enter")
    path, first = rig.next_post()
    page.keyboard.up("Enter")
    assert path == "/api/sheet/plan"
    assert first["description"]["name"] == "Washboard in ash"
    assert (first["seen_seq"], first["batch"], first["stage"]) == (60, None, "PLANNED")
    assert rig.next_post()[1] == first
    expect(shown(page, "answer")).to_contain_text("is planned")
    expect(shown(page, "sentence")).to_be_visible()


def test_a_phone_that_watches_or_a_rig_at_work_gets_no_such_press(
    rig: StandInRig, open_sheet: Any
) -> None:
    rig.me = {"role": "watch", "pairing_open": False}
    page = open_sheet()
    expect(page.locator(".waits")).to_contain_text("pair this phone")
    expect(page.get_by_role("button", name="PUT ON THE RIG")).to_have_count(0)
    rig.me = {"role": "control", "pairing_open": False}
    rig.show(scenes.hold_at_night())
    page.reload()
    expect(page.locator(".waits")).to_contain_text("busy")
    expect(shown(page, "meanwhile")).to_contain_text("Holding at")


def test_nothing_serious_stands_between_the_sheet_and_any_reader(open_sheet: Any) -> None:
    axe = WEB / "node_modules/axe-core/axe.min.js"
    if not axe.exists():
        skip_loudly("axe-core is missing: `npm --prefix web ci`")
    page = open_sheet()
    page.get_by_role("textbox", name="Thickness").fill("25")
    expect(page.locator(".fault")).to_have_count(1)
    unfold(page)
    page.evaluate(axe.read_text())
    found = page.evaluate("axe.run().then((result) => result.violations)")
    serious = [
        (violation["id"], [node["target"] for node in violation["nodes"]])
        for violation in found
        if violation["impact"] in ("serious", "critical")
    ]
    assert serious == []
