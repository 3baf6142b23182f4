"""What the sheet says of lamp and board before anything is lit."""

from math import exp, pi

import pytest
from cases import C, case, keys, line, read, rig

from controller.planning.answers.case import Case
from controller.planning.answers.warm_board import warm_board
from controller.planning.answers.warmth import BACK_HALF_WAY, section
from controller.planning.heat_course import BRUSHING
from controller.planning.lamp_flux import flux_at
from controller.settings.sections import Lamp

THICK = ('thickness = "20 mm"', 'thickness = "50 mm"')
OPEN = ('back = "lined" ', 'back = "open" ')


def weak(flux: str) -> Case:
    return case(on=rig(("600 W/m2", flux)))


def test_the_face_left_on_for_good_is_flux_over_both_ways_out():
    # by hand: 600 W/m2 over the face's 11 and the lined back's 0.5 through 20 mm of ash,
    # k about 0.15: 0.5 / (1 + 0.5 x 0.02 / 0.15) = 0.469; 600 / 11.469 = 52.3 K over 20 C
    figures = line(section(case()), "warmth.reach").figures
    assert figures["face"].value - C == pytest.approx(72.3, abs=0.1)
    # all that goes through is lost behind: 0.469 x 52.3 = 24.5 W/m2, 3.3 K from face to back
    assert figures["face"].value - figures["back"].value == pytest.approx(3.2, abs=0.2)
    middle = (figures["face"].value + figures["back"].value) / 2
    assert figures["mean"].value == pytest.approx(middle)


def test_an_open_back_leaves_less_within_reach_and_is_named():
    lined, bare = (line(section(case(*each)), "warmth.reach") for each in ((), (OPEN,)))
    for name in ("face", "mean", "back"):
        assert bare.figures[name].value < lined.figures[name].value
    assert "back open" in bare.text and "back lined" in lined.text


def test_a_lamp_too_weak_is_said_with_what_to_change():
    found = section(weak("150 W/m2"))
    assert line(found, "warmth.reach").care
    assert line(found, "warmth.to_band").care
    assert "second lamp" in line(found, "warmth.advice").text
    assert not {"warmth.soak", "warmth.turn"} & set(keys(found))


def test_a_lamp_that_does_has_no_advice():
    found = section(case())
    assert not line(found, "warmth.reach").care
    assert "warmth.advice" not in keys(found)


@pytest.mark.parametrize("thickness", ["12 mm", "25 mm", "50 mm"])
def test_the_face_lies_about_the_inside_until_the_soak_is_over(thickness: str):
    made = case(('thickness = "20 mm"', f'thickness = "{thickness}"'))
    board, heat = warm_board(made), made.coat.heat
    assert board.in_band.face == pytest.approx(heat.band_low, abs=0.05)
    assert board.in_band.back < board.in_band.mean < board.in_band.face
    # the soak was planned to this mean, by steps of up to 30 s; it then moves 0.02 K in a second
    assert board.at_off.mean == pytest.approx(heat.target_mean, abs=0.1)
    assert board.at_off.back > board.in_band.back
    assert board.mean_when_coated < board.at_off.mean


# The trade's table of minutes to half of the back's rise, common practice: 19 mm 15, 25 mm 26,
# 38 mm 61, 50 mm 105. Its own rule, mm x mm / 24, is within 5 % of it.
@pytest.mark.parametrize(("thickness", "minutes"), [(19, 15), (25, 26), (38, 61), (50, 105)])
def test_the_trades_rule_stands_beside_ours(thickness: int, minutes: float):
    made = case(('thickness = "20 mm"', f'thickness = "{thickness} mm"'))
    figures = line(section(made), "warmth.rule").figures
    assert figures["rule"].value / 60 == pytest.approx(minutes, rel=0.05)
    # conductivity of wood is good to 20 %, and so is ours
    assert figures["ours"].value == pytest.approx(figures["rule"].value, rel=0.2)


def test_half_way_is_the_first_term_of_the_slabs_series():
    # Incropera and DeWitt: theta = 4 / pi exp(-pi^2 Fo / 4) at an insulated back, one term good
    # to 1 % above Fo 0.2
    assert 4 / pi * exp(-(pi**2) * BACK_HALF_WAY / 4) == pytest.approx(0.5, rel=0.002)


def test_a_window_that_shuts_before_the_coat_is_on_is_a_warning():
    late = section(case(("[heat]", '[heat]\nhandling_time = "20 min"')))
    found = line(late, "warmth.window")
    assert found.care and "too late" in found.text
    made = case()
    good = line(section(made), "warmth.window")
    assert not good.care
    left = made.coat.heat.shuts - max(made.coat.heat.opens, made.coat.heat.handling)
    assert good.figures["left"].value == pytest.approx(left)
    assert left >= BRUSHING


def test_another_window_than_the_trades_is_held_against_it():
    # 32 to 38 C is 90 to 100 F to the degree
    assert "warmth.trade_window" not in keys(section(case()))
    other = section(case(("[heat]", '[heat]\ncoat_low = "28 C"')))
    figures = line(other, "warmth.trade_window").figures
    assert figures["low"].value - C == pytest.approx(32.2, abs=0.05)
    assert figures["high"].value - C == pytest.approx(37.8, abs=0.05)


def test_a_band_outside_the_trades_preheat_says_so():
    cool = section(case(("[heat]", '[heat]\ncoat_low = "25 C"\ncoat_high = "30 C"')))
    assert "trade_low" in line(cool, "warmth.band").figures
    assert "trade_low" not in line(section(case()), "warmth.band").figures


def test_turning_pays_for_a_thick_board_only():
    thick, thin = (
        line(section(case(each)), "warmth.turn")
        for each in (THICK, ('thickness = "20 mm"', 'thickness = "5 mm"'))
    )
    assert thick.text.startswith("Turn it once") and thick.figures["gain"].value > 1
    assert "not needed" in thin.text or "Do not turn" in thin.text


def test_the_lamps_source_says_whether_it_was_told():
    told, default = case(), case(on=rig(('absorbed = "600 W/m2"', "#")))
    assert line(section(told), "warmth.flux").figures["flux"].source.startswith("told")
    found = line(section(default), "warmth.flux")
    assert found.figures["flux"].source.startswith("own")
    assert found.figures["flux"].value == 300


# One 250 W lamp with the efficiency and angle assumed here, worked apart: 2190, 1230, 790, 550 W/m2
# at 0.3 to 0.6 m (rounded, so 1 %), of which bare wood takes up 0.308 to 0.570, 0.396 on average
# (Kang and others, 2011, abstract; 0.31 and 0.40 here).
@pytest.mark.parametrize(
    ("distance", "arrives"), [(0.3, 2190), (0.4, 1230), (0.5, 790), (0.6, 550)]
)
def test_what_arrives_from_a_distance_is_a_band(distance: float, arrives: float):
    lamp = Lamp.model_validate({"power": "250 W"})
    band = flux_at(lamp, distance)
    assert band.least == pytest.approx(0.308 * arrives, rel=0.02)
    assert band.likely == pytest.approx(0.396 * arrives, rel=0.02)
    assert band.most == pytest.approx(0.570 * arrives, rel=0.02)


def test_two_lamps_give_twice_as_much_and_half_the_distance_four_times():
    one, two = (Lamp.model_validate({"count": count}) for count in (1, 2))
    assert flux_at(two, 0.5).likely == pytest.approx(2 * flux_at(one, 0.5).likely)
    assert flux_at(one, 0.25).likely == pytest.approx(4 * flux_at(one, 0.5).likely)


def test_a_distance_that_does_not_fit_the_settings_is_a_warning():
    def at(distance: str):
        made = case(("[heat]", f'[heat]\ndistance = "{distance}"'))
        return line(section(made), "warmth.distance")

    fits, near = at("500 mm"), at("200 mm")
    assert not fits.care and "calibrate" in fits.text
    assert near.care and "lies outside" in near.text
    assert "warmth.distance" not in keys(section(case()))


def test_the_trip_is_told_and_nobody_leaves_the_lamp():
    found = line(section(case()), "warmth.trip")
    assert found.figures["trip"].value <= C + 60
    assert "55.0 °C" in read(found)
