"""The panel's lines through lgpio: claimed apart from the outputs, heard from another thread."""

from collections.abc import Callable, Iterator
from time import monotonic

import pytest
from pretend_pi import Bench

from controller.batch.signals import Commands, Readings
from controller.errors import BusyError, OutputError
from controller.hardware import raspberry_relays
from controller.hardware.raspberry_pins import lgpio_pins
from controller.hardware.raspberry_relays import Relays
from controller.hardware.raspberry_wires import Wires
from controller.settings.panel import Panel, Sense

pytestmark = pytest.mark.usefixtures("gpiozero_as_found", "lgpio_here")

PANEL = Panel(stop=22, next=23, sounder=24, dead_man=25)
SENSE = Sense(lamp=12, tilt=13, cut_out=16, trap=26)
OUTPUTS = (17, 27, 24, 25)
GO = Commands(lamp=True, pump=True, dead_man=True)
HUNG = """
import sys
from pathlib import Path
from controller.batch.signals import Commands
from controller.hardware.raspberry_pins import lgpio_pins
from controller.hardware.raspberry_wires import Wires
from controller.settings.panel import Panel, Sense
run = Path(sys.argv[1])
panel = Panel(stop=22, dead_man=25)
wires = Wires(lgpio_pins(run), run, lamp=17, pump=27, panel=panel, sense=Sense())
wires.apply(Commands(lamp=True, pump=True, dead_man=True))
print('on', flush=True)
sys.stdin.readline()
"""
"""A process whose loop does not come round any more."""


@pytest.fixture
def wires(bench: Bench) -> Iterator[Wires]:
    found = stand_in(bench)
    yield found
    (bench.folder / "fail").unlink(missing_ok=True)
    found.close()


def stand_in(bench: Bench) -> Wires:
    return Wires(lgpio_pins(bench.run), bench.run, lamp=17, pump=27, panel=PANEL, sense=SENSE)


def until(true: Callable[[], bool]) -> None:
    """Wait for something another process does."""
    late = monotonic() + 30.0
    while not true():
        assert monotonic() < late


def test_contacts_are_pulled_up_and_heard_through_lgpio(bench: Bench, wires: Wires) -> None:
    import lgpio

    told = wires.sensed(Readings())
    assert (told.stop_pressed, told.tilted, told.cut_out_open, told.trap_full) == (False,) * 4
    assert told.lamp_fed is False
    for line in (22, 23, 12, 13, 16, 26):
        assert f"gpio_claim_input {lgpio.SET_PULL_UP}" in bench.calls(line)
    # how long a button stands before its edge counts, in microseconds; senses have no edges
    assert "gpio_set_debounce_micros 5000" in bench.calls(22)
    assert "gpio_set_debounce_micros 50000" in bench.calls(23)
    assert not [call for call in bench.calls(16) if "alert" in call]
    wires.apply(GO)
    lgpio.move_contact(22, closed=False)
    assert (bench.line(17), bench.line(27), bench.line(25)) == ("out 0",) * 3
    assert wires.sensed(Readings()).stop_pressed
    lgpio.move_contact(23, closed=True)
    assert wires.sensed(Readings()).next_pressed


def test_stop_is_obeyed_while_the_loop_hangs(bench: Bench) -> None:
    control = bench.start(HUNG)
    assert control.stdout is not None and control.stdout.readline() == "on\n"
    assert (bench.line(17), bench.line(27)) == ("out 1", "out 1")
    bench.contact(22, closed=False)
    until(lambda: (bench.line(17), bench.line(27)) == ("out 0", "out 0"))
    # and the line that holds the contactor has had its last edge
    until(lambda: bench.line(25) == "out 0")
    assert control.poll() is None


def test_a_rig_that_was_closed_does_not_hear_the_next_ones_buttons(bench: Bench) -> None:
    import lgpio

    stand_in(bench).close()
    second = stand_in(bench)
    second.apply(GO)
    lgpio.move_contact(22, closed=False)
    assert bench.line(17) == "out 0"
    second.close()
    assert not lgpio._edges


def test_an_output_is_never_claimed_but_as_an_output_at_off(bench: Bench) -> None:
    stand_in(bench).close()
    for line in OUTPUTS:
        assert bench.calls(line)[0] == "gpio_claim_output 0"
        assert not [call for call in bench.calls(line) if "claim_input" in call]


def test_off_and_close_take_the_lamp_first(bench: Bench, wires: Wires) -> None:
    wires.apply(Commands(lamp=True, pump=True, sounder=True, dead_man=True))
    (bench.folder / "calls").unlink()
    wires.off()
    calls = [line.split()[1:] for line in (bench.folder / "calls").read_text().splitlines()]
    assert [int(line) for name, line, *_ in calls if name == "gpio_write"] == [17, 27, 24, 25]
    assert all(bench.line(line) == "out 0" for line in OUTPUTS)


def test_a_contact_another_holds_lets_every_output_go_again(bench: Bench) -> None:
    owner = bench.start(
        "import lgpio, sys; h = lgpio.gpiochip_open(0); lgpio.gpio_claim_input(h, 13);"
        "print('held', flush=True); sys.stdin.readline()"
    )
    assert owner.stdout is not None and owner.stdout.readline() == "held\n"
    with pytest.raises(BusyError, match="tilt switch on GPIO13 is held by another process"):
        stand_in(bench)
    owner.communicate("\n", timeout=30)
    stand_in(bench).close()


@pytest.mark.parametrize(("line", "name"), [(22, "STOP button"), (12, "lamp sense")])
def test_a_contact_that_cannot_be_read_is_an_output_error(
    bench: Bench, wires: Wires, line: int, name: str
) -> None:
    (bench.folder / "fail").write_text(f"gpio_read:{line}")
    with pytest.raises(OutputError, match=f"{name} cannot be read"):
        wires.sensed(Readings())


@pytest.mark.parametrize("commands", [Commands(), Commands(pump=True, dead_man=True)], ids=str)
@pytest.mark.parametrize("edges", [1, 2])
def test_after_a_lamp_off_that_failed_the_dead_man_line_has_no_further_edge(
    bench: Bench, wires: Wires, commands: Commands, edges: int
) -> None:
    for _ in range(edges):
        wires.apply(GO)
    stood = bench.line(25)
    (bench.folder / "fail").write_text("gpio_write:17")
    with pytest.raises(OutputError, match="lamp on GPIO17 could not be switched OFF"):
        wires.apply(commands)
    with pytest.raises(OutputError, match="lamp on GPIO17 could not be switched OFF"):
        wires.off()
    assert bench.line(25) == stood
    # nor once the lamp follows again: who runs this has been told, and is leaving
    (bench.folder / "fail").unlink()
    wires.apply(GO)
    wires.apply(Commands())
    wires.off()
    assert bench.line(25) == stood
    assert bench.line(17) == "out 0"


def test_a_stop_whose_lamp_off_failed_stills_the_dead_man_line_and_is_raised(
    bench: Bench, wires: Wires
) -> None:
    import lgpio

    wires.apply(GO)
    (bench.folder / "fail").write_text("gpio_write:17")
    lgpio.move_contact(22, closed=False)
    assert (bench.line(27), bench.line(25)) == ("out 0", "out 1")
    assert wires.sensed(Readings()).stop_pressed
    with pytest.raises(OutputError, match="lamp on GPIO17 could not be switched OFF"):
        wires.apply(Commands())
    assert bench.line(25) == "out 1"


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("gpio_write:25", "dead-man on GPIO25 could not be switched ON"),
        ("gpio_read:25", "dead-man on GPIO25 cannot be read"),
    ],
)
def test_a_dead_man_line_that_does_not_follow_is_an_output_error(
    bench: Bench, wires: Wires, call: str, says: str
) -> None:
    (bench.folder / "fail").write_text(call)
    with pytest.raises(OutputError, match=rf"{says} .*; pull the lamp's plug"):
        wires.apply(GO)
    (bench.folder / "fail").unlink()
    assert not wires.outputs().dead_man
    wires.apply(GO)
    assert not wires.outputs().dead_man
    assert bench.line(25) == "out 0"


def test_the_dead_man_line_does_not_move_where_another_output_did_not_follow(
    bench: Bench, wires: Wires
) -> None:
    (bench.folder / "fail").write_text("gpio_write:24")
    with pytest.raises(OutputError, match=r"sounder on GPIO24 .*; look at its wires$"):
        wires.apply(Commands(sounder=True, dead_man=True))
    assert bench.line(25) == "out 0"


def test_a_sounder_that_calls_for_help_is_waited_for(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    import lgpio

    caller = lgpio.gpiochip_open(0)
    lgpio.gpio_claim_output(caller, 24)
    waits: list[float] = []

    def wait(seconds: float) -> None:
        waits.append(seconds)
        lgpio.gpio_free(caller, 24)

    monkeypatch.setattr(raspberry_relays, "sleep", wait)
    stand_in(bench).close()
    assert len(waits) == 1


def test_a_sounder_that_is_never_let_go_is_busy(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    import lgpio

    caller = lgpio.gpiochip_open(0)
    lgpio.gpio_claim_output(caller, 24)
    ticks = iter(range(100))
    monkeypatch.setattr(raspberry_relays, "monotonic", lambda: float(next(ticks)))
    monkeypatch.setattr(raspberry_relays, "sleep", lambda seconds: None)
    with pytest.raises(BusyError, match="sounder on GPIO24 is held by another process"):
        stand_in(bench)
    assert next(ticks) < 10
    # the others were let go of
    Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27, dead_man=25).close()


def test_a_device_thrown_away_while_another_is_claimed_stops_nobody(bench: Bench) -> None:
    pins = lgpio_pins(bench.run)
    # as gpiozero does: it holds this while it claims, and takes it again to give back
    for factory in (pins.factory, pins.inputs):
        with factory._res_lock:
            assert factory._res_lock.acquire(blocking=False)
            factory._res_lock.release()


def test_the_panels_drivers_are_imported_without_lgpio(bench: Bench) -> None:
    code = """
import sys
import controller.hardware.raspberry_wires
print(sorted({'gpiozero', 'lgpio', 'w1thermsensor'} & set(sys.modules)))
"""
    assert bench.result(code) == "[]"
