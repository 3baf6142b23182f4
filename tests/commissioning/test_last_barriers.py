"""What the proof must find in the parts that act when all else has failed."""

from itertools import pairwise
from pathlib import Path

import pytest
from benches import BAROMETER, MOCK, Person, PretendRig, bench, settings, step

from controller.batch.signals import Commands
from controller.hardware import simulated
from controller.hardware.simulated import SimulatedRig


@pytest.mark.parametrize("hold", [3.0, 2.5])
def test_a_dead_man_that_holds_too_long_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, hold: float
) -> None:
    # one of its two timing resistors broken: 3.0 s in place of 1.5 s
    monkeypatch.setattr(simulated, "DEAD_MAN", hold)
    with bench(settings(tmp_path)) as on:
        result = step(on, "dead-man")
    assert (result.verdict, "2.15 s later the lamp's circuit was live" in result.says) == (
        "fail",
        True,
    )


def test_a_dead_man_that_lets_go_between_two_edges_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(simulated, "DEAD_MAN", 0.9)
    with bench(settings(tmp_path)) as on:
        result = step(on, "dead-man")
    assert result.verdict == "fail"


@pytest.mark.parametrize("level", [True, False])
def test_a_dead_man_that_a_level_holds_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, level: bool
) -> None:
    """An off-delay timer in its place: its input held on holds it for ever."""
    line = False

    def apply(commands: Commands) -> None:
        nonlocal line
        line = commands.dead_man and not line
        whole(commands)
        if line is level and commands.dead_man:
            rig._edge_left = float("inf")

    with bench(settings(tmp_path)) as on:
        rig = on.rig
        assert isinstance(rig, SimulatedRig)
        whole = rig.apply
        monkeypatch.setattr(rig, "apply", apply)
        result = step(on, "dead-man")
    assert result.verdict == "fail" and "does not drop the contactor" in result.says


def test_the_line_stands_high_once_and_low_once_on_the_real_drivers(tmp_path: Path) -> None:
    read_at: list[tuple[float, int]] = []

    class Watched:
        def __getattr__(self, name: str) -> object:
            return getattr(rig, name)

        def read(self, now: float) -> object:
            line = rig._wires._relays._devices["dead_man"]  # type: ignore[attr-defined]
            read_at.append((now, line.value))
            return rig.read(now)

    with bench(settings(tmp_path, MOCK)) as on:
        rig = on.rig
        on.rig = Watched()  # type: ignore[assignment]
        assert step(on, "dead-man").verdict == "pass"
    # those that come close after another: while the line stands
    stood = [level for (before, _), (at, level) in pairwise(read_at) if at - before < 0.5]
    assert set(stood) == {0, 1} and stood == sorted(stood, reverse=True)


def test_a_cut_out_that_tells_and_does_not_cut_is_found(tmp_path: Path) -> None:
    def beside(rig: PretendRig, act: str) -> None:
        if act == "HEAT CUT OUT":
            # its telling contact opens; a wire goes across the one in the lamp's circuit
            assert isinstance(rig, SimulatedRig)
            told = rig.contacts.opened
            rig.contacts.opened = (  # type: ignore[method-assign]
                lambda name: True if name == "cut_out" else told(name)
            )
            rig.plant.lamp.reset_cut_out()

    with bench(settings(tmp_path), spoil=beside) as on:
        result = step(on, "cut-out")
        assert on.rig.outputs() == Commands()
    assert (result.verdict, "fed with its cut-out open" in result.says) == ("fail", True)


def test_a_cut_out_that_closes_by_itself_is_found(tmp_path: Path) -> None:
    ticks = 0

    def cooling(seconds: float) -> None:
        nonlocal ticks
        ticks += 1
        wait(seconds)
        if ticks == 5:
            on.hands("RESET CUT OUT")

    with bench(settings(tmp_path)) as on:
        wait, on.pause = on.pause, cooling
        result = step(on, "cut-out")
    assert (result.verdict, "by itself" in result.says) == ("fail", True)


def test_a_lamp_that_a_hand_switches_is_tried_by_that_hand(tmp_path: Path) -> None:
    by_hand = {'[lamp]\nwired = "wired"': '[lamp]\nwired = "by hand"', "gpio = 17": ""}
    asked = Person()
    with bench(settings(tmp_path, by_hand), asked) as on:
        assert step(on, "cut-out").verdict == "pass"
    assert any("and switch it on: it must stay dark" in line for line in asked.heard)


def test_a_stop_that_is_seen_and_does_not_stop_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with bench(settings(tmp_path)) as on:
        monkeypatch.setattr(on.rig, "outputs", lambda: Commands(pump=True))
        result = step(on, "STOP")
    assert (result.verdict, "an output stayed ON" in result.says) == ("fail", True)


def test_a_stop_nobody_presses_is_not_proved(tmp_path: Path) -> None:
    with bench(settings(tmp_path)) as on:
        hands = on.hands
        on.hands = lambda act: None if act == "PRESS STOP" else hands(act)
        result = step(on, "STOP")
        assert on.rig.outputs() == Commands()
    assert (result.verdict, "STOP was not seen" in result.says) == ("fail", True)


def test_a_stop_with_the_lamp_plugged_in_is_not_tried(tmp_path: Path) -> None:
    def left_in(rig: PretendRig, act: str) -> None:
        if act == "LAMP OUT":
            rig.person_did("LAMP IN")

    with bench(settings(tmp_path), spoil=left_in) as on:
        result = step(on, "STOP")
    assert (result.verdict, "its plug is in" in result.says) == ("fail", True)


def test_a_next_that_taps_itself_is_found(tmp_path: Path) -> None:
    with bench(settings(tmp_path)) as on:
        wait = on.pause

        def pause(seconds: float) -> None:
            on.hands("TAP NEXT")
            wait(seconds)

        on.pause = pause
        result = step(on, "NEXT")
    assert (result.verdict, "taps itself" in result.says) == ("fail", True)


@pytest.mark.parametrize(
    ("step_name", "act", "says"),
    [
        ("NEXT", "TAP NEXT", "NEXT was not seen"),
        ("tilt", "TILT LAMP", "the tilt switch was not seen"),
        ("tilt", "RIGHT LAMP", "the tilt switch does not go back"),
        ("float", "LIFT FLOAT", "the float switch was not seen"),
        ("cut-out", "RESET CUT OUT", "its button does not close it"),
        ("STOP", "LET GO STOP", "STOP still reads as pressed"),
    ],
)
def test_what_a_hand_does_not_move_is_not_proved(
    tmp_path: Path, step_name: str, act: str, says: str
) -> None:
    with bench(settings(tmp_path)) as on:
        hands = on.hands
        on.hands = lambda done: None if done == act else hands(done)
        result = step(on, step_name)
    assert (result.verdict, says in result.says) == ("fail", True), result


def test_a_sounder_that_wakes_nobody_is_none(tmp_path: Path) -> None:
    with bench(settings(tmp_path), Person({"would it wake you": "no"})) as on:
        assert step(on, "sounder").verdict == "fail"


# --- the gauge's zero, which a restart's pump goes by


@pytest.mark.parametrize(
    ("barometer", "off", "verdict", "corrected"),
    [
        (True, 0.7e3, "pass", None),
        (True, -1.8e3, "pass", 1.8e3),
        (True, 3.4e3, "fail", None),
        # the air of that evening is 0.3 kPa above the altitude's
        (False, 2.4e3, "pass", None),
        (False, 4.0e3, "pass", -4.3e3),
        (False, -6.0e3, "fail", None),
    ],
)
def test_a_gauges_zero_is_taken_corrected_or_refused(
    tmp_path: Path, barometer: bool, off: float, verdict: str, corrected: float | None
) -> None:
    with bench(settings(tmp_path, BAROMETER if barometer else {})) as on:
        on.watch(1.0)
        on.rig.add_fault("gauge_offset", off)  # type: ignore[attr-defined]
        result = step(on, "gauge")
    assert result.verdict == verdict, result
    if corrected is None:
        assert result.corrections == {}
    else:
        assert result.corrections["bag"] == pytest.approx(corrected, abs=100.0)


def test_a_correction_nobody_wants_leaves_a_gauge_that_is_off(tmp_path: Path) -> None:
    with bench(settings(tmp_path, BAROMETER), Person({"Correct its readings": "no"})) as on:
        on.watch(1.0)
        on.rig.add_fault("gauge_offset", 1.8e3)  # type: ignore[attr-defined]
        result = step(on, "gauge")
    assert (result.verdict, result.corrections) == ("fail", {})
    assert "its two points in rig.toml" in result.says
