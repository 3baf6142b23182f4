"""The messages between control and the others, and how they travel."""

from controller.link.ask import ask
from controller.link.feed import Feed
from controller.link.lines import peer_name, read_line
from controller.link.messages import (
    MAX_LINE,
    VERSION,
    ActMessage,
    AnswerMessage,
    Hello,
    Inbound,
    Off,
    Outbound,
    Refused,
    Safe,
    SnapshotMessage,
    act_in,
    decode_inbound,
    decode_outbound,
    encode,
    snapshot_from_json,
    snapshot_json,
)

__all__ = [
    "MAX_LINE",
    "VERSION",
    "ActMessage",
    "AnswerMessage",
    "Feed",
    "Hello",
    "Inbound",
    "Off",
    "Outbound",
    "Refused",
    "Safe",
    "SnapshotMessage",
    "act_in",
    "ask",
    "decode_inbound",
    "decode_outbound",
    "encode",
    "peer_name",
    "read_line",
    "snapshot_from_json",
    "snapshot_json",
]
