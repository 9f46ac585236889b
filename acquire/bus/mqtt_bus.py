"""The one door to MQTT: a connection that comes back by itself, owned by one task.

MQTT 3.1.1 features only, QoS 1 for what counts. A publish is confirmed by the broker, not by a
reader: whoever must not lose a message sends it again until the reader's own word arrives.
"""

import asyncio
import contextlib
import logging
import random
import secrets
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, Protocol

import aiomqtt

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.prompt_client import PromptClient, Told

KEEPALIVE_S: Final = 5
TIMEOUT_S: Final = 3.0
BACK_OFF_S: Final = (0.1, 1.0)
"""At first and at most; until a board is there again its bench is worked at blindly."""
SHORT_LIFE_S: Final = 2.0
FAILURES_TOLD: Final = 3  # one or two are usual while a broker is started again

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

    def send_along(self, topic: str, payload: bytes, told: "Told") -> None:
        """As `send`, at QoS 0: `told` hears the broker's word on the next one sent at QoS 1."""
        ...


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
        self._client: PromptClient | None = None
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
        with self._sending() as client:
            client.send(topic, payload, told, retain=retain)

    def send_along(self, topic: str, payload: bytes, told: Told) -> None:
        """Publish at QoS 0; `told` hears the broker's word on the next message of `send`.

        Raises:
            BusDownError: it can't even be sent now.
        """
        with self._sending() as client:
            client.send_along(topic, payload, told)

    @contextlib.contextmanager
    def _sending(self) -> Iterator[PromptClient]:
        if self._client is None:
            msg = "not connected"
            raise BusDownError(msg)
        try:
            yield self._client
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
        async with PromptClient(
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

    async def _read(self, client: PromptClient) -> None:
        async for message in client.messages:
            payload = message.payload if isinstance(message.payload, bytes) else b""
            self._receive(BusMessage(str(message.topic), payload, bool(message.retain)))
