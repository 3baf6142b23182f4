"""What every rig promises the runner: both pretend ones, the real one over the stand-in for lgpio,
and, with `-m wired` on a Pi, the real one on its wires."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from every_rig import HOW, Held, mocked, on_the_wires, over_the_standin, simulated

from controller.batch.signals import Commands
from controller.errors import OutputError

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")

GO = Commands(lamp=True, pump=True, dead_man=True)
WIRED = pytest.param("wired", marks=pytest.mark.wired)
PRETEND = ("simulated", "mock")
BACK_ENDS = (*PRETEND, "raspberry", WIRED)
DRIVERS = ("mock", "raspberry")
"""Those whose STOP is a line with an edge."""
SENSES = {"tilt": "tilted", "cut_out": "cut_out_open", "trap": "trap_full"}
"""A contact, and the reading that says it is open."""

Build = Callable[..., Held]


@pytest.fixture
def build(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Build]:
    built: list[Held] = []

    def build(backend: str, bare: bool = False) -> Held:
        """bare: nothing is wired beside lamp and pump, but on the wires"""
        if backend == "raspberry":
            request.getfixturevalue("lgpio_here")
            held = over_the_standin(request.getfixturevalue("bench"), bare)
        elif backend == "wired":
            held = on_the_wires()
        else:
            held = simulated(bare) if backend == "simulated" else mocked(tmp_path, bare)
        built.append(held)
        return held

    yield build
    for held in built:
        held.rig.close()


def wired_part(held: Held, commands: Commands) -> Commands:
    """What can be read back of these commands: outputs that are not wired are never on."""
    on = {name: getattr(commands, name) and name in held.outputs for name in held.outputs}
    return Commands(**on)


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_every_output_is_off_at_first(build: Build, backend: str) -> None:
    assert build(backend).rig.outputs() == Commands()


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_a_rig_says_whether_it_is_simulated(build: Build, backend: str) -> None:
    assert build(backend).rig.simulated is (backend in PRETEND)


@pytest.mark.parametrize("backend", BACK_ENDS)
@pytest.mark.parametrize(
    "commands",
    [
        Commands(),
        Commands(lamp=True),
        Commands(pump=True),
        Commands(sounder=True),
        Commands(dead_man=True),
        Commands(lamp=True, pump=True, sounder=True, dead_man=True),
    ],
    ids=str,
)
def test_outputs_are_what_was_last_applied(build: Build, backend: str, commands: Commands) -> None:
    held = build(backend)
    assert not held.read().stop_pressed, "let STOP go, and look at its wire"
    held.rig.apply(commands)
    assert held.rig.outputs() == wired_part(held, commands)
    held.read()
    assert held.rig.outputs() == wired_part(held, commands)
    held.rig.apply(Commands())
    assert held.rig.outputs() == Commands()


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_the_dead_man_is_said_to_move_only_by_the_switching_that_moved_it(
    build: Build, backend: str
) -> None:
    held = build(backend)
    held.read()
    told = []
    for moves in (True, True, False, True):
        held.rig.apply(Commands(dead_man=moves))
        told.append(held.rig.outputs().dead_man)
    there = "dead_man" in held.outputs
    assert told == [there, there, False, there]


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_off_is_at_once_for_everything_and_may_be_said_twice(build: Build, backend: str) -> None:
    held = build(backend)
    held.read()
    held.rig.apply(Commands(lamp=True, pump=True, sounder=True, dead_man=True))
    held.rig.off()
    held.rig.off()
    assert held.rig.outputs() == Commands()
    held.rig.apply(Commands(pump=True))
    assert held.rig.outputs() == wired_part(held, Commands(pump=True))


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_close_leaves_everything_off_for_good(build: Build, backend: str) -> None:
    held = build(backend)
    held.read()
    held.rig.apply(Commands(lamp=True, sounder=True, dead_man=True))
    held.rig.close()
    held.rig.close()
    held.rig.off()
    assert held.rig.outputs() == Commands()
    with pytest.raises(OutputError, match="closed"):
        held.rig.apply(Commands())


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_stop_is_told_by_each_reading_while_it_is_down(build: Build, backend: str) -> None:
    held = build(backend)
    assert not held.read().stop_pressed
    held.move("stop", False)
    assert [held.read().stop_pressed for _ in range(3)] == [True] * 3
    held.move("stop", True)
    assert not held.read().stop_pressed


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_next_is_told_once_a_tap(build: Build, backend: str) -> None:
    held = build(backend)
    told = [held.read().next_pressed]
    for _ in range(2):
        held.tap()
        told += [held.read().next_pressed, held.read().next_pressed]
    assert told == [False, True, False, True, False]


@pytest.mark.parametrize("backend", BACK_ENDS)
@pytest.mark.parametrize("name", SENSES)
def test_what_opens_is_told_within_two_readings_and_what_closes_at_once(
    build: Build, backend: str, name: str
) -> None:
    held = build(backend)
    well = held.read()
    assert [getattr(well, reading) for reading in SENSES.values()] == [False] * 3
    held.move(name, False)
    held.read()
    bad = held.read()
    assert [name for name, reading in SENSES.items() if getattr(bad, reading)] == [name]
    held.move(name, True)
    assert getattr(held.read(), SENSES[name]) is False


@pytest.mark.parametrize("backend", [*PRETEND, "raspberry"])
def test_what_is_not_wired_tells_nothing(build: Build, backend: str) -> None:
    held = build(backend, bare=True)
    told = held.read()
    assert (told.lamp_fed, told.tilted, told.cut_out_open, told.trap_full) == (None,) * 4
    assert not told.stop_pressed and not told.next_pressed
    assert told.infrared is None
    held.rig.apply(Commands(lamp=True))
    assert held.rig.outputs().lamp


@pytest.mark.parametrize("backend", DRIVERS)
def test_a_press_of_stop_between_two_readings_is_dark_at_once_and_told(
    build: Build, backend: str
) -> None:
    held = build(backend)
    held.read()
    held.rig.apply(GO)
    held.move("stop", False)
    assert held.rig.outputs() == Commands()
    held.move("stop", True)
    held.rig.apply(GO)
    assert held.rig.outputs() == Commands()
    assert [held.read().stop_pressed for _ in range(2)] == [True, False]
    held.rig.apply(GO)
    assert held.rig.outputs() == GO


@pytest.mark.parametrize("backend", DRIVERS)
def test_nothing_comes_on_while_stop_is_down(build: Build, backend: str) -> None:
    held = build(backend)
    held.move("stop", False)
    for _ in range(3):
        held.read()
        held.rig.apply(Commands(lamp=True, pump=True, sounder=True, dead_man=True))
        assert held.rig.outputs() == Commands(sounder=True)


def test_a_wired_run_without_a_rig_is_skipped_and_says_how_to_run_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("WARMDRAW_RIG", raising=False)
    with pytest.raises(pytest.skip.Exception, match="plugs of lamp and pump OUT"):
        on_the_wires()
    assert "-m wired" in HOW and "\n" not in HOW
