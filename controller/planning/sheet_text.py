"""The batch sheet as lines for a terminal, in a person's own units."""

from collections.abc import Iterator
from textwrap import wrap

from controller.planning.sheet import Bag, BatchSheet, Coat, Heat
from controller.quantities import People, say

WIDTH = 100
"""Longest line, in characters; own."""
LABEL = 13
"""Width of the first column, in characters; own."""


def sheet_lines(sheet: BatchSheet, units: People, air_pressure: float) -> list[str]:
    """The sheet, a line each; what needs care begins with "! ".

    air_pressure: in the shop, that vacuum is told against, [Pa]
    """
    lines = [*_wrapped(f"{sheet.name} - {sheet.shop}", ""), ""]
    for piece in sheet.pieces:
        sealed = [
            f"{what} {'sealed' if done else 'bare'}"
            for what, done in (("ends", piece.ends_sealed), ("back", piece.back_sealed))
        ]
        size = " x ".join(
            f"{1000 * side:.0f}" for side in (piece.length, piece.width, piece.thickness)
        )
        lines += _row(
            "piece",
            f"{piece.name}: {piece.wood}, {size} mm, {say(piece.moisture, 'percent', units)} "
            f"moisture, {', '.join(sealed)}",
        )
    for coat in sheet.coats:
        lines += ["", *_coat(coat, units, air_pressure)]
    lines += ["", *(line for text in sheet.cautions for line in _wrapped(text, "! "))]
    return lines


def _coat(coat: Coat, units: People, air_pressure: float) -> Iterator[str]:
    yield from _wrapped(
        f"COAT {coat.number}, face {coat.face}: {', '.join(coat.pieces)}; "
        f"face probe on {coat.probe_on}",
        "",
    )
    yield from _heat(coat.heat, units)
    mix = coat.mix
    parts = [f"A {say(mix.a, 'mass', units)}", f"B {say(mix.b, 'mass', units)}"]
    if mix.thinner > 0:
        share = say(mix.thinner / mix.total, "percent", units)
        parts.append(f"{mix.thinner_name} {say(mix.thinner, 'mass', units)} ({share} of the whole)")
    yield from _row(
        "mix",
        f"{', '.join(parts)}; {say(mix.total, 'mass', units)} in all, "
        f"{say(mix.coat, 'mass', units)} of it for the boards",
    )
    if mix.carried > 0:
        yield from _row("", f"{say(mix.carried, 'mass', units)} of that is the sealer's solvent")
    yield from _bag(coat.bag, units, air_pressure)
    resin = coat.resin
    at = f"at {say(resin.reference, 'temperature', units)}"
    guess = ", a guess" if resin.gel_is_guess else ""
    yield from _row(
        "resin", f"{resin.name}; pot life {say(resin.pot_life, 'duration', units)} {at}"
    )
    yield from _row("gel", f"{_between(resin.gel_early, resin.gel_late, units)} {at}{guess}")
    yield from _row(
        "open",
        f"{_between(resin.open_early, resin.open_late, units)} {at}; it stalls under "
        f"{say(resin.coldest, 'temperature', units)}",
    )
    flash = coat.flash_off
    if flash.late > 0:
        yield from _row(
            "flash-off",
            f"{_between(flash.early, flash.late, units)} at "
            f"{say(flash.reference, 'temperature', units)}, film off, watched hours only",
        )
    else:
        yield from _row("flash-off", "none: no solvent in this coat")


def _heat(heat: Heat, units: People) -> Iterator[str]:
    def degrees(kelvin: float) -> str:
        return say(kelvin, "temperature", units)

    def time(seconds: float) -> str:
        return say(seconds, "duration", units)

    yield from _row(
        "preheat",
        f"band {degrees(heat.band_low)} to {degrees(heat.band_high)}, about "
        f"{time(heat.preheat)}; trip {degrees(heat.trip)}",
    )
    yield from _row(
        "soak",
        f"until the mean is {degrees(heat.target_mean)}, about {time(heat.soak)}; lamp on "
        f"{time(heat.lamp_on)} in all; left on for ever it settles at {degrees(heat.settles_at)}",
    )
    if heat.reachable:
        yield from _row(
            "coat now",
            f"window {degrees(heat.window_low)} to {degrees(heat.window_high)}: opens "
            f"{time(heat.opens)} after lamp-off, shuts at {time(heat.shuts)}; first stroke "
            f"planned at {time(heat.handling)}",
        )
    else:
        yield from _wrapped("This lamp does not get the face into the band.", "! ")
    if heat.advice is not None:
        yield from _wrapped(heat.advice, "! ")


def _bag(bag: Bag | None, units: People, air_pressure: float) -> Iterator[str]:
    if bag is None:
        yield from _row("bag", "none")
        return

    def vacuum(pressure: float) -> str:
        return say(air_pressure - pressure, "vacuum", units)

    yield from _row(
        "bag",
        f"pull to {vacuum(bag.target)} ({say(bag.target, 'pressure_abs', units)}), start again at "
        f"{vacuum(bag.restart)}; possible {vacuum(bag.possible)}, boils past "
        f"{vacuum(bag.boil_limit)}",
    )
    let_up = "on offer before gel" if bag.let_up else "not on offer: an end or a back is bare"
    yield from _row(
        "", f"a leak is more than {say(bag.leak_limit, 'pressure_rate', units)}; let-up {let_up}"
    )


def _between(early: float, late: float, units: People) -> str:
    return f"{say(early, 'duration', units)} to {say(late, 'duration', units)}"


def _row(label: str, text: str) -> list[str]:
    lines = wrap(text, WIDTH - LABEL)
    return [f"{label if i == 0 else '':<{LABEL}}{line}" for i, line in enumerate(lines)]


def _wrapped(text: str, mark: str) -> list[str]:
    return [mark + line for line in wrap(text, WIDTH - len(mark))]
