"""Everything a stranger or a paired phone may send to each route, drawn from the page's schema.

Four kinds: what the schema allows, what it forbids, what is right but for one thing and so gets as
far as the engine, and what no browser writes: odd headers, methods, queries and bodies.
"""

import json
from collections.abc import Callable
from typing import Any

import requests
import schemathesis
from api_asked import Answered, Asked
from api_shop import HOST
from hypothesis import strategies as st
from schemathesis.core.failures import Failure, FailureGroup
from schemathesis.core.transport import Response
from schemathesis.generation.modes import GenerationMode

from controller.batch.acts import CARRIES, ActKind
from controller.batch.stages import Stage
from controller.page.app import openapi_schema
from controller.page.gate import API, BODY_MOST
from controller.page.sheets import start_tables

OWN = {
    "host": HOST,
    "origin": f"http://{HOST}",
    "x-warmdraw": str(API),
    "content-type": "application/json",
}
"""What the page's own script sends."""
Now = dict[str, Any]
"""What is true at the rig when a request goes out: batch, stage, seen_seq, id, pin, alarm."""
Maker = Callable[[Now], Asked]
"""Makes a request once it is known what is true."""

SCHEMA = schemathesis.openapi.from_dict(openapi_schema())
ROUTES = {
    f"{found.ok().method.upper()} {found.ok().path}": found.ok()
    for found in SCHEMA.get_all_operations()
}
"""Every route of the page, by method and path."""


def from_schema(route: str, mode: GenerationMode) -> st.SearchStrategy[Maker]:
    """What the schema allows, or forbids, on this route."""
    return ROUTES[route].as_strategy(generation_mode=mode).map(_as_it_is)


def has_parts(route: str) -> bool:
    """There is anything to get wrong: a route without parameters or body has nothing."""
    operation = ROUTES[route]
    return bool(list(operation.iter_parameters())) or bool(operation.body)


def unlike(route: str, answered: Answered) -> list[str]:
    """How a good answer differs from what the schema says of it."""
    if answered.headers.get("content-type") != "application/json":
        return []
    told = Response(
        answered.status,
        {name: [value] for name, value in answered.headers.items()},
        answered.body,
        requests.Request("GET", f"http://{HOST}/").prepare(),
        elapsed=0.0,
        verify=False,
    )
    try:
        ROUTES[route].validate_response(told)
    except FailureGroup as found:
        return [str(fault) for fault in found.exceptions]
    except Failure as fault:
        return [str(fault)]
    return []


def _as_it_is(case: Any) -> Maker:
    kwargs = case.as_transport_kwargs(base_url=f"http://{HOST}")
    known = {"method", "url", "params", "json", "data", "cookies"}
    ready = requests.Request(**{k: v for k, v in kwargs.items() if k in known}).prepare()
    body = ready.body or b""
    asked = Asked(
        str(ready.method), ready.path_url, OWN, body if isinstance(body, bytes) else body.encode()
    )
    return lambda now: asked


# --- right but for one thing

FIGURES = st.floats(-1e9, 1e9) | st.integers(-10, 1000).map(float) | st.just(0.0)
SAID = st.booleans() | FIGURES | st.text(max_size=20) | st.sampled_from(["gun", "face", "bag"])


def _said(kind: ActKind) -> st.SearchStrategy[dict[str, Any]]:
    """What a press of this kind carries: often what it should, sometimes anything."""
    names = CARRIES.get(kind, {})
    proper: dict[str, st.SearchStrategy[Any]] = {
        name: st.just(True) if told.startswith("true") else SAID for name, told in names.items()
    }
    return st.fixed_dictionaries({}, optional=proper) | st.fixed_dictionaries(
        {name: _likely(name, told) for name, told in names.items()}
    )


def _likely(name: str, told: str) -> st.SearchStrategy[Any]:
    if told.startswith("true"):
        return st.just(True)
    if name in ("a_g", "b_g", "thinner_g", "used_g", "mass_g", "value_c", "value_pa"):
        return FIGURES
    return st.sampled_from(["face", "bag", "barometer", "gun", "board", "loft", "x" * 500])


@st.composite
def _press(draw: st.DrawFn) -> Maker:
    kind = draw(st.sampled_from([kind for kind in ActKind if kind is not ActKind.PLAN]))
    values = draw(_said(kind))
    ago = draw(st.sampled_from([0.0, 0.0, 30.0, 3600.0, 86_400.0]))
    stage = draw(st.none() | st.sampled_from(list(Stage)) | st.just("now"))
    known = draw(st.booleans())

    def made(now: Now) -> Asked:
        told = dict(values)
        if kind is ActKind.ACKNOWLEDGE and known:
            told["alarm"] = now["alarm"]
        body = {
            "id": now["id"],
            "kind": kind,
            "batch": now["batch"],
            "stage": now["stage"] if stage == "now" else stage,
            "seen_seq": now["seen_seq"],
            "ago_s": ago,
            "values": told,
        }
        return Asked("POST", "/api/acts", OWN, json.dumps(body).encode())

    return made


ODD = (
    st.sampled_from(["", "20 mm", "1e308 mm", "-5 C", "nan %", "22 inHg vacuum", "none", "\ud800"])
    | st.text(max_size=12)
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(-1e9, 1e9)
)


def _odd_tables() -> st.SearchStrategy[dict[str, Any]]:
    """The example's description with a few of its leaves gone odd."""
    tables = start_tables(None)
    places: list[tuple[str, ...]] = [(key,) for key in tables]
    for key, value in tables.items():
        inner = value[0] if isinstance(value, list) else value
        if isinstance(inner, dict):
            places += [(key, name) for name in inner]

    def changed(changes: dict[tuple[str, ...], Any]) -> dict[str, Any]:
        made = json.loads(json.dumps(tables))
        for place, value in changes.items():
            inside = made
            if len(place) == 2 and isinstance(made.get(place[0]), dict | list):
                inside = made[place[0]]
                inside = inside[0] if isinstance(inside, list) else inside
            inside[place[-1]] = value
        return dict(made)

    return st.dictionaries(st.sampled_from(places), ODD, max_size=2).map(changed)


@st.composite
def _sheet(draw: st.DrawFn, route: str) -> Maker:
    body: dict[str, Any] = {"description": draw(_odd_tables())}

    def made(now: Now) -> Asked:
        told = dict(body)
        if route.endswith("/plan"):
            told |= {name: now[name] for name in ("id", "batch", "stage", "seen_seq")}
        return Asked("POST", route.partition(" ")[2], OWN, json.dumps(told).encode())

    return made


@st.composite
def _pairing(draw: st.DrawFn) -> Maker:
    name = draw(st.none() | st.text(max_size=45))
    bearer, right = draw(st.booleans()), draw(st.booleans())

    def made(now: Now) -> Asked:
        pin = now["pin"] if right else "000000"
        body = {"pin": pin, "name": name, "bearer": bearer}
        return Asked("POST", "/api/pair", OWN, json.dumps(body).encode())

    return made


@st.composite
def _record(draw: st.DrawFn, path: str) -> Maker:
    number = st.integers(-1, 2000) | st.sampled_from(["", "x", "1e3", "99999999999999999999"])
    wanted = draw(st.dictionaries(st.sampled_from(["points", "after", "limit"]), number))
    query = "&".join(f"{name}={value}" for name, value in wanted.items())
    return lambda now: Asked("GET", path.format(batch=now["batch"]) + f"?{query}", OWN)


def nearly_right(route: str) -> st.SearchStrategy[Maker] | None:
    """What gets as far as the engine, the record or the reckoning; None where all does."""
    method, _, path = route.partition(" ")
    if route == "POST /api/acts":
        return _press()
    if path.startswith("/api/sheet") and method == "POST":
        return _sheet(route)
    if path == "/api/pair":
        return _pairing()
    return _record(path) if "{batch}" in path else None


# --- what no browser writes

DEEP = 20_000
BODIES = [
    b"",
    b"{}",
    b"null",
    b"[]",
    b'"\\ud800"',
    b'{"\\ud800": 1}',
    b'{"id": "\\ud800aaaaaaa", "kind": "MUTE", "seen_seq": 1}',
    b"\xff\xfe\x00",
    b"\xef\xbb\xbf{}",
    b"{" * DEEP,
    b"[" * DEEP + b"]" * DEEP,
    b'{"description": ' * 5000 + b"1" + b"}" * 5000,
    b'{"description": ' + b"[" * DEEP + b"]" * DEEP + b"}",
    b'{"seen_seq": NaN, "ago_s": Infinity}',
    b'{"seen_seq": ' + b"9" * 5000 + b"}",
    b'{"ago_s": 1e999}',
    b'{"id": "aaaaaaaa", "id": "bbbbbbbb"}',
    b'{"name": "' + b"x" * BODY_MOST + b'"}',
    b'{"name": "\xf0\x9f\x94\xa5\\u202e\\u0000"}',
]
ODD_HEADERS: list[tuple[str, str | None]] = [
    ("host", "rig.local"),
    ("host", "evil.example"),
    ("host", ""),
    ("host", "[::1"),
    ("host", "rig.local:\u00b2"),
    ("origin", "null"),
    ("origin", None),
    ("x-warmdraw", None),
    ("x-warmdraw", "99"),
    ("content-type", "text/plain"),
    ("content-type", "application/json; charset=utf-16"),
    ("content-type", None),
    ("content-length", "-1"),
    ("cookie", "warmdraw=\xff; =; ;"),
    ("cookie", 'warmdraw="' + "x" * 4000),
    ("authorization", "Bearer "),
    ("authorization", "Bearer \xe9\xe9"),
    ("x-forwarded-for", "8.8.8.8, x"),
    ("accept-encoding", "gzip"),
    ("accept-encoding", "\xff"),
    ("last-event-id", "x"),
    ("range", "bytes=0-"),
]
METHODS = ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "BREW"]
QUERIES = [
    "",
    "?",
    "?points=",
    "?limit=1&limit=2",
    "?after=%00",
    "?%ff=%ed%a0%80",
    "?x=" + "y" * 999,
]
ODD_BATCHES = ["%00", "%ed%a0%80", "..%2f..", "%2e%2e", "'%20OR%201=1", "x" * 64, "x" * 65, "%0a"]


@st.composite
def hand_written(draw: st.DrawFn, route: str) -> Maker:
    """A request by somebody who means no good."""
    method, _, path = route.partition(" ")
    method = draw(st.just(method) | st.sampled_from(METHODS))
    target = path.format(batch=draw(st.sampled_from(ODD_BATCHES))) + draw(st.sampled_from(QUERIES))
    headers = dict(OWN)
    for name, value in draw(st.lists(st.sampled_from(ODD_HEADERS), max_size=2)):
        headers.pop(name, None)
        if value is not None:
            headers[name] = value
    body = draw(st.sampled_from(BODIES) | st.binary(max_size=40))
    return lambda now: Asked(method, target, headers, body)
