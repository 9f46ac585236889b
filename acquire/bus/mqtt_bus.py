"""The one door to MQTT: a connection that comes back by itself, owned by one task.

MQTT 3.1.1 features only, QoS 1 for what counts. A publish is confirmed by the broker, not by a
reader: whoever must not lose a message sends it again until the reader's own word arrives.
"""

import asyncio
import contextlib
import logging
import math
import random
import secrets
import socket
import threading
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Final, Protocol, TypeVar

import aiomqtt

from barrelfit.acquire.bus.broker import BrokerAddress

KEEPALIVE_S: Final = 5
TIMEOUT_S: Final = 3.0
BACK_OFF_S: Final = (0.1, 1.0)
"""At first and at most; until a board is there again its bench is worked at blindly."""
SHORT_LIFE_S: Final = 2.0
_AT_ONCE: Final[int | None] = getattr(socket, "TCP_QUICKACK", None)  # Linux only
FAILURES_TOLD: Final = 3  # one or two are usual while a broker is started again

T = TypeVar("T")

log = logging.getLogger(__name__)
_LIBRARY: Final = logging.getLogger(f"{__name__}.library")
# That a connection went is told in our own words; what the library did not expect is not hidden.
_LIBRARY.addFilter(lambda record: record.exc_info is not None)


class BusDownError(Exception):
    """The bus can't take a message now; it stays with the sender."""


@dataclass(frozen=True, slots=True)
class BusMessage:
    """One message from the bus; `retained` ones tell a state, never a new reading."""

    topic: str
    payload: bytes
    retained: bool


@dataclass(frozen=True, slots=True)
class Testament:
    """What the broker says for us when we vanish."""

    topic: str
    payload: bytes


class Bus(Protocol):
    """What the daemon and its services need of a bus."""

    def send(self, topic: str, payload: bytes, told: "Told", *, retain: bool = False) -> None:
        """Hand one message to the broker at QoS 1; `told` hears its word. Raises BusDownError."""
        ...


Told = Callable[[str], None]
"""Hears that the broker has a message (empty), or why it is not known to have it."""


def _cancels() -> int:
    """How often the present task has been told to end."""
    task = asyncio.current_task()
    return task.cancelling() if task is not None else 0


def _heed_cancel(before: int) -> None:
    """Let a task end that was told to since `_cancels()` said `before`.

    Python 3.11's `wait_for` forgets a cancellation that comes together with its result, and a
    broken connection's error may take its place: the task would then go on for ever.
    """
    if _cancels() > before:
        raise asyncio.CancelledError


def client_name(role: str) -> str:
    """A client identifier no other client has: role, host, and a random part."""
    return f"barrelfit-{role}-{socket.gethostname()[:20]}-{secrets.token_hex(4)}"


class _CarefulLoop:
    """The event loop, but for sockets that were closed before it came to watch them.

    The client has its sockets watched a moment later than it opens them; a broker that goes away
    in between would leave an error on the screen for each.
    """

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        self._loop = loop

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401  whatever the loop has
        return getattr(self._loop, name)

    def call_soon_threadsafe(self, work: Callable[..., object], *given: object) -> asyncio.Handle:
        """Have something done soon; that a socket has gone meanwhile is no error."""

        def careful() -> None:
            with contextlib.suppress(OSError, ValueError):
                work(*given)

        return self._loop.call_soon_threadsafe(careful)


class _PromptClient(aiomqtt.Client):
    """A client whose system acknowledges at once what it has read.

    A broker that gathers small packets (Nagle's algorithm, RFC 896) holds the next one back until
    the last is acknowledged, and a system that has nothing to send puts that off for up to 40 ms
    (RFC 1122, 4.2.3.2): measured at 200 messages a second, 21 ms one way in the median, else 0.4.
    """

    def __init__(self, *given: Any, **named: Any) -> None:  # noqa: ANN401  as the library's
        super().__init__(*given, **named)
        self._loop: Any = _CarefulLoop(self._loop)
        self._is_watched = False  # the socket, for when it takes more
        self._thread = threading.get_ident()  # the loop's
        self._client.disable_logger()  # what it says of each packet would be dropped one by one
        self._unconfirmed: dict[int, tuple[float, Told]] = {}  # the oldest first
        self._confirmed: list[Told] = []
        self._look: asyncio.TimerHandle | None = None
        self.silent = asyncio.Event()

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool) -> None:
        """Publish at QoS 1 without a task, an event and a timer for each; raises MqttError."""
        info = self._client.publish(topic, payload, 1, retain)
        if info.rc != 0:
            raise aiomqtt.MqttCodeError(info.rc, "Could not publish message")
        self._unconfirmed[info.mid] = self._loop.time(), told
        if self._look is None:
            self._look = self._loop.call_later(self.timeout, self._look_for_silence)

    def give_up(self, why: str) -> None:
        """Whatever is not confirmed yet is told to be lost."""
        if self._look is not None:
            self._look.cancel()
            self._look = None
        unconfirmed, self._unconfirmed = self._unconfirmed, {}
        for _, told in unconfirmed.values():
            told(why)

    def _look_for_silence(self) -> None:
        """A broker that has not confirmed the oldest message for too long is none."""
        self._look = None
        oldest = next(iter(self._unconfirmed.values()), None)
        if oldest is None:
            return
        due = oldest[0] + self.timeout
        if due > self._loop.time():
            self._look = self._loop.call_at(due, self._look_for_silence)
        else:
            self.silent.set()
            self.give_up("Operation timed out")

    def _on_publish(self, client: Any, userdata: Any, mid: int, *result: Any) -> None:  # noqa: ANN401  as the library's
        sent = self._unconfirmed.pop(mid, None)
        if sent is None:
            super()._on_publish(client, userdata, mid, *result)
        else:
            self._confirmed.append(sent[1])

    def _on_socket_open(self, client: Any, userdata: Any, sock: Any) -> None:  # noqa: ANN401  as the library's
        """Have the socket watched.

        Who hears of what was read may send more: the library, which holds locks as it calls back,
        must have returned by then.
        """

        def read() -> None:
            try:
                client.loop_read()
            except Exception as error:  # noqa: BLE001  as the library's: the connection is broken
                self._broke(error)
                return
            self._acknowledge()
            confirmed, self._confirmed = self._confirmed, []
            for told in confirmed:
                told("")

        def begin() -> None:
            self._loop.add_reader(sock.fileno(), read)
            self._misc_task = self._loop.create_task(self._misc_loop())

        self._loop.call_soon_threadsafe(begin)

    def _broke(self, error: Exception) -> None:
        if not self._disconnected.done():
            self._disconnected.set_exception(error)

    async def _wait_for(self, fut: Awaitable[T], timeout: float | None) -> T:  # noqa: ASYNC109
        """As the library's, without a task of its own for each publish."""
        allowed_s = self.timeout if timeout is None else timeout
        try:
            async with asyncio.timeout(None if math.isinf(allowed_s) else allowed_s):
                return await fut
        except TimeoutError:
            msg = "Operation timed out"
            raise aiomqtt.MqttError(msg) from None

    def _on_socket_register_write(self, client: Any, userdata: Any, sock: Any) -> None:  # noqa: ANN401  as the library's
        """Something is to be written: try it, and watch the socket only where it takes no more.

        The library watches it for each message, which costs two system calls and a turn of the
        event loop.
        """
        watch = super()._on_socket_register_write

        def write() -> None:
            try:
                client.loop_write()
            except Exception as error:  # noqa: BLE001  as the library's: the connection is broken
                self._broke(error)
                return
            if client.want_write() and client.socket() is sock:
                self._is_watched = True
                watch(client, userdata, sock)

        if threading.get_ident() == self._thread:
            write()
        else:  # the library is connecting
            self._loop.call_soon_threadsafe(write)

    def _on_socket_unregister_write(self, client: Any, userdata: Any, sock: Any) -> None:  # noqa: ANN401  as the library's
        if self._is_watched:
            self._is_watched = False
            super()._on_socket_unregister_write(client, userdata, sock)

    def _acknowledge(self) -> None:
        """Have what was read acknowledged; Linux forgets the wish, so it is said each time."""
        connection = self._client.socket()
        if isinstance(connection, socket.socket) and _AT_ONCE is not None:
            with contextlib.suppress(OSError):  # gone meanwhile: the reader will say so
                connection.setsockopt(socket.IPPROTO_TCP, _AT_ONCE, 1)


Where = Callable[[], BrokerAddress | None]
"""Where the broker is now; None while there is none."""


class BusLink:
    """A connection to the broker that is made again whenever it is lost, or does not answer.

    `receive` gets every message; `changed` hears True after each connect (subscriptions made) and
    False after each loss. Both are called on the event loop and must not block.
    """

    def __init__(
        self,
        where: Where,
        role: str,
        subscriptions: tuple[str, ...],
        receive: Callable[[BusMessage], None],
        changed: Callable[[bool], None],
        testament: Callable[[], Testament] | None = None,
    ) -> None:
        self._where = where
        self._identifier = client_name(role)
        self._subscriptions = subscriptions
        self._receive = receive
        self._changed = changed
        self._testament = testament
        self._client: _PromptClient | None = None
        self._was_up = False

    @property
    def connected(self) -> bool:
        """Whether a publish has a chance right now."""
        return self._client is not None

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool = False) -> None:
        """Publish at QoS 1; `told` hears the broker's word, or that it is lost with the connection.

        Raises:
            BusDownError: it can't even be sent now.
        """
        if self._client is None:
            msg = "not connected"
            raise BusDownError(msg)
        try:
            self._client.send(topic, payload, told, retain=retain)
        except aiomqtt.MqttError as error:
            raise BusDownError(str(error)) from error

    async def publish(self, topic: str, payload: bytes, *, retain: bool = False) -> None:
        """Publish at QoS 1 and wait for the broker's word; raises BusDownError."""
        answer: asyncio.Future[str] = asyncio.get_running_loop().create_future()

        def told(why_not: str) -> None:
            if not answer.done():  # else nobody waits for it any more
                answer.set_result(why_not)

        self.send(topic, payload, told, retain=retain)
        if why_not := await answer:
            raise BusDownError(why_not)

    async def tell(self, topic: str, payload: bytes) -> None:
        """Publish at QoS 0, for display traffic only; silently nothing while disconnected."""
        before = _cancels()
        if self._client is not None:
            try:
                await self._client.publish(topic, payload, qos=0)
            except aiomqtt.MqttError as error:
                log.debug("display message not sent: %s", error)
        _heed_cancel(before)

    async def run(self) -> None:
        """Stay connected until cancelled, backing off with jitter between attempts."""
        jitter = random.Random(self._identifier)  # noqa: S311  spreads reconnects, no secret
        short_lives, failures, before = 0, 0, _cancels()
        while True:
            address = self._where()
            if address is None:
                await asyncio.sleep(BACK_OFF_S[0])
                continue
            began, self._was_up = asyncio.get_running_loop().time(), False
            try:
                await self._live(address, before)
            except aiomqtt.MqttError as error:
                failures = 0 if self._was_up else failures + 1
                if failures == FAILURES_TOLD:
                    where = f"{address.host}:{address.port}"
                    log.warning("no bus at %s (%s); trying again and again", where, error)
            _heed_cancel(before)
            life_s = asyncio.get_running_loop().time() - began
            short_lives = short_lives + 1 if life_s < SHORT_LIFE_S else 0
            if short_lives == 2 and self._was_up:  # noqa: PLR2004  twice right after connecting
                log.warning("thrown out right after connecting: does another client use our name?")
            await asyncio.sleep(
                min(BACK_OFF_S[0] * 2**short_lives, BACK_OFF_S[1]) * (0.5 + jitter.random())
            )

    async def _live(self, address: BrokerAddress, cancels_before: int) -> None:
        last = self._testament() if self._testament else None
        will = aiomqtt.Will(last.topic, last.payload, qos=1, retain=True) if last else None
        async with _PromptClient(
            address.host,
            address.port,
            username=address.user or None,
            password=address.password or None,
            identifier=self._identifier,
            keepalive=KEEPALIVE_S,
            timeout=TIMEOUT_S,
            will=will,
            max_inflight_messages=100,
            socket_options=[(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)],
            logger=_LIBRARY,
        ) as client:
            for subscription in self._subscriptions:
                await client.subscribe(subscription, qos=1)
            _heed_cancel(cancels_before)
            self._client, self._was_up = client, True
            self._changed(True)  # noqa: FBT003  the callback's one meaning
            reading = asyncio.create_task(self._read(client))
            silent = asyncio.create_task(client.silent.wait())
            try:
                await asyncio.wait({reading, silent}, return_when=asyncio.FIRST_COMPLETED)
                if reading.done():
                    reading.result()
            finally:
                self._client = None
                self._changed(False)  # noqa: FBT003
                client.give_up("disconnected")
                for task in (reading, silent):
                    task.cancel()
                await asyncio.gather(reading, silent, return_exceptions=True)

    async def _read(self, client: _PromptClient) -> None:
        async for message in client.messages:
            payload = message.payload if isinstance(message.payload, bytes) else b""
            self._receive(BusMessage(str(message.topic), payload, bool(message.retain)))
