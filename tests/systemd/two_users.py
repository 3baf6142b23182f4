"""Processes that become another user, as the units' do, on a machine that has no such users.

The interpreter may lie where no other user can read. So each process imports all it needs, and
only then gives up being root, for good: the kernel judges every file it touches from there on by
the new user and group. The project's own files are copied to where everybody may read them.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import controller

CONTROL, PAGE, STRANGER = 61001, 61002, 61003
"""Numbers nobody has; own."""
GROUP, OTHERS = 61000, 61004
"""The group control and page share, and one of its own for the stranger; own."""
BECOME = """
import os, sys
from pathlib import Path
uid, gid = int(sys.argv[1]), int(sys.argv[2])
folder = Path(sys.argv[3])
import asyncio, encodings.ascii, encodings.idna, encodings.latin_1, json, signal, socket
import sqlite3, tempfile, tomllib, zoneinfo
import controller.cli.talking, controller.cli.daemons, controller.daemon.main
import controller.store.queries
from controller.rehearsal.run import Rehearsal
from controller.rehearsal.scenario import scenario
from controller.settings import read_settings
settings = read_settings(folder / "rig.toml")
with tempfile.TemporaryDirectory() as scratch:
    Rehearsal(scenario("good-night"), 1, Path(scratch) / "log.db").close()
os.setgroups([gid]); os.setresgid(gid, gid, gid); os.setresuid(uid, uid, uid); os.umask(0o027)
"""
"""The beginning of each: import, read the settings, play one tick so that what libraries load late
is loaded, then become the user, with the unit's UMask."""
RUN_CONTROL = """
from controller.daemon.main import run_control
run_control(settings, ready=lambda path: print("ready", flush=True))
"""


@contextmanager
def a_place_for_both() -> Iterator[Path]:
    """A folder every user may enter, with the project's files and the two state folders in it."""
    folder = Path(tempfile.mkdtemp(prefix="warmdraw-users-"))
    try:
        folder.chmod(0o755)
        here = Path(controller.__file__).parent
        shutil.copytree(here, folder / "code" / "controller", ignore=shutil.ignore_patterns("_web"))
        for name, owner in (("state", CONTROL), ("run", CONTROL), ("state-page", PAGE)):
            (folder / name).mkdir()
            os.chown(folder / name, owner, GROUP)
            (folder / name).chmod(0o750)
        yield folder
    finally:
        shutil.rmtree(folder)


def start(folder: Path, code: str, uid: int, gid: int) -> subprocess.Popen[str]:
    """A process that becomes that user and then runs this code."""
    return subprocess.Popen(
        [sys.executable, "-B", "-c", BECOME + code, str(uid), str(gid), str(folder)],
        env={**os.environ, "PYTHONPATH": str(folder / "code")},
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def result(folder: Path, code: str, uid: int, gid: int) -> str:
    """What it prints; its failure is ours."""
    process = start(folder, code, uid, gid)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    return out.strip()
