"""A made-up batch of Eelgrass Boatworks, told to a real log: an ash washboard over three days."""

from math import exp, sin
from pathlib import Path

from controller.batch.events import Event, EventKind
from controller.batch.stages import Stage
from controller.planning.sheet import (
    Bag,
    BatchSheet,
    Board,
    Coat,
    FlashOff,
    Heat,
    Mix,
    Piece,
    Resin,
)
from controller.planning.sheet_json import sheet_to_json
from controller.store.log import Log
from controller.store.rows import Entry, NewBatch, SampleRow, Stamp, WeighIn

UTC = 1_762_272_000.0
"""Tue 4 Nov 2025 16:00 UTC."""
ID = "ash-1"
C = 273.15
AIR = 100_000.0

START, IN_BAND, LAMP_OFF, STROKE = 600.0, 1800.0, 2700.0, 2860.0
COATED, SEALED, HOLD = 3160.0, 3460.0, 4060.0
GEL, MAY_OPEN, OPENED = 20_060.0, 50_060.0, 51_260.0
END = OPENED + 48 * 3600.0
HOLE = (30_060.0, 33_660.0)


def sheet(name: str = "Washboard in ash", **more: object) -> BatchSheet:
    coat = Coat(
        number=1,
        face="A",
        pieces=("washboard",),
        board=Board(
            thickness=0.02,
            conductivity=0.17,
            density=680.0,
            heat_capacity=1600.0,
            porosity=0.5,
            moisture=0.08,
            face_loss=11.0,
            back_loss=6.0,
        ),
        probe_on="washboard",
        mix=Mix(a=0.06, b=0.03, thinner_name="acetone", thinner=0.009, coat=0.085),
        heat=Heat(
            band_low=C + 43,
            band_high=C + 46,
            trip=C + 55,
            window_low=C + 32,
            window_high=C + 38,
            target_mean=C + 40,
            settles_at=C + 60,
            reachable=True,
            advice=None,
            preheat=1200.0,
            soak=900.0,
            lamp_on=1800.0,
            opens=50.0,
            shuts=260.0,
            handling=180.0,
        ),
        bag=Bag(
            target=27_000.0,
            restart=33_000.0,
            possible=20_000.0,
            boil_limit=18_000.0,
            leak_limit=5.0,
            let_up=False,
        ),
        resin=Resin(
            name="laminating 2:1 slow",
            reference=C + 25,
            activation_energy=55e3,
            pot_life=2400.0,
            gel_early=9000.0,
            gel_late=16_000.0,
            gel_is_guess=True,
            open_early=36_000.0,
            open_late=54_000.0,
            coldest=C + 10,
            uncured_glass=-22 + 273.15,
            cured_glass=90 + 273.15,
            glass_curvature=0.4,
        ),
        flash_off=FlashOff(
            early=172_800.0, late=432_000.0, reference=C + 20, activation_energy=35e3
        ),
    )
    given = {
        "name": name,
        "shop": "Eelgrass Boatworks",
        "pieces": (
            Piece(
                name="washboard",
                wood="white ash",
                length=0.6,
                width=0.5,
                thickness=0.02,
                moisture=0.08,
                ends_sealed=True,
                back_sealed=False,
            ),
        ),
        "coats": (coat,),
        "cautions": ("The back is bare: the draw is less than it could be.",),
        "sources": {},
    }
    return BatchSheet(**(given | more))


def stamp(at: float) -> Stamp:
    return Stamp(at=at, told_utc=UTC + at, mono=at + 50, boot_id="boot-1", clock_trusted=True)


def event(at: float, kind: EventKind, stage: str, text: str, **data: object) -> Event:
    happened = data.pop("happened_at", None)
    return Event(at, kind, ID, stage, text, data, happened)


def act(at: float, name: str, stage: str, by: str = "Ida", **data: object) -> Event:
    return event(
        at, EventKind.ACT, stage, f"{name} from {by}.", act=name, by=by, id=f"{name}{at}", **data
    )


def stage(at: float, before: str, after: str) -> Event:
    return event(at, EventKind.STAGE, after, f"{before} ends, {after} begins.", **{"from": before})


def output(at: float, of: str, name: str, on: bool) -> Event:
    return event(
        at, EventKind.OUTPUT, of, f"{name.capitalize()} {'on' if on else 'off'}.", **{name: on}
    )


def story(simulated: bool | None) -> list[Event]:
    """What happened, in order of time."""
    said = {} if simulated is None else {"simulated": simulated}
    told = [
        act(0.0, "PLAN", "PLANNED", "the shell", told_id=ID, **said),
        act(START, "START", "PREHEAT", told_aired=True, told_smoke_alarm=True),
        stage(START, "PLANNED", "PREHEAT"),
        output(START, "PREHEAT", "lamp", True),
        stage(IN_BAND, "PREHEAT", "SOAK"),
        act(2000.0, "MIXED", "SOAK", told_a_g=60.4, told_b_g=30.1),
        act(LAMP_OFF, "ENOUGH", "COOLDOWN"),
        stage(LAMP_OFF, "SOAK", "COOLDOWN"),
        output(LAMP_OFF, "COOLDOWN", "lamp", False),
        act(LAMP_OFF + 20, "UNPLUGGED", "COOLDOWN"),
        act(LAMP_OFF + 60, "THINNED", "COOLDOWN", told_thinner_g=9.1),
        event(LAMP_OFF + 90, EventKind.COAT_NOW, "COOLDOWN", "Coat now.", face_c=37.9),
        act(STROKE, "COATING", "COAT"),
        stage(STROKE, "COOLDOWN", "COAT"),
        act(COATED + 120, "COATED", "BAG", happened_at=COATED),
        stage(COATED + 120, "COAT", "BAG"),
        act(SEALED, "SEALED", "PULLDOWN", told_used_g=84.0),
        stage(SEALED, "BAG", "PULLDOWN"),
        output(SEALED, "PULLDOWN", "pump", True),
        output(SEALED + 240, "PULLDOWN", "pump", False),
        event(HOLD, EventKind.GATE, "HOLD", "Leak gate: tight.", rise_pa_s=1.4),
        stage(HOLD, "PULLDOWN", "HOLD"),
        event(12_000.0, EventKind.ALARM_RAISED, "HOLD",
              "P2: vacuum lost. Look at hose and pump, then along the tape.",
              alarm="vacuum lost", priority="P2"),
        act(12_180.0, "ACKNOWLEDGE", "HOLD", "Jonas", told_alarm="vacuum lost"),
        event(12_300.0, EventKind.REFUSED, "HOLD", "OPENED from Jonas refused: it is too early.",
              act="OPENED", by="Jonas", id="no"),
        act(12_340.0, "READING", "HOLD", "Jonas", told_role="bag", told_value_pa=52_000.0),
        event(12_600.0, EventKind.ALARM_CLEARED, "HOLD", "vacuum lost: cause gone.",
              alarm="vacuum lost"),
        event(GEL, EventKind.GEL, "HOLD", "The resin has gelled.", age_s=16_000.0),
        event(HOLE[1], EventKind.GAP, "HOLD", "No step for 3600 s; 10 s of it are counted.",
              gap_s=3600.0, counted_s=10.0),
        event(MAY_OPEN, EventKind.MAY_OPEN, "HOLD", "The bag may be opened.", age_s=36_000.0),
        act(OPENED, "OPENED", "FLASHOFF"),
        stage(OPENED, "HOLD", "FLASHOFF"),
        act(OPENED + 60, "TIDIED", "FLASHOFF"),
        act(OPENED + 40_000, "WEIGHED", "FLASHOFF", told_mass_g=4210.0, told_what="board"),
    ]  # fmt: skip
    for start in pump_starts():
        told += [output(start, "HOLD", "pump", True), output(start + 60, "HOLD", "pump", False)]
    return sorted(told, key=lambda one: one.at)


def pump_starts() -> list[float]:
    """Every hour of the hold but in the hole."""
    every = [HOLD + 3600.0 * n for n in range(1, 14)]
    return [at for at in every if not HOLE[0] <= at < HOLE[1]]


def face(at: float) -> float:
    if at < START:
        return C + 18
    if at < IN_BAND:
        return C + 18 + 25 * (at - START) / (IN_BAND - START)
    if at < LAMP_OFF:
        return C + 44.5 + 1.2 * sin((at - IN_BAND) / 60)
    return C + 20 + 24.5 * exp(-(at - LAMP_OFF) / 600)


def mean(at: float) -> float:
    if at < START:
        return C + 18
    if at < LAMP_OFF:
        return C + 18 + 22 * (1 - exp(-(at - START) / 800))
    return C + 19 + 18 * exp(-(at - LAMP_OFF) / 2400)


def bag(at: float) -> float:
    if at < SEALED:
        return AIR
    if at < SEALED + 240:
        return 27_000 + (AIR - 27_000) * exp(-(at - SEALED) / 45)
    if 12_000 <= at < 12_600:
        return 60_000.0
    since = (at - HOLD) % 3600
    return 27_000 + 6_000 * min(1.0, max(0.0, since - 60) / 3540)


def lamp(at: float) -> bool:
    return START <= at < LAMP_OFF


def pump(at: float) -> bool:
    return SEALED <= at < SEALED + 240 or any(start <= at < start + 60 for start in pump_starts())


def sampled_at() -> list[float]:
    warm = [float(at) for at in range(0, int(HOLD))]
    hold = [HOLD + 10.0 * n for n in range(int((OPENED - HOLD) / 10))]
    days = [OPENED + 600.0 * n for n in range(int((END - OPENED) / 600) + 1)]
    return warm + [at for at in hold if not HOLE[0] <= at < HOLE[1]] + days


def stage_at(at: float) -> Stage:
    found = Stage.PLANNED
    for since, name in (
        (START, Stage.PREHEAT),
        (IN_BAND, Stage.SOAK),
        (LAMP_OFF, Stage.COOLDOWN),
        (STROKE, Stage.COAT),
        (COATED + 120, Stage.BAG),
        (SEALED, Stage.PULLDOWN),
        (HOLD, Stage.HOLD),
        (OPENED, Stage.FLASHOFF),
    ):
        found = name if at >= since else found
    return found


def sample(at: float, *, barometer: bool = True) -> SampleRow:
    out = at >= OPENED
    return SampleRow(
        at=at,
        told_utc=UTC + at,
        batch=ID,
        stage=stage_at(at),
        coat=1,
        face=face(at) if at < STROKE else None,
        room=C + 18 - 2 * sin(at / 20_000),
        film=C + 22 if SEALED <= at < OPENED else None,
        mean=mean(at) if not out else None,
        bag=bag(at) if SEALED <= at < OPENED else None,
        air=AIR if barometer else None,
        lamp=lamp(at),
        pump=pump(at) and not out,
    )


def planned() -> Entry:
    """The first entry of the batch, and nothing after it."""
    batch = NewBatch(id=ID, name="Washboard in ash", sheet=sheet_to_json(sheet()))
    return Entry(stamp=stamp(0.0), events=(story(True)[0],), batches=(batch,))


def keep(
    path: Path,
    *,
    simulated: bool | None = True,
    of: BatchSheet | None = None,
    barometer: bool = True,
) -> Path:
    """Tell the whole batch to a log at `path`."""
    log = Log.open(path, throwaway=True)
    batch = NewBatch(id=ID, name="Washboard in ash", sheet=sheet_to_json(of or sheet()))
    happened = story(simulated)
    log.write(Entry(stamp=stamp(0.0), events=(happened[0],), batches=(batch,)))
    for one in happened[1:]:
        weigh_ins = ()
        if one.data.get("act") == "WEIGHED":
            weigh_ins = tuple(
                WeighIn(batch=ID, at=at, told_utc=UTC + at, what="board", mass=mass)
                for at, mass in ((one.at - 36_000, 4.22), (one.at, 4.21))
            )
        log.write(Entry(stamp=stamp(one.at), events=(one,), weigh_ins=weigh_ins))
    for at in sampled_at():
        log.sample(sample(at, barometer=barometer))
    log.close()
    return path
