"""The way onto a Pi, as systemd/README.md tells it: its lines name what is there."""

import os
import re
import shlex
import shutil
import stat
from pathlib import Path

import pytest
from units import SERVICES, UNITS, skip_loudly, systemd

import controller
from controller.cli.options import parser

PROJECT = UNITS.parent
BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.M | re.S)


def told() -> list[list[str]]:
    """Every line to be pasted, in words, without its sudo."""
    text = (UNITS / "README.md").read_text(encoding="utf-8")
    lines = [line for block in BLOCK.findall(text) for line in block.splitlines()]
    assert len(lines) > 40
    split = [shlex.split(line) for line in lines]
    return [words[1:] if words[0] == "sudo" else words for words in split]


def test_each_warmdraw_line_is_a_command_that_it_takes() -> None:
    lines = [words for words in told() if "warmdraw" in words and words[0] != "usermod"]
    own = [words[words.index("warmdraw") + 1 :] for words in lines]
    for words in own:
        parser().parse_args(words)
    assert {words[0] for words in own} == {"check", "pair", "backup", "restore"}


def test_each_file_of_the_folder_is_copied_and_removed_again() -> None:
    copied, removed = set(), []
    for command, *words in told():
        if command == "cp":
            copied |= {path.name for word in words[:-1] for path in PROJECT.glob(word.lstrip("/"))}
        if command == "rm":
            removed += words
    there = {path.name for path in UNITS.iterdir()} - {"README.md"}
    assert copied == there
    for service in SERVICES:
        assert Path(f"/etc/systemd/system/{service}.service").match(removed[0])
    for place in ("sysusers.d", "tmpfiles.d", "modules-load.d"):
        assert f"/etc/{place}/warmdraw.conf" in removed
    assert "/etc/systemd/system.conf.d/90-warmdraw-watchdog.conf" in removed


def test_each_unit_that_is_named_is_one_of_ours() -> None:
    for command, *words in told():
        if command == "systemctl":
            assert set(words[1:]) <= {*SERVICES, "--now", "-P", "RuntimeWatchdogUSec"}


def test_the_example_settings_are_where_the_install_puts_them() -> None:
    (line,) = [words for words in told() if words[-1] == "/etc/warmdraw/rig.toml"]
    inside = line[1].partition("site-packages/controller/")[2]
    assert (Path(controller.__file__).parent / inside).is_file()


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """An empty system in which systemd has made the users and the folders."""
    if os.geteuid() != 0:
        skip_loudly("only root can give folders away: users and folders are not made")
    for tool in ("sysusers", "tmpfiles"):
        (tmp_path / "etc" / f"{tool}.d").mkdir(parents=True)
        shutil.copy(
            UNITS / f"warmdraw.{tool}.conf", tmp_path / "etc" / f"{tool}.d" / "warmdraw.conf"
        )
    for done in (
        systemd("systemd-sysusers", f"--root={tmp_path}"),
        systemd("systemd-tmpfiles", f"--root={tmp_path}", "--create", "warmdraw.conf"),
    ):
        assert done.returncode == 0, done.stderr
    return tmp_path


def test_systemd_makes_two_users_in_one_group_and_the_lines_for_one_of_them(root: Path) -> None:
    groups = {
        name: set(members.split(",")) - {""}
        for name, _, _, members in (
            line.split(":") for line in (root / "etc/group").read_text().splitlines()
        )
    }
    assert groups["warmdraw"] == {"warmdraw-control", "warmdraw-page"}
    for devices in ("gpio", "i2c", "spi"):
        assert groups[devices] == {"warmdraw-control"}
    users = (root / "etc/passwd").read_text().splitlines()
    assert sorted(line.split(":")[0] for line in users) == ["warmdraw-control", "warmdraw-page"]
    assert all(line.endswith("nologin") for line in users)


def test_systemd_makes_each_folder_its_writers_own(root: Path) -> None:
    numbers = {
        line.split(":")[0]: int(line.split(":")[2])
        for name in ("passwd", "group")
        for line in (root / "etc" / name).read_text().splitlines()
    }
    for folder, owner, mode in (
        ("var/lib/warmdraw", "warmdraw-control", 0o750),
        ("var/lib/warmdraw-page", "warmdraw-page", 0o750),
        ("run/warmdraw", "warmdraw-control", 0o750),
    ):
        found = (root / folder).stat()
        assert stat.S_IMODE(found.st_mode) == mode
        assert (found.st_uid, found.st_gid) == (numbers[owner], numbers["warmdraw"])
    assert (root / "etc/warmdraw").stat().st_uid == 0
