"""What can be wrong with the lamp's line, its chip, and the process that holds it."""

import importlib
from collections.abc import Callable

import pytest
from at_work import YES, Found, documented
from fault_place import Place
from on_the_standin import OnTheStandin

from controller.batch.acts import ActKind
from controller.batch.stages import Stage
from controller.errors import BusyError, InputError, OutputError
from controller.hardware.raspberry import RaspberryRig
from controller.hardware.raspberry_pins import ALLOWED_LINES, lgpio_pins
from controller.hardware.raspberry_relays import Relays

LAMP, DEAD_MAN = 17, 25


# --- a relay that is wired the wrong way round


def inverted_at_rest(place: Place) -> Found:
    """No dead-man keeps it dark: it burns from the moment the plug is in."""
    told = documented(place.folder, "mock")
    bare = told.panel.model_copy(update={"dead_man": None})
    work = place.mocked(told.model_copy(update={"panel": bare}))
    work.plan()
    work.rig.add_fault("lamp_inverted")
    found = work.met(lambda: "lamp does not go off" in work.alarms, 3.0)
    assert not work.lamp() and work.truth().lamp_lit
    work.press(ActKind.START, **YES)
    assert work.stage is Stage.PLANNED
    return found


def inverted_behind_the_dead_man(place: Place) -> Found:
    """The contactor keeps it dark until START; then ON is what puts it out."""
    work = place.mocked()
    work.rig.add_fault("lamp_inverted")
    work.plan()
    work.wait(5.0)
    assert not work.alarms and not work.truth().lamp_lit
    work.press(ActKind.START, **YES)
    work.after(work.lamp, 3.0)
    found = work.met(lambda: work.stage is Stage.STOPPED, 4.0)
    work.wait(3.0)
    assert not work.lamp() and not work.truth().lamp_lit
    return found


# --- start and end of the process


def claimed_low(place: Place) -> Found:
    """Every call to the lamp's line from the first one to the first ON."""
    work = place.standin()
    work.tick()
    calls = place.bench.calls(LAMP)
    assert calls[0] == "gpio_claim_output 0"
    assert set(calls[1:]) <= {"gpio_write 0", "gpio_read"}
    return Found(0.0, (), "")


def killed(place: Place) -> Found:
    """The process is gone between two ticks; its kernel drives the line on."""
    work = place.mocked()
    work.heat()
    after = work.dies()
    assert work.lamp(), "nobody was there to put it low"
    return Found(after, tuple(work.alarms), work.says())


def started_again(place: Place) -> Found:
    """Ten seconds later control is back, on the record that it left."""
    work = place.mocked()
    work.heat()
    work.dies()
    work.now = round(work.now) + 10.0
    began = work.now
    work.boot()
    assert not work.lamp(), "before its first tick"
    work.tick()
    after = work.now - began
    assert work.stage is Stage.INTERRUPTED
    for _ in range(60):
        work.tick()
        assert not work.lamp() and not work.truth().lamp_lit
    work.press(ActKind.RE_ARM, **YES)
    work.after(work.lamp, 10.0)
    return Found(after, tuple(work.alarms), work.says())


def left_alone(work: OnTheStandin, began: float) -> float:
    """Nobody ticks any more: how long since `began` until the lamp is dark, [s].

    The world alone goes on, in tenths of a second; the lamp's line stays as it is.
    """
    edges = place_edges(work)
    while work.truth().lamp_lit:
        assert work.now - began < 60.0
        work.now += 0.1
        work.move(work.now)
    assert place_edges(work) == edges
    return work.now - began


def place_edges(work: OnTheStandin) -> int:
    """How often the dead-man line was written to."""
    return sum(call.startswith("gpio_write") for call in work.bench.calls(DEAD_MAN))


def hangs(place: Place) -> Found:
    """The loop does not come round again."""
    work = place.standin()
    work.heat(seconds=3.0)
    after = left_alone(work, work.now)
    assert place.bench.line(LAMP) == "out 1"
    return Found(after, tuple(work.alarms), work.says())


# --- which line, which chip


def unfit_lines(place: Place) -> Found:
    """Each line of the header that is pulled up, driven or floating until somebody claims it."""
    says = ""
    for line in sorted(set(range(32)) - ALLOWED_LINES):
        pins = lgpio_pins(place.bench.run)
        with pytest.raises(InputError, match="low from reset on") as refused:
            Relays(pins, place.bench.run, lamp=line, pump=27)
        says = str(refused.value)
    assert not (place.bench.folder / "calls").exists()
    return Found(0.0, (), says)


def numbered_anew(place: Place) -> Found:
    """A Pi 5 before and after its kernel gave the header's chip another number."""
    for chips, number in (("0 gpio-brcmstb\n4 pinctrl-rp1\n", 4), ("0 pinctrl-rp1\n", 0)):
        (place.bench.folder / "chips").write_text(chips)
        relays = Relays(lgpio_pins(place.bench.run), place.bench.run, lamp=LAMP, pump=27)
        relays.switch(True, False)
        assert place.bench.line(LAMP, chip=number) == "out 1"
        relays.close()
        assert place.bench.line(LAMP, chip=number) == "out 0"
    return Found(0.0, (), "")


def no_such_chip(place: Place) -> Found:
    """None of the chips is a header's."""
    (place.bench.folder / "chips").write_text("0 gpio-brcmstb\n1 raspberrypi-exp-gpio\n")
    with pytest.raises(OutputError) as refused:
        place.standin()
    assert not (place.bench.folder / "calls").exists()
    return Found(0.0, (), str(refused.value))


# --- who holds the line, and whether it follows


def a_second_control(place: Place) -> Found:
    """Another process asks for the lines of one that heats; here, another handle of the chip."""
    work = place.standin()
    work.heat(seconds=3.0)
    with pytest.raises(BusyError) as refused:
        RaspberryRig(work.told, lambda: 0.0, w1_folder=work.w1)
    assert place.bench.line(LAMP) == "out 1"
    work.wait(3.0)
    assert work.lamp() and not work.alarms
    return Found(0.0, (), str(refused.value))


def ends(work: OnTheStandin, tick: Callable[[], None]) -> Found:
    """The tick that ends control, and the dark that follows it."""
    began = work.now
    with pytest.raises(OutputError) as ended:
        tick()
    after = left_alone(work, began)
    return Found(after, tuple(work.alarms), str(ended.value))


def write_fails(place: Place) -> Found:
    """The kernel refuses from now on to move the lamp's line."""
    work = place.standin()
    work.heat(seconds=3.0)
    (place.bench.folder / "fail").write_text(f"gpio_write:{LAMP}")
    found = ends(work, work.tick)
    assert place.bench.line(LAMP) == "out 1"
    return found


def does_not_follow(place: Place) -> Found:
    """Writes are taken and do nothing; STOP is pressed."""
    work = place.standin()
    work.heat(seconds=3.0)
    lgpio = importlib.import_module("lgpio")
    write = lgpio.gpio_write

    def deaf(handle: int, gpio: int, level: int) -> int:
        return 0 if gpio == LAMP else int(write(handle, gpio, level))

    place.patch.setattr(lgpio, "gpio_write", deaf)
    found = ends(work, lambda: work.press(ActKind.STOP))
    place.patch.setattr(lgpio, "gpio_write", write)
    return found
