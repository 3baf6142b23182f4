"""`warmdraw page`: the page's process, from its port to its end."""

import asyncio
import contextlib
import errno
import signal
import socket
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI

from controller.errors import BusyError, InputError
from controller.link import Feed
from controller.page.access import Doorkeeper
from controller.page.app import create_app, web_folder
from controller.page.connections import Asking
from controller.page.jobs import Calendar
from controller.page.ledger import Ledger
from controller.page.live import Live
from controller.page.pairing import PinDesk
from controller.page.presses import Presses
from controller.page.sheets import SheetDesk
from controller.planning.answers.all_answers import answers
from controller.planning.catalogue import built_in, read_catalogue
from controller.settings import Settings
from controller.store.queries import LogReader

LEDGER = "page.db"
SILENT = 20_000
"""A connection whose far end acknowledges nothing for this long is dropped, [ms]: a phone that
sleeps or walked off frees its stream. Own."""
PATIENCE = 0.5
"""How long a response may take to finish once the page shall end, [s]. Own."""


class PageServer(uvicorn.Server):
    """uvicorn with its signals in our hands: streams end first, then the server.

    The stock server waits for open streams on SIGTERM, and raises the signal again when it is
    done, so that nothing after it runs.
    """

    def __init__(self, config: uvicorn.Config, end_streams: Callable[[], None]) -> None:
        super().__init__(config)
        self._end_streams = end_streams

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """SIGTERM and SIGINT end the page while the block runs."""
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            loop.add_signal_handler(number, self.leave)
        try:
            yield
        finally:
            for number in (signal.SIGTERM, signal.SIGINT):
                loop.remove_signal_handler(number)

    def leave(self) -> None:
        """Ends the streams and then the server; a phone that takes nothing is not waited for."""
        self._end_streams()
        self.should_exit = True
        asyncio.get_running_loop().call_later(PATIENCE, self._insist)

    def _insist(self) -> None:
        self.force_exit = True
        # uvicorn answers 500 to a request it cancels, and waits for a phone that takes nothing
        for connection in tuple(self.server_state.connections):
            connection.transport.abort()


def bind(host: str, port: int) -> socket.socket:
    """A listening socket.

    Raises BusyError when the port is taken, InputError when the host or port cannot be had.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # TCP by name: asyncio turns off Nagle's wait (40 ms an answer) only where it is named
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, SILENT)
        listener.bind((host, port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        if error.errno == errno.EADDRINUSE:
            raise BusyError(
                f"port {port} on {host} is taken: stop what listens there, or give --port"
            ) from error
        raise InputError(
            f"cannot listen on {host} port {port}: {error.strerror}; see [page] in rig.toml"
        ) from error
    return listener


def own_names(configured: Iterable[str]) -> frozenset[str]:
    """Hosts the page answers to: the configured ones and this machine's name, bare and .local."""
    name = socket.gethostname().lower()
    return frozenset({*(host.lower() for host in configured), name, f"{name}.local"})


def run_page(
    settings: Settings,
    *,
    folder: Path,
    control: Path,
    record: Path,
    port: int | None = None,
    ready: Callable[[str], None] = lambda address: None,
) -> None:
    """Serves the page until SIGTERM or SIGINT.

    folder: the page's own, for page.db and the pairing
    control: control's socket        record: the log database, which control writes
    port: in place of the one in the settings; 0 takes any free one
    ready: called with the page's address once it listens

    Raises BusyError when the port is taken, InputError when the folder, the host or the shop's own
    catalogue cannot be used.
    """
    folder_of_rows = settings.shop.catalogue
    catalogue = built_in() if folder_of_rows is None else read_catalogue(folder_of_rows)
    host = settings.page.host
    with contextlib.closing(bind(host, settings.page.port if port is None else port)) as listener:
        try:
            folder.mkdir(mode=0o750, parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(f"{folder}: {error.strerror}; the page keeps page.db there") from error
        with contextlib.closing(Ledger.open(folder / LEDGER)) as ledger:
            desk = SheetDesk(settings, catalogue, answers)
            asyncio.run(_serve(settings, desk, folder, control, record, listener, ledger, ready))


async def _serve(
    settings: Settings,
    desk: SheetDesk,
    folder: Path,
    control: Path,
    record: Path,
    listener: socket.socket,
    ledger: Ledger,
    ready: Callable[[str], None],
) -> None:
    link = Feed(control)
    live = Live(link)
    calendar = Calendar(ledger, lambda: link.latest)
    app = create_app(
        live=live,
        reader=LogReader(record),
        ledger=ledger,
        door=Doorkeeper(ledger),
        pins=PinDesk(folder),
        presses=Presses(live, ledger),
        desk=desk,
        names=own_names(settings.page.allowed_hosts),
        web=web_folder(),
    )
    server = PageServer(_config(app), live.end)
    calendar.start()
    try:
        # a link or a follower that fails takes the page down with it: systemd brings it back
        async with asyncio.TaskGroup() as tasks:
            running = [
                tasks.create_task(link.run()),
                tasks.create_task(live.follow(calendar.heard)),
            ]
            ready(address(listener))
            await server.serve([listener])
            for task in running:
                task.cancel()
    finally:
        calendar.stop()


def address(listener: socket.socket) -> str:
    """Where a browser on this machine finds the page."""
    host, port = listener.getsockname()[:2]
    if host in ("0.0.0.0", "::"):
        host = "127.0.0.1"
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _config(app: FastAPI) -> uvicorn.Config:
    options: dict[str, Any] = {
        # no proxy is believed: X-Forwarded-For from loopback would make a stranger look at the rig
        "proxy_headers": False,
        "server_header": False,
        "access_log": False,
        "log_config": None,
        "lifespan": "off",
        "ws": "none",
        "http": Asking,
        "h11_max_incomplete_event_size": 16_384,
    }
    return uvicorn.Config(app, **options)
