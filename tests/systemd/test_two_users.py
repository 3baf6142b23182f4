"""Control and page as two users that share one group: what each may touch, tried by the kernel."""

import os
import signal
import stat
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from running import rig_toml
from two_users import (
    CONTROL,
    GROUP,
    OTHERS,
    PAGE,
    RUN_CONTROL,
    STRANGER,
    a_place_for_both,
    result,
    start,
)
from units import skip_loudly

from controller.store.backup import back_up, put_back

READ = """
from controller.store.readonly import ReadOnly
print(ReadOnly(settings.rig.state_folder / "log.db").rows("select count(*) from checkpoint")[0][0])
"""
COPY = """
from controller.store.backup import back_up
from controller.store.readonly import ReadOnly
copy = folder / "state-page" / "copy.db"
back_up(settings.rig.state_folder / "log.db", copy)
print(ReadOnly(copy).rows("select count(*) from checkpoint")[0][0])
copy.unlink()
"""
TRIED = """
def tried(what):
    try:
        what()
    except OSError as error:
        return type(error).__name__
    except sqlite3.Error as error:
        return str(error)
    return "done"

def spoil():
    connection = sqlite3.connect(settings.rig.state_folder / "log.db")
    connection.execute("delete from event")
    connection.commit()

def knock():
    with socket.socket(socket.AF_UNIX) as connection:
        connection.connect(str(settings.rig.run_folder / "control.sock"))

state = settings.rig.state_folder
print(tried((state / "new").touch), tried(spoil), tried(knock), tried(lambda: os.listdir(state)),
      tried((folder / "state-page" / "new").touch), sep="; ")
"""


@pytest.fixture
def place() -> Iterator[Path]:
    if os.geteuid() != 0:
        skip_loudly("only root can become other users: the two units' rights are not tried")
    with a_place_for_both() as folder:
        rig_toml(folder, "simulated")
        yield folder


@pytest.fixture
def running(place: Path) -> Iterator[subprocess.Popen[str]]:
    control = start(place, RUN_CONTROL, CONTROL, GROUP)
    assert control.stdout is not None
    assert control.stdout.readline() == "ready\n", control.communicate()[1]
    yield control
    control.kill()
    control.communicate()


def checkpoints_seen_by_the_page(place: Path) -> int:
    return int(result(place, READ, PAGE, GROUP))


def test_the_page_reads_while_control_lives_and_after_every_end_of_it(
    place: Path, running: subprocess.Popen[str]
) -> None:
    at_first = checkpoints_seen_by_the_page(place)
    assert at_first > 0
    running.kill()
    running.communicate()
    assert checkpoints_seen_by_the_page(place) >= at_first
    # a start after the kill, and a stop in good order: no write-ahead file stands there any more
    control = start(place, RUN_CONTROL, CONTROL, GROUP)
    assert control.stdout is not None and control.stdout.readline() == "ready\n"
    control.send_signal(signal.SIGTERM)
    _, err = control.communicate(timeout=30)
    assert control.returncode == 0, err
    assert not (place / "state" / "log.db-wal").exists()
    assert checkpoints_seen_by_the_page(place) >= at_first


@pytest.mark.usefixtures("running")
def test_files_are_for_their_owner_and_to_look_at_for_the_group(place: Path) -> None:
    modes = {
        name: stat.S_IMODE((place / name).stat().st_mode)
        for name in ("state", "run", "state/log.db", "run/control.sock")
    }
    assert modes == {
        "state": 0o750,
        "run": 0o750,
        "state/log.db": 0o640,
        "run/control.sock": 0o660,
    }
    for name in modes:
        assert ((place / name).stat().st_uid, (place / name).stat().st_gid) == (CONTROL, GROUP)


@pytest.mark.usefixtures("running")
def test_the_page_may_knock_and_look_and_write_only_its_own(place: Path) -> None:
    done = result(place, TRIED, PAGE, GROUP)
    assert done == "PermissionError; attempt to write a readonly database; done; done; done"


@pytest.mark.usefixtures("running")
def test_a_stranger_reaches_nothing(place: Path) -> None:
    done = result(place, TRIED, STRANGER, OTHERS)
    refused = "PermissionError"
    assert done == f"{refused}; unable to open database file; {refused}; {refused}; {refused}"


@pytest.mark.usefixtures("running")
def test_control_does_not_write_what_is_the_pages(place: Path) -> None:
    done = result(place, TRIED.replace("spoil)", "lambda: None)"), CONTROL, GROUP)
    assert done.split("; ")[-1] == "PermissionError"


def test_one_of_the_group_takes_a_copy_and_root_puts_it_back_for_control(
    place: Path, running: subprocess.Popen[str]
) -> None:
    assert int(result(place, COPY, PAGE, GROUP)) > 0
    back_up(place / "state" / "log.db", place / "copy.db")
    running.send_signal(signal.SIGTERM)
    running.communicate(timeout=30)
    assert int(result(place, COPY, PAGE, GROUP)) > 0
    # as root, on a machine where control has never run
    for name in ("log.db", "log.db.lock"):
        (place / "state" / name).unlink()
    put_back(place / "copy.db", place / "state" / "log.db")
    control = start(place, RUN_CONTROL, CONTROL, GROUP)
    assert control.stdout is not None and control.stdout.readline() == "ready\n"
    assert checkpoints_seen_by_the_page(place) > 0
    control.kill()
    control.communicate()
