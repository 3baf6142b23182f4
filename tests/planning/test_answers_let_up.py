"""What letting the bag up before gel presses in, and when it is not offered."""

from itertools import pairwise
from math import inf

import pytest
from cases import case, keys, line, read

from controller.planning.answers.film_course import evening_of, film_course
from controller.planning.answers.let_up import pressed_in, section
from controller.planning.answers.pore_room import (
    FlowingMix,
    PoreRoom,
    Taken,
    face_lets_in,
    gel_after_stroke,
    pore_rooms,
)
from controller.planning.answers.two_laws import two_laws
from controller.science.filling import Cooling, Pore, Resin
from controller.science.filling_orders import Night, Order, fill_by_order
from controller.science.pores import fill_by_release


def test_a_coat_without_a_bag_has_nothing_to_let_up():
    assert section(case(("bagged = true", "bagged = false"))) is None


# Boyle's law as the handbooks of pressure treatment have it: 10 inHg 33 %, 20 inHg 67 %, both at
# the sea, to the per cent.
@pytest.mark.parametrize(("vacuum", "share"), [("10 inHg", 0.33), ("20 inHg", 0.67)])
def test_the_share_is_boyles(vacuum: str, share: float):
    made = case(('target = "22 inHg', f'target = "{vacuum}'))
    figures = line(section(made), "let_up.share").figures
    assert figures["share"].value == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("what", ["ends", "back"])
def test_it_is_not_offered_where_an_end_or_the_back_is_bare(what: str):
    old = 'ends = "sealed"' if what == "ends" else 'back = "sealed" '
    found = section(case((old, old.replace("sealed", "bare"))))
    assert keys(found) == ["let_up.bare", "let_up.held"]
    assert f"washboard: {what}" in line(found, "let_up.bare").text


def test_the_latest_time_is_the_early_end_of_the_gel_on_the_clock():
    made = case()
    figures = line(section(made), "let_up.latest").figures
    course = film_course(made.coat, made.night, made.cup)
    early = two_laws(course, made.coat.resin).gel.early
    assert early is not None
    # lamp on at 16:00 in New York on 2 May, four hours behind
    began = 1_777_752_000.0
    assert figures["latest"].kind == "clock"
    assert figures["latest"].value == pytest.approx(began + early)
    assert figures["soon"].value < figures["latest"].value


def test_without_a_start_the_times_are_counted_from_lamp_on():
    made = case(('start = "2026-05-02 16:00"', "#"))
    found = line(section(made), "let_up.latest")
    assert found.figures["latest"].kind == "duration"
    assert "after lamp-on" in found.text


def test_a_held_vacuum_has_no_credit_on_any_sheet():
    for made in (case(), case(('ends = "sealed"', 'ends = "bare"'))):
        assert "presses nothing in" in line(section(made), "let_up.held").text


def test_later_presses_in_less_and_after_gel_nothing():
    made = case()
    bag, gel = made.coat.bag, gel_after_stroke(made)
    assert bag is not None and gel.early is not None and gel.late is not None
    times = [gel.late * i / 10 for i in range(11)]
    found = [pressed_in(made, bag, since) for since in times]
    assert all(a.most >= b.most and a.least >= b.least for a, b in pairwise(found))
    assert found[-1] == Taken(0.0, 0.0)


def test_never_more_than_boyle_lets_in():
    made = case()
    bag = made.coat.bag
    assert bag is not None
    pores = sum(room.pores for room in pore_rooms(made))
    most = fill_by_release(bag.target, made.air_pressure) * pores
    found = pressed_in(made, bag, 0.0)
    assert 0 < found.least <= found.most <= most * (1 + 1e-9)


def test_the_band_holds_the_whole_story_of_a_pore():
    # science.filling's pore, through coat, pull, hold and let-up, against the short formulas here;
    # the story's pull wanes as it fills, so it lies between half and the whole of it
    air, bag, tau, gel = 101e3, 20e3, 2000.0, 1e4
    since = 300 + 60 + 900.0
    night = Night(air, bag, 0.0, open_time=300, ramp=60, hold=900, rest=30_000)
    for permeability in (1e-16, 1e-15, 1e-14, 1e-12):
        pore = Pore(0.02, 0.5, permeability, capillary=1.0, leak_time=inf)
        resin = Resin(0.3, thickening_time=tau, gel=gel, supply=inf)
        held, let = (
            fill_by_order(order, night, pore, resin, Cooling(293.15, 293.14, 1800.0))
            for order in (Order.COAT_THEN_HOLD, Order.COAT_THEN_LET_UP)
        )
        room = PoreRoom("x", 1.0, 0.02, 0.08, 0.5, permeability, permeability, ())
        share = fill_by_release(bag, air)
        band = face_lets_in(
            room, FlowingMix(0.3, 0.3, gel, gel), Taken((air - bag) / 2, air - bag), since,
            Taken(share, share),
        )  # fmt: skip
        assert held.share_filled < 0.01
        assert band.least / room.pores * 0.97 <= let.share_filled <= band.most / room.pores * 1.03


def test_a_coat_that_gels_before_the_bag_has_bubbled_out_stays_held():
    fast = case(('"laminating 2:1 slow"', '"laminating 2:1 fast"'))
    evening, gel = evening_of(fast.coat), gel_after_stroke(fast)
    assert gel.early is not None and evening.sealed - evening.stroke + 900 > gel.early
    found = line(section(fast), "let_up.latest")
    assert found.care and "leave it held" in found.text
    assert "let_up.volume" not in keys(section(fast))


def test_a_coat_smaller_than_the_pores_is_a_warning():
    found = line(section(case()), "let_up.volume")
    assert found.care and "air follows" in found.text
    tight = case(
        ('"white ash"', '"white oak"'), ('part = "mixed"', 'part = "heartwood"'),
        ('thickness = "20 mm"', 'thickness = "5 mm"'), ('"200 g/m2"', '"500 g/m2"'),
    )  # fmt: skip
    flooded = line(section(tight), "let_up.volume")
    # it lets in more than a coat at its open end, and next to nothing at its tight one
    assert flooded.figures["least"].value < flooded.figures["holds"].value / 100
    assert "air follows" in read(flooded)


def test_a_face_that_was_coated_before_gains_next_to_nothing():
    again = '\n[[coats]]\npieces = ["washboard"]\nweight = "80 g/m2"\n\n[heat]'
    second = case(("\n[heat]", again), coat=2)
    assert "let_up.shut" in keys(section(second))
    assert "let_up.volume" not in keys(section(second))
    bag = second.coat.bag
    assert bag is not None and pressed_in(second, bag, 0.0) == Taken(0.0, 0.0)


def test_a_shop_too_cold_to_gel_says_to_watch_a_witness():
    cold = case(('room = "20 C"', 'room = "6 C"'), ('night_low = "16 C"', 'night_low = "5 C"'))
    found = line(section(cold), "let_up.latest")
    assert gel_after_stroke(cold).early is None
    assert found.care and "witness" in found.text
