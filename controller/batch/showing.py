"""The snapshot everybody is shown, made from the engine's state and its last view."""

from dataclasses import dataclass, replace

from controller.batch import bag, flash_off, interlocks, setting
from controller.batch.cautions import cautions
from controller.batch.engine import Engine
from controller.batch.looking import room_of
from controller.batch.presses import WEIGH_EACH, last_weigh_in, open_presses
from controller.batch.pumping import barred
from controller.batch.sentences import sentence
from controller.batch.showing_alarms import alarms_shown, blind
from controller.batch.signals import Role, Sample, Wiring
from controller.batch.snapshot import (
    BagShown,
    BatchShown,
    Due,
    HeatShown,
    OutputShown,
    Press,
    Sentence,
    SettingShown,
    Shown,
    Snapshot,
)
from controller.batch.stages import HEATED, ORDER, Stage, Use
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.science.constants import ZERO_CELSIUS

VERSION = 1
"""Of the snapshot's shape."""
LOST_AFTER = 30.0
"""Age at which a reading is not shown any more, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the engine does not know and a snapshot carries."""

    seq: int
    """Number of the snapshot."""
    told_utc: float
    """The calendar at the snapshot, seconds since 1970 UTC."""
    time_zone: str
    """IANA name of the shop's."""
    pace: float | None
    """Rig seconds a wall second on a simulated rig."""
    rig: str
    """Name of the rig."""


def snapshot(engine: Engine, around: Surroundings) -> Snapshot:
    """The rig as it stood after the engine's last step. Raises ValueError before the first."""
    view, rig, run = engine.view, engine.rig, engine.rig.run
    if view is None:
        raise ValueError("no step has been taken yet: there is nothing to show")
    presses = () if run is None else open_presses(run, rig, view)
    zone = interlocks.ZoneView(rig.zone.wet, rig.zone.tidied_at, rig.zone.out_at)
    shown = Snapshot(
        version=VERSION,
        seq=around.seq,
        now=view.now,
        told_utc=around.told_utc,
        time_zone=around.time_zone,
        simulated=view.facts.simulated,
        pace=around.pace,
        rig=around.rig,
        stage=str(Stage.PLANNED if run is None else run.stage),
        sentence=sentence(run, rig, view),
        cautions=cautions(run),
        press=presses[0] if presses else None,
        others=presses[1:],
        face=_face(run, view),
        back=_temperature(view, Role.BACK),
        room=_temperature(view, Role.ROOM),
        film=_temperature(view, Role.FILM),
        bag=_pressure(view),
        air_pa=view.air,
        lamp=_lamp(run, view),
        pump=_pump(run, rig, view),
        zone_locked=interlocks.zone_locked(zone, view.now),
        zone_free_at=interlocks.zone_free_at(zone) if rig.zone.wet else None,
        heat=_heat(run, view),
        bagging=_bagging(run, view),
        batch=None if run is None else _batch(run, view, view.film),
        aside=tuple(_batch(other, view, view.room) for other in rig.aside),
        alarms=alarms_shown(rig.alarms),
        blind=blind(rig.alarms),
        muted_until=rig.muted_until if (rig.muted_until or 0.0) > view.now else None,
        due=_due(rig, view),
    )
    return _told(shown, around.told_utc - view.now)


def _told(shown: Snapshot, offset: float) -> Snapshot:
    """The snapshot with its sentences' clocks on the calendar."""

    def calendar(words: Sentence) -> Sentence:
        values = {
            name: replace(value, value=value.value + offset) if value.kind == "clock" else value
            for name, value in words.values.items()
        }
        return Sentence(text=words.text, values=values)

    return replace(shown, sentence=calendar(shown.sentence))


def _celsius(kelvin: float) -> float:
    return round(kelvin - ZERO_CELSIUS, 3)


def _shown(value: float, sample: Sample, view: View, by_hand: bool) -> Shown:
    age = max(sample.age(view.now), 0.0)
    if age > LOST_AFTER and not by_hand:
        return Shown(value=None, age_s=age, source="lost")
    return Shown(value=value, age_s=age, source="by hand" if by_hand else "probe")


NOTHING = Shown(value=None, age_s=None, source="lost")


def _temperature(view: View, role: Role) -> Shown:
    sample = view.readings.role(role)
    if sample is None:
        return NOTHING
    return _shown(_celsius(sample.value), sample, view, role not in view.facts.probes)


def _face(run: Run | None, view: View) -> Shown:
    """The probe's reading; once the probe is off for coating, the estimate for as long as it goes.

    A probe that hangs beside the board is never shown as the board's face.
    """
    if run is not None and run.probe_off:
        if view.face is None:
            return NOTHING
        return Shown(value=_celsius(view.face), age_s=0.0, source="estimate")
    return _temperature(view, Role.FACE)


def _pressure(view: View) -> Shown:
    sample = view.readings.bag
    if sample is None:
        return NOTHING
    return _shown(round(sample.value, 1), sample, view, view.facts.gauge is not Wiring.WIRED)


def _lamp(run: Run | None, view: View) -> OutputShown:
    on = run is not None and run.lamp.on
    locked = view.dark is not None and view.dark.id != "I-1 stage"
    locked = locked or (run is not None and ORDER[run.stage].lamp is Use.LOCKED)
    why = "the band asks for it" if on else "the band is held"
    if not on and view.dark is not None:
        why = view.dark.why
    return _output(on, view.facts.lamp, locked, why)


def _pump(run: Run | None, rig: RigState, view: View) -> OutputShown:
    if run is None:
        return _output(False, view.facts.pump, False, "this is no stage for the pump")
    on = run.bag.pump_on
    why = "pulling" if on else barred(rig, run, view) or bag.why_off(run.bag, view.bag)
    return _output(on, view.facts.pump, False, why)


def _output(on: bool, wiring: Wiring, locked: bool, why: str) -> OutputShown:
    word = "on" if on else "off, locked" if locked else "off"
    if wiring is Wiring.BY_HAND:
        word = "switch it on" if on else "switch it off"
    elif wiring is Wiring.ABSENT:
        word, why = "none", "this rig has none"
    return OutputShown(on=on, wiring=str(wiring), word=word, why=why)


def _heat(run: Run | None, view: View) -> HeatShown | None:
    if run is None or run.stage not in (Stage.PLANNED, Stage.COAT, *HEATED):
        return None
    plan, moment = run.coat.heat, view.moment
    limit = interlocks.presence_limit(view.facts)
    lit = run.stage in (Stage.PREHEAT, Stage.SOAK)
    word = None if run.word_at is None or not lit else run.word_at + limit - view.now
    target = view.target_mean if lit else plan.target_mean
    return HeatShown(
        band_low_c=_celsius(plan.band_low),
        band_high_c=_celsius(plan.band_high),
        window_low_c=_celsius(plan.window_low),
        window_high_c=_celsius(plan.window_high),
        mean_c=None if view.mean is None else _celsius(view.mean),
        target_mean_c=_celsius(target),
        soak_left_s=view.soak_left,
        coat_now=view.coat_now and run.stage is Stage.COOLDOWN,
        opens_s=view.opens,
        shuts_s=None if moment is None else moment.seconds_left,
        draw_left=None if moment is None else moment.draw_left,
        presence_left_s=None if word is None else max(word, 0.0),
    )


def _bagging(run: Run | None, view: View) -> BagShown | None:
    # what the gate once said of a bag that is off means nothing beside a gauge in the open
    if run is None or run.coat.bag is None or run.film_off_at is not None:
        return None
    plan, held = run.coat.bag, run.bag
    return BagShown(
        target_pa=plan.target,
        restart_pa=plan.restart,
        possible_pa=plan.possible,
        rise_pa_s=held.rise,
        verdict=held.verdict,
        asked_again_at=held.retest_at,
    )


def _batch(run: Run, view: View, film: float) -> BatchShown:
    return BatchShown(
        id=run.id,
        name=run.sheet.name,
        shop=run.sheet.shop,
        coat=run.coat.number,
        coats=len(run.sheet.coats),
        face=run.coat.face,
        pieces=run.coat.pieces,
        stage=str(run.stage),
        form=None if run.form is None else str(run.form),
        since=run.since,
        left=None if run.left is None else str(run.left),
        place=run.place,
        outcome=run.outcome,
        setting=_setting(run, view, film),
    )


def _setting(run: Run, view: View, film: float) -> SettingShown:
    def at(milestone: str) -> float | None:
        return setting.reached_at(milestone, run, view.now, film)

    # a film that is off needs no opening time
    shut = run.film_off_at is None and run.outcome is None
    flashing = run.film_off_at is not None and run.coat.flash_off.late > 0
    room = room_of(view.now, view.readings, view.facts)
    return SettingShown(
        age_s=run.age,
        gel_early_at=at("gel_early"),
        gel_late_at=at("gel_late"),
        gelled=run.gelled,
        open_early_at=at("open_early") if shut else None,
        open_late_at=at("open_late") if shut else None,
        may_open=run.may_open,
        conversion=run.conversion,
        cure=str(setting.cure_state(run, film)),
        flash_share=flash_off.share(run) if flashing else None,
        flash_late_at=flash_off.late_end_at(run, view.now, room) if flashing else None,
        stalled=setting.stalled(run, view.now),
    )


def _due(rig: RigState, view: View) -> tuple[Due, ...]:
    found: list[Due] = []
    for run in [rig.run, *rig.aside]:
        if run is not None and run.outcome is None:
            found.extend(_due_of(run, view))
    zone = interlocks.ZoneView(rig.zone.wet, rig.zone.tidied_at, rig.zone.out_at)
    free = interlocks.zone_free_at(zone)
    if rig.zone.wet and free is not None:
        name = rig.run.id if rig.run is not None else ""
        found.append(Due(what="check the lamp's zone", at=free, until=None, batch=name))
    return tuple(sorted(found, key=lambda due: due.at))


def _due_of(run: Run, view: View) -> list[Due]:
    shown = _setting(run, view, view.film)
    found = []
    if run.stage is Stage.HOLD and shown.open_early_at is not None:
        found.append(
            Due(
                what="may be opened", at=shown.open_early_at, until=shown.open_late_at, batch=run.id
            )
        )
    if run.stage is Stage.FLASHOFF and run.film_off_at is not None:
        next_weigh_in = last_weigh_in(run, run.film_off_at) + WEIGH_EACH
        found.append(Due(what="weigh-in", at=next_weigh_in, until=None, batch=run.id))
        if shown.flash_late_at is not None:
            found.append(Due(what="solvent out", at=shown.flash_late_at, until=None, batch=run.id))
    return found


def press_named(shown: Snapshot, act: str) -> Press | None:
    """The open press of that name in a snapshot; None when it is not open."""
    for press in (shown.press, *shown.others):
        if press is not None and press.act == act:
            return press
    return None
