"""The link: what is let in, what a line may hold, and what happens when control goes away."""

import asyncio
import getpass
import json
import os
import socket
import threading
from contextlib import asynccontextmanager, contextmanager, suppress
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.batch.acts import ActKind, Answer
from controller.batch.snapshot import (
    AlarmShown,
    BatchShown,
    Due,
    OutputShown,
    Press,
    Quantity,
    Sentence,
    SettingShown,
    Shown,
    Snapshot,
)
from controller.errors import BusyError, InputError
from controller.link import (
    MAX_LINE,
    ActMessage,
    AnswerMessage,
    Feed,
    Hello,
    Off,
    Refused,
    Safe,
    SnapshotMessage,
    act_in,
    ask,
    decode_inbound,
    decode_outbound,
    encode,
    peer_name,
    read_line,
    snapshot_from_json,
    snapshot_json,
)

LONG = 10.0
"""What has to happen happens within this, [s]; a test that waits it out has failed."""

LOST = Shown(value=None, age_s=None, source="lost")
OUTPUT = OutputShown(on=False, wiring="wired", word="off, locked", why="solvent is open")
SAYS = Sentence(text="Holding at {bag}.", values={"bag": Quantity(kind="vacuum", value=75_900.0)})
SETTING = SettingShown(
    age_s=12.5,
    gel_early_at=1.0,
    gel_late_at=None,
    gelled=False,
    open_early_at=None,
    open_late_at=None,
    may_open=False,
    conversion=0.25,
    cure="liquid",
    flash_share=None,
    flash_late_at=None,
    stalled=True,
)
BATCH = BatchShown(
    id="ash-1",
    name="Washboard in ash",
    shop="Eelgrass Boatworks",
    coat=1,
    coats=2,
    face="A",
    pieces=("washboard",),
    stage="HOLD",
    form="HELD",
    since=3.0,
    left=None,
    place=None,
    outcome=None,
    setting=SETTING,
)
SNAPSHOT = Snapshot(
    version=1,
    seq=7,
    now=12.25,
    told_utc=1_780_000_000.5,
    time_zone="Europe/Berlin",
    simulated=True,
    pace=60.0,
    rig="bench rig",
    stage="HOLD",
    sentence=SAYS,
    cautions=("Stay with the lamp.",),
    press=Press(act="LET UP", says="Let the bag up", asks={}, due=False, hold=True),
    others=(),
    face=Shown(value=35.25, age_s=0.5, source="probe"),
    back=LOST,
    room=LOST,
    film=LOST,
    bag=LOST,
    air_pa=101_325.0,
    lamp=OUTPUT,
    pump=OUTPUT,
    zone_locked=True,
    zone_free_at=None,
    heat=None,
    bagging=None,
    batch=BATCH,
    aside=(BATCH,),
    alarms=(
        AlarmShown(
            id="B1",
            priority="P2",
            state="shelved",
            since=1.0,
            follows="B0",
            shelve=Press(act="SHELVE", says="", asks={"reason": "why"}, due=False, hold=False),
            shelved_until=9.0,
            says=SAYS,
            cause="A pleat.",
            do="Reseal.",
        ),
    ),
    blind="B1",
    muted_until=None,
    due=(Due(what="open the bag", at=1.0, until=2.0, batch="ash-1"),),
)

FLIP = ActMessage(id="a1", kind=ActKind.FLIP, batch="ash-1", stage="SOAK", by="Ida's phone")


def line(**said):
    return json.dumps(said).encode()


# messages


@pytest.mark.parametrize(
    "message",
    [
        FLIP,
        ActMessage(
            id="a2",
            kind=ActKind.COATED,
            by="Ida",
            ago_s=360.0,
            values={"used_g": 41.5, "what": "board", "aired": True, "count": 3.0},
            seen_seq=9,
            received_utc=1.78e9,
        ),
        Hello(who="page", wants="snapshots"),
        Safe(),
    ],
)
def test_what_is_said_to_control_comes_out_as_it_went_in(message):
    said = encode(message)
    assert said.count(b"\n") == 1 and said.endswith(b"\n")
    assert decode_inbound(said) == message
    assert json.loads(said)["v"] == 1


@pytest.mark.parametrize(
    "message",
    [
        SnapshotMessage(snapshot=SNAPSHOT),
        AnswerMessage.of(Answer(act="a1", accepted=False, text="Not in COAT.\nTry later.")),
        Off(),
        Refused(text="no"),
        Refused(text="no", act="a1"),
    ],
)
def test_what_control_says_comes_out_as_it_went_in(message):
    said = encode(message)
    assert said.count(b"\n") == 1
    assert decode_outbound(said) == message


def test_a_snapshot_comes_out_as_it_went_in_with_its_types():
    again = snapshot_from_json(snapshot_json(SNAPSHOT))
    assert again == SNAPSHOT
    assert isinstance(again.batch, BatchShown) and isinstance(again.aside, tuple)
    with pytest.raises(InputError):
        snapshot_from_json(b'{"version": 1}')


def test_an_act_reaches_the_engine_with_all_it_carries():
    act = ActMessage(
        id="a2", kind=ActKind.COATED, batch="ash-1", stage="COAT", by="Ida", ago_s=360, values={}
    ).act()
    assert (act.id, act.kind, act.batch, act.stage) == ("a2", ActKind.COATED, "ash-1", "COAT")
    assert (act.by, act.ago, act.values) == ("Ida", 360.0, {})


GOOD = {"v": 1, "type": "act", "id": "a1", "kind": "FLIP", "by": "Ida"}


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"kind": "EXPLODE"}, "kind"),
        ({"ago_s": -1}, "ago_s"),
        ({"id": ""}, "id"),
        ({"id": "x" * 65}, "id"),
        ({"by": "x" * 81}, "by"),
        ({"more": 1}, "more"),
        ({"values": {"a": [1]}}, "values.a"),
        ({"type": "shout"}, "shout"),
        ({"v": 2}, "restart both"),
    ],
)
def test_what_is_not_to_the_letter_is_refused_in_one_line(changed, named):
    assert isinstance(decode_inbound(line(**GOOD)), ActMessage)
    with pytest.raises(InputError, match=named) as told:
        decode_inbound(line(**(GOOD | changed)))
    assert "\n" not in str(told.value)


@pytest.mark.parametrize(
    "text", [b"", b"\n", b"[]", b"{", b"STOP", b'"STOP"', b"\xff\xfe", b"[" * 50_000, b"null"]
)
def test_what_is_no_object_is_refused(text):
    with pytest.raises(InputError):
        decode_inbound(text)


@pytest.mark.parametrize("figure", ["NaN", "Infinity", "1e999"])
def test_a_figure_that_is_not_finite_is_refused(figure):
    with pytest.raises(InputError):
        decode_inbound(line(**GOOD)[:-1] + b', "ago_s": ' + figure.encode() + b"}")
    with pytest.raises(InputError):
        decode_inbound(line(**GOOD)[:-1] + b', "values": {"a": ' + figure.encode() + b"}}")


@pytest.mark.parametrize(
    "said",
    [
        line(v=99, type="act", kind="STOP"),
        line(type="act", kind="STOP", id="", by="", stage=5, more={"x": 1}),
        line(v=1, type="act", kind="STOP", id="a" * 500, by="b" * 500, ago_s=-1),
        line(type="act", kind="STOP", id="\ud800", by="\ud800"),
        b'{"type":"act","kind":"STOP","by":"\xff\xfe"}',
        line(type="act", kind="STOP", ago_s=float("nan")),
    ],
)
def test_stop_is_taken_whatever_else_is_wrong(said):
    message = decode_inbound(said)
    assert isinstance(message, ActMessage)
    assert message.kind is ActKind.STOP
    assert message.id and message.by
    assert decode_inbound(encode(message)) == message


def test_two_stops_without_an_id_are_two():
    said = line(type="act", kind="STOP")
    assert decode_inbound(said) != decode_inbound(said)


def test_safe_is_taken_in_any_version():
    assert decode_inbound(line(v=99, type="safe", why="boot")) == Safe()


@settings(deadline=None)
@given(st.binary(max_size=200) | st.dictionaries(st.text(), st.text()).map(lambda d: line(**d)))
def test_no_line_does_more_than_be_refused(said):
    with suppress(InputError):
        decode_inbound(said)
    with suppress(InputError):
        decode_outbound(said)


def test_a_line_has_an_end():
    assert len(encode(Refused(text="x" * 60_000))) < MAX_LINE
    with pytest.raises(InputError, match="65536"):
        encode(Refused(text="x" * MAX_LINE))


# lines


def test_lines_are_read_one_by_one_and_a_torn_one_is_the_end():
    async def story():
        reader = asyncio.StreamReader(limit=MAX_LINE)
        reader.feed_data(b"one\ntwo\nthr")
        reader.feed_eof()
        return [await read_line(reader) for _ in range(3)]

    assert asyncio.run(story()) == [b"one\n", b"two\n", None]


def test_a_line_without_an_end_is_not_waited_for():
    async def story():
        reader = asyncio.StreamReader(limit=MAX_LINE)
        reader.feed_data(b"x" * (MAX_LINE + 1))
        await read_line(reader)

    with pytest.raises(InputError, match="more than 65536"):
        asyncio.run(story())


def test_the_kernel_says_who_is_at_the_other_end(monkeypatch):
    ours, theirs = socket.socketpair()
    with ours, theirs:
        assert peer_name(ours) == getpass.getuser()

        def nobody(uid):
            raise KeyError(uid)

        monkeypatch.setattr("pwd.getpwuid", nobody)
        assert peer_name(ours) == f"uid {os.getuid()}"


# ask


@contextmanager
def listening(path, *replies, keep_open=False):
    """Control for one connection: says its replies after two lines, or after one hello that
    wants snapshots; the lines it heard are in the list."""
    heard = []
    done = threading.Event()

    def serve():
        connection, _ = server.accept()
        with connection, connection.makefile("rb") as lines:
            heard.append(decode_inbound(lines.readline()))
            if heard[0] != Hello(who="shell", wants="snapshots"):
                heard.append(decode_inbound(lines.readline()))
            for reply in replies:
                connection.sendall(reply if isinstance(reply, bytes) else encode(reply))
            if keep_open:
                assert done.wait(LONG)

    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(path))
        server.listen()
        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield heard
        finally:
            done.set()
            thread.join(LONG)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "control.sock"


def test_a_press_from_a_shell_gets_its_own_answer(path):
    others = AnswerMessage(act="a0", accepted=True, text="Not yours.")
    mine = AnswerMessage(act="a1", accepted=True, text="Turn the board.")
    with listening(path, SnapshotMessage(snapshot=SNAPSHOT), others, mine) as heard:
        assert ask(path, FLIP, LONG) == Answer(act="a1", accepted=True, text="Turn the board.")
    assert heard == [Hello(who="shell"), FLIP]


def test_status_is_one_snapshot(path):
    with listening(path, SnapshotMessage(snapshot=SNAPSHOT)):
        assert ask(path, Hello(who="shell", wants="snapshots"), LONG) == SNAPSHOT


def test_safe_waits_until_the_outputs_are_off(path):
    with listening(path, SnapshotMessage(snapshot=SNAPSHOT), Off()) as heard:
        assert ask(path, Safe(), LONG) == Off()
    assert heard == [Hello(who="safe"), Safe()]


def test_a_refusal_is_told_with_its_words(path):
    with listening(path, Refused(text="no such act")), pytest.raises(InputError, match="no such"):
        ask(path, FLIP, LONG)


def test_no_reply_in_time_is_one_line(path):
    with listening(path, keep_open=True), pytest.raises(BusyError, match="did not answer"):
        ask(path, FLIP, 0.05)


def test_a_control_that_dies_before_it_answers_is_one_line(path):
    with listening(path), pytest.raises(BusyError, match="went away"):
        ask(path, FLIP, LONG)


def test_nobody_listening_is_one_line_that_says_what_to_do(path):
    with pytest.raises(InputError, match="start warmdraw control") as told:
        ask(path, FLIP, LONG)
    assert "\n" not in str(told.value)


def test_a_control_that_never_ends_its_line_is_left(path):
    with (
        listening(path, b"x" * (2 * MAX_LINE), keep_open=True),
        pytest.raises(InputError, match="more than"),
    ):
        ask(path, FLIP, LONG)


# the page's feed


class Control:
    """A stand-in for control that says what the test tells it to."""

    def __init__(self):
        self.heard = asyncio.Queue()
        self.writers = asyncio.Queue()

    async def serve(self, reader, writer):
        self.writers.put_nowait(writer)
        while (said := await read_line(reader)) is not None:
            self.heard.put_nowait(decode_inbound(said))


@asynccontextmanager
async def fed(path):
    control = Control()
    server = await asyncio.start_unix_server(control.serve, path, limit=MAX_LINE)
    feed = Feed(path, retry=0.001, retry_most=0.002)
    running = asyncio.create_task(feed.run())
    try:
        async with asyncio.timeout(LONG):
            yield control, server, feed
    finally:
        running.cancel()
        with suppress(asyncio.CancelledError):
            await running
        server.close()
        await server.wait_closed()


def test_the_feed_asks_for_snapshots_and_hands_on_each_new_one(path):
    async def story():
        async with fed(path) as (control, _, feed):
            assert await control.heard.get() == Hello(who="page", wants="snapshots")
            writer = await control.writers.get()
            for seq in (7, 8, 3):
                writer.write(encode(SnapshotMessage(snapshot=replace(SNAPSHOT, seq=seq))))
                before = feed.latest.seq if feed.latest else 0
                assert (await feed.changed(before)).seq == seq
            assert feed.connected and feed.trouble is None and feed.received is not None
            writer.close()

    asyncio.run(story())


def test_a_press_through_the_feed_gets_its_answer_and_the_same_press_is_sent_once(path):
    async def story():
        async with fed(path) as (control, _, feed):
            await control.heard.get()
            writer = await control.writers.get()
            first = asyncio.create_task(feed.press(FLIP, LONG))
            again = asyncio.create_task(feed.press(FLIP, LONG))
            assert await control.heard.get() == FLIP
            other = AnswerMessage(act="a0", accepted=True, text="Not yours.")
            writer.write(encode(other))
            writer.write(encode(AnswerMessage(act="a1", accepted=True, text="Turn it.")))
            answer = Answer(act="a1", accepted=True, text="Turn it.")
            assert await asyncio.gather(first, again) == [answer, answer]
            assert control.heard.empty()
            writer.close()

    asyncio.run(story())


def test_a_press_without_control_or_without_an_answer_is_one_line(path):
    async def story():
        with pytest.raises(BusyError, match="not connected"):
            await Feed(path).press(FLIP)
        async with fed(path) as (control, _, feed):
            await control.heard.get()
            writer = await control.writers.get()
            with pytest.raises(BusyError, match="press again"):
                await feed.press(FLIP, 0.02)
            # A late answer finds nobody, and the next press of the same id is sent anew.
            writer.write(encode(AnswerMessage(act="a1", accepted=True, text="Late.")))
            writer.write(encode(SnapshotMessage(snapshot=SNAPSHOT)))
            await feed.changed(0)
            assert await control.heard.get() == FLIP
            waiting = asyncio.create_task(feed.press(FLIP, LONG))
            assert await control.heard.get() == FLIP
            writer.write(encode(Refused(text="not now")))
            with pytest.raises(InputError, match="not now"):
                await waiting
            writer.close()

    asyncio.run(story())


def test_a_refusal_with_an_id_fails_that_press_and_no_other(path):
    stop = ActMessage(id="stop-1", kind=ActKind.STOP, by="unpaired 192.168.1.20")

    async def story():
        async with fed(path) as (control, _, feed):
            await control.heard.get()
            writer = await control.writers.get()
            writer.write(encode(SnapshotMessage(snapshot=SNAPSHOT)))
            await feed.changed(0)
            flipping = asyncio.create_task(feed.press(FLIP, LONG))
            stopping = asyncio.create_task(feed.press(stop, LONG))
            await control.heard.get()
            await control.heard.get()
            writer.write(encode(Refused(text="of somebody else", act="a9")))
            writer.write(encode(Refused(text="not now", act="a1")))
            with pytest.raises(InputError, match="not now"):
                await flipping
            writer.write(encode(AnswerMessage(act="stop-1", accepted=True, text="Off.")))
            assert (await stopping).accepted
            writer.close()

    asyncio.run(story())


@pytest.mark.parametrize(
    ("line", "act"),
    [
        (encode(FLIP).replace(b'"v":1', b'"v":2'), "a1"),
        (b'{"type":"act","id":"a2","kind":"DANCE"}', "a2"),
        (b'{"type":"act","id":"' + b"x" * 90 + b'"}', "x" * 64),
        (b'{"type":"act","id":7}', None),
        (b'{"type":"hello","id":"a3"}', None),
        (b"[1]", None),
        (b'{"type":"act","id":"a4"', None),
    ],
)
def test_the_id_is_read_out_of_a_line_that_is_not_understood(line, act):
    with pytest.raises(InputError):
        decode_inbound(line)
    assert act_in(line) == act


def test_when_control_goes_away_the_press_fails_and_the_feed_comes_back(path):
    async def story():
        async with fed(path) as (control, _, feed):
            await control.heard.get()
            writer = await control.writers.get()
            writer.write(encode(SnapshotMessage(snapshot=SNAPSHOT)))
            await feed.changed(0)
            waiting = asyncio.create_task(feed.press(FLIP, LONG))
            await control.heard.get()
            writer.close()
            with pytest.raises(BusyError, match="went away"):
                await waiting
            # Still there to be shown with its age.
            assert feed.latest == SNAPSHOT
            assert await control.heard.get() == Hello(who="page", wants="snapshots")
            writer = await control.writers.get()
            writer.write(encode(SnapshotMessage(snapshot=replace(SNAPSHOT, seq=1))))
            assert (await feed.changed(7)).seq == 1
            assert feed.connected
            writer.close()

    asyncio.run(story())


def test_the_feed_waits_longer_each_time_for_a_control_that_is_not_there(path, monkeypatch):
    async def story():
        control, waits = Control(), []

        async def slept(wait):
            waits.append(wait)
            assert not feed.connected
            assert "start warmdraw control" in feed.trouble
            if len(waits) == 4:
                servers.append(await asyncio.start_unix_server(control.serve, path))

        servers = []
        monkeypatch.setattr(asyncio, "sleep", slept)
        feed = Feed(path, retry=1, retry_most=3)
        running = asyncio.create_task(feed.run())
        async with asyncio.timeout(LONG):
            assert await control.heard.get() == Hello(who="page", wants="snapshots")
            (await control.writers.get()).close()
        running.cancel()
        with suppress(asyncio.CancelledError):
            await running
        servers[0].close()
        await servers[0].wait_closed()
        return waits

    assert asyncio.run(story())[:4] == [1, 2, 3, 3]


def test_a_control_of_another_version_is_said(path):
    async def speak(_, writer):
        writer.write(b'{"v":2,"type":"off"}\n')
        writer.close()
        await writer.wait_closed()

    async def story():
        async with await asyncio.start_unix_server(speak, path):
            await Feed(path)._listen()

    with pytest.raises(InputError, match="restart both"):
        asyncio.run(story())
