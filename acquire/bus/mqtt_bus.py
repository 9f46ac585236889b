"""The one door to MQTT: a connection that comes back by itself, owned by one task.

MQTT 3.1.1, QoS 1 for what counts (`acquire.bus.mqtt_packets`). A publish is confirmed by the
broker, not by a reader: whoever must not lose a message sends it again until the reader's own word
arrives. Sending and hearing that it was taken cost a call each: no task, no timer, no lock.
"""

import asyncio
import contextlib
import logging
import random
import secrets
import socket
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, Protocol, TypeVar, cast

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.mqtt_packets import (
    CONNACK,
    DISCONNECT,
    PINGREQ,
    PUBACK,
    PUBLISH,
    REFUSED,
    SUBACK,
    Login,
    PacketError,
    PacketReader,
    connect,
    number_of,
    puback,
    publish,
    published,
    refusal,
    subscribe,
)

KEEPALIVE_S: Final = 5
"""What the broker is told; it is asked for a sign of life a little more often."""
PING_S: Final = 4.0
LOOK_S: Final = 0.5
TIMEOUT_S: Final = 3.0
BACK_OFF_S: Final = (0.1, 1.0)
"""At first and at most; until a board is there again its bench is worked at blindly."""
SHORT_LIFE_S: Final = 2.0
NUMBERS: Final = 65_535
_AT_ONCE: Final[int | None] = getattr(socket, "TCP_QUICKACK", None)  # Linux only
FAILURES_TOLD: Final = 3  # one or two are usual while a broker is started again

T = TypeVar("T")

log = logging.getLogger(__name__)


class BusDownError(Exception):
    """The bus can't take a message now; it stays with the sender."""


class _LostError(Exception):
    """There is no connection to the broker, or none any more; says why."""


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


def client_name(role: str) -> str:
    """A client identifier no other client has: role, host, and a random part."""
    return f"barrelfit-{role}-{socket.gethostname()[:20]}-{secrets.token_hex(4)}"


class _Connection(asyncio.Protocol):
    """One connection to a broker, from its first packet to its end.

    `ended` says why there is none any more; what those who hear of messages raise is raised there.
    """

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self.ended: asyncio.Future[str] = self._loop.create_future()
        self._transport: asyncio.Transport | None = None
        self._socket: socket.socket | None = None
        self._packets = PacketReader()
        self._welcome: asyncio.Future[str] = self._loop.create_future()
        self._granted: dict[int, asyncio.Future[bool]] = {}
        self._receive: Callable[[BusMessage], None] | None = None
        self._held: list[BusMessage] = []  # what came before anybody heard
        self._number = 0
        self._unconfirmed: dict[int, tuple[float, Told]] = {}  # the oldest first
        self._heard = True
        self._asked_at = self._loop.time()
        self._look: asyncio.TimerHandle | None = None

    # ------------------------------------------------------------ what the event loop calls

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """The socket is open."""
        self._transport = cast("asyncio.Transport", transport)
        self._socket = transport.get_extra_info("socket")
        self._look = self._loop.call_later(LOOK_S, self._look_for_silence)

    def data_received(self, data: bytes) -> None:
        """The broker says something."""
        self._heard = True
        try:
            for kind, flags, body in self._packets.feed(data):
                self._take(kind, flags, body)
        except PacketError as error:
            self._end(f"the broker sent {error}")
        except Exception as error:  # noqa: BLE001  raised where the link runs
            if not self.ended.done():
                self.ended.set_exception(error)
        else:
            self._acknowledge()

    def connection_lost(self, exc: Exception | None) -> None:
        """The socket is closed."""
        self._end(str(exc) if exc is not None else "the broker closed the connection")

    # ------------------------------------------------------------ what the link calls

    async def log_in(self, login: Login) -> None:
        """Introduce ourselves; raises _LostError when the broker does not want us."""
        self._write(connect(login))
        if why_not := await self._answer(self._welcome):
            raise _LostError(why_not)

    async def subscribe(self, topic: str) -> None:
        """Ask for a topic's messages; raises _LostError when they are refused."""
        number = self._next_number()
        granted = self._granted[number] = self._loop.create_future()
        self._write(subscribe(topic, number))
        if not await self._answer(granted):
            message = f"the broker refuses {topic}"
            raise _LostError(message)

    def hear(self, receive: Callable[[BusMessage], None]) -> None:
        """Have `receive` called with what has come, and from now on with what comes."""
        self._receive = receive
        held, self._held = self._held, []
        for message in held:
            receive(message)

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool) -> None:
        """Publish at QoS 1; `told` hears what became of it, but never before this returns."""
        number = self._next_number()
        self._unconfirmed[number] = self._loop.time(), told
        self._write(publish(topic, payload, number, retain=retain))

    def tell(self, topic: str, payload: bytes) -> None:
        """Publish at QoS 0."""
        self._write(publish(topic, payload, 0, retain=False))

    def close(self) -> None:
        """Say goodbye, so that nobody speaks our last will; what is not confirmed is lost."""
        self._write(DISCONNECT)
        self._end("disconnected")
        if self._look is not None:
            self._look.cancel()
        if self._transport is not None and self._transport.get_write_buffer_size():
            self._transport.abort()  # nobody takes what is left
        elif self._transport is not None:
            self._transport.close()
        why = "" if self.ended.exception() else self.ended.result()
        unconfirmed, self._unconfirmed = self._unconfirmed, {}
        for _, told in unconfirmed.values():
            told(why or "disconnected")

    # ------------------------------------------------------------ inside

    async def _answer(self, answer: "asyncio.Future[T]") -> T:
        """Wait for the broker's answer; raises _LostError when the connection ends first."""
        either: set[asyncio.Future[Any]] = {answer, self.ended}
        await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
        if not answer.done():
            raise _LostError(self.ended.result())
        return answer.result()

    def _take(self, kind: int, flags: int, body: bytes) -> None:
        """One packet of the broker's."""
        if kind == PUBACK:
            sent = self._unconfirmed.pop(number_of(body), None)
            if sent is not None:
                sent[1]("")
        elif kind == PUBLISH:
            self._take_message(flags, body)
        elif kind == CONNACK and not self._welcome.done():
            self._welcome.set_result(refusal(body))
        elif kind == SUBACK:
            granted = self._granted.pop(number_of(body), None)
            if granted is not None and not granted.done():
                granted.set_result(REFUSED not in body[2:])

    def _take_message(self, flags: int, body: bytes) -> None:
        came = published(flags, body)
        message = BusMessage(came.topic, came.payload, came.retained)
        if self._receive is None:
            self._held.append(message)
        else:
            self._receive(message)
        if came.number:
            self._write(puback(came.number))

    def _write(self, packet: bytes) -> None:
        if self._transport is not None and not self._transport.is_closing():
            self._transport.write(packet)

    def _next_number(self) -> int:
        self._number = self._number % NUMBERS + 1
        while self._number in self._unconfirmed:
            self._number = self._number % NUMBERS + 1
        return self._number

    def _look_for_silence(self) -> None:
        """A broker that confirms nothing for too long, or gives no sign of life, is none."""
        now = self._loop.time()
        oldest = next(iter(self._unconfirmed.values()), None)
        if oldest is not None and now - oldest[0] >= TIMEOUT_S:
            self._end("nothing was confirmed: timed out")
        elif now - self._asked_at >= PING_S:
            if not self._heard:
                self._end("the broker gives no sign of life")
            self._heard, self._asked_at = False, now
            self._write(PINGREQ)
        self._look = self._loop.call_later(LOOK_S, self._look_for_silence)

    def _acknowledge(self) -> None:
        """Have what was read acknowledged at once; Linux forgets the wish, so it is said each time.

        A broker that gathers small packets (Nagle's algorithm, RFC 896) holds the next one back
        until the last is acknowledged, and a system that has nothing to send puts that off for up
        to 40 ms (RFC 1122, 4.2.3.2): at 200 messages a second, 21 ms one way in the median, else
        0.4.
        """
        if self._socket is not None and _AT_ONCE is not None:
            with contextlib.suppress(OSError):  # gone meanwhile: the loop will say so
                self._socket.setsockopt(socket.IPPROTO_TCP, _AT_ONCE, 1)

    def _end(self, why: str) -> None:
        if not self.ended.done():
            self.ended.set_result(why)


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
        self._connection: _Connection | None = None
        self._was_up = False

    @property
    def connected(self) -> bool:
        """Whether a publish has a chance right now."""
        return self._connection is not None

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool = False) -> None:
        """Publish at QoS 1; `told` hears the broker's word, or that it is lost with the connection.

        Raises:
            BusDownError: it can't even be sent now.
        """
        if self._connection is None:
            msg = "not connected"
            raise BusDownError(msg)
        self._connection.send(topic, payload, told, retain=retain)

    async def publish(self, topic: str, payload: bytes, *, retain: bool = False) -> None:
        """Publish at QoS 1 and wait for the broker's word; raises BusDownError."""
        answer: asyncio.Future[str] = asyncio.get_running_loop().create_future()

        def told(why_not: str) -> None:
            if not answer.done():  # else nobody waits for it any more
                answer.set_result(why_not)

        self.send(topic, payload, told, retain=retain)
        if why_not := await answer:
            raise BusDownError(why_not)

    def tell(self, topic: str, payload: bytes) -> None:
        """Publish at QoS 0, for display traffic only; silently nothing while disconnected."""
        if self._connection is not None:
            self._connection.tell(topic, payload)

    async def run(self) -> None:
        """Stay connected until cancelled, backing off with jitter between attempts."""
        jitter = random.Random(self._identifier)  # noqa: S311  spreads reconnects, no secret
        short_lives, failures = 0, 0
        while True:
            address = self._where()
            if address is None:
                await asyncio.sleep(BACK_OFF_S[0])
                continue
            began, self._was_up = asyncio.get_running_loop().time(), False
            try:
                await self._live(address)
            except (OSError, _LostError) as error:
                failures = 0 if self._was_up else failures + 1
                if failures == FAILURES_TOLD:
                    where = f"{address.host}:{address.port}"
                    log.warning("no bus at %s (%s); trying again and again", where, error)
            life_s = asyncio.get_running_loop().time() - began
            short_lives = short_lives + 1 if life_s < SHORT_LIFE_S else 0
            if short_lives == 2 and self._was_up:  # noqa: PLR2004  twice right after connecting
                log.warning("thrown out right after connecting: does another client use our name?")
            await asyncio.sleep(
                min(BACK_OFF_S[0] * 2**short_lives, BACK_OFF_S[1]) * (0.5 + jitter.random())
            )

    async def _live(self, address: BrokerAddress) -> None:
        """One connection, until it ends; raises OSError or _LostError."""
        connection = _Connection()
        try:
            await self._begin(connection, address)
            self._connection, self._was_up = connection, True
            self._changed(True)  # noqa: FBT003  the callback's one meaning
            connection.hear(self._receive)
            await asyncio.wait({connection.ended})
            raise _LostError(connection.ended.result())
        finally:
            if self._connection is not None:
                self._connection = None
                self._changed(False)  # noqa: FBT003
            connection.close()

    async def _begin(self, connection: _Connection, address: BrokerAddress) -> None:
        last = self._testament() if self._testament else None
        will = (last.topic, last.payload) if last else None
        login = Login(self._identifier, KEEPALIVE_S, address.user, address.password, will)
        loop = asyncio.get_running_loop()
        try:
            async with asyncio.timeout(TIMEOUT_S):
                await loop.create_connection(lambda: connection, address.host, address.port)
                await connection.log_in(login)
                for subscription in self._subscriptions:
                    await connection.subscribe(subscription)
        except TimeoutError:
            message = "it does not answer"
            raise _LostError(message) from None
