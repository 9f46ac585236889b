"""The library's MQTT client, made quick for many small messages that must not wait."""

import asyncio
import contextlib
import math
import socket
import threading
from collections import deque
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Final, TypeVar

import aiomqtt
from paho.mqtt.client import MQTTMessageInfo

_AT_ONCE: Final[int | None] = getattr(socket, "TCP_QUICKACK", None)  # Linux only

T = TypeVar("T")

Told = Callable[[str], None]
"""Hears that the broker has a message (empty), or why it is not known to have it."""


@dataclass(frozen=True, slots=True)
class _Sent:
    """A message on its way: when it was sent, and who hears of it."""

    at_s: float
    info: MQTTMessageInfo
    told: list[Told]


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


def _noted(ended: "asyncio.Future[None]") -> None:
    """How a connection ended is known, although nobody may wait for it any more.

    The event loop would tell it as an error that nobody cared for.
    """
    if not ended.cancelled():
        ended.exception()


class PromptClient(aiomqtt.Client):
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
        # The library would make two objects for each message that is on its way, unless asked.
        self._client.on_publish = None
        self._unconfirmed: deque[_Sent] = deque()
        self._along: list[Told] = []  # of messages since then: the next one's word is theirs
        self._look: asyncio.TimerHandle | None = None
        self.silent = asyncio.Event()
        self._disconnected.add_done_callback(_noted)

    def send(self, topic: str, payload: bytes, told: Told, *, retain: bool) -> None:
        """Publish at QoS 1 without a task, an event and a timer for each; raises MqttError."""
        info = self._publish(topic, payload, 1, retain=retain)
        self._unconfirmed.append(_Sent(self._loop.time(), info, [*self._along, told]))
        self._along = []
        if self._look is None:
            self._look = self._loop.call_later(self.timeout, self._look_for_silence)

    def send_along(self, topic: str, payload: bytes, told: Told) -> None:
        """Publish at QoS 0; raises MqttError.

        A broker takes what comes on one connection in its order: when it confirms a message, it has
        what was sent before. That costs half of a confirmation for each.
        """
        self._publish(topic, payload, 0)
        self._along.append(told)

    def _publish(
        self, topic: str, payload: bytes, qos: int, *, retain: bool = False
    ) -> MQTTMessageInfo:
        info = self._client.publish(topic, payload, qos, retain)
        if info.rc != 0:
            raise aiomqtt.MqttCodeError(info.rc, "Could not publish message")
        return info

    def give_up(self, why: str) -> None:
        """Whatever is not confirmed yet is told to be lost."""
        if self._look is not None:
            self._look.cancel()
            self._look = None
        unconfirmed = [told for sent in self._unconfirmed for told in sent.told] + self._along
        self._unconfirmed.clear()
        self._along = []
        for told in unconfirmed:
            told(why)

    def _look_for_silence(self) -> None:
        """A broker that has not confirmed the oldest message for too long is none."""
        self._look = None
        if not self._unconfirmed:
            return
        due = self._unconfirmed[0].at_s + self.timeout
        if due > self._loop.time():
            self._look = self._loop.call_at(due, self._look_for_silence)
        else:
            self.silent.set()
            self.give_up("Operation timed out")

    def _hear_confirmed(self) -> None:
        """Tell of what the broker has confirmed; it does so in the order of sending (4.6)."""
        while self._unconfirmed and self._unconfirmed[0].info.is_published():
            for told in self._unconfirmed.popleft().told:
                told("")

    def _on_socket_open(self, client: Any, userdata: Any, sock: Any) -> None:  # noqa: ANN401  as the library's
        """Have the socket watched.

        Who hears of what was read may send more: the library, which holds locks as it calls back,
        must have returned by then.
        """

        def read() -> None:
            if self._did(client.loop_read):
                self._acknowledge()
                self._hear_confirmed()

        def begin() -> None:
            self._loop.add_reader(sock.fileno(), read)
            self._misc_task = self._loop.create_task(self._misc_loop())

        self._loop.call_soon_threadsafe(begin)

    def _did(self, work: Callable[[], object]) -> bool:
        """Have the library read or write; False when the connection broke by it."""
        try:
            work()
        except Exception as error:  # noqa: BLE001  as the library's: the connection is broken
            if not self._disconnected.done():
                self._disconnected.set_exception(error)
            return False
        return True

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
            if not self._did(client.loop_write):
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
