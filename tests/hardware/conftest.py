"""A bench for the drivers of the real rig: gpiozero left as found, and lines that outlive us."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from pretend_pi import STANDIN, Bench

# not a test: it takes the name of the real lgpio, and only in processes that ask for it
collect_ignore = ["lgpio_standin"]


@pytest.fixture
def gpiozero_as_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """gpiozero's one global, put back after the test."""
    from gpiozero import Device

    monkeypatch.setattr(Device, "pin_factory", None)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    (tmp_path / "chips").write_text("0 pinctrl-bcm2711\n1 raspberrypi-exp-gpio\n")
    # STOP, tilt, cut-out and trap of the example rig: closed while all is well
    (tmp_path / "grounded").write_text("13 16 22 26")
    bench = Bench(tmp_path)
    bench.run.mkdir()
    yield bench
    for process in bench.processes:
        process.kill()
        process.communicate()


@pytest.fixture
def lgpio_here(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The stand-in for lgpio in this process, on this bench."""
    for name in ("lgpio", "gpiozero.pins.lgpio"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.syspath_prepend(STANDIN)
    monkeypatch.setenv("LGPIO_STANDIN", str(bench.folder))
    monkeypatch.setenv("LG_WD", "")
    yield
    for name in ("lgpio", "gpiozero.pins.lgpio"):
        sys.modules.pop(name, None)
