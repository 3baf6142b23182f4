"""The phone page in a real browser, at arm's length: what is shown, when, and what presses send."""

import re
from typing import Any

import pytest
import scenes
from phone import WEB, Open, Show, shown, skip_loudly, stand_still, stop_is_in_reach
from playwright.sync_api import expect
from stand_in_rig import StandInRig

pytestmark = pytest.mark.browser

SCENES = {
    "planned": scenes.planned,
    "preheat": scenes.preheat,
    "coat now": scenes.coat_now,
    "hold": scenes.hold_at_night,
    "flash-off": scenes.flash_off,
    "alarm": scenes.leak_at_night,
}
each_scene = pytest.mark.parametrize("scene", SCENES.values(), ids=SCENES.keys())


@each_scene
def test_each_moment_has_one_sentence_and_stop_and_fits_a_small_phone(
    scene: Any, show: Show
) -> None:
    page = show(scene())
    expect(page.locator("h1")).to_have_count(1)
    assert "{" not in shown(page, "sentence").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    expect(shown(page, "simulated")).to_be_in_viewport()
    assert stop_is_in_reach(page)
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    expect(shown(page, "simulated")).to_be_in_viewport()
    assert stop_is_in_reach(page)


def test_a_real_rig_has_no_strip(show: Show) -> None:
    page = show(scenes.preheat())
    expect(shown(page, "simulated")).to_have_count(1)
    show({**scenes.preheat(), "simulated": False, "pace": None})
    expect(shown(page, "simulated")).to_have_count(0)
    expect(shown(page, "stop")).to_be_visible()


def test_the_sentence_is_in_the_persons_units_and_the_shops_time(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.hold_at_night())
    page = open_page(timezone_id="America/New_York")
    sentence = shown(page, "sentence")
    expect(sentence).to_contain_text("Holding at 21.7 inHg vacuum of a possible 23.9 inHg vacuum.")
    expect(sentence).to_contain_text("Nothing to do until 08:12.")
    page.get_by_text("Units and light").click()
    page.get_by_label("kPa").check()
    expect(sentence).to_contain_text("Holding at 73.6 kPa vacuum")
    expect(shown(page, "bag").locator("[data-show=number]")).to_contain_text("73.6 kPa vacuum")
    page.reload()
    expect(sentence).to_contain_text("73.6 kPa vacuum")


def test_one_touch_of_stop_is_enough_even_over_an_open_sheet(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.planned())
    page = open_page(360, 740)
    shown(page, "next").get_by_role("button").click()
    expect(shown(page, "sheet")).to_be_visible()
    assert stop_is_in_reach(page)
    rig.answers = [(200, {"act": "x", "accepted": True, "text": "Lamp and pump are off."})]
    shown(page, "stop").click()
    path, body = rig.next_post()
    assert path == "/api/stop"
    assert len(body["id"]) == 32
    expect(shown(page, "answer")).to_contain_text("Lamp and pump are off.")


def test_numbers_grey_at_10_s_and_are_gone_at_30_s_of_silence(
    rig: StandInRig, open_page: Open
) -> None:
    page = open_page()
    stand_still(page)
    rig.show({**scenes.hold_at_night(), "lamp": {**scenes.preheat()["lamp"]}})
    bag = shown(page, "bag")
    expect(bag).to_have_attribute("data-fresh", "live")
    page.clock.run_for(12_000)
    expect(bag).to_have_attribute("data-fresh", "stale")
    expect(bag).to_contain_text(re.compile(r"1[12]\ss ago: old"))
    expect(shown(page, "stale")).to_contain_text(re.compile(r"rig 1[12]\ss ago"))
    page.clock.run_for(20_000)
    expect(shown(page, "sentence")).to_have_text(
        "No word from the rig since 02:06. The lamp was on then and may still be on. "
        "Look at the rig."
    )
    expect(page.locator("[data-show=number]")).to_have_count(0)
    for gone in ("bag", "face", "room", "next", "lamp", "due", "traces", "setting"):
        expect(shown(page, gone)).to_have_count(0)
    expect(shown(page, "simulated")).to_be_visible()
    assert stop_is_in_reach(page)
    shown(page, "stop").click()
    assert rig.next_post()[0] == "/api/stop"
    rig.show(scenes.hold_at_night())
    expect(bag).to_have_attribute("data-fresh", "live")


def test_a_new_sentence_is_read_out_but_not_each_new_figure_in_it(
    rig: StandInRig, show: Show
) -> None:
    moment = scenes.preheat()
    page = show(scenes.planned())
    show(moment)
    aloud = shown(page, "aloud")
    expect(aloud).to_have_attribute("aria-live", "assertive")
    expect(aloud).to_contain_text("Face 36.4 °C")
    face = {"kind": "temperature", "value": 273.15 + 37.9}
    values = {**moment["sentence"]["values"], "face": face}
    rig.show({**moment, "sentence": {**moment["sentence"], "values": values}})
    expect(shown(page, "sentence")).to_contain_text("Face 37.9 °C")
    expect(aloud).to_contain_text("Face 36.4 °C")
    rig.show(scenes.coat_now())
    expect(aloud).to_contain_text("first stroke now")


def test_one_lost_probe_is_words_while_the_rest_is_live(rig: StandInRig, show: Show) -> None:
    moment = scenes.preheat()
    page = show({**moment, "face": {"value": 36.4, "age_s": 15.0, "source": "probe"}})
    face = shown(page, "face")
    expect(face).to_contain_text("15 s ago: old")
    rig.show({**moment, "face": {"value": None, "age_s": None, "source": "lost"}})
    expect(face).to_contain_text("no reading")
    expect(face.locator("[data-show=number]")).to_have_count(0)
    expect(shown(page, "room")).to_have_attribute("data-fresh", "live")


def test_a_controller_that_is_gone_is_said_at_once(show: Show) -> None:
    page = show(scenes.hold_at_night(), connected=False)
    expect(shown(page, "stale")).to_contain_text("The controller does not answer.")
    expect(shown(page, "bag")).to_have_attribute("data-fresh", "stale")


def test_what_is_over_is_said_without_a_forecast_of_its_time(show: Show) -> None:
    setting = shown(show(scenes.hold_at_night()), "setting")
    expect(setting).to_contain_text(re.compile(r"Gelled\s*yes"))
    expect(setting).to_contain_text("May be opened about")
    held = scenes.hold_at_night()
    held["batch"]["setting"]["may_open"] = True
    show(held)
    expect(setting).to_contain_text(re.compile(r"May be opened\s*now"))
    setting = shown(show(scenes.flash_off()), "setting").first
    expect(setting).to_contain_text("Flash-off")
    expect(setting).not_to_contain_text("May be opened")


@pytest.mark.parametrize(
    ("scene", "cure", "words"),
    [
        (scenes.hold_at_night, "glassy", "62 % of its bonds, hard only from the cold"),
        (scenes.flash_off, "cured", "62 % of its bonds, cured"),
    ],
)
def test_the_cure_is_told_in_words_once_there_is_a_mix(
    show: Show, scene: Any, cure: str, words: str
) -> None:
    mixed = scene()
    mixed["batch"]["setting"] |= {"age_s": 0.0, "conversion": 0.62, "cure": cure}
    setting = shown(show(mixed), "setting").first
    expect(setting).not_to_contain_text("Cure")
    mixed["batch"]["setting"]["age_s"] = 7200.0
    show(mixed)
    # a space that does not break stands between a number and its unit
    expect(setting).to_contain_text(
        re.compile(rf"Cure, about\s*{words.replace(' ', chr(92) + 's')}")
    )


def test_a_held_press_counts_after_a_second_and_not_before(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.coat_now())
    page = open_page()
    expect(shown(page, "coat-now")).to_have_text("COAT NOW")
    expect(shown(page, "shuts")).to_have_text("2 min 40 s")
    button = shown(page, "next").get_by_role("button", name="COATING")
    stand_still(page)
    button.hover()
    page.mouse.down()
    page.clock.run_for(900)
    page.mouse.up()
    expect(button).to_contain_text("too short")
    assert rig.heard.empty()
    page.mouse.down()
    page.clock.run_for(1100)
    page.mouse.up()
    path, body = rig.next_post()
    assert path == "/api/acts"
    del body["id"]
    assert body == {
        "kind": "COATING",
        "batch": "b7",
        "stage": "COOLDOWN",
        "ago_s": 0,
        "values": {},
        "seen_seq": 3000,
    }
    assert rig.heard.empty()


def test_a_held_press_works_from_the_keyboard(rig: StandInRig, open_page: Open) -> None:
    rig.show(scenes.coat_now())
    page = open_page()
    stand_still(page)
    shown(page, "next").get_by_role("button", name="COATING").focus()
    page.keyboard.down("Enter")
    page.clock.run_for(1100)
    page.keyboard.up("Enter")
    assert rig.next_post()[1]["kind"] == "COATING"
    assert rig.heard.empty()


def test_a_press_may_be_told_late(rig: StandInRig, open_page: Open) -> None:
    rig.show(scenes.coat_now())
    page = open_page()
    page.get_by_role("button", name="It was some minutes ago").click()
    page.get_by_label("How many minutes ago").fill("6,5")
    stand_still(page)
    shown(page, "sheet").get_by_role("button", name="COATING").hover()
    page.mouse.down()
    page.clock.run_for(1100)
    page.mouse.up()
    assert rig.next_post()[1]["ago_s"] == 390
    expect(shown(page, "sheet")).to_have_count(0)


def test_a_sheet_asks_in_the_persons_units_and_sends_the_acts(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.flash_off())
    page = open_page()
    page.get_by_text("Units and light").click()
    page.get_by_label("oz", exact=True).check()
    shown(page, "next").get_by_role("button").click()
    sheet = shown(page, "sheet")
    sheet.get_by_label("What the scale says").fill("10")
    sheet.get_by_label("Which").select_option("coupon")
    sheet.get_by_role("button", name="WEIGHED").click()
    _, body = rig.next_post()
    assert body["kind"] == "WEIGHED"
    assert body["values"]["what"] == "coupon"
    assert body["values"]["mass_g"] == pytest.approx(283.495, abs=0.001)
    page.get_by_role("button", name="WEIGHED").last.click()
    sheet.get_by_role("button", name="WEIGHED").click()
    _, body = rig.next_post()
    assert (body["batch"], body["stage"], body["values"]) == ("b6", "FLASHOFF", {"what": "board"})


def test_start_is_not_sent_before_all_three_are_confirmed(rig: StandInRig, open_page: Open) -> None:
    rig.show(scenes.planned())
    page = open_page()
    shown(page, "next").get_by_role("button").click()
    sheet = shown(page, "sheet")
    stand_still(page)

    def hold_start() -> None:
        sheet.get_by_role("button", name="START").hover()
        page.mouse.down()
        page.clock.run_for(1100)
        page.mouse.up()

    sheet.get_by_role("checkbox").first.check()
    hold_start()
    assert rig.heard.empty()
    for box in sheet.get_by_role("checkbox").all():
        box.check()
    hold_start()
    confirmed = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
    assert rig.next_post()[1]["values"] == confirmed


def test_a_press_that_got_lost_is_sent_again_under_the_same_id(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.preheat())
    page = open_page()
    rig.answers = [
        (503, {"error": "Control is not there."}),
        (200, {"act": "x", "accepted": True, "text": "Fifteen minutes more."}),
    ]
    shown(page, "present").click()
    first, second = rig.next_post()[1], rig.next_post()[1]
    assert first == second
    expect(shown(page, "answer")).to_contain_text("Fifteen minutes more.")


def test_an_alarm_says_what_to_do_and_is_acknowledged_by_its_name(
    rig: StandInRig, show: Show
) -> None:
    page = show(scenes.leak_at_night())
    alarms = shown(page, "alarms")
    expect(alarms).to_be_in_viewport()
    expect(alarms.locator("article").first).to_contain_text("Alarm")
    expect(alarms).to_contain_text("The bag is at 15.6 inHg vacuum")
    expect(alarms).to_contain_text("Listen along the tape")
    alarms.get_by_role("button", name="ACKNOWLEDGE").click()
    _, body = rig.next_post()
    assert (body["kind"], body["values"]) == ("ACKNOWLEDGE", {"alarm": "bag-out-of-band"})


def test_a_phone_that_only_watches_is_told_how_to_pair_and_can_stop(
    rig: StandInRig, open_page: Open
) -> None:
    rig.me = {"role": "watch", "pairing_open": True}
    rig.show(scenes.coat_now())
    page = open_page()
    pairing = shown(page, "pairing")
    expect(pairing).to_contain_text("type the PIN shown at the rig")
    expect(shown(page, "next")).to_have_count(0)
    assert stop_is_in_reach(page)
    pairing.get_by_label("PIN").fill("123456")
    rig.me = {"role": "control", "pairing_open": False}
    pairing.get_by_role("button", name="Pair").click()
    assert rig.next_post() == ("/api/pair", {"pin": "123456"})
    expect(shown(page, "next")).to_be_visible()
    expect(pairing).to_have_count(0)


def test_a_phone_that_may_press_sends_a_lost_one_away(rig: StandInRig, open_page: Open) -> None:
    kim = {"id": "0123456789abcdef", "name": "Kim's phone", "left_s": 7200.0, "mine": False}
    rig.pairings = [kim, {**kim, "id": "f" * 16, "name": None, "mine": True}]
    rig.show(scenes.hold_at_night())
    page = open_page()
    page.get_by_text("Phones that may press").click()
    phones = shown(page, "phones")
    expect(phones).to_contain_text("no name, this phone")
    stand_still(page)
    phones.get_by_role("button", name="Kim's phone").hover()
    page.mouse.down()
    page.clock.run_for(1100)
    page.mouse.up()
    rig.pairings = rig.pairings[1:]
    assert rig.next_post() == ("/api/unpair", {"id": kim["id"]})


def test_another_version_reloads_the_page_once_and_is_then_said(
    rig: StandInRig, open_page: Open
) -> None:
    rig.show(scenes.preheat())
    page = open_page()
    expect(shown(page, "next").or_(shown(page, "present"))).to_be_visible()
    with page.expect_event("load"):
        rig.show({**scenes.preheat(), "version": 2})
    expect(shown(page, "sentence")).to_contain_text("does not understand it")
    expect(page.locator("[data-show=number]")).to_have_count(0)
    assert stop_is_in_reach(page)


def test_the_night_is_drawn_with_its_stages(rig: StandInRig, open_page: Open) -> None:
    rig.samples, rig.stages = scenes.night_so_far()
    rig.show(scenes.hold_at_night())
    page = open_page()
    expect(shown(page, "traces").locator("canvas")).to_have_count(2)
    expect(shown(page, "traces")).to_contain_text("Vacuum, inHg")


def test_a_spike_too_short_for_the_line_is_drawn_beside_it(
    rig: StandInRig, open_page: Open
) -> None:
    rig.samples, rig.stages = scenes.night_so_far()
    rig.show(scenes.hold_at_night())
    page = open_page()
    vacuum = shown(page, "traces").locator("canvas").last
    drawn = vacuum.evaluate("(canvas) => canvas.toDataURL()")
    columns = dict(rig.samples["columns"])
    middle = len(columns["at_s"]) * 2 // 3
    columns["bag_high_pa"] = [
        90_000.0 if n == middle else pa for n, pa in enumerate(columns["bag_high_pa"])
    ]
    rig.samples = {**rig.samples, "columns": columns}
    page.clock.run_for(4_000)
    page.wait_for_function(
        "(drawn) => [...document.querySelectorAll('canvas')].at(-1).toDataURL() !== drawn",
        arg=drawn,
    )


@each_scene
def test_nothing_serious_stands_between_the_page_and_any_reader(scene: Any, show: Show) -> None:
    axe = WEB / "node_modules/axe-core/axe.min.js"
    if not axe.exists():
        skip_loudly("axe-core is missing: `npm --prefix web ci`")
    page = show(scene())
    page.evaluate(axe.read_text())
    found = page.evaluate("axe.run().then((result) => result.violations)")
    serious = [
        (violation["id"], [node["target"] for node in violation["nodes"]])
        for violation in found
        if violation["impact"] in ("serious", "critical")
    ]
    assert serious == []
