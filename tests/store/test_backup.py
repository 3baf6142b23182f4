"""The log copied while it is written, and put back: nothing overwritten, nothing half there."""

import os
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from boatworks import entry, planned, sample

from controller.cli import main
from controller.errors import BusyError, InputError
from controller.store import backup, schema
from controller.store.backup import back_up, put_back
from controller.store.log import Log


def written(path: Path, entries: int = 3) -> Log:
    log = Log.open(path)
    log.write(planned())
    for number in range(1, entries):
        log.write(entry(float(number)))
    log.sample(sample(1.0))
    return log


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.endswith(".lock"))


def events(path: Path) -> int:
    connection = sqlite3.connect(path)
    count = int(connection.execute("SELECT count(*) FROM event").fetchone()[0])
    connection.close()
    return count


@pytest.fixture
def copy(tmp_path: Path) -> Iterator[Path]:
    """A copy of a log of three events, in a folder of its own."""
    (tmp_path / "old").mkdir()
    log = written(tmp_path / "old" / "log.db")
    back_up(tmp_path / "old" / "log.db", tmp_path / "copy.db")
    log.close()
    yield tmp_path / "copy.db"


def test_a_log_is_copied_while_it_is_written_and_the_copy_is_whole(tmp_path: Path) -> None:
    log = written(tmp_path / "log.db")
    copied = back_up(tmp_path / "log.db", tmp_path / "copy.db")
    assert (copied.batches, copied.events) == (1, 3)
    assert copied.size == (tmp_path / "copy.db").stat().st_size
    log.write(entry(9.0))
    log.close()
    assert (events(tmp_path / "copy.db"), events(tmp_path / "log.db")) == (3, 4)
    assert names(tmp_path) == ["copy.db", "log.db"]


def test_a_copy_takes_no_name_that_is_taken(tmp_path: Path, copy: Path) -> None:
    before = copy.read_bytes()
    with pytest.raises(InputError, match="is there already"):
        back_up(tmp_path / "old" / "log.db", copy)
    assert copy.read_bytes() == before


def test_a_copy_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    log = written(tmp_path / "log.db")
    with pytest.raises(InputError, match="could not be copied"):
        back_up(tmp_path / "log.db", tmp_path / "nowhere" / "copy.db")
    log.close()
    assert names(tmp_path) == ["log.db"]


def test_without_a_log_it_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no log at"):
        back_up(tmp_path / "log.db", tmp_path / "copy.db")


def test_a_copy_is_put_back_and_the_log_before_it_is_kept(tmp_path: Path, copy: Path) -> None:
    log = written(tmp_path / "log.db", entries=7)
    log.close()
    copied, before = put_back(copy, tmp_path / "log.db")
    assert (copied.events, events(tmp_path / "log.db")) == (3, 3)
    assert before is not None and before.name.startswith("log.db.replaced-")
    assert events(before) == 7
    assert (tmp_path / "log.db").stat().st_mode & 0o777 == 0o640
    # and control goes on with it
    again = Log.open(tmp_path / "log.db")
    assert again.notes == ()
    again.close()


def test_a_copy_is_put_where_no_log_was(tmp_path: Path, copy: Path) -> None:
    assert put_back(copy, tmp_path / "new" / "log.db")[1] is None
    assert events(tmp_path / "new" / "log.db") == 3


def test_a_log_that_is_written_is_not_replaced(tmp_path: Path, copy: Path) -> None:
    log = written(tmp_path / "log.db", entries=7)
    with pytest.raises(BusyError, match="is being written; stop control first"):
        put_back(copy, tmp_path / "log.db")
    log.close()
    assert events(tmp_path / "log.db") == 7


@pytest.mark.parametrize("harm", ["text", "empty", "cut", "scrambled", "stranger", "newer"])
def test_what_is_no_whole_log_is_refused_and_the_log_stays(
    tmp_path: Path, copy: Path, harm: str
) -> None:
    log = written(tmp_path / "log.db", entries=7)
    log.close()
    whole = copy.read_bytes()
    if harm in ("stranger", "newer"):
        pragma = "application_id = 7" if harm == "stranger" else "user_version = 99"
        connection = sqlite3.connect(copy)
        connection.execute(f"PRAGMA {pragma}")
        connection.close()
    else:
        half = len(whole) // 2
        bad = {
            "text": b"a shopping list\n" * 100,
            "empty": b"",
            "cut": whole[: half - half % 4096],
            "scrambled": whole[:4096] + os.urandom(4096) + whole[8192:],
        }
        copy.write_bytes(bad[harm])
    with pytest.raises(InputError, match=r"copy\.db"):
        put_back(copy, tmp_path / "log.db")
    assert events(tmp_path / "log.db") == 7
    assert names(tmp_path) == ["copy.db", "log.db", "old"]


@pytest.mark.parametrize("end", [OSError(28, "No space left on device"), KeyboardInterrupt()])
@pytest.mark.parametrize("damaged", [False, True])
def test_what_ends_the_last_step_leaves_the_log_as_it_was(
    tmp_path: Path,
    copy: Path,
    monkeypatch: pytest.MonkeyPatch,
    end: BaseException,
    damaged: bool,
) -> None:
    log = tmp_path / "log.db"
    written(log, entries=7).close()
    if damaged:
        log.write_bytes(b"no log" * 1000)
    before = log.read_bytes()

    def ends(half: Path, whole: Path) -> None:
        raise end

    monkeypatch.setattr(backup, "into_place", ends)
    with pytest.raises(InputError if isinstance(end, OSError) else KeyboardInterrupt):
        put_back(copy, log)
    assert log.read_bytes() == before
    assert names(tmp_path) == ["copy.db", "log.db", "old"]


def test_a_kill_at_the_last_step_leaves_one_whole_log_under_its_name(
    tmp_path: Path, copy: Path
) -> None:
    log = tmp_path / "log.db"
    written(log, entries=7).close()
    # dies where the copy would take its name: nothing of Python's is run any more
    dies = (
        "import os, sys; from pathlib import Path; from controller.store.backup import put_back;"
        "Path.replace = lambda half, whole: os._exit(9); put_back(*map(Path, sys.argv[1:]))"
    )
    child = subprocess.run([sys.executable, "-c", dies, copy, log], check=False)
    assert child.returncode == 9
    assert events(log) == 7
    # and done again, it goes through
    assert put_back(copy, log)[0].events == events(log) == 3


def test_a_disk_that_is_full_takes_neither_half_a_copy_nor_half_a_log(
    tmp_path: Path, copy: Path
) -> None:
    log = tmp_path / "log.db"
    written(log, entries=7).close()
    unlimited = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, unlimited[1]))
    try:
        with pytest.raises(InputError, match="could not be copied"):
            back_up(log, tmp_path / "more.db")
        with pytest.raises(InputError, match=r"could not be replaced .* it is as it was"):
            put_back(copy, log)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, unlimited)
    assert events(log) == 7
    assert names(tmp_path) == ["copy.db", "log.db", "old"]


def test_what_stood_in_the_write_ahead_file_is_kept_with_the_log_that_is_replaced(
    tmp_path: Path, copy: Path
) -> None:
    (tmp_path / "killed").mkdir()
    log = written(tmp_path / "log.db", entries=7)
    for end in ("", "-wal"):
        shutil.copy(tmp_path / f"log.db{end}", tmp_path / "killed" / f"log.db{end}")
    log.close()
    _, before = put_back(copy, tmp_path / "killed" / "log.db")
    assert before is not None and events(before) == 7
    assert names(tmp_path / "killed") == ["log.db", before.name]
    assert events(tmp_path / "killed" / "log.db") == 3


def test_a_damaged_log_is_kept_too_when_it_is_replaced(tmp_path: Path, copy: Path) -> None:
    log = tmp_path / "log.db"
    log.write_bytes(b"no log" * 1000)
    _, before = put_back(copy, log)
    assert before is not None and before.read_bytes() == b"no log" * 1000
    assert events(log) == 3


def test_a_log_that_somebody_reads_is_not_replaced(
    tmp_path: Path, copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = written(tmp_path / "log.db", entries=7)
    reader = sqlite3.connect(tmp_path / "log.db", isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM event").fetchone()
    log.write(entry(9.0))
    log.close()
    monkeypatch.setattr(backup, "PATIENCE", 0.0)
    with pytest.raises(BusyError, match="is being read"):
        put_back(copy, tmp_path / "log.db")
    reader.close()
    assert events(tmp_path / "log.db") == 8


def test_a_log_in_use_is_no_copy(tmp_path: Path) -> None:
    log = written(tmp_path / "log.db")
    with pytest.raises(InputError, match="in use and not a copy"):
        put_back(tmp_path / "log.db", tmp_path / "other" / "log.db")
    log.close()


def test_a_copy_is_not_taken_while_control_is_just_starting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path / "log.db").close()
    opened = backup._connect

    def meanwhile(path: Path, how: str) -> sqlite3.Connection:
        (tmp_path / "log.db-wal").touch()
        return opened(path, how)

    monkeypatch.setattr(backup, "_connect", meanwhile)
    with pytest.raises(BusyError, match="just starting"):
        back_up(tmp_path / "log.db", tmp_path / "copy.db")
    assert names(tmp_path) == ["log.db", "log.db-wal"]


@pytest.mark.parametrize(
    "harm", ["UPDATE event SET text = 'x' WHERE seq = 2", "UPDATE sample SET bag_pa = bag_pa + 1"]
)
def test_a_row_damaged_before_is_counted_and_the_rest_is_kept(
    tmp_path: Path, harm: str, capsys: pytest.CaptureFixture[str]
) -> None:
    written(tmp_path / "log.db").close()
    connection = sqlite3.connect(tmp_path / "log.db", isolation_level=None)
    connection.execute(harm)
    connection.close()
    assert back_up(tmp_path / "log.db", tmp_path / "copy.db").unsound == 1
    assert main(["restore", "--state", str(tmp_path / "new"), str(tmp_path / "copy.db")]) == 0
    assert "1 damaged before" in capsys.readouterr().out


def test_a_copy_from_before_the_schemas_last_step_is_put_back_and_brought_up_to_date(
    tmp_path: Path,
) -> None:
    connection = sqlite3.connect(tmp_path / "copy.db", isolation_level=None)
    schema.migrate(connection, schema.STEPS[:1])
    connection.close()
    assert put_back(tmp_path / "copy.db", tmp_path / "log.db")[0].unsound == 0
    Log.open(tmp_path / "log.db").close()


def test_the_commands_say_what_they_did(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    state = tmp_path / "state"
    state.mkdir()
    written(state / "log.db").close()
    assert main(["backup", "--state", str(state), str(tmp_path / "usb.db")]) == 0
    assert "usb.db, 1 batch, 3 events, 1 reading," in capsys.readouterr().out
    assert main(["restore", "--state", str(state), str(tmp_path / "usb.db")]) == 0
    said = capsys.readouterr().out
    assert "is now" in said and "the log before it is kept as" in said
    assert main(["restore", "--state", str(state), str(tmp_path / "none.db")]) == 2
    assert "is no file" in capsys.readouterr().err
