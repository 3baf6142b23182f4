"""The gauge at vent, and an empty bag: how deep, how fast, how tight, how large."""

from controller.batch.signals import OUTPUTS_OFF, Commands
from controller.commissioning.bench import Bench, Look, apart, mean, must
from controller.commissioning.record import Result
from controller.planning.bag_plan import LEAK_LIMIT
from controller.science.air import standard_pressure
from controller.science.constants import STANDARD_ATMOSPHERE
from controller.science.vacuum import straight_line

NEAR, FAR = 1e3, 3e3
"""A gauge this near the barometer is right, one further off than that is none to trust, [Pa].
Own."""
NEAR_BY_ALTITUDE, FAR_BY_ALTITUDE = 3e3, 5e3
"""The same by the altitude's air, which weather moves by 3 kPa. Own."""
LISTENED = 10.0
"""How long the open gauge is read, [s]. Own."""
PULL, STILL, STILL_FOR = 180.0, 50.0, 20.0
"""Longest pull, and the fall [Pa] in so long [s] at which the pump has reached its end. Own."""
RISE, FADES = 300.0, 60.0
"""How long the rise is watched, and how much of its start is left out, [s]. Own."""
DOSE = 60e-6
"""One stroke of a syringe of 60 mL, [m3]."""
LEAST_STEP = 200.0
"""A smaller step by the dose tells no volume, [Pa]. Own."""
ROOM_BELOW = 1e3
"""The pump reaches below the hold's target by this at least, [Pa]. Own."""
REST = 600.0
"""A hold lasts so long without the pump at least, [s]: six starts an hour. Own."""
PUMP = Commands(pump=True)


def air(bench: Bench, look: Look) -> tuple[float, bool]:
    """Air pressure, [Pa], and whether a barometer says so."""
    if bench.settings.barometer.wired == "wired":
        told = look.fresh(look.readings.barometer)
        must(told is not None, f"the barometer does not answer: {look.why('barometer')}")
        if told is not None:
            return told, True
    return standard_pressure(bench.settings.shop.altitude), False


def gauge_zero(bench: Bench) -> Result:
    """Open to the air the gauge reads the air."""
    if bench.settings.gauge.wired != "wired":
        return Result(step="gauge", verdict="not fitted", says="no gauge is wired")
    bench.do("Open the bag to the air: pump off, hose pulled off its port.", "VENT BAG")
    seen = bench.watch(LISTENED)
    read = mean([look.bag for look in seen])
    true, by_barometer = air(bench, seen[-1])
    off = read - true
    near, far = (NEAR, FAR) if by_barometer else (NEAR_BY_ALTITUDE, FAR_BY_ALTITUDE)
    whose = "the barometer" if by_barometer else "the altitude's air, which weather moves by 3 kPa"
    found = f"the open gauge is {apart(off / 1e3)} kPa from {whose}"
    wrong = "its two points in rig.toml, its supply, or the gauge itself"
    must(abs(off) <= far, f"{found}: {wrong}")
    corrected = abs(off) > near
    if corrected:
        by = f"{apart(-off / 1e3)} kPa"
        bench.person.tell(f"  {found[0].upper()}{found[1:]}.")
        must(bench.yes(f"Correct its readings by {by} from now on?"), f"{found}: {wrong}")
    done = f"corrected by {apart(-off / 1e3)} kPa" if corrected else "taken as it is"
    bench.zero = -off if corrected else 0.0
    return Result(
        step="gauge",
        verdict="pass",
        says=f"{apart(off / 1e3)} kPa from {whose}: {done}",
        figures={"gauge_off_pa": round(off, 1)},
        corrections={"bag": round(-off, 1)} if corrected else {},
    )


def empty_bag(bench: Bench) -> Result:
    """What the pump does to a bag with nothing in it, and what the bag does by itself."""
    settings = bench.settings
    if settings.gauge.wired != "wired" or settings.pump.wired == "absent":
        return Result(step="bag", verdict="not fitted", says="no gauge, or no pump")
    by_hand = settings.pump.wired == "by hand"
    bench.person.tell("  Eyes covered. Trap, tank and hose rated for vacuum; the exhaust outdoors.")
    plugged = "" if by_hand else " Plug the pump in."
    bench.do(f"Shut an empty bag with its breather in it. Hose on.{plugged}", "SEAL EMPTY BAG")
    start = bench.read()
    bench.person.tell(f"  It pumps, {PULL / 60:.0f} minutes at the most.")
    try:
        if by_hand:
            bench.do("Switch the pump on.", "PUMP ON")
        pulled = _pulled(bench, start)
        _deep_enough(bench, pulled["ultimate_pa"])
        if by_hand:
            bench.do("Switch the pump off.", "PUMP OFF")
        bench.rig.apply(OUTPUTS_OFF)
        figures = pulled | _rise(bench) | _volume(bench)
    finally:
        bench.rig.apply(OUTPUTS_OFF)
        bench.hands("OPEN BAG")
    return _judged(bench, figures)


def _pulled(bench: Bench, start: Look) -> dict[str, float]:
    """Pump until it has reached its end; pressures as the gauge reads when its zero is right."""
    times, seen = [0.0], [start.bag + bench.zero]
    back = round(STILL_FOR)
    while times[-1] < PULL:
        look = bench.watch(1.0, PUMP)[-1]
        times.append(look.at - start.at)
        seen.append(look.bag + bench.zero)
        if len(seen) > back and seen[-1 - back] - seen[-1] < STILL:
            break
    half = (seen[0] + min(seen)) / 2
    target = bench.settings.bag.target.absolute(air(bench, start)[0])
    found = {"ultimate_pa": round(min(seen), 1)}
    for name, level in (("to_half_s", half), ("to_target_s", target)):
        reached = [at for at, pressure in zip(times, seen, strict=True) if pressure <= level]
        found |= {name: round(reached[0], 1)} if reached else {}
    return found


def _deep_enough(bench: Bench, deepest: float) -> None:
    """Raises Failed where the hold's target is out of reach; a gauge that stands still ends here.

    deepest: absolute, [Pa]
    """
    true, _ = air(bench, bench.read())
    target = bench.settings.bag.target.absolute(true)
    reached, wanted = (bench.said(true - pressure, "vacuum") for pressure in (deepest, target))
    must(
        deepest <= target - ROOM_BELOW,
        f"the pump reached {reached} and the hold wants {wanted}: look at pump, hose, valve and"
        " gauge, or ask for less in [bag] target",
    )


def _rise(bench: Bench) -> dict[str, float]:
    """The straight part of the rise with the pump off."""
    bench.person.tell(f"  The pump is off: {RISE / 60:.0f} minutes show how tight the bag is.")
    seen = bench.watch(RISE)[round(FADES) :]
    line = straight_line([look.at for look in seen], [look.bag for look in seen])
    return {"rise_pa_s": round(line.rate, 4), "rise_error_pa_s": round(line.rate_error, 4)}


def _volume(bench: Bench) -> dict[str, float]:
    """The bag's volume by a dose of air, if the person has a syringe: V = p0 x 60 mL / step."""
    before = mean([look.bag for look in bench.watch(LISTENED)])
    answer = bench.asked(
        "Let 60 mL of air into the bag's port with a syringe, then press Enter; or type none.", ""
    )
    if answer.lower() == "none":
        return {}
    bench.hands("DOSE 60 ML")
    after = bench.watch(LISTENED)
    step = mean([look.bag for look in after]) - before
    must(
        step >= LEAST_STEP,
        f"the dose moved the bag by {step:.0f} Pa only: was the port open, and is the hose between"
        " bag and gauge free?",
    )
    return {"bag_volume_m3": round(air(bench, after[-1])[0] * DOSE / step, 7)}


def _judged(bench: Bench, figures: dict[str, float]) -> Result:
    true, _ = air(bench, bench.read())
    rate = max(figures["rise_pa_s"], 0.0)
    where = "thumb along the tape, pleats, port and hose"
    told, limit = (bench.said(each, "pressure_rate") for each in (rate, LEAK_LIMIT))
    must(rate <= LEAK_LIMIT, f"it rises {told}, and a batch's gate lets {limit} pass: {where}")
    must(
        rate * REST <= bench.settings.bag.hold_band,
        f"it rises {told}, and the pump would start oftener than each {REST / 60:.0f} min to keep"
        f" [bag] hold_band: {where}, or a wider band",
    )
    deepest = bench.said(true - figures["ultimate_pa"], "vacuum")
    said = f"{deepest}, half of it after {figures['to_half_s']:.0f} s; with the pump off it rises"
    said += f" {told}"
    volume = figures.get("bag_volume_m3")
    if volume is not None:
        leak = bench.said(rate * volume / STANDARD_ATMOSPHERE, "flow")
        said += f"; it holds {1e3 * volume:.1f} L, so it leaks {leak} of air"
    return Result(step="bag", verdict="pass", says=said, figures=figures)
