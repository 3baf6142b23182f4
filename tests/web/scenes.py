"""Made-up moments of a batch, as the snapshots of controller/batch/snapshot.py would tell them."""

from dataclasses import asdict
from math import exp
from typing import Any

from controller.batch.presses import shelve_press
from controller.batch.snapshot import (
    AlarmShown,
    BagShown,
    BatchShown,
    Due,
    HeatShown,
    OutputShown,
    Press,
    Quantity,
    Sentence,
    SettingShown,
    Shown,
    Snapshot,
)

HOUR = 3600.0
TOLD_AT_ZERO = 1794934800.0  # 17 Nov 2026 17:00 UTC, 18:00 in the shop
LOST = Shown(value=None, age_s=None, source="lost")
OFF = OutputShown(on=False, wiring="wired", word="off", why="not this stage")
LOCKED = OutputShown(on=False, wiring="wired", word="off, locked", why="coated work in the zone")
LAMP_ON = OutputShown(on=True, wiring="wired", word="on", why="warming into the preheat band")
PUMP_ON = OutputShown(on=True, wiring="wired", word="on", why="pulling back into the hold band")
BAGGING = BagShown(
    target_pa=26_800,
    restart_pa=33_600,
    possible_pa=20_100,
    rise_pa_s=0.9,
    verdict="tight",
    asked_again_at=None,
)


def probe(value: float, age: float = 0.6) -> Shown:
    """A reading from a wire."""
    return Shown(value=value, age_s=age, source="probe")


def says(text: str, **values: tuple[str, float]) -> Sentence:
    """A sentence and its figures: degC and rig time here, K and UTC as it is sent."""
    zero = {"temperature": 273.15, "clock": TOLD_AT_ZERO}
    figures = {
        name: Quantity(kind=kind, value=value + zero.get(kind, 0.0))
        for name, (kind, value) in values.items()
    }
    return Sentence(text=text, values=figures)


def press(act: str, says: str, *, due: bool = True, hold: bool = False, **asks: str) -> Press:
    """An act that is open."""
    return Press(act=act, says=says, asks=asks, due=due, hold=hold)


def heat(**changed: Any) -> HeatShown:
    """A board whose band is 43 to 45 degC."""
    known: dict[str, Any] = {
        "band_low_c": 43.0,
        "band_high_c": 45.0,
        "window_low_c": 32.0,
        "window_high_c": 38.0,
        "mean_c": None,
        "target_mean_c": 40.5,
        "soak_left_s": None,
        "coat_now": False,
        "opens_s": None,
        "shuts_s": None,
        "draw_left": None,
        "presence_left_s": None,
    }
    return HeatShown(**{**known, **changed})


def batch(stage: str, since: float, form: str | None = None, **setting: Any) -> BatchShown:
    """The washboard in ash, at this stage."""
    known: dict[str, Any] = {
        "age_s": 0.0,
        "gel_early_at": None,
        "gel_late_at": None,
        "gelled": False,
        "open_early_at": None,
        "open_late_at": None,
        "may_open": False,
        "conversion": 0.2,
        "cure": "liquid",
        "flash_share": None,
        "flash_late_at": None,
        "stalled": False,
    }
    return BatchShown(
        id="b7",
        name="Washboard, ash",
        shop="Eelgrass Boatworks",
        coat=1,
        coats=2,
        face="A",
        pieces=("washboard", "sill"),
        stage=stage,
        form=form,
        since=since,
        left=None,
        place=None,
        outcome=None,
        setting=SettingShown(**{**known, **setting}),
    )


def moment(stage: str, now: float, sentence: Sentence, **changed: Any) -> dict[str, Any]:
    """A snapshot as JSON, with everything quiet that is not named."""
    known: dict[str, Any] = {
        "version": 1,
        "seq": int(now),
        "now": now,
        "told_utc": TOLD_AT_ZERO + now,
        "time_zone": "Europe/Berlin",
        "simulated": True,
        "pace": 60.0,
        "rig": "bench rig",
        "stage": stage,
        "sentence": sentence,
        "cautions": (),
        "press": None,
        "others": (),
        "face": LOST,
        "back": LOST,
        "room": probe(19.4, 1.2),
        "film": LOST,
        "bag": LOST,
        "air_pa": 100_900.0,
        "lamp": OFF,
        "pump": OFF,
        "zone_locked": False,
        "zone_free_at": None,
        "heat": None,
        "bagging": None,
        "batch": batch(stage, now - 600),
        "aside": (),
        "alarms": (),
        "blind": None,
        "muted_until": None,
        "due": (),
    }
    return asdict(Snapshot(**{**known, **changed}))


def planned() -> dict[str, Any]:
    """Before the lamp: START wants three confirmations."""
    start = press(
        "START",
        "Lamp plugged in, board under it, probe on.",
        hold=True,
        plug_in_reach="true: plug or stop switch within reach, and somebody stays",
        smoke_alarm="true: a smoke alarm is in the room",
        aired="true: no solvent open, room aired for 3 min",
    )
    return moment(
        "PLANNED",
        60,
        says(
            "Set the board under the lamp. The sheet asks for {low} to {high} at the face.",
            low=("temperature", 43),
            high=("temperature", 45),
        ),
        press=start,
        others=(
            press("DRY PULL", "The dry bag is on; pull it to see how tight it is.", due=False),
        ),
        cautions=("The lamp's bulb passes 249 °C: nothing that burns within 60 cm.",),
        heat=heat(),
        face=probe(19.8),
    )


def preheat() -> dict[str, Any]:
    """The lamp is on and the face climbs."""
    return moment(
        "PREHEAT",
        900,
        says(
            "Warming. Face {face}, in the band in about {left}. Stay with the lamp.",
            face=("temperature", 36.4),
            left=("duration", 300),
        ),
        cautions=("Lamp on: stay in the room.", "No thinner, no wet rag near the lamp."),
        others=(
            press("PRESENT", "I am here.", due=False),
            press("LAMP OFF", "Lamp off by hand.", due=False),
            press(
                "MIXED",
                "A and B are mixed.",
                due=False,
                a_g="part A weighed in, [g]",
                b_g="part B weighed in, [g]",
            ),
        ),
        face=probe(36.4),
        back=probe(23.1),
        lamp=LAMP_ON,
        heat=heat(mean_c=28.5, soak_left_s=1500, presence_left_s=420),
        batch=batch("PREHEAT", 300),
        due=(Due(what="coat about", at=3000, until=3600, batch="b7"),),
    )


def coat_now() -> dict[str, Any]:
    """The face is in the window and falling."""
    return moment(
        "COOLDOWN",
        3000,
        says(
            "Face {face} and falling: first stroke now, end grain first.",
            face=("temperature", 37.4),
        ),
        pace=10.0,
        cautions=("Thinner open: lamp stays unplugged, no flame.", "Gloves. Air the room."),
        press=press("COATING", "First stroke on the washboard.", hold=True),
        others=(
            press("REHEAT", "Plug in again; the thinner is still shut.", due=False, hold=True),
        ),
        face=probe(37.4),
        heat=heat(mean_c=39.0, coat_now=True, opens_s=0, shuts_s=160, draw_left=0.91),
        batch=batch("COOLDOWN", 2900),
    )


def hold_at_night(**changed: Any) -> dict[str, Any]:
    """Two in the morning, gelled, nothing to do."""
    known: dict[str, Any] = {
        "pace": 1200.0,
        "cautions": ("Solvent under the film: no flame, no lamp in this zone.",),
        "others": (
            press(
                "OPENED",
                "The bag is open.",
                due=False,
                hold=True,
                reason="why it is opened before the open-from time",
            ),
            press("RESEAL", "The bag leaks and is sealed again.", due=False, hold=True),
            press(
                "READING",
                "A reading of my own.",
                due=False,
                role="face, back, room, film, bag or barometer",
                value_c="temperature, [degC]",
                value_pa="absolute pressure, [Pa]",
            ),
        ),
        "face": Shown(value=21.2, age_s=0.0, source="estimate"),
        "film": probe(20.9, 3),
        "bag": probe(27_300, 0.4),
        "lamp": LOCKED,
        "pump": OutputShown(on=False, wiring="wired", word="off", why="inside the hold band"),
        "zone_locked": True,
        "heat": heat(mean_c=21.2),
        "bagging": BAGGING,
        "batch": batch(
            "HOLD",
            1.4 * HOUR,
            "HELD",
            age_s=20_000,
            gel_early_at=4.6 * HOUR,
            gel_late_at=7.1 * HOUR,
            gelled=True,
            open_early_at=14.2 * HOUR,
            open_late_at=18.5 * HOUR,
        ),
        "due": (
            Due(what="may be opened", at=14.2 * HOUR, until=18.5 * HOUR, batch="b7"),
            Due(what="first weigh-in", at=19 * HOUR, until=None, batch="b7"),
        ),
    }
    return moment(
        "HOLD",
        8.1 * HOUR,
        says(
            "Holding at {bag} of a possible {possible}. Gelled. Nothing to do until {open}.",
            bag=("vacuum", 73_600),
            possible=("vacuum", 80_800),
            open=("clock", 14.2 * HOUR),
        ),
        **{**known, **changed},
    )


def flash_off() -> dict[str, Any]:
    """Out of the bag, the solvent leaving, another batch elsewhere."""
    elsewhere = batch(
        "FLASHOFF", 0, gelled=True, may_open=True, flash_share=0.41, flash_late_at=88 * HOUR
    )
    return moment(
        "FLASHOFF",
        30 * HOUR,
        says("Solvent is leaving. Weigh the board at {next}.", next=("clock", 40 * HOUR)),
        pace=6000.0,
        press=press(
            "WEIGHED",
            "The board on the scale.",
            due=False,
            mass_g="what the scale says, [g]",
            what="board, sister or coupon",
        ),
        others=(
            press(
                "MOVED OUT",
                "The work is out of the lamp's zone.",
                due=False,
                place="where the work is now, 3 m off or another room",
            ),
        ),
        lamp=LOCKED,
        zone_locked=True,
        batch=batch(
            "FLASHOFF",
            18 * HOUR,
            gelled=True,
            may_open=True,
            flash_share=0.22,
            gel_early_at=4.6 * HOUR,
            gel_late_at=7.1 * HOUR,
            flash_late_at=96 * HOUR,
        ),
        aside=(
            {
                **asdict(elsewhere),
                "id": "b6",
                "name": "Washboard, sapele",
                "place": "loft, 6 m off",
            },
        ),
        due=(
            Due(what="weigh-in", at=40 * HOUR, until=None, batch="b7"),
            Due(what="solvent out", at=60 * HOUR, until=96 * HOUR, batch="b7"),
            Due(what="weigh-in", at=44 * HOUR, until=None, batch="b6"),
        ),
    )


def leak_at_night() -> dict[str, Any]:
    """The bag lets go before the gel: somebody must get up."""
    return hold_at_night(
        pump=PUMP_ON,
        bag=probe(48_000, 0.4),
        alarms=(
            AlarmShown(
                id="bag-out-of-band",
                priority="P1",
                state="unacknowledged",
                since=8.0 * HOUR,
                follows=None,
                shelve=None,
                shelved_until=None,
                says=says(
                    "The bag is at {bag} and rising although the pump runs.", bag=("vacuum", 52_900)
                ),
                cause="A seam that opened.",
                do="Listen along the tape, corners and pleats first, and press it down.",
            ),
            AlarmShown(
                id="room-cold",
                priority="P3",
                state="acknowledged",
                since=7.2 * HOUR,
                follows=None,
                shelve=shelve_press(),
                shelved_until=None,
                says=says("The room is down to {room}.", room=("temperature", 14.6)),
                cause="A heater that went off.",
                do="Warm the room; the hold gets longer by itself.",
            ),
        ),
    )


def night_so_far() -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The trace from the first warming to two in the morning, and when the stages began."""
    at = [60.0 * n for n in range(8 * 60 + 7)]
    face = [
        19.5 + 25 * (1 - exp(-max(0, t - 300) / 500))
        if t < 2900
        else 20 + 24 * exp((2900 - t) / 9e2)
        for t in at
    ]
    bag = [100_900.0 if t < 4700 else 28_000 + 5_000 * ((t / 2400) % 1) for t in at]
    unread = [None] * len(at)
    samples = {
        "batch": "b7",
        "columns": {
            "at_s": at,
            "at_utc": [TOLD_AT_ZERO + t for t in at],
            "face_c": [None if t > 3300 else c for t, c in zip(at, face, strict=True)],
            "back_c": unread,
            "room_c": [19.5 - t / 9000 for t in at],
            "film_c": unread,
            "mean_c": [c - 4 * exp(-((t / 1e3 - 1.5) ** 2)) for t, c in zip(at, face, strict=True)],
            "bag_pa": bag,
            "face_low_c": [None if t > 3300 else c - 0.4 for t, c in zip(at, face, strict=True)],
            "face_high_c": [None if t > 3300 else c + 0.4 for t, c in zip(at, face, strict=True)],
            "bag_low_pa": [None if pa is None else pa - 400 for pa in bag],
            "bag_high_pa": [None if pa is None else pa + 400 for pa in bag],
            "air_pa": [100_900.0] * len(at),
        },
    }
    began = {
        "PREHEAT": 300,
        "SOAK": 1500,
        "COOLDOWN": 2900,
        "COAT": 3200,
        "BAG": 4200,
        "PULLDOWN": 4700,
        "HOLD": 5040,
    }
    return samples, [{"stage": name, "began_utc": TOLD_AT_ZERO + t} for name, t in began.items()]
