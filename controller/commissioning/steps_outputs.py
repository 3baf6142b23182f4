"""What is wired, and that each output is OFF when it is told so and ON only then."""

from collections.abc import Iterator

from controller.batch.lamp_acts import PLAUSIBLE
from controller.batch.signals import OUTPUTS_OFF, Readings, Role
from controller.commissioning.bench import (
    HELD,
    LAMP,
    Bench,
    Failed,
    Look,
    Skipped,
    must,
)
from controller.commissioning.record import Result
from controller.hardware.rig import wired_probes
from controller.settings import Settings
from controller.settings.panel import panel_lines

DARK, LIT, SEEN_BY = 120.0, 30.0, 75.0
"""How long the lamp is watched dark, then lit, and when the probe must have seen it, [s]. Own."""
RISE = 1.0
"""What a face under a lit lamp rises by then, and under a dark one does not, [K]. Own."""
TRIP = 273.15 + 50.0
"""The lamp goes off at this face temperature, [K]. Own."""
SETTLES = 10.0
"""Until each sensor has answered once, [s]. Own."""
DARK_AFTER = 3.0
"""After OFF the lamp's circuit is dead by then, [s]: a tick late, and a slow contactor. Own."""


def what_is_wired(bench: Bench) -> Result:
    """Every line and id of the settings, and whether each sensor answers now."""
    for line in _lines(bench.settings):
        bench.person.tell(f"  {line}")
    looks = bench.watch(SETTLES)
    told = list(_sensed(bench, looks[-1]))
    for name, value, kind in told:
        if value is not None:
            bench.person.tell(f"  {name} reads {bench.said(value, kind)}")
    stands = list(_contacts(looks[-1].readings))
    for name, is_bad, states in stands:
        bench.person.tell(f"  {name}: {states[is_bad]}")
    silent = [f"{name} ({looks[-1].why(name)})" for name, value, _ in told if value is None]
    must(not silent, f"no answer: {'; '.join(silent)}")
    bad = [f"{name} {states[True]}" for name, is_bad, states in stands if is_bad]
    must(not bad, f"{'; '.join(bad)}: its wire or contact is open, or it is so")
    probes = [looks[-1].probe(role) for role in wired_probes(bench.settings)]
    apart_by = max(probes, default=0.0) - min(probes, default=0.0)
    must(
        apart_by <= PLAUSIBLE,
        f"the probes are {bench.said(apart_by, 'temperature_difference')} apart: hang all of them"
        " in the shop's air for some minutes, and replace one that stays off",
    )
    return Result(
        step="wired",
        verdict="pass",
        says="all that is wired answers",
        figures={"probes_apart_k": round(apart_by, 3)},
    )


def _sensed(bench: Bench, look: Look) -> Iterator[tuple[str, float | None, str]]:
    """Each sensor that is wired: what it is, what it reads, and the kind of its unit."""
    settings, readings = bench.settings, look.readings
    for role in wired_probes(settings):
        yield str(role), look.fresh(readings.role(role)), "temperature"
    if settings.gauge.wired == "wired":
        yield "gauge", look.fresh(readings.bag), "pressure_abs"
    if settings.barometer.wired == "wired":
        yield "barometer", look.fresh(readings.barometer), "pressure_abs"
    if settings.infrared.wired == "wired":
        yield "infrared", look.fresh(readings.infrared), "temperature"


def _contacts(readings: Readings) -> Iterator[tuple[str, bool, tuple[str, str]]]:
    """Each guarding contact that is wired: its name, whether it tells of trouble, both in words.

    One of STOP's that is not wired never does.
    """
    yield "STOP", readings.stop_pressed, ("not pressed", "reads as pressed")
    for name, told, states in (
        ("lamp's circuit", readings.lamp_fed, ("dead", "is live")),
        ("lamp's stand", readings.tilted, ("upright", "reads as leaning")),
        ("cut-out", readings.cut_out_open, ("closed", "reads as open")),
        ("trap", readings.trap_full, ("not full", "reads as full")),
    ):
        if told is not None:
            yield name, told, states


def _lines(settings: Settings) -> Iterator[str]:
    """Each thing of the settings and where it is wired."""
    for name, output in (("lamp", settings.lamp), ("pump", settings.pump)):
        where = f"relay on GPIO{output.gpio}" if output.wired == "wired" else output.wired
        yield f"{name}: {where}"
    for name, line in panel_lines(settings.panel, settings.sense):
        yield f"{name}: GPIO{line}"
    for role, chip in wired_probes(settings).items():
        yield f"{role} probe: {chip}"
    gauge = settings.gauge
    read_by = "a pretend converter" if gauge.adc is None else f"{gauge.adc}, input {gauge.channel}"
    yield f"gauge: {read_by if gauge.wired == 'wired' else gauge.wired}"
    told = {"barometer": settings.barometer.wired, "infrared": settings.infrared.wired}
    for name, wired in told.items():
        yield f"{name}: {'I2C' if wired == 'wired' else wired}"


def outputs_off(bench: Bench) -> Result:
    """With nothing plugged in: every output reads back OFF, and the relays stand open."""
    bench.do("Pull the plugs of lamp and pump. Look at the relays.", "LAMP OUT")
    bench.rig.apply(OUTPUTS_OFF)
    bench.pause(1.0)
    must(
        bench.rig.outputs() == OUTPUTS_OFF,
        "an output reads ON after OFF: another process or a short drives its line",
    )
    must(
        bench.yes("Are the relays open: no light on the relay board, no hum?"),
        "a relay closed on OFF is wired to NC, or its board is active low: change that first",
    )
    return Result(step="outputs", verdict="pass", says="every output is OFF and its relay open")


def lamp_proof(bench: Bench) -> Result:
    """The lamp is dark on OFF, burns on ON, and the face probe sees it: an inverted or welded
    relay, or a probe that looks elsewhere, is found here."""
    if bench.settings.lamp.wired != "wired" or Role.FACE not in wired_probes(bench.settings):
        says = "no lamp on a relay with a face probe beside it"
        return Result(step="lamp", verdict="not fitted", says=says)
    bench.person.tell("  Mains heat. Stay, one hand at the plug. No solvent open in this room.")
    bench.do(
        "Tape the face probe to a board in the lamp's place. Plug the lamp in.",
        "PROBE ON BOARD",
        "LAMP IN",
    )
    try:
        return _lamp_proof(bench)
    finally:
        plug_out(bench)


def plug_out(bench: Bench) -> None:
    """Outputs OFF, and the person told that the lamp's plug comes out."""
    bench.rig.apply(OUTPUTS_OFF)
    bench.person.tell("  Pull the lamp's plug.")
    bench.hands("LAMP OUT")


def _lamp_proof(bench: Bench) -> Result:
    bench.person.tell("  Two minutes dark. If the lamp burns, pull its plug.")
    before = bench.read().probe(Role.FACE)
    for _ in range(round(DARK)):
        # the contactor held, or it would hide a relay that is welded
        look = bench.watch(1.0, HELD)[-1]
        rose = look.probe(Role.FACE) - before
        fed = " and its circuit is live" if look.readings.lamp_fed else ""
        by = bench.said(rose, "temperature_difference")
        must(
            rose <= RISE and not fed,
            f"the lamp was OFF, and the face rose {by}{fed}: pull the plug; the relay is welded,"
            " inverted or on its NC contact",
        )
    if bench.settings.sense.lamp is None:
        must(
            bench.yes("Did the lamp stay dark all the time?"),
            "the lamp burned while it was OFF: pull the plug; its relay is inverted or welded",
        )
    word = bench.asked(f"Type LAMP to light it for {LIT:.0f} s.", "LAMP")
    if word.upper() != "LAMP":
        raise Skipped
    lit_from = bench.read().probe(Role.FACE)
    lit_at = bench.clock()
    try:
        fed_after = _lit(bench)
    finally:
        bench.rig.apply(OUTPUTS_OFF)
    bench.person.tell(f"  OFF again: {SEEN_BY - LIT:.0f} s in which the probe follows.")
    seen = bench.watch(SEEN_BY - LIT, HELD)
    rise = max(look.probe(Role.FACE) for look in seen) - lit_from
    must(
        not any(look.readings.lamp_fed for look in seen[round(DARK_AFTER) - 1 :]),
        f"the lamp's circuit is live {DARK_AFTER:.0f} s after OFF: pull the plug; its relay does"
        " not open",
    )
    warmed = bench.said(rise, "temperature_difference")
    must(
        rise >= RISE,
        f"the face rose {warmed} in {bench.clock() - lit_at:.0f} s: is the lamp plugged in, its"
        " bulb whole, the cut-out reset, and is this the face probe?",
    )
    sensed = "" if fed_after is None else f", its circuit live after {fed_after:.0f} s"
    return Result(
        step="lamp",
        verdict="pass",
        says=f"dark on OFF; {LIT:.0f} s of it warmed the face by {warmed}{sensed}",
        figures={"dark_rise_k": round(rose, 3), "lit_rise_k": round(rise, 3)},
    )


def _lit(bench: Bench) -> float | None:
    """Lamp ON for its time; when its circuit was seen live, [s], or None where nothing tells."""
    fed_after = None
    for tick in range(1, round(LIT) + 1):
        look = bench.watch(1.0, LAMP)[-1]
        must(
            look.probe(Role.FACE) < TRIP,
            f"the face is at {bench.said(TRIP, 'temperature')}: let the board cool, or raise the"
            " lamp, and begin again",
        )
        must(not look.readings.stop_pressed, "STOP was pressed; begin again")
        if look.readings.lamp_fed and fed_after is None:
            fed_after = float(tick)
    if bench.settings.sense.lamp is not None and fed_after is None:
        raise Failed(
            "the lamp was ON and its circuit was never seen live: plug, cut-out, contactor, relay"
            " or the sense contact itself"
        )
    return fed_after
