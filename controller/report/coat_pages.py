"""One coat in words and numbers: what it came to, its stages, and what the sheet asked for."""

from controller.batch.acts import ActKind
from controller.batch.stages import Stage
from controller.planning.sheet import Coat
from controller.quantities import SEA_LEVEL, People, say
from controller.report.account import Account, Passage
from controller.report.figures import Figures
from controller.report.lines import clock, date
from controller.report.paper import figure_list, table

NOT_RECORDED = "not recorded"


def figures_said(
    account: Account, passage: Passage, came_to: Figures, units: People, air_pressure: float | None
) -> str:
    """The figures as a list, each with its unit or a word why there is none."""

    def told(value: float | None, kind: str) -> str | None:
        return None if value is None else say(value, kind, units)

    first = passage.stages[0].began_utc if passage.stages else account.batch.planned_utc

    def at(moment: float | None) -> str | None:
        if moment is None:
            return None
        return say(account.utc(moment), "clock", units, now=first)

    lines = [
        ("Hottest face", told(came_to.peak_face, "temperature"), NOT_RECORDED),
        ("Lamp on, in all", told(came_to.lamp_on, "duration"), ""),
        ("Face in the preheat band", told(came_to.in_band, "duration"), ""),
        ("Estimated mean at lamp-off", told(came_to.mean_at_lamp_off, "temperature"), NOT_RECORDED),
        ("Lamp-off to first stroke", told(came_to.handling, "duration"), "no first stroke told"),
        (
            "Face at first stroke",
            told(came_to.face_at_first_stroke, "temperature"),
            NOT_RECORDED if came_to.first_stroke_at is not None else "no first stroke told",
        ),
        ("Mix on the board", _used(came_to, units), "not told"),
    ]
    if passage.coat.bag is not None:
        lines += _hold(came_to, units, air_pressure)
    lines += [
        ("Gelled", at(came_to.gelled_at), "not by the clock of this record"),
        ("May be opened from", at(came_to.may_open_at), "not reached"),
        ("Opened", at(came_to.opened_at), "not told"),
        (
            f"Age at opening, at {say(passage.coat.resin.reference, 'temperature', units)}",
            told(came_to.age_at_opening, "duration"),
            "not told",
        ),
    ]
    return figure_list(lines)


def stages_said(account: Account, passage: Passage, units: People) -> str:
    """The stages with the times told."""
    rows: list[tuple[str, ...]] = []
    for time in passage.stages:
        end = passage.ended if time.ended is None else time.ended
        late = time.recorded - time.began
        over = time.stage == Stage.FINISHED and time.ended is None
        rows.append(
            (
                time.stage,
                f"{date(time.began_utc, units.zone)} {clock(time.began_utc, units.zone)}",
                "" if over else say(end - time.began, "duration", units),
                f"recorded {clock(time.began_utc + late, units.zone)}" if late >= 1.0 else "",
            )
        )
    heads: tuple[str, ...] = ("Stage", "Began", "Lasted", "Told late")
    if not any(row[-1] for row in rows):
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    return table(heads, rows, right=(1, 2))


def sheet_said(
    passage: Passage, came_to: Figures, units: People, air_pressure: float | None
) -> str:
    """What the sheet asked for, with what was weighed beside it."""
    coat, heat, resin = passage.coat, passage.coat.heat, passage.coat.resin

    def told(value: float, kind: str) -> str:
        return say(value, kind, units)

    def between(low: float, high: float, kind: str) -> str:
        return f"{told(low, kind)} to {told(high, kind)}"

    guess = " (a guess from the pot life)" if resin.gel_is_guess else ""
    reference = told(resin.reference, "temperature")
    rows = [
        ("Preheat band", between(heat.band_low, heat.band_high, "temperature")),
        ("Coat window", between(heat.window_low, heat.window_high, "temperature")),
        ("Soak until the mean is", told(heat.target_mean, "temperature")),
        ("Trip", told(heat.trip, "temperature")),
        ("Lamp on, expected", told(heat.lamp_on, "duration")),
        ("Window after lamp-off, expected", between(heat.opens, heat.shuts, "duration")),
        ("Lamp-off to first stroke, planned", told(heat.handling, "duration")),
    ]
    if coat.bag is not None:
        air = came_to.air or air_pressure or SEA_LEVEL
        rows += [
            ("Hold, target", _both(coat.bag.target, air, units)),
            ("Hold, pump starts again at", _both(coat.bag.restart, air, units)),
            ("Possible that day", _both(coat.bag.possible, air, units)),
            ("Thinner may boil under", told(coat.bag.boil_limit, "pressure_abs")),
            ("Counts as a leak", told(coat.bag.leak_limit, "pressure_rate")),
        ]
    rows += [
        ("Resin", resin.name),
        (
            f"Gel, thin film at {reference}",
            between(resin.gel_early, resin.gel_late, "duration") + guess,
        ),
        (f"Open at age, at {reference}", between(resin.open_early, resin.open_late, "duration")),
    ]
    if coat.flash_off.late > 0:
        kelvin = told(coat.flash_off.reference, "temperature")
        rows.append(
            (
                f"Flash-off, film off at {kelvin}",
                between(coat.flash_off.early, coat.flash_off.late, "duration"),
            )
        )
    mix = table(("In the cup", "Sheet", "Weighed"), _mix(passage, coat, units), right=(1, 2))
    return (
        f'<div class="two small"><div>{table(("Asked for", ""), rows)}</div><div>{mix}</div></div>'
    )


def _mix(passage: Passage, coat: Coat, units: People) -> list[tuple[str, str, str]]:
    def weighed(kind: ActKind, name: str) -> str:
        told = [event.data.get(f"told_{name}_g") for event in passage.acts(kind)]
        grams = [mass for mass in told if isinstance(mass, int | float)]
        return say(grams[-1] / 1000, "mass", units) if grams else "not told"

    mix = coat.mix
    rows = [
        ("A", say(mix.a, "mass", units), weighed(ActKind.MIXED, "a")),
        ("B", say(mix.b, "mass", units), weighed(ActKind.MIXED, "b")),
    ]
    if mix.thinner_name is not None:
        name = mix.thinner_name
        rows.append((name, say(mix.thinner, "mass", units), weighed(ActKind.THINNED, "thinner")))
    rows.append(("all", say(mix.total, "mass", units), ""))
    rows.append(("on the board", say(mix.coat, "mass", units), weighed(ActKind.SEALED, "used")))
    return rows


def _used(came_to: Figures, units: People) -> str | None:
    if came_to.used is None:
        return None
    each = say(came_to.used / came_to.used_on, "mass", units)
    return f"{say(came_to.used, 'mass', units)}, {each}/m²"


def _hold(
    came_to: Figures, units: People, air_pressure: float | None
) -> list[tuple[str, str | None, str]]:
    air = came_to.air or air_pressure or SEA_LEVEL
    silent = "no gauge reading in the hold" if came_to.held else "no hold under vacuum"

    def vacuum(pressure: float | None) -> str | None:
        return None if pressure is None else say(max(air - pressure, 0.0), "vacuum", units)

    def out(seconds: float) -> str | None:
        return None if not came_to.held_seen else say(seconds, "duration", units)

    limit = "" if came_to.out_limit is None else say(came_to.out_limit, "pressure_abs", units)
    duty = None if came_to.pump_duty is None else _share(came_to.pump_duty)
    return [
        ("Held under vacuum", say(came_to.held, "duration", units), ""),
        ("of it with gauge readings", out(came_to.held_seen), silent),
        ("Deepest vacuum in the hold", vacuum(came_to.deepest), silent),
        ("Weakest vacuum in the hold", vacuum(came_to.weakest), silent),
        (f"Over {limit} before gel", out(came_to.out_before_gel), silent),
        (f"Over {limit} after gel", out(came_to.out_after_gel), silent),
        ("Pump starts, from sealing on", str(came_to.pump_starts), ""),
        ("Pump on, share of the hold", duty, silent),
    ]


def _share(share: float) -> str:
    """A pump that rests well is on for under a per cent of the night."""
    return f"{100 * share:.1f} %"


def _both(pressure: float, air: float, units: People) -> str:
    return (
        f"{say(max(air - pressure, 0.0), 'vacuum', units)} ({say(pressure, 'pressure_abs', units)})"
    )
