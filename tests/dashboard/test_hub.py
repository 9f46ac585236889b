"""The hub: what it takes from the bus, what it leaves, whom it wakes."""

import asyncio
import json
import threading

import pytest

from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusMessage
from barrelfit.acquire.bus.payloads import Answer
from barrelfit.dashboard.board.hub import BENCHES_MAX, Hub
from barrelfit.dashboard.server.live_route import same_origin
from tests.dashboard.scripted import ScriptedBench, encoded


class StoppedClock:
    def monotonic_ns(self):
        return 0

    def utc(self):
        raise NotImplementedError


@pytest.fixture
def hub(tmp_path):
    return Hub(StoppedClock(), tmp_path)


def take(hub, message, retained=None):
    topic, payload, wants_retain = encoded(message)
    hub.receive(BusMessage(topic, payload, wants_retain if retained is None else retained))


def known(hub, bench="bench-1"):
    return hub.look_at(bench, lambda board, _now, _link: board)


def test_a_retained_journal_batch_or_heartbeat_makes_no_reading(hub):
    # A reading that the broker kept is yesterday's: shown as today's it would be a false size.
    script = ScriptedBench()
    for _ in range(2):  # a second subscription brings it again
        take(hub, script.batch(script.reading("outside-1", 84_000_000)), retained=True)
        take(hub, script.heartbeat(), retained=True)
    board = known(hub)
    assert board.gauges == {}
    assert board.heard_at_ns is None


@pytest.mark.parametrize(
    "payload",
    [b"", b"{", b"[]", b'{"session":"s","events":[{"seq":1,"kind":"x","data":{"a":NaN}}]}',
     b'{"session":"s","events":5}', b"\xff\xfe", b'{"session":"s","events":[7]}'],
)  # fmt: skip
def test_a_bad_payload_is_counted_and_changes_nothing_else(hub, payload):
    hub.receive(BusMessage("barrelfit/bench-1/journal", payload, retained=False))
    board = known(hub)
    assert board.bad == (0 if payload == b"" else 1)
    script = ScriptedBench()
    take(hub, script.batch(script.asked(0)))
    assert known(hub).state.asked is not None


@pytest.mark.parametrize("topic", ["barrelfit/x", "other/b/journal", "barrelfit/b b/journal"])
def test_a_foreign_topic_is_left_alone(hub, topic):
    hub.receive(BusMessage(topic, b"{}", retained=False))
    assert hub.bad_topics == 1
    assert hub.look(lambda boards, _now, _link: len(boards)) == 0


def test_benches_have_a_limit(hub):
    for number in range(BENCHES_MAX + 5):
        take(hub, ScriptedBench(bench=f"b{number}").heartbeat())
    assert hub.look(lambda boards, _now, _link: len(boards)) == BENCHES_MAX
    assert hub.bad_topics == 5


def test_a_page_is_woken_by_its_bench_alone_and_the_floor_by_all(hub):
    mine, other, floor = hub.open_page("bench-1"), hub.open_page("bench-2"), hub.open_page("")
    take(hub, ScriptedBench().heartbeat())
    assert (mine.is_set(), other.is_set(), floor.is_set()) == (True, False, True)
    hub._shop_changed(up=False)
    assert other.is_set()
    for bench, page in (("bench-1", mine), ("bench-2", other), ("", floor)):
        hub.close_page(bench, page)
    assert hub.pages_open == 0


def test_a_command_without_a_bus_says_so(hub):
    with pytest.raises(BusDownError):
        hub.send("bench-1", {"id": "1"})
    assert hub.ask("bench-1", {"id": "1"}) is None


def test_an_answer_reaches_the_one_who_asked(hub):
    class Bus:
        async def publish(self, topic, payload, *, retain=False):
            assert topic == "barrelfit/bench-1/command"
            answer = {"id": json.loads(payload)["id"], "ok": True}
            reply = json.dumps(answer).encode()
            hub.receive(BusMessage("barrelfit/bench-1/answer", reply, retained=False))

    loop = asyncio.new_event_loop()  # the server's, in a thread of its own
    server = threading.Thread(target=loop.run_forever)
    server.start()
    hub._shop, hub._loop = Bus(), loop
    try:
        assert hub.ask("bench-1", {"id": "r1"}) == Answer("r1", ok=True)
    finally:
        loop.call_soon_threadsafe(loop.stop)
        server.join()
        loop.close()


def test_readers_and_the_bus_never_meet_in_the_middle(hub):
    script = ScriptedBench(cylinders=1)
    messages = [encoded(m) for m in script.session_messages()]
    done, torn = threading.Event(), []

    def read():
        while not done.is_set():
            seq, sizes = hub.look_at("bench-1", lambda b, _n, _l: (b.seq, len(b.state.sizes)))
            if sizes > seq:
                torn.append((seq, sizes))

    reader = threading.Thread(target=read)
    reader.start()
    for topic, payload, retained in messages:
        hub.receive(BusMessage(topic, payload, retained))
    done.set()
    reader.join()
    assert torn == []
    assert len(known(hub).state.sizes) == 7


@pytest.mark.parametrize(
    ("origin", "fits"),
    [
        (None, True),  # no browser
        ("http://127.0.0.1:8501", True),
        ("http://127.0.0.1:8502", False),
        ("http://elsewhere.example", False),
        ("null", False),
    ],
)
def test_origin(origin, fits):
    assert same_origin(origin, "127.0.0.1:8501") is fits
