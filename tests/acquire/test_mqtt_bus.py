"""The bus link against a far end that vanishes at a bad moment; a real socket, no broker."""

import asyncio
import contextlib
import gc
import socket
import struct
import time

import pytest

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink

CONNACK = bytes([0x20, 2, 0, 0])  # MQTT 3.1.1, 3.2: accepted, no session kept
SUBACK = bytes([0x90, 3])  # 3.9: a packet identifier and one granted QoS follow
PUBACK = bytes([0x40, 2])  # 3.4: the packet identifier follows

# A connection that is given up half made is closed by nobody but the collector.
pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")


@pytest.fixture(autouse=True)
def _collected():
    yield
    gc.collect()


class SmallBroker:
    """Says yes to a connection and its subscriptions, then takes all in and says nothing."""

    def __init__(self) -> None:
        self.writers: list[asyncio.StreamWriter] = []
        self.subscribed = asyncio.Event()

    async def start(self) -> int:
        self._server = await asyncio.start_server(self._serve, "127.0.0.1", 0)
        return int(self._server.sockets[0].getsockname()[1])

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.writers.append(writer)
        with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
            while True:
                kind, length = await reader.readexactly(2)
                body = await reader.readexactly(length)
                if kind >> 4 == 1:
                    writer.write(CONNACK)
                if kind >> 4 == 8:
                    writer.write(SUBACK + body[:2] + b"\x01")
                    self.subscribed.set()
                if kind >> 4 == 3 and kind & 0b110:  # at QoS 1; 3.3.1.2
                    start = 2 + int.from_bytes(body[:2], "big")
                    writer.write(PUBACK + body[start : start + 2])

    def reset(self) -> None:
        """Vanish without a goodbye, as a killed broker does."""
        for writer in self.writers:
            sock = writer.get_extra_info("socket")
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            writer.transport.abort()

    def stop(self) -> None:
        self._server.close()


@pytest.mark.parametrize("blind", [0.0, 0.05])
async def test_a_link_that_is_told_to_end_ends_even_as_its_broker_dies(blind):
    broker = SmallBroker()
    port = await broker.start()
    up = asyncio.Event()
    address = BrokerAddress("127.0.0.1", port, "", "")
    link = BusLink(lambda: address, "test", ("a/b",), lambda _: None, lambda on: on and up.set())
    task = asyncio.create_task(link.run())
    await asyncio.wait_for(up.wait(), 5)
    broker.reset()
    await asyncio.sleep(0)
    time.sleep(blind)  # noqa: ASYNC251  the loop must not see the end before it is told to stop
    task.cancel()
    done, _ = await asyncio.wait({task}, timeout=5)
    broker.stop()
    assert done
    assert task.cancelled()


@pytest.mark.parametrize("turns", range(12))
async def test_a_link_that_is_told_to_end_as_its_subscription_is_confirmed_ends(turns):
    # Python 3.11's wait_for forgets a cancellation that comes together with its result.
    broker = SmallBroker()
    address = BrokerAddress("127.0.0.1", await broker.start(), "", "")
    task = asyncio.create_task(BusLink(lambda: address, "test", ("a/b",), print, bool).run())
    await asyncio.wait_for(broker.subscribed.wait(), 5)
    await _loop_turns(turns)
    assert await _ends(task)
    broker.stop()


@pytest.mark.parametrize("turns", range(12))
async def test_a_publish_that_is_told_to_end_as_it_is_confirmed_ends(turns):
    broker = SmallBroker()
    link, running = await linked(broker)

    async def publish_for_ever() -> None:
        await link.publish("a", b"b")
        await asyncio.Event().wait()

    task = asyncio.create_task(publish_for_ever())
    await _loop_turns(turns)
    assert await _ends(task)
    assert await _ends(running)
    broker.stop()


async def linked(broker: SmallBroker) -> tuple[BusLink, asyncio.Task]:
    """A link that is connected, and the task that keeps it so."""
    up = asyncio.Event()
    address = BrokerAddress("127.0.0.1", await broker.start(), "", "")
    link = BusLink(lambda: address, "test", (), print, lambda on: on and up.set())
    running = asyncio.create_task(link.run())
    await asyncio.wait_for(up.wait(), 5)
    return link, running


async def _loop_turns(number: int) -> None:
    for _ in range(number):
        await asyncio.sleep(0)


async def _ends(task: asyncio.Task) -> bool:
    task.cancel()
    await asyncio.wait({task}, timeout=3)
    return task.done() and task.cancelled()


@pytest.mark.parametrize("turns", range(12))
async def test_a_broker_that_dies_as_a_link_is_told_to_end_leaves_no_error_behind(turns):
    """What nobody asked a future is told by the event loop when it is collected."""
    told: list[object] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, context: told.append(context))
    broker = SmallBroker()
    up = asyncio.Event()
    address = BrokerAddress("127.0.0.1", await broker.start(), "", "")
    link = BusLink(lambda: address, "test", ("a/b",), print, lambda on: on and up.set())
    task = asyncio.create_task(link.run())
    await asyncio.wait_for(up.wait(), 5)
    task.cancel()
    await _loop_turns(turns)
    broker.reset()
    await asyncio.wait({task}, timeout=5)
    broker.stop()
    del link, task
    await _loop_turns(3)
    gc.collect()
    assert told == []


async def test_a_broker_that_dies_is_told_by_us_and_not_by_the_library_as_well(caplog):
    broker = SmallBroker()
    states: asyncio.Queue[bool] = asyncio.Queue()
    address = BrokerAddress("127.0.0.1", await broker.start(), "", "")
    link = BusLink(lambda: address, "test", ("a/b",), lambda _: None, states.put_nowait)
    task = asyncio.create_task(link.run())
    assert await asyncio.wait_for(states.get(), 5)
    broker.reset()
    with contextlib.suppress(BusDownError, TimeoutError):  # what is sent meanwhile
        await asyncio.wait_for(link.publish("a/b", b"{}"), 1)
    assert not await asyncio.wait_for(states.get(), 5)
    broker.stop()
    assert await _ends(task)
    assert [record.message for record in caplog.records] == []


async def test_without_a_broker_a_publish_says_so_at_once():
    link = BusLink(lambda: BrokerAddress("127.0.0.1", 1, "", ""), "test", (), lambda _: None, bool)
    with pytest.raises(BusDownError):
        await link.publish("a", b"b")
    with pytest.raises(BusDownError, match="not connected"):
        link.send_along("a", b"b", print)
    assert not link.connected


class SlowBroker(SmallBroker):
    """Reads nothing more until it is told to, and then what was sent."""

    def __init__(self) -> None:
        super().__init__()
        self.reads = asyncio.Event()
        self.came: list[bytes] = []

    async def start(self) -> int:
        self._server = await asyncio.start_server(self._serve, "127.0.0.1", 0, limit=1024)
        return int(self._server.sockets[0].getsockname()[1])

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with contextlib.closing(writer), contextlib.suppress(EOFError, ConnectionError):
            while True:
                (kind,) = await reader.readexactly(1)
                body = await reader.readexactly(await _remaining_length(reader))
                if kind >> 4 == 1:
                    writer.write(CONNACK)
                    await self.reads.wait()
                if kind >> 4 == 3:
                    start = 2 + int.from_bytes(body[:2], "big")
                    writer.write(PUBACK + body[start : start + 2])
                    self.came.append(body[start + 2 :])


async def _remaining_length(reader: asyncio.StreamReader) -> int:
    """MQTT 3.1.1, 2.2.3: seven bits a byte, the lowest first."""
    length, shift = 0, 0
    while True:
        (byte,) = await reader.readexactly(1)
        length += (byte & 127) << shift
        if byte < 128:
            return length
        shift += 7


async def test_more_than_a_socket_takes_at_once_is_written_as_it_takes_more():
    broker = SlowBroker()
    link, running = await linked(broker)
    sent = [bytes([n]) * 3_000_000 for n in range(3)]
    told = [asyncio.create_task(link.publish("a", payload)) for payload in sent]
    await asyncio.wait(told, timeout=0.2)
    assert not any(task.done() for task in told)
    broker.reads.set()
    await asyncio.wait_for(asyncio.gather(*told), 10)
    assert broker.came == sent
    await link.publish("a", b"more")
    assert broker.came[-1] == b"more"
    broker.stop()
    assert await _ends(running)


@pytest.mark.slow
async def test_a_publish_that_nobody_confirms_says_so():
    broker = SlowBroker()
    link, running = await linked(broker)
    with pytest.raises(BusDownError, match="timed out"):
        await link.publish("a", b"b")
    broker.reads.set()
    broker.stop()
    assert await _ends(running)


async def test_who_hears_that_a_message_was_taken_may_send_the_next_at_once():
    broker, done = SmallBroker(), asyncio.Event()
    link, running = await linked(broker)
    answers: list[str] = []

    def told(why_not: str) -> None:
        answers.append(why_not)
        if len(answers) == 5:
            done.set()
        else:
            link.send("a", b"b", told)

    link.send("a", b"b", told)
    await asyncio.wait_for(done.wait(), 5)
    assert answers == [""] * 5
    broker.stop()
    assert await _ends(running)


async def test_what_nobody_has_confirmed_as_a_link_ends_is_told_to_be_lost():
    broker = SlowBroker()
    link, running = await linked(broker)
    answers: list[str] = []
    link.send("a", b"b", answers.append)
    link.send("a", b"c", answers.append)
    broker.reads.set()
    broker.stop()
    assert await _ends(running)
    assert answers == ["disconnected"] * 2


async def test_what_is_sent_along_is_confirmed_with_the_next_message_and_not_before():
    broker, done = SmallBroker(), asyncio.Event()
    link, running = await linked(broker)
    answers: list[tuple[str, str]] = []
    link.send_along("a", b"1", lambda why: answers.append(("1", why)))
    link.send_along("a", b"2", lambda why: answers.append(("2", why)))
    await link.publish("b", b"made sure of")  # its own word comes after theirs
    assert answers == [("1", ""), ("2", "")]
    link.send_along("a", b"3", lambda why: answers.append(("3", why)) or done.set())
    broker.stop()
    assert await _ends(running)
    await asyncio.wait_for(done.wait(), 5)
    assert answers[2:] == [("3", "disconnected")]
