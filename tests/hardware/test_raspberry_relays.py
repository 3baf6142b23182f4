"""Lamp and pump relays: over gpiozero's mock lines, and over lines that outlive their owner."""

import json
import signal
import threading
from pathlib import Path

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPin
from pretend_pi import LAMP_ON, OWNER, Bench

from controller.errors import BusyError, InputError, OutputError
from controller.hardware.claimed import process_started, read_outputs
from controller.hardware.raspberry_pins import ALLOWED_LINES, Pins, lgpio_pins, mock_pins
from controller.hardware.raspberry_relays import Relays
from controller.settings.bounds import LINES

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")


def relays(folder: Path, pin: type[MockPin] = MockPin) -> Relays:
    mock = MockFactory(revision="a02082", pin_class=pin)
    return Relays(Pins("mock", mock, mock), folder, lamp=17, pump=27)


def test_lines_are_outputs_at_off_and_read_back_as_switched(tmp_path: Path) -> None:
    bench = relays(tmp_path)
    assert bench.levels() == (False, False)
    bench.switch(True, False)
    assert bench.levels() == (True, False)
    bench.switch(False, True)
    assert bench.levels() == (False, True)
    bench.off()
    assert bench.levels() == (False, False)
    bench.close()
    bench.close()
    bench.off()
    assert bench.levels() == (False, False)
    with pytest.raises(OutputError, match="closed"):
        bench.switch(False, False)


def test_gpiozeros_own_clean_up_knows_the_factory_until_close(tmp_path: Path) -> None:
    pins = mock_pins()
    bench = Relays(pins, tmp_path, lamp=17, pump=27)
    assert Device.pin_factory is pins.factory
    bench.close()
    assert Device.pin_factory is None


def test_an_output_that_is_not_wired_is_left_alone(tmp_path: Path) -> None:
    bench = Relays(mock_pins(), tmp_path, lamp=None, pump=27)
    bench.switch(True, True)
    assert bench.levels() == (False, True)
    assert read_outputs(tmp_path).lines == {"pump": 27}
    bench.close()


@pytest.mark.parametrize("line", [0, 4, 8, 14, 15, 28])
def test_a_line_that_can_be_high_at_boot_is_refused(tmp_path: Path, line: int) -> None:
    with pytest.raises(InputError, match=f"lamp on GPIO{line}"):
        Relays(mock_pins(), tmp_path, lamp=line, pump=27)


def test_lamp_and_pump_cannot_share_a_line(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="both on GPIO17"):
        Relays(mock_pins(), tmp_path, lamp=17, pump=17)


def test_the_settings_allow_the_lines_that_the_driver_allows() -> None:
    assert frozenset(LINES) == ALLOWED_LINES


def test_outputs_json_names_the_lines_and_their_holder(tmp_path: Path) -> None:
    bench = relays(tmp_path)
    outputs = read_outputs(tmp_path)
    assert (outputs.label, outputs.lines) == ("mock", {"lamp": 17, "pump": 27})
    assert process_started(outputs.pid) == outputs.started
    assert [path.name for path in tmp_path.iterdir()] == ["outputs.json"]
    bench.close()


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"label": "mock", "lines": {"lamp": 4}, "pid": 9, "started": 9}']
)
def test_an_outputs_json_that_cannot_be_used_is_said(tmp_path: Path, text: str) -> None:
    (tmp_path / "outputs.json").write_text(text)
    with pytest.raises(InputError, match=r"outputs\.json cannot be used"):
        read_outputs(tmp_path)


def test_a_run_folder_that_cannot_be_written_refuses_the_claim(tmp_path: Path) -> None:
    pins = mock_pins()
    with pytest.raises(OutputError, match="make the run folder writable"):
        Relays(pins, tmp_path / "missing", lamp=17, pump=27)
    # let go of: the next can claim
    Relays(pins, tmp_path, lamp=17, pump=27).close()


def test_a_second_owner_in_the_same_process_is_refused(tmp_path: Path) -> None:
    pins = mock_pins()
    first = Relays(pins, tmp_path, lamp=17, pump=27)
    first.switch(True, False)
    with pytest.raises(BusyError, match="lamp on GPIO17 is held"):
        Relays(pins, tmp_path, lamp=17, pump=22)
    first.close()


class StuckPin(MockPin):  # type: ignore[misc]
    """A line that goes high once and stays."""

    def _change_state(self, value: bool) -> bool:
        return bool(value) and bool(super()._change_state(value))


class DeadPin(MockPin):  # type: ignore[misc]
    """A line whose writes fail in the kernel."""

    def _set_state(self, value: bool) -> None:
        if self._function == "output" and value != self._state:
            raise OSError(5, "Input/output error")


def test_a_line_that_does_not_read_back_off_is_an_error_after_all_were_tried(
    tmp_path: Path,
) -> None:
    bench = relays(tmp_path, StuckPin)
    bench.switch(True, True)
    with pytest.raises(OutputError) as caught:
        bench.off()
    assert "lamp on GPIO17 was switched OFF and reads ON" in str(caught.value)
    assert "pump on GPIO27" in str(caught.value)
    with pytest.raises(OutputError, match="GPIO17"):
        bench.close()
    bench.close()


def test_a_write_that_fails_is_one_line_and_the_other_output_is_still_tried(
    tmp_path: Path,
) -> None:
    pins = mock_pins()
    pins.factory.pin(17, pin_class=DeadPin)
    bench = Relays(pins, tmp_path, lamp=17, pump=27)
    with pytest.raises(OutputError, match=r"^lamp on GPIO17 could not be switched ON [^\n]*$"):
        bench.switch(True, True)
    assert bench.levels() == (False, True)
    bench.close()


def test_off_in_the_middle_of_a_switch_has_the_last_word(tmp_path: Path) -> None:
    interrupts: list[Relays] = []

    class InterruptedPin(MockPin):  # type: ignore[misc]
        """A signal arrives just before the line goes high."""

        def _set_state(self, value: bool) -> None:
            if value and interrupts:
                interrupts.pop().off()
            super()._set_state(value)

    bench = relays(tmp_path, InterruptedPin)
    interrupts.append(bench)
    bench.switch(True, True)
    assert bench.levels() == (False, False)
    # what had not been switched yet is not switched any more
    assert [state.state for state in Device.pin_factory.pin(27).states] == [False]
    bench.switch(True, True)
    assert bench.levels() == (True, True)
    bench.close()


@pytest.mark.usefixtures("lgpio_here")
@pytest.mark.parametrize("lamp", [True, False])
def test_what_goes_off_goes_before_what_comes_on(bench: Bench, lamp: bool) -> None:
    outputs = Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27)
    outputs.switch(lamp, not lamp)
    (bench.folder / "calls").unlink()
    outputs.switch(not lamp, lamp)
    calls = (bench.folder / "calls").read_text().splitlines()
    writes = [line.split(" ", 1)[1] for line in calls if "gpio_write" in line]
    off, on = (17, 27) if lamp else (27, 17)
    assert writes == [f"gpio_write {off} 0", f"gpio_write {on} 1"]
    outputs.close()


def test_off_may_come_from_another_thread(tmp_path: Path) -> None:
    bench = relays(tmp_path)
    bench.switch(True, True)
    thread = threading.Thread(target=bench.off)
    thread.start()
    thread.join()
    assert bench.levels() == (False, False)
    bench.close()


def test_without_lgpio_the_claim_is_refused_and_not_pretended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "lgpio", None)
    monkeypatch.setenv("LG_WD", "")
    with pytest.raises(OutputError, match="lgpio cannot be imported"):
        lgpio_pins(tmp_path)


@pytest.mark.usefixtures("lgpio_here")
def test_a_claim_is_at_off_with_no_blip_and_no_floating_input(bench: Bench) -> None:
    outputs = Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27)
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 0")
    outputs.switch(True, False)
    assert (bench.line(17), bench.line(27)) == ("out 1", "out 0")
    outputs.close()
    for number in (17, 27):
        calls = bench.calls(number)
        assert calls[0] == "gpio_claim_output 0"
        assert not [call for call in calls if "claim_input" in call]
        assert calls[-1] == "gpio_free"
        assert bench.line(number) == "out 0"
    lamp = bench.calls(17)
    assert [call for call in lamp[: lamp.index("gpio_write 1")] if call.endswith(" 1")] == []
    assert not [call for call in bench.calls(27) if call.endswith(" 1")]


def test_an_exit_without_close_still_ends_off(bench: Bench) -> None:
    bench.result(OWNER + "bench.switch(True, True)")
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 0")


def test_a_second_process_is_refused_and_the_first_goes_on(bench: Bench) -> None:
    first = bench.start(LAMP_ON)
    assert first.stdout is not None and first.stdout.readline() == "on\n"
    noted = json.loads((bench.run / "outputs.json").read_text())
    code = f"""
from controller.errors import BusyError
try:
    {OWNER.replace(chr(10), chr(10) + "    ")}
except BusyError as error:
    print(error)
"""
    assert bench.result(code).startswith("lamp on GPIO17 is held by another process; stop")
    assert bench.line(17) == "out 1"
    assert json.loads((bench.run / "outputs.json").read_text()) == noted
    assert noted["pid"] == first.pid


def test_a_signal_handler_that_says_off_wins_over_a_busy_loop(bench: Bench) -> None:
    process = bench.start(
        OWNER
        + """
import signal
ended = []
def leave(*_):
    bench.off()
    ended.append(True)
signal.signal(signal.SIGTERM, leave)
print('on', flush=True)
while not ended:
    bench.switch(True, True)
print(bench.levels())
import os
os._exit(0)
"""
    )
    assert process.stdout is not None and process.stdout.readline() == "on\n"
    process.send_signal(signal.SIGTERM)
    out, err = process.communicate(timeout=30)
    assert (out.strip(), err) == ("(False, False)", "")
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 0")


@pytest.mark.usefixtures("lgpio_here")
@pytest.mark.parametrize(
    ("chips", "lamp"),
    [
        ("0 pinctrl-rp1", "line-0-17"),
        ("0 gpio-brcmstb@107d508500\n4 pinctrl-rp1", "line-4-17"),
        ("0 pinctrl-bcm2835", "line-0-17"),
    ],
)
def test_the_chip_is_found_by_its_label(bench: Bench, chips: str, lamp: str) -> None:
    (bench.folder / "chips").write_text(chips)
    Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27).close()
    assert (bench.folder / lamp).exists()


@pytest.mark.usefixtures("lgpio_here")
def test_a_chip_of_another_name_is_refused(bench: Bench) -> None:
    (bench.folder / "chips").write_text("0 INT34C5:00")
    with pytest.raises(OutputError, match=r"no chip is named pinctrl-rp1 .*INT34C5:00"):
        lgpio_pins(bench.run)


@pytest.mark.usefixtures("lgpio_here")
def test_an_owner_of_its_own_pins_in_the_same_process_is_refused_too(bench: Bench) -> None:
    first = Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27)
    first.switch(True, False)
    with pytest.raises(BusyError, match="pump on GPIO27 is held"):
        Relays(lgpio_pins(bench.run), bench.run, lamp=22, pump=27)
    assert (bench.line(17), bench.line(22)) == ("out 1", "out 0")
    first.close()
    assert bench.line(17) == "out 0"


@pytest.mark.usefixtures("lgpio_here")
@pytest.mark.parametrize("call", ["gpio_write", "gpio_read"])
def test_a_kernel_that_refuses_a_write_or_a_read_is_an_output_error(
    bench: Bench, call: str
) -> None:
    outputs = Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27)
    outputs.switch(True, False)
    (bench.folder / "fail").write_text(call)
    with pytest.raises(OutputError, match="lamp on GPIO17 could not be switched OFF"):
        outputs.off()
    with pytest.raises(OutputError, match="pump on GPIO27 could not be switched ON"):
        outputs.switch(False, True)
    (bench.folder / "fail").unlink()
    outputs.close()
    assert (bench.line(17), bench.line(27)) == ("out 0", "out 0")


@pytest.mark.usefixtures("lgpio_here")
def test_a_claim_that_fails_for_another_reason_is_an_output_error(bench: Bench) -> None:
    (bench.folder / "fail").write_text("gpio_claim_output")
    with pytest.raises(OutputError, match=r"lamp on GPIO17 could not be claimed \('unknown"):
        Relays(lgpio_pins(bench.run), bench.run, lamp=17, pump=27)


def test_opening_the_lines_imports_them_late(bench: Bench) -> None:
    code = """
import sys
import controller.hardware.raspberry_relays, controller.hardware.safe
heavy = {'gpiozero', 'lgpio', 'w1thermsensor', 'pydantic', 'controller.batch'} & set(sys.modules)
print(sorted(heavy))
"""
    assert bench.result(code) == "[]"
