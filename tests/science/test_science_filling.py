"""Four orders of work in one pore: what each may claim, and the exact cases it must meet."""

from dataclasses import replace
from math import inf, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import RangeError
from controller.science.air import contraction_dry
from controller.science.constants import STANDARD_ATMOSPHERE as AIR
from controller.science.filling import (
    Cooling,
    Moment,
    Pore,
    Resin,
    fill_story,
    leak_time,
    round_pore,
)
from controller.science.filling_orders import (
    Night,
    Order,
    fill_by_order,
    moments_of,
    pressure_on_liquid,
)
from controller.science.pores import (
    darcy_depth_thickening,
    fill_by_release,
    fill_by_release_and_cooling,
    fill_depth,
)

COLD, HOT = 293.15, 323.15
NIGHT = Night(AIR, 10e3, 0.0, open_time=300, ramp=60, hold=1800, rest=40_000)
# A cut vessel, sealed behind, that thin resin crosses in seconds; hardly any pull of its own.
SEALED = Pore(depth=0.002, porosity=0.5, permeability=1e-11, capillary=1.0, leak_time=inf)
THIN = Resin(viscosity=0.2, thickening_time=7200, gel=6 * 3600, supply=inf)
WARM = Cooling(HOT, COLD, time_constant=1800)
EVEN = Cooling(COLD, COLD, time_constant=1800)

pores = st.builds(
    Pore,
    depth=st.floats(5e-4, 1e-2),
    porosity=st.floats(0.1, 1),
    permeability=st.floats(-17, -9).map(lambda power: 10**power),
    capillary=st.floats(0, 5e3),
    leak_time=st.just(inf),
)
resins = st.builds(
    Resin,
    viscosity=st.floats(0.05, 5),
    thickening_time=st.floats(900, 20_000),
    gel=st.floats(600, 30_000),
    supply=st.just(inf),
)
nights = st.builds(
    Night,
    air_pressure=st.just(AIR),
    bag_pressure=st.floats(3e3, 60e3),
    liquid_share=st.floats(0, 1),
    open_time=st.floats(60, 1800),
    ramp=st.floats(10, 300),
    hold=st.floats(300, 10_000),
    rest=st.floats(3600, 40_000),
)
warmths = st.builds(
    Cooling, hot=st.floats(COLD, COLD + 35), cold=st.just(COLD), time_constant=st.floats(300, 7200)
)


def share(order: Order, pore: Pore = SEALED, resin: Resin = THIN, cooling: Cooling = WARM) -> float:
    return fill_by_order(order, NIGHT, pore, resin, cooling).share_filled


# --- what each order may claim


@given(night=nights, pore=pores, resin=resins, cooling=warmths)
@settings(deadline=None, max_examples=60)
def test_a_vacuum_that_is_held_through_the_gel_earns_nothing(
    night: Night, pore: Pore, resin: Resin, cooling: Cooling
) -> None:
    held = fill_by_order(Order.COAT_THEN_HOLD, night, pore, resin, cooling).share_filled
    no_bag = fill_by_order(Order.COAT_NO_BAG, night, pore, resin, cooling).share_filled
    assert held <= no_bag + 0.002  # the error of the steps
    # and no order without a let-up fills more than cooling gas and the pore's pull, by Boyle
    kept = (1 - contraction_dry(cooling.hot, COLD)) * AIR / (AIR + pore.capillary)
    assert no_bag <= 1 - kept + 1e-9


@given(night=nights, pore=pores, resin=resins, cooling=warmths, spare=st.floats(60, 20_000))
@settings(deadline=None, max_examples=60)
def test_a_let_up_in_time_lies_between_the_hold_and_the_vacuum_first(
    night: Night, pore: Pore, resin: Resin, cooling: Cooling, spare: float
) -> None:
    # In time: the resin gels only once the later of the two let-ups is over.
    resin = replace(resin, gel=night.open_time + 2 * night.ramp + night.hold + spare)
    held = fill_by_order(Order.COAT_THEN_HOLD, night, pore, resin, cooling).share_filled
    let_up = fill_by_order(Order.COAT_THEN_LET_UP, night, pore, resin, cooling).share_filled
    first = fill_by_order(Order.VACUUM_FIRST, night, pore, resin, cooling).share_filled
    assert held - 0.002 <= let_up <= first + 0.002


# Boyle's law, as for fill_by_release: 28, 25 and 20 inHg fill 0.9358, 0.8355 and 0.6684 of a pore.
# The pull of 1 Pa and the steps move it by less than 0.0005.
@pytest.mark.parametrize(("bag", "filled"), [(6506, 0.9358), (16_665, 0.8355), (33_597, 0.6684)])
def test_vacuum_before_the_resin_fills_by_boyles_law(bag: float, filled: float) -> None:
    night = replace(NIGHT, bag_pressure=bag)
    first = fill_by_order(Order.VACUUM_FIRST, night, SEALED, THIN, EVEN)
    assert first.share_filled == pytest.approx(filled, abs=0.0005)
    assert first.share_filled == pytest.approx(fill_by_release(bag, AIR), abs=0.0005)
    # Under vacuum only the pull of the pore draws; the let-up does the work, at once.
    assert first.after[1] < 0.001
    assert first.mostly_in < NIGHT.open_time + NIGHT.ramp


def test_vacuum_first_in_a_board_that_cools_has_both_gains() -> None:
    both = fill_by_release_and_cooling(NIGHT.bag_pressure, AIR, HOT, COLD)
    assert share(Order.VACUUM_FIRST) == pytest.approx(both, abs=0.001)


def test_a_coat_in_the_open_draws_by_cooling_alone() -> None:
    # 1 - 293.15 / 323.15 = 0.0928 of dry gas; the wood's vapour is left out here.
    assert share(Order.COAT_NO_BAG) == pytest.approx(0.0928, abs=0.001)
    assert share(Order.COAT_NO_BAG, cooling=EVEN) == pytest.approx(0, abs=0.001)


def test_bubbles_come_out_under_vacuum_and_only_then() -> None:
    # The gas from 101 to 10 kPa: nine tenths of it, by Boyle.
    held = fill_by_order(Order.COAT_THEN_HOLD, NIGHT, SEALED, THIN, EVEN)
    assert held.bubbled == pytest.approx(1 - 10e3 / AIR, abs=0.005)
    assert fill_by_order(Order.COAT_NO_BAG, NIGHT, SEALED, THIN, EVEN).bubbled == 0


def test_bare_ends_take_the_draw_and_the_let_up_away() -> None:
    # Wood that resin enters slowly, across the grain, and air by the ends in seconds.
    slow = replace(SEALED, permeability=1e-16, capillary=0.001)
    bare = replace(slow, leak_time=leak_time(1e-12, 0.2, 0.5, AIR))
    for order in Order:
        assert share(order, bare) < 0.1 * share(order, slow), order
        assert share(order, bare) < 0.02, order


@given(pore=pores, resin=resins, first=st.floats(-1, 6), second=st.floats(-1, 6))
@settings(deadline=None, max_examples=40)
def test_a_faster_leak_never_fills_more_of_a_pore_without_pull(
    pore: Pore, resin: Resin, first: float, second: float
) -> None:
    fast, slow = sorted((10**first, 10**second))
    for order in (Order.COAT_NO_BAG, Order.COAT_THEN_LET_UP):
        leaky = share(order, replace(pore, capillary=0.0, leak_time=fast), resin)
        tight = share(order, replace(pore, capillary=0.0, leak_time=slow), resin)
        assert leaky <= tight + 0.004


def test_a_let_up_after_the_gel_gains_nothing() -> None:
    gelled = replace(THIN, gel=NIGHT.open_time + NIGHT.ramp + NIGHT.hold)
    late = fill_by_order(Order.COAT_THEN_LET_UP, NIGHT, SEALED, gelled, WARM)
    held = fill_by_order(Order.COAT_THEN_HOLD, NIGHT, SEALED, gelled, WARM)
    assert late.share_filled == held.share_filled
    assert late.after[2] == late.after[3] == late.after[4]
    in_time = replace(THIN, gel=gelled.gel + 3600)
    assert share(Order.COAT_THEN_LET_UP, resin=in_time) > late.share_filled + 0.5


def test_film_on_the_liquid_helps_only_where_the_gas_has_another_way_out() -> None:
    pressed = replace(NIGHT, liquid_share=0.3)
    vented = replace(SEALED, leak_time=60.0)
    sealed = fill_by_order(Order.COAT_THEN_HOLD, pressed, SEALED, THIN, WARM).share_filled
    open_behind = fill_by_order(Order.COAT_THEN_HOLD, pressed, vented, THIN, WARM).share_filled
    assert sealed < 0.1
    assert open_behind > 0.9


def test_no_more_goes_in_than_was_on_the_face() -> None:
    # 0.1 mm of coat into 2 mm of wood that is half pore is a tenth of the room.
    thin_coat = replace(THIN, supply=1e-4)
    dry = fill_by_order(Order.VACUUM_FIRST, NIGHT, SEALED, thin_coat, EVEN)
    assert dry.share_filled == pytest.approx(0.1)
    assert dry.ran_dry is not None and dry.ran_dry < NIGHT.open_time + NIGHT.ramp
    assert fill_by_order(Order.VACUUM_FIRST, NIGHT, SEALED, THIN, EVEN).ran_dry is None


# --- exact cases


@given(seconds=st.floats(10, 5000), viscosity=st.floats(0.1, 5), power=st.floats(-17, -13))
@settings(deadline=None, max_examples=40)
def test_a_vented_pore_fills_as_darcy_and_thickening_say(
    seconds: float, viscosity: float, power: float
) -> None:
    # Gas that leaves at once: nothing but the pull drives, and the depth is the closed form.
    pore = Pore(0.1, 0.5, 10**power, capillary=5e3, leak_time=1e-3)
    resin = Resin(viscosity, 1200, gel=inf, supply=inf)
    story = fill_story(pore, resin, EVEN, [Moment(seconds, AIR, AIR, True)])
    depth = darcy_depth_thickening(10**power, 5e3, 0.5, viscosity, 1200, seconds)
    assert story.depth == pytest.approx(depth, rel=0.01)


def test_a_vented_round_pore_fills_as_washburn_says() -> None:
    pore = round_pore(50e-6, 0.05, 0.045, pi / 6, leak_time=1e-4)
    resin = Resin(1.0, inf, gel=inf, supply=inf)
    story = fill_story(pore, resin, EVEN, [Moment(60, AIR, AIR, True)])
    # 7.646 mm: scipy's integral of Washburn's law, as in the tests of fill_depth; to 1 %.
    assert 1000 * story.depth == pytest.approx(7.646, rel=0.01)
    assert story.depth == pytest.approx(fill_depth(50e-6, pore.capillary, 1.0, 60), rel=0.01)


def test_a_sealed_pore_is_pulled_only_until_its_gas_pushes_back() -> None:
    # Boyle: 1 - 101325 / (101325 + 1559) = 0.0152; the small pore of 1 um is squeezed by half.
    for radius, filled in ((50e-6, 0.01515), (1e-6, 0.4347)):
        pore = round_pore(radius, 0.0005, 0.045, pi / 6, leak_time=inf)
        story = fill_story(pore, THIN, EVEN, [Moment(18_000, AIR, AIR, True)])
        assert story.share_filled == pytest.approx(filled, abs=0.0005)


def test_resin_that_does_not_wet_stays_out() -> None:
    pore = replace(SEALED, capillary=-2e3)
    assert share(Order.COAT_NO_BAG, pore, cooling=EVEN) == 0


@given(pore=pores, resin=resins, night=nights, cooling=warmths, order=st.sampled_from(Order))
@settings(deadline=None, max_examples=60)
def test_every_story_ends_between_empty_and_full(
    pore: Pore, resin: Resin, night: Night, cooling: Cooling, order: Order
) -> None:
    story = fill_by_order(order, night, pore, resin, cooling)
    assert 0 <= story.share_filled <= 1
    assert 0 <= story.bubbled <= 1
    assert story.depth == pytest.approx(story.share_filled * pore.depth)
    assert len(story.after) == len(moments_of(order, night))
    assert story.after[-1] == story.share_filled
    assert 0 <= story.mostly_in <= resin.gel


@given(pore=pores, resin=resins, thinner=st.floats(0.1, 1))
@settings(deadline=None, max_examples=40)
def test_thinner_resin_never_fills_less_in_the_open(
    pore: Pore, resin: Resin, thinner: float
) -> None:
    thick = share(Order.COAT_NO_BAG, pore, resin)
    thin = share(Order.COAT_NO_BAG, pore, replace(resin, viscosity=thinner * resin.viscosity))
    assert thin >= thick - 1e-6


# --- small parts


def test_the_film_presses_from_nothing_to_all_of_the_air() -> None:
    assert pressure_on_liquid(10e3, AIR, 0) == 10e3
    assert pressure_on_liquid(10e3, AIR, 1) == AIR
    for around, part in ((10e3, 1.1), (10e3, -0.1), (0, 0.5), (AIR + 1, 0.5)):
        with pytest.raises(RangeError):
            pressure_on_liquid(around, AIR, part)


def test_every_order_leaves_the_face_wet_equally_long() -> None:
    whole = NIGHT.open_time + 2 * NIGHT.ramp + NIGHT.hold + NIGHT.rest
    for order in Order:
        moments = moments_of(order, NIGHT)
        assert sum(each.seconds for each in moments if each.wet) == pytest.approx(whole)
        assert [each.wet for each in moments].count(False) == (order is Order.VACUUM_FIRST)


# Arithmetic of (4 / pi^2) L^2 phi eta / (k p), air 1.81e-5 Pa s: a 200 mm board bare at one end.
def test_bare_end_grain_evens_out_in_seconds_and_the_thickness_in_minutes() -> None:
    assert leak_time(1e-12, 0.2, 0.5, AIR) == pytest.approx(1.448, abs=0.001)
    assert leak_time(1e-16, 0.02, 0.5, AIR) == pytest.approx(144.8, abs=0.1)
    for bad in ((0, 0.2, 0.5, AIR), (1e-12, 0, 0.5, AIR), (1e-12, 0.2, 0, AIR), (1e-12, 1, 1, 0)):
        with pytest.raises(RangeError, match="no leak time"):
            leak_time(*bad)


def test_stories_that_cannot_be_told_are_refused() -> None:
    wet, dry = Moment(60, AIR, AIR, True), Moment(60, AIR, AIR, False)
    for moments in ([], [dry], [wet, dry], [dry, wet, dry]):
        with pytest.raises(RangeError, match="wetted once"):
            fill_story(SEALED, THIN, WARM, moments)
    for pore in (
        replace(SEALED, depth=0.0),
        replace(SEALED, porosity=1.1),
        replace(SEALED, permeability=float("nan")),
        replace(SEALED, capillary=inf),
        replace(SEALED, leak_time=0.0),
    ):
        with pytest.raises(RangeError, match="no story"):
            fill_story(pore, THIN, WARM, [wet])
    for resin in (replace(THIN, viscosity=0.0), replace(THIN, gel=-1.0), replace(THIN, supply=0.0)):
        with pytest.raises(RangeError, match="no story"):
            fill_story(SEALED, resin, WARM, [wet])
    for moment in (replace(wet, seconds=inf), replace(wet, around=0.0), replace(wet, on_liquid=-1)):
        with pytest.raises(RangeError, match="moment 1"):
            fill_story(SEALED, THIN, WARM, [moment])
    with pytest.raises(RangeError, match="cooling time"):
        fill_story(SEALED, THIN, replace(WARM, time_constant=0.0), [wet])
