"""The loop's clocks: pace, deadlines, lateness, and what systemd and the record are told."""

import asyncio
import re
import socket
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from controller.batch.acts import Act, ActKind
from controller.batch.engine import Engine
from controller.batch.signals import OUTPUTS_OFF, Commands, Readings
from controller.batch.snapshot import Snapshot, TicksShown
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run
from controller.commissioning.record import IN_DATE, BenchRecord, wiring
from controller.daemon import clock as clock_module
from controller.daemon import loop as loop_module
from controller.daemon import pace as pace_module
from controller.daemon.clock import boot_id, boottime, clock_trusted
from controller.daemon.facts import pretend_facts, real_facts
from controller.daemon.gate import Gate
from controller.daemon.lateness import KEPT, Lateness
from controller.daemon.loop import LATE, Loop
from controller.daemon.pace import PACE, PretendTime, RealTime, pace
from controller.daemon.sd_notify import Notifier
from controller.errors import OutputError
from controller.instant import Instant
from controller.planning.sheet_json import sheet_from_json
from controller.runner import Runner
from controller.settings import Settings, default_settings_text, parse_settings
from controller.store.log import Log


def engine_in(stage: Stage, sheet: str) -> Engine:
    run = Run(id="ash-1", sheet=sheet_from_json(sheet), coat_index=0, stage=stage, since=0.0)
    return Engine(RigState(now=0.0, run=run))


class QuietRig:
    """A rig that reads nothing and remembers what it was told."""

    simulated = True

    def __init__(self) -> None:
        self.now = OUTPUTS_OFF
        self.told: list[Commands] = []
        self.fails = False

    def read(self, now: float) -> Readings:
        return Readings()

    def apply(self, commands: Commands) -> None:
        self.told.append(commands)
        self.now = commands

    def outputs(self) -> Commands:
        return self.now

    def off(self) -> None:
        if self.fails:
            raise OutputError("lamp on GPIO17 could not be switched OFF; pull its plug")
        self.now = OUTPUTS_OFF

    def close(self) -> None:
        self.off()


@pytest.fixture
def settings() -> Settings:
    return parse_settings(default_settings_text())


# --- pace


def test_every_stage_has_its_pace() -> None:
    assert set(PACE) == set(Stage)


@pytest.mark.parametrize(("stage", "wanted"), [("PREHEAT", 60.0), ("HOLD", 1200.0), ("COAT", 40.0)])
def test_speed_multiplies_the_pace_of_the_stage(stage: str, wanted: float, sheet: str) -> None:
    engine = engine_in(Stage(stage), sheet)
    assert pace(engine, hands_on=False, speed=1.0) == wanted
    assert pace(engine, hands_on=False, speed=3.0) == 3 * wanted


def test_with_hands_on_the_cool_down_runs_in_its_own_time(sheet: str) -> None:
    assert pace(engine_in(Stage.COOLDOWN, sheet), hands_on=True, speed=5.0) == 1.0


@pytest.mark.parametrize(("stage", "stands"), [(Stage.COAT, True), (Stage.BAG, True)])
def test_with_hands_on_rig_time_waits_for_a_press_that_is_due(
    stage: Stage, stands: bool, sheet: str, settings: Settings
) -> None:
    engine = engine_in(stage, sheet)
    facts = pretend_facts(settings, "in date")(Instant(1.0, 1.0, 1.0, "boot", True))
    engine.step(1.0, Readings(), [], facts)
    clock = PretendTime(1.0, 0.0, speed=1.0, hands_on=True)
    before = clock.instant().rig
    clock.next_tick(engine, boottime())
    assert (clock.instant().rig == before) is stands
    assert clock.pace == 0.0


def test_rig_time_goes_on_by_the_engines_step_at_the_stages_pace(sheet: str) -> None:
    clock = PretendTime(100.0, 5000.0, speed=2.0, hands_on=False)
    deadline = boottime() + 10.0
    following = clock.next_tick(engine_in(Stage.HOLD, sheet), deadline)
    assert clock.instant().rig == pytest.approx(110.0)
    assert clock.instant().told_utc == pytest.approx(5010.0)
    assert following - deadline == pytest.approx(10.0 / 2400.0)


def test_a_slow_pretend_rig_still_ticks_once_a_wall_second(sheet: str) -> None:
    clock = PretendTime(0.0, 0.0, speed=1.0, hands_on=False)
    deadline = boottime() + 10.0
    assert clock.next_tick(engine_in(Stage.FINISHED, sheet), deadline) - deadline == 1.0
    assert clock.instant().rig == pytest.approx(1.0)


def test_real_rig_time_is_the_machines_clock_counted_on() -> None:
    clock = RealTime(500.0)
    before, told = boottime(), clock.instant()
    assert told.rig == pytest.approx(500.0, abs=1.0)
    assert told.mono == pytest.approx(before, abs=1.0)
    assert told.boot_id == boot_id()
    assert clock.instant().rig >= told.rig


def test_missed_beats_are_left_out_and_the_rhythm_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = RealTime(0.0)
    engine = Engine(RigState(now=0.0))
    for late, wanted in [(0.0, 101.0), (0.9, 101.0), (1.2, 102.0), (3.7, 104.0)]:
        monkeypatch.setattr(pace_module, "boottime", lambda late=late: 100.0 + late)
        assert clock.next_tick(engine, 100.0) == wanted


def test_the_calendar_is_believed_once_it_was_set_since_boot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock_module, "SYNCED", tmp_path / "synchronized")
    assert not clock_trusted()
    (tmp_path / "synchronized").touch()
    assert clock_trusted()


# --- gate


def test_a_shut_gate_switches_nothing_on_again() -> None:
    rig = QuietRig()
    gate = Gate(rig)
    gate.apply(Commands(lamp=True))
    gate.shut()
    assert rig.now == OUTPUTS_OFF
    gate.apply(Commands(lamp=True, pump=True))
    assert rig.told[-1] == OUTPUTS_OFF


def test_a_signal_in_the_middle_of_switching_on_has_the_last_word() -> None:
    class Interrupted(QuietRig):
        def apply(self, commands: Commands) -> None:
            gate.shut()
            super().apply(commands)

    rig = Interrupted()
    gate = Gate(rig)
    gate.apply(Commands(lamp=True))
    assert rig.told == [Commands(lamp=True)]
    assert rig.now == OUTPUTS_OFF


# --- loop


class Steps:
    """Time in a test: a list of how late each tick is, then the end."""

    pace: float | None = None

    def __init__(self, late: Sequence[float]) -> None:
        self.loop: Loop | None = None
        self._late = list(late)
        self._now = 0.0

    def instant(self) -> Instant:
        self._now += 1.0
        return Instant(self._now, 1.8e9 + self._now, boottime(), "boot", True)

    def next_tick(self, engine: Engine, deadline: float) -> float:
        if not self._late:
            assert self.loop is not None
            self.loop.leave()
            return boottime()
        return boottime() - self._late.pop(0)


def looping(
    settings: Settings, tmp_path: Path, late: Sequence[float], rig: QuietRig | None = None
) -> tuple[Loop, Log]:
    log = Log.open(tmp_path / "log.db")
    gate = Gate(rig or QuietRig())
    clock = Steps(late)
    runner = Runner(gate, log, pretend_facts(settings, "in date"), clock.instant())
    loop = Loop(runner, gate, clock, Notifier(""), ("UTC", "a rig"))
    clock.loop = loop
    return loop, log


def texts(tmp_path: Path) -> list[str]:
    from controller.store.queries import LogReader

    lines = LogReader(tmp_path / "log.db").events()
    return [line.event.text for line in lines if line.event is not None]


def test_a_late_tick_is_written_down_once_a_minute(settings: Settings, tmp_path: Path) -> None:
    loop, log = looping(settings, tmp_path, [0.0, LATE + 0.3, LATE + 0.4, 0.1])
    asyncio.run(loop.run())
    log.close()
    (said,) = [text for text in texts(tmp_path) if "after its time" in text]
    assert re.fullmatch(r"A tick was done 0\.[89] s after its time; one is due each 1 s\.", said)
    shown = loop.lateness.shown()
    assert shown is not None and shown.count == 5
    assert shown.worst_late_s == pytest.approx(LATE + 0.4, abs=0.1)


def test_a_tick_that_takes_long_is_as_late_as_one_that_comes_late(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The beats it goes over are left out, so the next one comes in time and would not tell."""
    watch = 100.0

    class Slow(QuietRig):
        def read(self, now: float) -> Readings:
            nonlocal watch
            watch += 3.0
            return super().read(now)

    monkeypatch.setattr(loop_module, "boottime", lambda: watch)
    loop, log = looping(settings, tmp_path, [], Slow())
    asyncio.run(loop.run())
    log.close()
    assert loop.lateness.shown() == TicksShown(count=1, worst_late_s=3.0, most_late_s=3.0)
    assert any("A tick was done 3.0 s after its time" in text for text in texts(tmp_path))


def test_the_worst_tick_and_what_nearly_all_kept_to_are_of_the_last_hour() -> None:
    lateness = Lateness()
    assert lateness.shown() is None and lateness.line() == "no tick yet"
    for late in [9.0] * 5 + [0.01] * KEPT:
        lateness.add(late)
    assert lateness.shown() == TicksShown(count=KEPT, worst_late_s=0.01, most_late_s=0.01)
    for late in (0.5, 0.6, 0.7):
        lateness.add(late)
    # 3 of 3600 are less than one in a thousand
    assert lateness.shown() == TicksShown(count=KEPT, worst_late_s=0.7, most_late_s=0.01)
    lateness.add(0.4)
    assert lateness.line() == "ticks 0.40 s late at 99.9 %, 0.70 s at worst"
    lateness.add(-0.2)
    assert min(lateness._late) == 0.0


def test_systemd_and_those_who_look_are_told_how_late_the_ticks_are(
    settings: Settings, tmp_path: Path
) -> None:
    said: list[str] = []
    shown: list[Snapshot] = []

    class Listening(Notifier):
        def _say(self, text: str) -> None:
            said.append(text)

    loop, log = looping(settings, tmp_path, [LATE + 0.3])
    loop._notifier = Listening("x")
    loop.server.show = shown.append  # type: ignore[method-assign]
    asyncio.run(loop.run())
    log.close()
    assert re.fullmatch(
        r"WATCHDOG=1\nSTATUS=no batch; ticks \d\.\d\d s late at 99\.9 %, \d\.\d\d s at worst",
        said[1],
    )
    assert shown[0].ticks is not None and shown[0].ticks.count == 1


def test_an_output_that_cannot_be_switched_off_ends_the_loop(
    settings: Settings, tmp_path: Path
) -> None:
    rig = QuietRig()
    loop, log = looping(settings, tmp_path, [0.0] * 100, rig)
    rig.fails = True
    assert loop.off_now() is False
    with pytest.raises(OutputError, match="pull its plug"):
        asyncio.run(loop.run())
    log.close()


def test_a_bug_in_a_tick_ends_the_loop(settings: Settings, tmp_path: Path) -> None:
    class Broken(QuietRig):
        def read(self, now: float) -> Readings:
            raise ZeroDivisionError

    loop, log = looping(settings, tmp_path, [0.0] * 100, Broken())
    with pytest.raises(ZeroDivisionError):
        asyncio.run(loop.run())
    log.close()


def test_each_batchs_record_says_whether_the_rig_was_real(
    settings: Settings, tmp_path: Path, sheet: str
) -> None:
    loop, log = looping(settings, tmp_path, [0.0])
    plan = Act(
        id="plan-1",
        kind=ActKind.PLAN,
        batch=None,
        stage=None,
        by="Kim",
        values={"sheet": sheet, "id": "ash-1"},
    )
    loop.server.take = lambda: [plan]  # type: ignore[method-assign]
    asyncio.run(loop.run())
    log.close()
    assert "The rig is SIMULATED: a rig." in texts(tmp_path)


# --- sd_notify


def test_systemd_hears_ready_alive_and_stopping(tmp_path: Path) -> None:
    path = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(path))
        manager.settimeout(5)
        notifier = Notifier(str(path))
        notifier.ready()
        notifier.alive(lambda: "Washboard in ash: HOLD")
        notifier.alive(lambda: "too soon for another")
        notifier.stopping()
        heard = [manager.recv(1024).decode() for _ in range(3)]
    assert heard == ["READY=1", "WATCHDOG=1\nSTATUS=Washboard in ash: HOLD", "STOPPING=1"]


def test_an_abstract_address_is_understood(tmp_path: Path) -> None:
    name = f"warmdraw-{tmp_path.name}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind("\0" + name)
        manager.settimeout(5)
        Notifier("@" + name).ready()
        assert manager.recv(100) == b"READY=1"


def test_without_a_manager_nothing_is_said_and_nothing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    Notifier().ready()
    Notifier(str(tmp_path / "gone")).stopping()


def test_the_watchdog_is_not_petted_by_a_tick_that_failed(
    settings: Settings, tmp_path: Path
) -> None:
    petted: list[str] = []

    class Listening(Notifier):
        def _say(self, text: str) -> None:
            petted.append(text)

    class Broken(QuietRig):
        def apply(self, commands: Commands) -> None:
            if self.told:
                raise OutputError("lamp on GPIO17 was switched OFF and reads ON; pull its plug")
            super().apply(commands)

    loop, log = looping(settings, tmp_path, [0.0], Broken())
    loop._notifier = Listening("x")
    with pytest.raises(OutputError):
        asyncio.run(loop.run())
    log.close()
    assert petted == []


# --- facts


def bench(settings: Settings, **other: object) -> BenchRecord:
    given = {"version": 2, "name": "bench 1", "made_utc": 1.8e9, "proof_utc": 1.8e9}
    more = {"simulated": False, "wiring": wiring(settings), "results": ()}
    return BenchRecord.model_validate(given | more | other)


def at(told_utc: float) -> Instant:
    return Instant(0.0, told_utc, 0.0, "boot", True)


def test_a_bench_record_holds_for_a_year_on_a_rig_that_is_wired_as_it_was(
    settings: Settings,
) -> None:
    facts = real_facts(settings, bench(settings))
    assert facts(at(1.8e9 + 10)).record_in_date
    assert facts(at(1.8e9 + IN_DATE - 10)).record_in_date
    assert not facts(at(1.8e9 + IN_DATE + 10)).record_in_date
    # a clock from before the check is wrong
    assert not facts(at(1.0e9)).record_in_date
    lamp = settings.lamp.model_copy(update={"gpio": 22})
    assert not bench(settings).in_date(settings.model_copy(update={"lamp": lamp}), 1.8e9)


def test_a_rig_without_a_record_says_so(settings: Settings) -> None:
    facts = real_facts(settings, None)(at(1.8e9))
    assert facts.record is None and not facts.record_in_date and not facts.simulated


def test_a_pretend_rig_brings_a_record_marked_simulated(settings: Settings) -> None:
    facts = pretend_facts(settings, "in date")(at(0.0))
    assert facts.simulated and facts.record_in_date and "SIMULATED" in (facts.record or "")
    assert pretend_facts(settings, "none")(at(0.0)).record is None
    assert not pretend_facts(settings, "out of date")(at(0.0)).record_in_date
    assert replace(facts, record=None) != facts
