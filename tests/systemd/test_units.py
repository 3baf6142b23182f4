"""The units: what they run, as whom, what they may, and what systemd itself says of them."""

import re
from pathlib import Path

import pytest
from units import INSTALLED, SERVICES, UNITS, commands, rendered, systemd, values

from controller.cli.options import parser
from controller.daemon.main import PUT_AWAY

EXPOSURE = 2.0
"""Highest exposure a unit may have; a plain one has 9.6. Own."""


@pytest.mark.parametrize("service", SERVICES)
def test_each_command_is_one_that_warmdraw_takes(service: str) -> None:
    for command, *words in commands(service):
        assert command == f"{INSTALLED}/warmdraw"
        parser().parse_args(words)


def test_outputs_go_off_however_control_ends() -> None:
    assert values("warmdraw-control", "ExecStopPost") == [f"{INSTALLED}/warmdraw safe"]
    # twice control's own two seconds for its record, and Python's start on a small Pi
    (seconds,) = values("warmdraw-control", "TimeoutStopSec")
    assert int(seconds) > 2 * PUT_AWAY + 4
    assert values("warmdraw-control", "WatchdogSec") == ["10"]


def test_control_that_stays_down_calls_somebody_and_a_start_ends_the_call() -> None:
    assert values("warmdraw-control", "OnFailure") == ["warmdraw-alarm.service"]
    # ended before control starts, not meanwhile: that takes both
    assert values("warmdraw-control", "Conflicts") == ["warmdraw-alarm.service"]
    assert "warmdraw-alarm.service" in values("warmdraw-control", "After")
    assert commands("warmdraw-alarm") == [[f"{INSTALLED}/warmdraw", "safe", "--sound"]]


def test_a_page_that_starts_starts_no_control() -> None:
    for key in ("Wants", "Requires", "BindsTo", "Upholds"):
        assert values("warmdraw-page", key) == []


def test_users_groups_and_folders_agree_in_all_files() -> None:
    sysusers = (UNITS / "warmdraw.sysusers.conf").read_text(encoding="utf-8")
    folders = (UNITS / "warmdraw.tmpfiles.conf").read_text(encoding="utf-8")
    for service in SERVICES:
        (user,), (group,) = values(service, "User"), values(service, "Group")
        assert re.search(rf"^u {user} ", sysusers, re.M)
        assert re.search(rf"^g {group} ", sysusers, re.M)
        for more in " ".join(values(service, "SupplementaryGroups")).split():
            assert f"m {user} {more}\n" in sysusers
        for folder in values(service, "StateDirectory"):
            mode = f"0{int(values(service, 'StateDirectoryMode')[0], 8):o}"
            assert f"d /var/lib/{folder} {mode} {user} {group} -\n" in folders
    assert not re.search(r"^m warmdraw-page (gpio|i2c|spi)$", sysusers, re.M)


def test_control_has_no_network_and_the_page_no_device() -> None:
    assert values("warmdraw-control", "PrivateNetwork") == ["true"]
    assert values("warmdraw-control", "RestrictAddressFamilies") == ["AF_UNIX"]
    devices = [line.split()[0] for line in values("warmdraw-control", "DeviceAllow")]
    assert devices == ["char-gpiochip", "char-i2c", "char-spi"]
    assert values("warmdraw-page", "PrivateDevices") == ["true"]
    assert values("warmdraw-page", "DeviceAllow") == []
    assert values("warmdraw-page", "IPAddressDeny") == ["any"]


def test_the_names_of_controls_devices_are_known_before_it_starts() -> None:
    """Each from the module that brings it; the lines' own is in the kernel itself."""
    modules = {"char-i2c": "i2c-dev", "char-spi": "spidev"}
    loaded = (UNITS / "warmdraw.modules.conf").read_text(encoding="utf-8").splitlines()
    for line in values("warmdraw-control", "DeviceAllow"):
        device = line.split()[0]
        assert device == "char-gpiochip" or modules[device] in loaded


def test_the_pis_own_watchdog_stays_within_what_a_pi_takes() -> None:
    told = (UNITS / "90-warmdraw-watchdog.conf").read_text(encoding="utf-8")
    seconds = re.search(r"^RuntimeWatchdogSec=(\d+)s$", told, re.M)
    # above 15 s a Pi has none and says nothing; below control's own it would be the first to bite
    assert seconds is not None and 12 < int(seconds[1]) <= 15


def test_systemd_finds_nothing_to_say(tmp_path: Path) -> None:
    done = systemd("systemd-analyze", "verify", "--man=no", *rendered(tmp_path))
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


@pytest.mark.parametrize("service", SERVICES)
def test_a_unit_is_little_exposed(tmp_path: Path, service: str) -> None:
    rendered(tmp_path)
    unit = tmp_path / f"{service}.service"
    told = systemd("systemd-analyze", "security", "--offline=yes", unit).stdout
    level = re.search(r"exposure level for \S+: ([0-9.]+)", told)
    assert level is not None and float(level[1]) <= EXPOSURE
