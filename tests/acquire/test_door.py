"""The one door to the bus: what is dear or false to read is refused, counted, and told briefly."""

import json
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.mqtt_bus import BusMessage
from barrelfit.acquire.bus.payloads import (
    BATCHES,
    BYTES_MAX,
    DEPTH_MAX,
    ENCODE,
    HEARTBEATS,
    OBJECTS,
    START_BYTES,
    STATES,
    Door,
    Heartbeat,
    RefusedError,
    decoded,
)
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.clock import RunningClock
from barrelfit.dashboard.board.hub import Hub

DECODERS = (BATCHES, STATES, HEARTBEATS, OBJECTS)
BEAT = ENCODE(Heartbeat("s", 7, "ab" * 32, "2026-11-25T01:02:03.000000Z", "", {}))


def nested(depth: int) -> bytes:
    return b'{"session":"s","events":' + b"[" * depth + b"]" * depth + b"}"


REFUSED = {
    "deep": nested(1_100),
    "deeper than the stack": b"[" * 100_000,
    "deep objects": b'{"a":' * 1_100 + b"1" + b"}" * 1_100,
    "digits": BEAT.replace(b'"seq":7', b'"seq":' + b"9" * 4_000),
    "more than 64 bits": BEAT.replace(b'"seq":7', b'"seq":18446744073709551616'),
    "a long fraction": b'{"a":0.' + b"1" * 100_000 + b"}",
    "infinite": b'{"a":1e999}',
    "not a number": b'{"a":NaN}',
    "minus infinity": b'{"a":-Infinity}',
    "no utf-8": b'{"session":"\xff\xfe"}',
    "half a surrogate": b'{"session":"\\ud800"}',
    "a byte order mark": b"\xef\xbb\xbf{}",
    "long": b'{"session":"' + b"a" * BYTES_MAX + b'"}',
    "nothing": b"",
    "not finished": BEAT[:-1],
    "a text": b'"heartbeat"',
    "a text without an end": b'"' + b'\\"' * 400_000,
}


@pytest.mark.parametrize("payload", REFUSED.values(), ids=REFUSED)
def test_what_is_no_message_is_refused_by_every_reader_in_bounded_time(payload):
    for decoder in DECODERS:
        began = time.perf_counter()
        with pytest.raises(RefusedError):
            decoded(payload, decoder)
        assert time.perf_counter() - began < 1.0


@pytest.mark.parametrize(
    "payload",
    [
        BEAT.replace(b'"seq":7', b'"seq":-7'),
        BEAT.replace(b'"s"', b'"' + b"s" * 10_000 + b'"'),
        BEAT.replace(b"ab" * 32, b"ab"),
        BEAT.replace(b'"gauges":{}', b'"gauges":[]'),
    ],
)
def test_a_heartbeat_holds_what_a_heartbeat_may_hold(payload):
    with pytest.raises(RefusedError):
        decoded(payload, HEARTBEATS)


def test_the_limits_are_where_they_are_said_to_be():
    assert decoded(b'{"a":' + b"[" * (DEPTH_MAX - 1) + b"]" * (DEPTH_MAX - 1) + b"}", OBJECTS)
    with pytest.raises(RefusedError, match="nested deeper"):
        decoded(b'{"a":' + b"[" * DEPTH_MAX + b"]" * DEPTH_MAX + b"}", OBJECTS)
    assert decoded(b'{"a":%d}' % (10**18 - 1), OBJECTS) == {"a": 10**18 - 1}
    with pytest.raises(RefusedError, match="digits"):
        decoded(b'{"a":%d}' % 10**18, OBJECTS)
    assert decoded(BEAT, HEARTBEATS, len(BEAT)).seq == 7
    with pytest.raises(RefusedError, match="bytes"):
        decoded(BEAT, HEARTBEATS, len(BEAT) - 1)


def test_brackets_and_digits_in_a_text_are_only_text():
    text = '{"a":"' + "[" * 2_000 + "9" * 2_000 + '\\"[[' + '\\\\"}'
    assert decoded(text.encode(), OBJECTS)["a"].startswith("[[")


@settings(max_examples=60)
@given(
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(10**18) + 1, 10**18 - 1)
        | st.floats(allow_nan=False, allow_infinity=False)
        | st.text(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
        max_leaves=30,
    )
)
def test_whatever_we_write_ourselves_is_let_in(value):
    assert decoded(ENCODE({"a": value}), OBJECTS) == {"a": value}


@settings(max_examples=60)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(payload):
    for decoder in DECODERS:
        try:
            decoded(payload, decoder)
        except RefusedError:
            continue


def test_what_is_refused_is_counted_by_kind_and_told_ever_more_seldom_and_briefly():
    told = []
    door = Door(told.append)
    for number in range(1_000):
        assert door.take(f"barrelfit/b{number}/heartbeat", nested(50 + number), HEARTBEATS) is None
    assert door.take("barrelfit/b/command", b"\xff" * 500, OBJECTS) is None
    assert door.take("x" * 5_000, b"{", OBJECTS) is None
    assert dict(door.refused) == {"heartbeat": 1_000, "command": 1, "": 1}
    worth = [r for r in told if r.worth_telling and r.place.endswith("heartbeat")]
    assert [r.count for r in worth] == [1, 10, 100, 1_000]
    assert all(len(text) <= START_BYTES for r in told for text in (r.place, r.problem, r.start))
    assert door.take("barrelfit/b/heartbeat", BEAT, HEARTBEATS).seq == 7


def test_a_command_that_can_not_be_read_is_answered_by_the_desk():
    key = new_key()
    desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), Doorkeeper("b", {"board": key}))
    for payload in (b'{"id":' + b"[" * 1_100, b'{"id":"x","kind":"pedal","action":1e999}', b"\xff"):
        proved = seal(key, "barrelfit/b/command", payload, 7)
        taken = desk.take(proved, Moment(0, 7, 0.0), is_own=True)
        assert (taken.answer["code"], taken.event) == ("malformed", None)
        unproved = desk.take(payload, Moment(0, 7, 0.0), is_own=True)
        assert unproved.refused
        assert unproved.event is None


@pytest.mark.parametrize("leaf", ["heartbeat", "journal", "snapshot", "state", "answer"])
@pytest.mark.parametrize("name", ["deep", "digits", "no utf-8", "half a surrogate", "infinite"])
def test_the_board_counts_it_and_goes_on(tmp_path, leaf, name):
    hub = Hub(RunningClock(), tmp_path)
    retained = leaf in {"snapshot", "state"}
    hub.receive(BusMessage(f"barrelfit/b/{leaf}", REFUSED[name], retained))
    assert hub.look_at("b", lambda board, _now, _link: board.bad) == 1
    state = {"state": "online", "session": "s", "seq": 1, "utc": "", "head": "0" * 64}
    hub.receive(BusMessage("barrelfit/b/state", json.dumps(state).encode(), retained=True))
    assert hub.look_at("b", lambda board, _now, _link: board.bad) == 1
