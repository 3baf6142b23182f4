"""A stand-in for the page's service: serves the built page and says what a test tells it to say."""

import json
import queue
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

TYPES = {".html": "text/html", ".js": "text/javascript", ".css": "text/css"}


class StandInRig(ThreadingHTTPServer):
    """The routes of the service that the page uses, with scripted answers."""

    daemon_threads = True

    def __init__(self, dist: Path) -> None:
        super().__init__(("127.0.0.1", 0), Conversation)
        self.dist = dist
        self.streams: list[queue.Queue[dict[str, Any] | None]] = []
        self.forget()

    def forget(self) -> None:
        """Back to the start; only the streams of pages that are open stay."""
        self.frame: dict[str, Any] = {"connected": False, "age_s": None, "snapshot": None}
        self.me: dict[str, Any] = {"role": "control", "pairing_open": False}
        self.pairings: list[dict[str, Any]] = []
        self.samples: dict[str, Any] = {"batch": "", "columns": {"at_utc": []}}
        self.stages: list[dict[str, Any]] = []
        self.answers: list[tuple[int, dict[str, Any]]] = []
        self.start: dict[str, Any] = {}
        self.reckon: Callable[[dict[str, Any]], dict[str, Any]] = lambda description: {}
        self.reckoned: queue.Queue[dict[str, Any]] = queue.Queue()
        self.heard: queue.Queue[tuple[str, dict[str, Any]]] = queue.Queue()

    @property
    def url(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self.server_address[1]}/"

    def show(self, snapshot: dict[str, Any] | None, *, connected: bool = True) -> None:
        """Send one frame to every page that listens, and to those that come later."""
        self.frame = {"connected": connected, "age_s": 0.1, "snapshot": snapshot}
        for stream in self.streams:
            stream.put(self.frame)

    def next_post(self) -> tuple[str, dict[str, Any]]:
        """Path and body of the next press that came in; waits up to 5 s for it."""
        return self.heard.get(timeout=5)


class Conversation(BaseHTTPRequestHandler):
    """One request."""

    server: StandInRig

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: the tests look at what was heard."""

    def do_GET(self) -> None:
        if self.path == "/api/live":
            self._stream()
        elif self.path == "/api/me":
            self._json(HTTPStatus.OK, self.server.me)
        elif self.path == "/api/snapshot":
            self._json(HTTPStatus.OK, self.server.frame)
        elif self.path == "/api/pairings":
            self._json(HTTPStatus.OK, {"pairings": self.server.pairings})
        elif self.path == "/api/sheet/start":
            self._json(HTTPStatus.OK, {"description": self.server.start, "choices": {}})
        elif "/samples" in self.path:
            self._json(HTTPStatus.OK, self.server.samples)
        elif self.path.startswith("/api/batches/"):
            self._json(HTTPStatus.OK, {"stages": self.server.stages})
        else:
            self._file(self.server.dist / (self.path.lstrip("/") or "index.html"))

    def do_POST(self) -> None:
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        if self.path == "/api/sheet":
            # reckoning is no press: it comes by itself, at the person's pace of typing
            self.server.reckoned.put(body["description"])
            self._json(HTTPStatus.OK, self.server.reckon(body["description"]))
            return
        self.server.heard.put((self.path, body))
        if self.server.answers:
            status, said = self.server.answers.pop(0)
        else:
            status, said = 200, {"act": body.get("id"), "accepted": True, "text": "Noted."}
        self._json(status, said)

    def _stream(self) -> None:
        stream: queue.Queue[dict[str, Any] | None] = queue.Queue()
        self.server.streams.append(stream)
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        frame: dict[str, Any] | None = self.server.frame
        while frame is not None:
            try:
                self.wfile.write(f"data: {json.dumps(frame)}\n\n".encode())
                self.wfile.flush()
            except ConnectionError:
                return  # the browser closed its page
            frame = stream.get()

    def _json(self, status: int, said: dict[str, Any]) -> None:
        self._send(status, "application/json", json.dumps(said).encode())

    def _file(self, path: Path) -> None:
        if path.is_file():
            self._send(HTTPStatus.OK, TYPES[path.suffix], path.read_bytes())
        else:
            self._send(HTTPStatus.NOT_FOUND, "text/plain", b"no such file")

    def _send(self, status: int, kind: str, body: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)


@contextmanager
def standing_in(dist: Path) -> Iterator[StandInRig]:
    """A stand-in on a free port of 127.0.0.1, gone when the block ends."""
    rig = StandInRig(dist)
    thread = threading.Thread(target=rig.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield rig
    finally:
        for stream in rig.streams:
            stream.put(None)
        rig.shutdown()
        thread.join()
        rig.server_close()
