"""A file that is put in another's place: whichever call fails, a whole one is there."""

import os
from pathlib import Path

import pytest
from nth_calls import EIO, Nth

from controller.whole_files import into_place, write_whole

OLD, NEW = "the old one\n" * 100, "the new one, longer\n" * 100


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "bench-record.json"
    path.write_text(OLD)
    return path


def fails_at(path: Path, nth: int, *, sticky: bool, after: bool) -> tuple[bool, str, list[str]]:
    """Whether writing raised with the nth call failing, and what is there then."""
    calls = Nth(EIO, after=after)
    with pytest.MonkeyPatch.context() as patch:
        calls.put_over(patch, os, "open", "fsync", "close")
        calls.put_over(patch, Path, "write_text", "replace", "unlink")
        calls.arm(nth, sticky=sticky)
        try:
            write_whole(path, NEW)
        except OSError:
            return True, path.read_text(), calls_left(path)
        assert not calls.hit
        return False, path.read_text(), calls_left(path)


def calls_left(path: Path) -> list[str]:
    return sorted(other.name for other in path.parent.iterdir() if other != path)


@pytest.mark.parametrize("after", [False, True], ids=["not done", "done"])
@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_whichever_call_fails_the_file_is_whole_and_the_failure_is_told(
    path: Path, sticky: bool, after: bool
) -> None:
    nth, raised, seen = 0, True, []
    while raised:
        nth += 1
        path.write_text(OLD)
        raised, text, left = fails_at(path, nth, sticky=sticky, after=after)
        assert text in (OLD, NEW)
        seen.append(text)
        # what could not be taken away is taken away by the next try of this process
        assert left == [] or sticky or text == OLD
    assert nth > 9, "each of its calls was one of them"
    # the new one is there only where all that could go wrong with it had gone well
    assert seen[:6] == [OLD] * 6
    assert seen[-1] == NEW


def test_what_was_left_half_by_a_killed_process_of_the_same_number_is_in_nobodys_way(
    path: Path,
) -> None:
    path.with_name(f".{path.name}.{os.getpid()}").write_text("half")
    write_whole(path, NEW)
    assert path.read_text() == NEW and calls_left(path) == []


def test_file_then_name_then_folder_are_on_the_disk_in_this_order(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    fsync, replace = os.fsync, Path.replace

    def synced(handle: int) -> None:
        order.append(Path(os.readlink(f"/proc/self/fd/{handle}")).name)
        fsync(handle)

    def replaced(half: Path, whole: Path) -> Path:
        order.append("renamed")
        return replace(half, whole)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", replaced)
    half = path.with_name("half")
    half.write_text(NEW)
    into_place(half, path)
    assert order == ["half", "renamed", path.parent.name]


def test_a_folder_that_has_nothing_to_wait_for_is_no_failure(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fsync = os.fsync

    def as_on_a_network(handle: int) -> None:
        if Path(os.readlink(f"/proc/self/fd/{handle}")).is_dir():
            raise OSError(22, "Invalid argument")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", as_on_a_network)
    write_whole(path, NEW)
    assert path.read_text() == NEW
