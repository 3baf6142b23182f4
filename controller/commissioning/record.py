"""The dated record of a rig's bench check, without which a real rig's lamp is not armed."""

import os
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from controller.batch.signals import Corrections
from controller.errors import InputError
from controller.hardware.rig import wired_probes
from controller.quantities import Pressure
from controller.settings import Settings
from controller.settings.panel import panel_lines
from controller.whole_files import write_whole

RECORD_FILE = "bench-record.json"
"""In the state folder: what the rig's last bench check found."""
TEXT_FILE = "bench-record.txt"
"""The same for people."""
IN_DATE = 365 * 86400.0
"""How long a bench check holds, [s]. Own."""
PROOF_IN_DATE = 30 * 86400.0
"""How long the proof of cut-out, dead-man, STOP and sounder holds, [s]. Own."""
CLOCK_DOUBT = 86400.0
"""A check dated further ahead than this means a wrong clock, [s]. Own."""

Verdict = Literal["pass", "fail", "not fitted", "skipped"]


class Model(BaseModel):
    """Strict and frozen, as everything read from a file."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Result(Model):
    """What came of one step."""

    step: str
    verdict: Verdict
    says: str
    """What was seen, or what to do, in a line."""
    figures: dict[str, float] = {}
    """What was measured, the unit in the name."""
    corrections: dict[str, float] = {}
    """Added to a sensor's readings from now on: probes by role, [K]; `bag`, [Pa]."""


class BenchRecord(Model):
    """A rig's bench check: when, how it was wired then, and what was found."""

    version: int = Field(ge=2, le=2)
    """Of this shape."""
    name: str
    """As it is named to people."""
    made_utc: float
    """When the whole of it was checked, seconds since 1970 UTC."""
    proof_utc: float
    """When its proof tests were made last, seconds since 1970 UTC."""
    simulated: bool
    """It was made on a pretended rig."""
    wiring: dict[str, str]
    """What `wiring` gave for the rig's settings."""
    results: tuple[Result, ...]

    def is_of(self, settings: Settings) -> bool:
        """The rig is wired as it was."""
        return self.wiring == wiring(settings)

    def in_date(self, settings: Settings, now_utc: float) -> bool:
        """Younger than a year, and the rig is wired as it was.

        now_utc: the calendar, seconds since 1970 UTC
        """
        return self.young(now_utc) and self.is_of(settings)

    def young(self, now_utc: float) -> bool:
        """Younger than a year; now_utc as in `in_date`."""
        return -CLOCK_DOUBT <= now_utc - self.made_utc < IN_DATE

    def proof_due(self, now_utc: float) -> bool:
        """The proof tests are a month old."""
        return not -CLOCK_DOUBT <= now_utc - self.proof_utc < PROOF_IN_DATE

    def days_left(self, now_utc: float, proofs: bool) -> float:
        """Until the check, or with `proofs` those too, run out, [d]; under zero once they have."""
        ends = self.made_utc + IN_DATE
        if proofs:
            ends = min(ends, self.proof_utc + PROOF_IN_DATE)
        return (ends - now_utc) / 86400.0

    def passed(self, step: str) -> bool:
        """This step was passed."""
        return any(found.step == step and found.verdict == "pass" for found in self.results)

    def corrections(self) -> Corrections:
        """What is added to the sensors' readings."""
        found = Corrections()
        for result in self.results:
            found = replace(found, **result.corrections)
        return found


def wiring(settings: Settings) -> dict[str, str]:
    """All of the settings that a bench check looks at, as text."""
    lamp, pump, gauge = settings.lamp, settings.pump, settings.gauge
    found = {
        "rig": f"{settings.rig.name}, {settings.rig.backend}",
        "lamp": f"{lamp.wired} {lamp.gpio}, {lamp.count} x {lamp.power:.0f} W",
        "pump": f"{pump.wired} {pump.gpio}",
        "gauge": f"{gauge.wired}, {_point(gauge.low_volts, gauge.low_pressure)},"
        f" {_point(gauge.high_volts, gauge.high_pressure)}; converter {gauge.adc}, input"
        f" {gauge.channel}, supply on {gauge.supply_channel}; {gauge.output}, resistor"
        f" {gauge.resistor}, divider {gauge.divider}",
        "barometer": f"{settings.barometer.wired} {settings.barometer.address}",
        "infrared": f"{settings.infrared.wired} {settings.infrared.emissivity}",
    }
    found |= {name: str(line) for name, line in panel_lines(settings.panel, settings.sense)}
    return found | {str(role): name for role, name in wired_probes(settings).items()}


def _point(volts: float | None, pressure: Pressure | None) -> str:
    """One of the two points of a gauge's line."""
    if volts is None or pressure is None:
        return "no point"
    return f"{volts:g} V at {pressure.value:g} Pa {pressure.kind}"


def read_bench_record(state_folder: Path) -> BenchRecord | None:
    """The record in the state folder; None when there is none.

    Raises InputError when it cannot be used.
    """
    return _read(state_folder / RECORD_FILE)


def read_attempt(state_folder: Path) -> BenchRecord | None:
    """The newest check that failed; None when there is none. Raises as `read_bench_record`."""
    attempts = sorted(state_folder.glob("bench-attempt-*.json"))
    return _read(attempts[-1]) if attempts else None


def _read(path: Path) -> BenchRecord | None:
    try:
        return BenchRecord.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, ValidationError) as error:
        raise InputError(f"{path} cannot be used; move it away and run warmdraw check") from error


def as_text(record: BenchRecord) -> str:
    """The record as people read it."""
    lines = [
        f"{record.name}, of {record.wiring['rig']}",
        f"checked {_day(record.made_utc)}; cut-out, dead-man, STOP and the rest proved"
        f" {_day(record.proof_utc)}",
        "",
    ]
    for found in record.results:
        lines.append(f"{found.step}: {found.verdict.upper()}: {found.says}")
        measured = ", ".join(f"{name} {value:g}" for name, value in found.figures.items())
        lines += [f"    {measured}"] if measured else []
    lines += ["", "It holds for this wiring:"]
    lines += [f"    {name}: {as_wired}" for name, as_wired in record.wiring.items()]
    return "\n".join(lines) + "\n"


def keep(record: BenchRecord, state_folder: Path) -> Path:
    """Put the record in force; the one before it stays under its date. Where it is now.

    Raises InputError when the folder cannot be written; then the one before is still in force.
    """
    path = state_folder / RECORD_FILE
    try:
        state_folder.mkdir(mode=0o750, parents=True, exist_ok=True)
        if path.exists():
            kept = path.with_name(f"bench-record-{_stamp(path.stat().st_mtime)}.json")
            if not kept.exists():
                os.link(path, kept)
        write_whole(path, record.model_dump_json(indent=2) + "\n")
        write_whole(state_folder / TEXT_FILE, as_text(record))
    except OSError as error:
        raise InputError(
            f"{error.filename or path}: the record could not be written ({error.strerror})"
        ) from error
    return path


def withdraw(state_folder: Path, now_utc: float) -> Path | None:
    """Put the record in force out of it: something it vouched for has failed. Where it is now; None
    where there was none.

    Raises InputError when the folder cannot be written.
    """
    path = state_folder / RECORD_FILE
    aside = path.with_name(f"bench-record-withdrawn-{_stamp(now_utc)}.json")
    try:
        path.rename(aside)
        (state_folder / TEXT_FILE).unlink(missing_ok=True)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise InputError(f"{path} could not be put out of force ({error.strerror})") from error
    return aside


def keep_attempt(record: BenchRecord, state_folder: Path, now_utc: float) -> Path:
    """Write down a check that failed; nothing goes by it. Raises InputError as `keep`."""
    path = state_folder / f"bench-attempt-{_stamp(now_utc)}.json"
    try:
        state_folder.mkdir(mode=0o750, parents=True, exist_ok=True)
        write_whole(path, record.model_dump_json(indent=2) + "\n")
    except OSError as error:
        raise InputError(f"{path}: could not be written ({error.strerror})") from error
    return path


def _stamp(at_utc: float) -> str:
    return f"{datetime.fromtimestamp(at_utc, UTC):%Y%m%dT%H%M%SZ}"


def _day(at_utc: float) -> str:
    return f"{datetime.fromtimestamp(at_utc, UTC):%Y-%m-%d}"
