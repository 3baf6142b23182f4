"""The processes that share a long run."""

import os
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import controller

PATH = os.pathsep.join([str(Path(controller.__file__).parents[1]), str(Path(__file__).parent)])
LONG = 20_000
"""What has to happen happens within this, [ms]; a test that waits it out has failed."""


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_work_ends_with_the_command_that_shared_it(how: signal.Signals) -> None:
    command = [sys.executable, "-c", "import waits; waits.main()"]
    # after a kill the interpreter's own tracker complains of semaphores on stderr
    with subprocess.Popen(
        command,
        env={**os.environ, "PYTHONPATH": PATH},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as parent:
        assert parent.stdout is not None
        worker = os.pidfd_open(int(parent.stdout.readline()))
        try:
            parent.send_signal(how)
            ended = select.poll()
            ended.register(worker, select.POLLIN)
            assert ended.poll(LONG), "its worker goes on without it"
        finally:
            os.close(worker)
