"""Each step of the bench check: what passes it, and what must not.

The limits are own; what is held against them is what the pretend rig is told to do wrong.
"""

from pathlib import Path

import pytest
from benches import BAROMETER, MOCK, NO_SENSES, Person, PretendRig, bench, settings, step

from controller.batch.signals import Commands, Role
from controller.commissioning.walk import STEPS, walk
from controller.settings.panel import Panel, Sense
from controller.settings.sections import Lamp, Pump


@pytest.mark.parametrize("changes", [{}, MOCK], ids=["simulated", "real drivers"])
def test_a_rig_that_is_well_passes_every_step(tmp_path: Path, changes: dict[str, str]) -> None:
    with bench(settings(tmp_path, changes)) as on:
        found = {result.step: result for result in walk(on, STEPS)}
    assert {result.verdict for result in found.values()} == {"pass"}, found
    assert list(found) == [each.name for each in STEPS]
    assert found["points"].corrections == {}
    # what the plant is made of, which the check does not know: 1.5 L
    assert found["bag"].figures["bag_volume_m3"] == pytest.approx(1.5e-3, rel=0.03)
    for end in ("high", "low"):
        assert 1.9 <= found["dead-man"].figures[f"dead_man_{end}_s"] <= 2.1
    assert found["STOP"].figures["stop_within_s"] <= 0.1


@pytest.mark.parametrize(
    ("name", "fault", "role", "value", "says"),
    [
        ("wired", "probe_silent", Role.ROOM, None, "no answer: room"),
        ("wired", "gauge_silent", None, None, "no answer: gauge"),
        ("wired", "barometer_silent", None, None, "no answer: barometer"),
        ("wired", "stop_wire_broken", None, None, "STOP reads as pressed: its wire"),
        ("wired", "lamp_tilted", None, None, "lamp's stand reads as leaning"),
        ("wired", "probe_offset", Role.ROOM, 9.0, "apart: hang all of them"),
        ("lamp", "lamp_inverted", None, None, "its circuit is live: pull the plug"),
        ("lamp", "lamp_stuck_on", None, None, "its circuit is live: pull the plug"),
        ("lamp", "lamp_stuck_off", None, None, "its circuit was never seen live"),
        ("lamp", "cut_out_open", None, None, "its circuit was never seen live"),
        ("lamp", "bulb_out", None, None, "its bulb whole"),
        ("lamp", "probe_fell", None, None, "is this the face probe"),
        ("lamp", "stop_wire_broken", None, None, "STOP was pressed; begin again"),
        ("lamp", "probe_silent", Role.FACE, None, "the face probe does not answer"),
        ("lamp", "lamp_sense_broken", None, None, "its circuit was never seen live"),
        ("points", "probe_offset", Role.FACE, 2.5, "replace it"),
        ("points", "probe_frozen", Role.FACE, None, "replace it"),
        ("gauge", "gauge_offset", None, 4e3, "the open gauge is +4.0 kPa from the barometer"),
        ("gauge", "barometer_silent", None, None, "the barometer does not answer"),
        ("bag", "pump_dead", None, None, "the pump reached"),
        ("bag", "leak", None, 60.0, "thumb along the tape"),
        ("bag", "gauge_frozen", None, None, "look at pump, hose, valve and gauge"),
        ("bag", "line_pinched", None, None, "is the hose between bag and gauge free?"),
        ("bag", "gauge_silent", None, None, "the gauge does not answer"),
        ("cut-out", "cut_out_bridged", None, None, "it did not open"),
        ("dead-man", "dead_man_stuck", None, None, "does not drop the contactor"),
        ("STOP", "stop_wire_broken", None, None, "STOP reads as pressed"),
        ("tilt", "lamp_tilted", None, None, "tells already"),
        ("float", "trap_full", None, None, "tells already"),
    ],
)
def test_what_is_wrong_is_found_and_said(
    tmp_path: Path, name: str, fault: str, role: Role | None, value: float | None, says: str
) -> None:
    with bench(settings(tmp_path, BAROMETER)) as on:
        on.watch(6.0)
        rig = on.rig
        assert hasattr(rig, "add_fault")
        rig.add_fault(fault, value, role or Role.FACE)
        on.watch(6.0)
        result = step(on, name)
        assert on.rig.outputs() == Commands()
    assert (result.verdict, says in result.says) == ("fail", True), result


def test_a_swapped_pair_of_probes_is_found(tmp_path: Path) -> None:
    def other_hand(rig: PretendRig, act: str) -> None:
        if act == "HOLD FACE PROBE":
            rig.person_did("LET GO PROBES")
            rig.person_did("HOLD ROOM PROBE")

    with bench(settings(tmp_path), spoil=other_hand) as on:
        on.watch(6.0)
        result = step(on, "probes")
    assert result.verdict == "fail"
    assert "you held the face probe, and what rose was room" in result.says


@pytest.mark.parametrize(
    ("role", "off", "correction"), [(Role.FACE, 1.5, -1.5), (Role.FILM, -0.8, 0.8)]
)
def test_a_probe_that_is_a_little_off_is_corrected(
    tmp_path: Path, role: Role, off: float, correction: float
) -> None:
    with bench(settings(tmp_path)) as on:
        on.rig.add_fault("probe_offset", off, role)  # type: ignore[attr-defined]
        result = step(on, "points")
    assert result.verdict == "pass"
    assert list(result.corrections) == [str(role)]
    assert result.corrections[str(role)] == pytest.approx(correction, abs=0.1)


def test_a_lamp_nobody_lights_is_not_proved(tmp_path: Path) -> None:
    with bench(settings(tmp_path), Person({"Type LAMP": "no"})) as on:
        assert step(on, "lamp").verdict == "skipped"


def test_nothing_is_lit_while_somebody_thinks(tmp_path: Path) -> None:
    class Slow(Person):
        def ask(self, question: str, careful: str) -> str:
            stood.append(on.rig.outputs())
            return super().ask(question, careful)

    stood: list[Commands] = []
    with bench(settings(tmp_path, NO_SENSES), Slow()) as on:
        walk(on, STEPS)
    assert len(stood) > 30 and set(stood) == {Commands()}


@pytest.mark.parametrize("fault", ["lamp_inverted", "lamp_stuck_on"])
def test_without_a_sense_the_face_tells_of_a_lamp_that_burns_on_off(
    tmp_path: Path, fault: str
) -> None:
    with bench(settings(tmp_path, NO_SENSES)) as on:
        on.rig.add_fault(fault)  # type: ignore[attr-defined]
        result = step(on, "lamp")
    assert result.verdict == "fail"
    assert result.says.startswith("the lamp was OFF, and the face rose 1.")


def test_a_face_that_is_hot_ends_the_lamps_proof(tmp_path: Path) -> None:
    with bench(settings(tmp_path)) as on:
        on.rig.add_fault("probe_offset", 28.0, Role.FACE)  # type: ignore[attr-defined]
        result = step(on, "lamp")
        assert on.rig.outputs() == Commands()
    assert (result.verdict, "the face is at 50.0 °C" in result.says) == ("fail", True)


def test_without_senses_the_persons_eyes_count(tmp_path: Path) -> None:
    told = settings(tmp_path, NO_SENSES)
    with bench(told) as on:
        found = {name: step(on, name) for name in ("lamp", "cut-out", "dead-man")}
    assert {result.verdict for result in found.values()} == {"pass"}
    with bench(told, Person({"lamp burn": "no", "lamp stay dark?": "no", "dark all": "no"})) as on:
        for name in ("lamp", "dead-man", "cut-out"):
            assert step(on, name).verdict == "fail"
    with bench(told, Person({"Is a thermal cut-out fitted": "no"})) as on:
        assert step(on, "cut-out").verdict == "not fitted"


def test_what_is_not_wired_is_not_asked_for(tmp_path: Path) -> None:
    told = settings(tmp_path)
    told = told.model_copy(
        update={
            "lamp": Lamp(wired="by hand"),
            "pump": Pump(wired="absent"),
            "panel": Panel(),
            "sense": Sense(cut_out=16),
        }
    )
    with bench(told) as on:
        found = {result.step: result.verdict for result in walk(on, STEPS)}
    fitted = {name for name, verdict in found.items() if verdict == "pass"}
    assert fitted == {"wired", "outputs", "probes", "points", "gauge", "cut-out", "room"}
    assert set(found.values()) == {"pass", "not fitted"}


def test_a_step_that_is_left_out_is_written_down_as_that(tmp_path: Path) -> None:
    for question in ("Shut an empty bag", "Let 60 mL"):
        with bench(settings(tmp_path), Person({question: "skip"})) as on:
            assert step(on, "bag").verdict == "skipped"


def test_without_a_syringe_a_bag_has_no_volume(tmp_path: Path) -> None:
    with bench(settings(tmp_path), Person({"Let 60 mL": "none"})) as on:
        result = step(on, "bag")
    assert result.verdict == "pass" and "bag_volume_m3" not in result.figures
    assert result.figures["to_half_s"] < result.figures["to_target_s"] < 120.0


def test_a_pump_that_a_hand_switches_is_asked_for(tmp_path: Path) -> None:
    person = Person()
    told = settings(tmp_path, {'[pump]\nwired = "wired"': '[pump]\nwired = "by hand"'})
    with bench(told, person) as on:
        assert step(on, "bag").verdict == "pass"
        assert not on.rig.truth().bag < 90e3  # type: ignore[attr-defined]
    asked = [line for line in person.heard if line.startswith("Switch the pump")]
    assert asked == [f"Switch the pump {how}. Then press Enter." for how in ("on", "off")]


def test_a_rig_without_a_gauge_has_neither_zero_nor_bag(tmp_path: Path) -> None:
    told = settings(tmp_path, {'[gauge]\nwired = "wired"': '[gauge]\nwired = "by hand"'})
    with bench(told) as on:
        assert {step(on, name).verdict for name in ("gauge", "bag")} == {"not fitted"}


def test_a_narrow_hold_band_wants_a_tighter_bag(tmp_path: Path) -> None:
    told = settings(tmp_path, {'hold_band = "3 inHg"': 'hold_band = "0.3 inHg"'})
    with bench(told) as on:
        result = step(on, "bag")
    assert (result.verdict, "or a wider band" in result.says) == ("fail", True)


def test_the_face_probe_must_be_right_and_the_others_may_stay_where_they_are(
    tmp_path: Path,
) -> None:
    person = Person({"come off": "no"})
    with bench(settings(tmp_path), person) as on:
        on.rig.add_fault("probe_offset", 4.0, Role.FILM)  # type: ignore[attr-defined]
        result = step(on, "points")
    assert (result.verdict, list(result.figures)) == ("pass", ["face_ice_k", "face_warm_k"])
    assert "  Put the face probe into crushed ice and water, stirred." not in person.heard
    told = settings(tmp_path)
    bare = told.model_copy(update={"probes": told.probes.model_copy(update={"face": None})})
    with bench(bare, Person({"come off": "skip"})) as on:
        assert step(on, "points").verdict == "not fitted"


def test_a_bath_that_is_none_is_asked_for_again(tmp_path: Path) -> None:
    class Hasty(Person):
        def __init__(self) -> None:
            super().__init__()
            self.said = ["45", "20 C"]

        def ask(self, question: str, careful: str) -> str:
            if "thermometer say" in question and self.said:
                return self.said.pop(0)
            return super().ask(question, careful)

    person = Hasty()
    with bench(settings(tmp_path), person) as on:
        assert step(on, "points").verdict == "pass"
    assert any("A bath from" in line for line in person.heard)
