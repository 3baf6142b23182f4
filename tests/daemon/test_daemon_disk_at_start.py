"""Control starts while its disk takes nothing: it comes up, goes on, and arms no lamp."""

from collections.abc import Callable
from pathlib import Path

import pytest
from boatworks import Failing
from running import YES, Control, act, plan, rig_toml
from standing import Stand, at_start, put_down, state_in

from controller.batch.snapshot import Snapshot
from controller.batch.stages import Stage
from controller.instant import resume_at
from controller.link import AnswerMessage
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.writer import LogWriter

SMALL = 2048
"""Longest file that may be written, [bytes]: room for a lock, none for a page of the log."""
SPEED = "0.0167"
LONG = 20.0


def alarmed(shown: Snapshot) -> bool:
    active = ("unacknowledged", "acknowledged")
    return any(a.id == "record not written" and a.state in active for a in shown.alarms)


def test_a_bag_is_held_through_a_restart_with_a_dead_disk(tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    log = Log.open(path)
    put_down(log, state_in(Stage.HOLD))
    at, told = log.last_at or 0.0, 1_780_000_000.0
    log.close()
    kind = Failing.told(1, sticky=True)
    record = LogWriter.open(path, retry=0.001, connection=kind)
    start, _ = resume_at(record, told + 20.0, True)
    assert start >= at
    stand = Stand(record, at_start(start, told + 20.0, "boot-2"))
    stand.bench.bag, stand.bench.leak = 28e3, 200.0
    pumped = 0
    for _ in range(600):
        stand.go()
        pumped += stand.bench.switched.pump
    run = stand.rig.run
    assert run is not None and run.stage is Stage.HOLD
    assert 0 < pumped < 600, "the pump is switched as on any other night"
    assert "record not written" in {alarm.id for alarm in stand.rig.alarms if alarm.active}
    kind.nth = 0
    assert record.close(LONG)
    assert record.dropped == 0
    assert len(list(LogReader(path).samples(run.id, 0, 1e9))) == 600
    log = Log.open(path)
    assert log.last_checkpoint is not None
    assert log.last_checkpoint.stamp.at > start + 500.0
    log.close()


def test_control_comes_up_in_the_stage_it_left_and_writes_when_it_can(
    launch: Callable[..., Control], tmp_path: Path
) -> None:
    rig_toml(tmp_path, "simulated")
    (tmp_path / "state").mkdir()
    log = Log.open(tmp_path / "state" / "log.db")
    put_down(log, state_in(Stage.HOLD))
    log.close()
    control = launch("control", "--speed", SPEED, file_size=SMALL).up()
    stream = control.looking()
    shown = stream.until(alarmed)
    assert shown.batch is not None and Stage.HOLD in (shown.stage, shown.batch.left)
    stream.say(act("MUTE", name="mute-1"))
    stream.until(lambda shown: shown.muted_until is not None)
    control.disk_takes_nothing(False)
    heard = stream.next(AnswerMessage)
    assert (heard.act, heard.accepted) == ("mute-1", True)
    stream.until(lambda shown: not alarmed(shown))
    control.process.kill()
    control.process.wait()
    lines = LogReader(tmp_path / "state" / "log.db").events(limit=1000)
    told = [line.event.text for line in lines if line.event is not None]
    assert any("could not be written at the start" in text for text in told)
    assert any(text.startswith("MUTE from") for text in told)
    again = launch("control", "--speed", SPEED).up().looking()
    # killed between two writes of the state, it comes back with the alarm and clears it at once
    after = again.until(lambda shown: not alarmed(shown))
    assert after.batch is not None and after.batch.id == shown.batch.id


@pytest.mark.long
def test_no_heat_is_begun_and_that_is_said_at_once(
    launch: Callable[..., Control], tmp_path: Path, sheet: str
) -> None:
    rig_toml(tmp_path, "simulated")
    control = launch("control", "--speed", SPEED, file_size=SMALL).up()
    stream = control.looking()
    stream.say(plan(sheet))
    shown = stream.until(lambda shown: shown.batch is not None)
    for kind in ("START", "REHEAT", "RE-ARM"):
        refused = stream.answer(act(kind, shown, name=f"{kind}-1", values=YES))
        assert not refused.accepted
        assert refused.text.startswith("no heat begins while the record cannot be written. ")
        assert "check it" in refused.text or "free some space" in refused.text
    control.disk_takes_nothing(False)
    stream.until(lambda shown: not alarmed(shown))
    # what was refused without the record may be pressed again by the same name
    assert stream.answer(act("START", shown, name="START-1", values=YES)).accepted
    assert stream.until(lambda shown: shown.lamp.on)


def test_a_state_folder_on_a_read_only_disk_is_no_reason_to_stay_down(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from controller.daemon import main as main_module
    from controller.errors import InputError

    monkeypatch.setattr(main_module.os, "access", lambda folder, how: False)
    with pytest.raises(InputError, match="cannot be written by this user"):
        main_module._make(tmp_path)
    read_only = type("Disk", (), {"f_flag": main_module.os.ST_RDONLY})
    monkeypatch.setattr(main_module.os, "statvfs", lambda folder: read_only)
    main_module._make(tmp_path)
