"""Faults of probes, lines and gauge, done to what the real drivers read, as one table.

Each row: what is done, where, how long it may stand before it is met [s], and what must be so
then. Limits are own; they allow for the tick a fault falls in and, for the face, the median of
three answers. How each is done is in fault_probes.py, fault_waits.py,
fault_lines.py and fault_gauge.py.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import fault_gauge as gauge
import fault_lines as lines
import fault_probes as probes
import fault_waits as waits
from at_work import Found
from fault_place import Place

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class FaultRow:
    """One fault, done once."""

    id: str
    """Its number, kept for good."""
    injected: str
    """What is done."""
    where: str
    """To which file, chip or line."""
    limit: float
    """Longest until it is met, [s]."""
    must: str
    """What must be so then."""
    alarm: str | None
    """The one alarm that is raised; None for a fault that passes by, or is met before any heat."""
    says: str
    """Part of what people are told; empty where nobody need know."""
    done: Callable[[Place], Found]
    """Does it."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A row that is met outside the engine, in a test that is there anyway."""

    id: str
    injected: str
    limit: str
    must: str
    test: str
    """File and name."""


W1, LOST, OFF = "w1_slave of the face's probe", "face probe lost", "the lamp's line is low"
SPI, GAUGE = "counts of the converter", "bag gauge lost"
OTHERS = "the lamp burns on, nobody is called"

ROWS = (
    FaultRow("W01", "85.0 C and byte 6 0c, the power-on value", W1, 5, OFF, LOST, "power-on value",
             probes.power_on),
    FaultRow("W01", "the same once, then good answers", W1, 5, OTHERS, None, "",
             probes.power_on_once),
    FaultRow("W01", "a true 85.0 C", W1, 5, OFF, LOST, "power-on value", probes.true_85),
    FaultRow("W02", "127.94 C and byte 6 0c, supply lost", W1, 5, OFF, LOST, "lost its supply",
             probes.starved),
    FaultRow("W03", "25.0 C for good, from before START", W1, 77, OFF, "lamp not seen",
             "did not see it", probes.clone_at_25),
    FaultRow("W03", "25.0 C for good, in the heat", W1, 5, OFF, "probe fell", "reading fell",
             probes.drops_to_25),
    FaultRow("W03", "its last value for good, as the face warms", W1, 67,
             f"{OFF}; 60 s, and until half a kelvin more was to be expected", "probe frozen",
             "stands still", probes.keeps_its_value),
    FaultRow("W03", "its last value for good, where the lamp comes and goes", W1, 300,
             f"{OFF}, and the true face was never at the trip", "probe frozen", "stands still",
             probes.keeps_its_value_in_the_band),
    FaultRow("W04", "nine zero bytes with a right check byte", W1, 5, OFF, LOST, "empty answer",
             probes.all_zero),
    FaultRow("W05", "nine bytes ff, check passed", W1, 5, OFF, LOST, "an empty answer",
             probes.all_ones),
    FaultRow("W05", "nine bytes ff, check failed", W1, 5, OFF, LOST, "empty answer",
             probes.open_wire),
    FaultRow("W05", "-127.0 C with a right check byte", W1, 5, OFF, LOST, "-127.0 °C",
             probes.minus_127),
    FaultRow("W05", "the chip's folder is gone", W1, 5, OFF, LOST, "not on the bus",
             probes.folder_gone),
    FaultRow("W06", "an answer that takes 1 s", W1, 5, OTHERS, None, "", waits.hangs_1),
    FaultRow("W06", "an answer that takes 5 s", W1, 5, f"{OFF}; it is read again after", LOST, "",
             waits.hangs_5),
    FaultRow("W06", "an answer that takes 60 s", W1, 5, f"{OFF}; another reader is there after",
             LOST, "", waits.hangs_60),
    FaultRow("W06", "an answer that never comes", W1, 5, f"{OFF}; the ticks go on", LOST, "",
             waits.hangs_for_ever),
    FaultRow("W07", "the first line alone", W1, 5, OFF, LOST, "cut short", probes.one_line),
    FaultRow("W07", "half of the second line", W1, 5, OFF, LOST, "cut short", probes.half_a_line),
    FaultRow("W07", "an empty file", W1, 5, OFF, LOST, "empty answer", probes.empty),
    FaultRow("W08", "each answer is the one before it", W1, 7, "after a gap the first is dropped",
             LOST, "", waits.one_behind),
    FaultRow("W09", "face and room probe swapped", "their folders", 77, OFF, "lamp not seen",
             "does the probe touch this board", probes.swapped),
    FaultRow("W09", "the face's probe is not there", "its folder", 1, "START is refused", None,
             "the face probe does not read", probes.missing),
    FaultRow("W09", "a chip nobody named appears", "the bus", 5, OTHERS, None, "",
             probes.a_stranger),
    FaultRow("W10", "4 C too high at both points", W1, 1, "the bench check fails the probe", None,
             "replace it", probes.four_too_high),
    FaultRow("W10", "4 C too low at both points", W1, 1, "the bench check fails the probe", None,
             "replace it", probes.four_too_low),
    FaultRow("W11", "one answer 10 C too high", W1, 10, OTHERS, None, "", probes.one_spike),
    FaultRow("W11", "10 C too high from now on", W1, 5, OFF, "probe jumped", "jumped",
             probes.a_step),
    FaultRow("W12", "the bus held down, in the hold", "I2C of the gauge", 11,
             "the pump stays as it was, and is off in 30 min", GAUGE, "the bus is held down",
             gauge.bus_held_down),
    FaultRow("W13", "not a number, from its driver", "the face's reading", 5, OFF, LOST, "",
             probes.not_a_number),
    FaultRow("W13", "infinite, from its driver", "the face's reading", 5, OFF, LOST, "",
             probes.infinite),
    FaultRow("W13", "1e300 K, from its driver", "the face's reading", 5, OFF, LOST, "",
             probes.huge),
    FaultRow("W13", "not a number of volts, in the hold", "converter of the gauge", 11,
             "no figure is shown, the pump stays as it was", GAUGE, "a wire is off",
             gauge.not_a_number),
    FaultRow("W14", "the probes' library cannot be imported", "w1thermsensor", 1,
             "it starts, shows the page and refuses START", None,
             "unreadable (ModuleNotFoundError)", probes.no_library),
    FaultRow("L04", "OFF closes the relay, at rest", "lamp relay, its sense line", 3,
             "START is refused until it is seen to", "lamp does not go off", "Pull the lamp's plug",
             lines.inverted_at_rest),
    FaultRow("L04", "OFF closes the relay, behind a dead-man", "lamp relay, its sense line", 4,
             f"{OFF}, the lamp dark", "lamp not fed", "Look at plug, breaker, relay",
             lines.inverted_behind_the_dead_man),
    FaultRow("L05", "control starts", "calls to the lamp's line", 0, "the first claims it low, and "
             "nothing lets it float or go high before the first ON", None, "", lines.claimed_low),
    FaultRow("L06", "control is killed under a burning lamp", "dead-man line", 2.2,
             "the lamp is dark behind a line that stays high", None, "", lines.killed),
    FaultRow("L06", "control starts again after it", "the record", 1,
             f"{OFF} until a person re-arms", "work interrupted", "RE-ARM, RESUME or ABANDON",
             lines.started_again),
    FaultRow("L09", "control hangs under a burning lamp", "dead-man line", 2.2,
             "no edge more, and the lamp is dark", None, "", lines.hangs),
    FaultRow("L10", "a line that is not low from reset on", "the settings' lines", 0,
             "refused before anything is claimed", None, "low from reset on", lines.unfit_lines),
    FaultRow("L11", "the header's chip is number 4, then 0", "chip labels", 0,
             "the same chip by its label", None, "", lines.numbered_anew),
    FaultRow("L11", "no chip of that label", "chip labels", 0, "nothing is claimed", None,
             "no chip is named pinctrl-rp1", lines.no_such_chip),
    FaultRow("B06", "1.7 kPa off the air, the bag open", SPI, 13, "a person is told", "gauge zero "
             "moved", "warmdraw check --only gauge", gauge.zero_moved),
    FaultRow("B06", "0.6 kPa off the air, the bag open", SPI, 60, "nobody is called", None, "",
             gauge.zero_a_little_off),
    FaultRow("B06", "4 kPa off the air, before START", SPI, 1, "START is refused", None,
             "kPa away from the air", gauge.zero_far_off),
    FaultRow("B07", "at the end of the converter's range", SPI, 11, "no figure is shown", GAUGE,
             "at the end of its range", gauge.clipped),
    FaultRow("B08", "0 V: its wire is off", SPI, 11,
             "the pump stays as it was, and is off in 30 min", GAUGE, "a wire is off",
             gauge.wire_off),
    FaultRow("B08", "4.83 V: shorted to its supply", SPI, 11,
             "no figure is shown, the pump stays as it was", GAUGE, "touches the supply",
             gauge.shorted),
    FaultRow("B09", "the same count for good, in a run of the pump", SPI, 62, "the pump is off",
             "gauge frozen", "unplug the gauge", gauge.frozen_in_a_run),
    FaultRow("B09", "the same count for good, in a quiet hold", SPI, 1861,
             "found by a test pulse; ten bits may rightly stand still for hours", "gauge frozen",
             "unplug the gauge", gauge.frozen_at_rest),
    FaultRow("D20", "a second control starts", "the lamp's line", 0,
             "it is refused, and the first goes on", None, "is held by another process",
             lines.a_second_control),
    FaultRow("D21", "a write to the lamp's line fails", "gpio_write", 4, "control ends, no edge of "
             "the dead-man line more, the lamp dark", None, "lamp on GPIO17 could not be switched",
             lines.write_fails),
    FaultRow("D21", "writes to the lamp's line do nothing", "gpio_write", 4, "control ends, no "
             "edge of the dead-man line more, the lamp dark", None, "was switched OFF and reads ON",
             lines.does_not_follow),
)  # fmt: skip

SIGNALS = "tests/daemon/test_daemon_signals.py"
ELSEWHERE = (
    Elsewhere("L06", "SIGKILL to control, lamp on", "1 s", "warmdraw safe drives the line low",
              f"{SIGNALS}::test_a_killed_control_leaves_the_lamp_on_and_safe_puts_it_off"),
    Elsewhere("L06", "SIGKILL in the midst of calls and writes", "-", "the lamp waits for a person",
              "tests/daemon/test_daemon_recovery_kill.py::test_killed_here_and_there"),
    Elsewhere("L07", "SIGTERM, SIGINT, SIGHUP, SIGQUIT, lamp on", "1 s", "its own handler is OFF",
              f"{SIGNALS}::test_a_signal_puts_the_lamp_off_within_a_second_with_a_stream_open"),
    Elsewhere("L07", "the same signal again and again", "1 s", "the line stays low",
              f"{SIGNALS}::test_the_lamp_stays_off_when_the_signal_comes_again_and_again"),
    Elsewhere("L08", "a signal while a page listens", "1 s", "no stream is waited for",
              f"{SIGNALS}::test_a_signal_puts_the_lamp_off_within_a_second_with_a_stream_open"),
    Elsewhere("L09", "SIGSTOP to control, lamp on", "-", "warmdraw safe ends it and drives low",
              f"{SIGNALS}::test_safe_ends_a_control_that_hangs"),
    Elsewhere("D20", "a second process", "-", "refused in one line",
              "tests/daemon/test_daemon_link.py::test_a_second_control_is_refused_in_one_line"),
    Elsewhere("D21", "a write fails in a process", "-", "it ends and says which plug to pull",
              f"{SIGNALS}::test_a_line_that_cannot_be_switched_ends_control"),
)  # fmt: skip
