"""What a person does at the bench, told to the pretend rig by name."""

from math import exp

import pytest

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, Role
from controller.hardware.hands import ACTS, AT_THE_BENCH, plain
from controller.hardware.plant import Plant
from controller.hardware.simulated import SimulatedRig

ZERO = 273.15
BUTTONS = {"PRESS STOP", "LET GO STOP", "TAP NEXT"}


def whole_rig() -> SimulatedRig:
    """A rig with everything wired but the dead-man, read once."""
    rig = SimulatedRig(
        Plant(seed=2),
        seed=2,
        lamp_sense=True,
        tilt=True,
        cut_out=True,
        trap=True,
        stop=True,
        next=True,
    )
    rig.read(0.0)
    return rig


def after(rig: SimulatedRig, seconds: int) -> Readings:
    """What it reads so much later."""
    start = rig.truth().at
    for second in range(1, seconds + 1):
        readings = rig.read(start + second)
    return readings


@pytest.mark.parametrize(
    ("kind", "celsius"), [("HOLD", 33.0), ("ICE BATH", 0.0), ("WARM BATH", 45.0)]
)
@pytest.mark.parametrize("role", list(Role))
def test_a_probe_in_a_hand_or_a_bath_tells_its_warmth_and_only_that_probe(
    kind: str, celsius: float, role: Role
) -> None:
    rig = whole_rig()
    rig.person_did(f"{kind} {role.upper()} PROBE")
    told = after(rig, 40)
    for other in Role:
        sample = told.role(other)
        assert sample is not None
        place = celsius if other is role else rig.truth().room - ZERO
        assert sample.value - ZERO == pytest.approx(place, abs=0.3)
    rig.person_did("LET GO PROBES")
    sample = after(rig, 150).role(role)
    assert sample is not None
    assert sample.value == pytest.approx(rig.truth().room, abs=0.3)


def test_a_probe_in_a_hand_answers_sooner_than_one_in_still_air() -> None:
    rig = whole_rig()
    rig.person_did("WARM BATH ROOM PROBE")
    left = rig.truth().room - ZERO - 45.0
    held = after(rig, 10).room
    assert held is not None
    # 5 s in the bath, 25 s in air; the way there takes a second
    assert held.value - ZERO - 45.0 == pytest.approx(left * exp(-9.5 / 5.0), abs=0.3)


def test_a_probe_that_was_let_go_is_on_the_board_again() -> None:
    rig = whole_rig()
    rig.person_did("PROBE ON BOARD")
    rig.apply(Commands(lamp=True))
    after(rig, 120)
    rig.person_did("HOLD FACE PROBE")
    after(rig, 60)
    rig.person_did("LET GO PROBES")
    face = after(rig, 60).face
    assert face is not None
    assert face.value == pytest.approx(rig.truth().face, abs=3.0)
    assert face.value > rig.truth().room + 10.0


def test_the_lamp_burns_with_its_plug_in_and_its_sense_tells_so() -> None:
    rig = whole_rig()
    rig.apply(Commands(lamp=True))
    assert after(rig, 1).lamp_fed is True
    rig.person_did("LAMP OUT")
    told = after(rig, 1)
    assert (told.lamp_fed, rig.truth().lamp_lit) == (False, False)
    rig.person_did("LAMP IN")
    assert after(rig, 1).lamp_fed is True


def test_what_is_tilted_heated_or_lifted_is_told_until_it_is_put_right() -> None:
    rig = whole_rig()

    def told() -> tuple[bool | None, bool | None, bool | None]:
        readings = after(rig, 1)
        return readings.tilted, readings.cut_out_open, readings.trap_full

    assert told() == (False, False, False)
    for kind in ("TILT LAMP", "HEAT CUT-OUT", "LIFT FLOAT"):
        rig.person_did(kind)
    assert told() == (True, True, True)
    rig.apply(Commands(lamp=True))
    assert not rig.truth().lamp_fed
    for kind in ("RIGHT LAMP", "RESET CUT-OUT", "DROP FLOAT"):
        rig.person_did(kind)
    assert told() == (False, False, False)
    assert rig.truth().lamp_fed


def test_stop_is_held_and_next_is_tapped() -> None:
    rig = whole_rig()
    rig.person_did("PRESS STOP")
    rig.person_did("TAP NEXT")
    first, second = after(rig, 1), after(rig, 1)
    assert (first.stop_pressed, first.next_pressed) == (True, True)
    assert (second.stop_pressed, second.next_pressed) == (True, False)
    rig.person_did("LET GO STOP")
    assert not after(rig, 1).stop_pressed


def test_an_empty_bag_is_shut_pulled_dosed_vented_and_put_away() -> None:
    rig = whole_rig()
    rig.person_did("SEAL EMPTY BAG")
    assert rig.truth().sealed
    rig.apply(Commands(pump=True))
    deep = after(rig, 180).bag
    rig.apply(OUTPUTS_OFF)
    rig.person_did("DOSE 60 ML")
    dosed = after(rig, 1).bag
    assert deep is not None and dosed is not None
    # V = p0 x 60 mL / step; 1.5 L of bag, and a second's leak on top
    volume = rig.truth().barometer * 60e-6 / (dosed.value - deep.value)
    assert volume == pytest.approx(1.5e-3, rel=0.02)
    rig.person_did("VENT BAG")
    vented = after(rig, 1)
    assert vented.bag is not None
    assert vented.bag.value == pytest.approx(rig.truth().barometer, abs=60.0)
    rig.person_did("OPEN BAG")
    assert not rig.truth().sealed


def test_no_act_of_the_bench_is_an_act_of_a_batch_and_each_is_known_in_any_writing() -> None:
    assert not (AT_THE_BENCH.keys() | BUTTONS) & ACTS.keys()
    assert all(plain(name.lower().replace(" ", "_")) == name for name in AT_THE_BENCH)


@pytest.mark.parametrize("name", sorted(AT_THE_BENCH))
def test_every_act_of_the_bench_can_be_done_twice_at_any_time(name: str) -> None:
    rig = whole_rig()
    rig.person_did(name)
    rig.person_did(name)
    assert after(rig, 1).face is not None
