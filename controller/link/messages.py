"""The messages between control and the others: one JSON object a line.

Rule 1: what comes in to control is checked here, to the letter; nothing unknown passes.
Rule 2: STOP and `safe` are taken from any JSON object that says so, whatever else is wrong in it.
"""

import json
import time
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.snapshot import Snapshot
from controller.errors import InputError

VERSION: Literal[1] = 1
"""Of these messages; the two sides must agree, or say so."""
MAX_LINE = 65536
"""Longest line with its newline, [bytes]. Own: four times a big snapshot."""
ID_MOST = 64
"""Longest id of an act, [characters]. Own."""


class Message(BaseModel):
    """What every message has in common."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    v: Literal[1] = VERSION


class ActMessage(Message):
    """An act on its way to control."""

    type: Literal["act"] = "act"
    id: str = Field(min_length=1, max_length=ID_MOST)
    kind: ActKind
    batch: str | None = Field(default=None, max_length=64)
    stage: str | None = Field(default=None, max_length=32)
    by: str = Field(min_length=1, max_length=80)
    ago_s: float = Field(default=0.0, ge=0.0)
    values: dict[str, str | float | bool] = {}
    seen_seq: int | None = None
    received_utc: float | None = None

    def act(self) -> Act:
        """As the engine takes it."""
        return Act(
            id=self.id,
            kind=self.kind,
            batch=self.batch,
            stage=self.stage,
            by=self.by,
            ago=self.ago_s,
            values=self.values,
        )


class Hello(Message):
    """The first line of a connection."""

    type: Literal["hello"] = "hello"
    who: Literal["page", "shell", "safe"]
    wants: Literal["snapshots", "answers"] = "answers"


class Safe(Message):
    """Outputs OFF, please, and say when they are."""

    type: Literal["safe"] = "safe"


class SnapshotMessage(Message):
    """The state of the rig."""

    type: Literal["snapshot"] = "snapshot"
    snapshot: Snapshot


class AnswerMessage(Message):
    """What the sender of an act hears, once it is on disk."""

    type: Literal["answer"] = "answer"
    act: str
    accepted: bool
    text: str

    @classmethod
    def of(cls, answer: Answer) -> "AnswerMessage":
        """The message that carries this answer."""
        return cls(act=answer.act, accepted=answer.accepted, text=answer.text)

    def answer(self) -> Answer:
        """As the engine gave it."""
        return Answer(act=self.act, accepted=self.accepted, text=self.text)


class Off(Message):
    """The outputs are off."""

    type: Literal["off"] = "off"


class Refused(Message):
    """The last line was not understood, or nothing more is taken."""

    type: Literal["refused"] = "refused"
    text: str
    act: str | None = None
    """Id of the act in that line, where one could be read in it."""


Inbound = ActMessage | Hello | Safe
Outbound = SnapshotMessage | AnswerMessage | Off | Refused


@cache
def _inbound() -> TypeAdapter[Inbound]:
    return TypeAdapter(Annotated[Inbound, Field(discriminator="type")])


@cache
def _outbound() -> TypeAdapter[Outbound]:
    return TypeAdapter(Annotated[Outbound, Field(discriminator="type")])


@cache
def _snapshot() -> TypeAdapter[Snapshot]:
    return TypeAdapter(Snapshot)


def encode(message: Inbound | Outbound) -> bytes:
    """The message as one line with its newline. Raises InputError when it is too long."""
    line = message.model_dump_json().encode() + b"\n"
    if len(line) > MAX_LINE:
        raise InputError(f"{message.type} of {len(line)} bytes; a line has {MAX_LINE} at most")
    return line


def decode_inbound(line: bytes) -> Inbound:
    """What a line to control says. Raises InputError for anything not to the letter."""
    try:
        return _inbound().validate_json(line)
    except ValidationError as error:
        urgent = _urgent(line)
        if urgent is None:
            raise _refusal(error, "control") from error
        return urgent


def act_in(line: bytes) -> str | None:
    """The id of the act in a line that was not understood; None when it has none."""
    said = _object_in(line)
    if said is None or said.get("type") != "act":
        return None
    return _plain(said.get("id"))[:ID_MOST] or None


def decode_outbound(line: bytes) -> Outbound:
    """What a line from control says. Raises InputError for anything not to the letter."""
    try:
        return _outbound().validate_json(line)
    except ValidationError as error:
        raise _refusal(error, "this program") from error


def snapshot_json(snapshot: Snapshot) -> bytes:
    """A snapshot as JSON text."""
    return _snapshot().dump_json(snapshot)


def snapshot_from_json(text: bytes | str) -> Snapshot:
    """A snapshot from JSON text. Raises InputError when it is none."""
    try:
        return _snapshot().validate_json(text)
    except ValidationError as error:
        raise _refusal(error, "this program") from error


def _urgent(line: bytes) -> ActMessage | Safe | None:
    """STOP or safe out of a line that is otherwise wrong; None when it says neither."""
    said = _object_in(line)
    if said is None:
        return None
    if said.get("type") == "safe":
        return Safe()
    if said.get("type") != "act" or said.get("kind") != ActKind.STOP:
        return None
    # Without a usable id it is a new STOP each time, which does no harm.
    return ActMessage(
        id=_plain(said.get("id"))[:ID_MOST] or f"stop-{time.monotonic_ns()}",
        kind=ActKind.STOP,
        by=_plain(said.get("by"))[:80] or "unknown",
    )


def _object_in(line: bytes) -> Mapping[str, object] | None:
    try:
        said = json.loads(line.decode("utf-8", "replace"))
    except (ValueError, RecursionError):
        return None
    return said if isinstance(said, Mapping) else None


def _plain(value: object) -> str:
    return value.encode("utf-8", "replace").decode() if isinstance(value, str) else ""


def _refusal(error: ValidationError, whose: str) -> InputError:
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    if first["loc"][-1:] == ("v",):
        return InputError(f"not version {VERSION} of the messages, as {whose} is; restart both")
    where = ".".join(str(part) for part in first["loc"])
    return InputError(f"not understood by {whose}: {where or 'the line'}: {first['msg']}")
