"""The trial of one route: what is sent to it, what must hold after each answer, and the count."""

import asyncio
import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from api_asked import Answered, Asked, ask
from api_cases import Maker, from_schema, hand_written, has_parts, nearly_right, unlike
from api_shop import PHONE, Shop
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.generation.modes import GenerationMode

from controller.batch.acts import ActKind
from controller.batch.signals import Commands
from controller.batch.stages import Stage

STRANGER, PAIRED = "stranger", "paired"
ROLES = (STRANGER, PAIRED)
STREAM = "/api/live"


@dataclass
class Tally:
    """What came of one route."""

    requests: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    """Each thing that must not be, and was, with the request that brought it."""

    @property
    def faults(self) -> int:
        """Answers that say the page has a fault or cannot."""
        return sum(n for status, n in self.statuses.items() if status >= 500)


class Bench:
    """A shop whose batch is kept in one stage, and requests to its page."""

    def __init__(self, folder: Path, stage: Stage = Stage.PREHEAT) -> None:
        self._folder = folder
        self._stage = stage
        self._count = itertools.count(1)
        self._runner = asyncio.Runner()
        self.shop = self._new()

    def close(self) -> None:
        self.shop.close()
        self._runner.close()

    def _new(self) -> Shop:
        folder = self._folder / f"shop-{next(self._count)}"
        folder.mkdir()
        return Shop(folder)

    def at_work(self) -> None:
        """The lamp burns or the pump runs again, whatever was pressed before."""
        lamp = self._stage in (Stage.PREHEAT, Stage.SOAK)
        while not self.shop.until(self._stage, lamp=lamp, pump=not lamp):
            self.shop.close()
            self.shop = self._new()

    def try_route(self, route: str, role: str, examples: int) -> Tally:
        """Send `examples` of each kind to this route."""
        tally = Tally()
        for kind in kinds(route):
            self._try(route, kind, role, examples, tally)
        return tally

    def _try(
        self, route: str, kind: st.SearchStrategy[Maker], role: str, examples: int, tally: Tally
    ) -> None:
        @settings(
            max_examples=examples,
            derandomize=True,
            database=None,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(kind)
        def one(made: Maker) -> None:
            self.at_work()
            asked = made(self._now())
            headers = dict(asked.headers)
            if role == PAIRED:
                headers.setdefault("authorization", f"Bearer {self.shop.paired()}")
            asked = Asked(asked.method, asked.target, headers, asked.body)
            answered = self._send(asked, role, tally)
            if answered.status == 200 and asked.method == route.partition(" ")[0]:
                tally.wrong += [f"{fault}: {asked}" for fault in unlike(route, answered)]

        one()

    def _send(self, asked: Asked, role: str, tally: Tally) -> Answered:
        """One request; what is wrong with its answer or its effect goes into the tally."""
        shop = self.shop
        before, heard = shop.outputs, len(shop.acts)
        answered = self._runner.run(ask(shop.app, asked, PHONE))
        tally.requests += 1
        tally.statuses[answered.status] += 1
        new = shop.acts[heard:]
        faults = list(wrong_with(asked, answered))
        if shop.unsafe:
            faults.append(f"unsafe: {shop.unsafe}")
            shop.unsafe.clear()
        stopped = any(act.kind is ActKind.STOP for act in new)
        after = shop.outputs
        if stopped and (after.lamp or after.pump or after.dead_man):
            faults.append(f"STOP left {after}")
        if role == STRANGER:
            if any(act.kind is not ActKind.STOP for act in new):
                faults.append(f"a stranger pressed {[act.kind for act in new]}")
            if not stopped and moved(before) != moved(after):
                faults.append(f"a stranger made {before} into {after}")
        tally.wrong += [f"{fault}: {asked} -> {answered.status}" for fault in faults]
        return answered

    def _now(self) -> dict[str, object]:
        shown = self.shop.latest
        assert shown is not None
        return {
            "id": f"press-{next(self._count):06}",
            "batch": None if shown.batch is None else shown.batch.id,
            "stage": shown.stage,
            "seen_seq": shown.seq,
            "alarm": shown.alarms[0].id if shown.alarms else "nobody there",
            "pin": self.shop.pin(),
        }


def kinds(route: str) -> Iterator[st.SearchStrategy[Maker]]:
    """The four kinds of request, where the route has them."""
    yield hand_written(route)
    yield from_schema(route, GenerationMode.POSITIVE)
    if has_parts(route):
        yield from_schema(route, GenerationMode.NEGATIVE)
    near = nearly_right(route)
    if near is not None:
        yield near


def moved(outputs: Commands) -> tuple[bool, bool, bool]:
    """What makes heat or vacuum."""
    return outputs.lamp, outputs.pump, outputs.dead_man


def wrong_with(asked: Asked, answered: Answered) -> Iterator[str]:
    """What an answer must not be."""
    if answered.status >= 500:
        yield f"said {answered.body[:200]!r}"
    if answered.crash is not None:
        yield f"raised {answered.crash}"
    kind = answered.headers.get("content-type", "")
    if answered.status >= 400:
        if asked.method != "HEAD" and answered.sentence() is None:
            yield f"no one sentence in {answered.body[:200]!r}"
    elif asked.target.partition("?")[0] == STREAM:
        if not kind.startswith("text/event-stream"):
            yield f"a stream of {kind}"
    elif kind != "application/json":
        yield f"an answer of {kind or 'nothing'}"
