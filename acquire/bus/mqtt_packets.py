"""MQTT 3.1.1's packets as bytes (OASIS standard of 29 October 2014), as far as a bench needs them.

Pure: bytes in, packets out; whoever owns a connection is `acquire.bus.mqtt_bus`. QoS 0 and 1, clean
sessions, a will.
"""

import struct
from dataclasses import dataclass
from typing import Final

from barrelfit.acquire.errors import BarrelfitError

CONNACK: Final = 2
PUBLISH: Final = 3
PUBACK: Final = 4
SUBACK: Final = 9
"""Kinds of packets that a broker sends (2.2.1)."""

PINGREQ: Final = b"\xc0\x00"
DISCONNECT: Final = b"\xe0\x00"
PACKET_BYTES_MAX: Final = 16 * 1024 * 1024
"""More than any bench or board says at once; a longer packet is none of ours."""

REFUSED: Final = 0x80
"""Said of a topic in a SUBACK (3.9.3)."""

_LENGTH_BYTES_MAX: Final = 4  # 2.2.3
_REFUSALS: Final = {
    1: "it speaks no MQTT 3.1.1",
    2: "it does not like our name",
    3: "it is not ready",
    4: "wrong user or password",
    5: "not allowed",
}


class PacketError(BarrelfitError):
    """Bytes that are no packet of MQTT 3.1.1, or none that a broker may send."""


@dataclass(frozen=True, slots=True)
class Login:
    """How a client introduces itself; an empty user for none, `will` is topic and payload."""

    name: str
    keepalive_s: int
    user: str = ""
    password: str = ""
    will: tuple[str, bytes] | None = None


@dataclass(frozen=True, slots=True)
class Published:
    """A message that a broker brings; `number` is what it is confirmed by, 0 for not at all."""

    topic: str
    payload: bytes
    retained: bool
    number: int


def connect(login: Login) -> bytes:
    """The first packet of a connection (3.1); its will is retained, at QoS 1."""
    flags, rest = 0x02, _text(login.name)  # a clean session
    if login.will is not None:
        flags |= 0x04 | 0x08 | 0x20
        rest += _text(login.will[0]) + _counted(login.will[1])
    if login.user:
        flags |= 0x80
        rest += _text(login.user)
        if login.password:
            flags |= 0x40
            rest += _text(login.password)
    head = _text("MQTT") + struct.pack("!BBH", 4, flags, login.keepalive_s)
    return _packet(0x10, head + rest)


def subscribe(topic: str, number: int) -> bytes:
    """Ask for a topic's messages at QoS 1 (3.8)."""
    return _packet(0x82, struct.pack("!H", number) + _text(topic) + b"\x01")


def publish(topic: str, payload: bytes, number: int, *, retain: bool) -> bytes:
    """A message (3.3): at QoS 1 under a number, at QoS 0 where that is 0."""
    confirmed = struct.pack("!H", number) if number else b""
    kind = 0x30 | (0x02 if number else 0) | retain
    return _packet(kind, _text(topic) + confirmed + payload)


def puback(number: int) -> bytes:
    """A message is taken (3.4)."""
    return struct.pack("!BBH", 0x40, 2, number)


class PacketReader:
    """Cuts what a broker sends into packets, however the network cut it."""

    def __init__(self) -> None:
        self._rest = b""

    def feed(self, data: bytes) -> list[tuple[int, int, bytes]]:
        """Take bytes; gives kind, flags and body of each packet that they complete.

        Raises:
            PacketError: there is no packet of that length.
        """
        data = self._rest + data if self._rest else data
        found: list[tuple[int, int, bytes]] = []
        start = 0
        while (cut := _cut(data, start)) is not None:
            body, end = cut
            found.append((data[start] >> 4, data[start] & 0x0F, data[body:end]))
            start = end
        self._rest = data[start:]
        return found


def _cut(data: bytes, start: int) -> tuple[int, int] | None:
    """Where a packet's body begins and ends; None for one that is not all there."""
    length = 0
    for place in range(_LENGTH_BYTES_MAX):
        if start + 1 + place >= len(data):
            return None
        byte = data[start + 1 + place]
        length |= (byte & 0x7F) << (7 * place)
        if byte < 0x80:  # noqa: PLR2004  the last one of the length
            if length > PACKET_BYTES_MAX:
                message = f"a packet of {length} bytes"
                raise PacketError(message)
            body = start + 2 + place
            return (body, body + length) if body + length <= len(data) else None
    message = "a packet's length has no end"
    raise PacketError(message)


def refusal(body: bytes) -> str:
    """Why a CONNACK refuses (3.2); empty where it does not.

    Raises:
        PacketError: it is no CONNACK.
    """
    if len(body) != 2:  # noqa: PLR2004  flags and code
        message = "a broken word of welcome"
        raise PacketError(message)
    return _REFUSALS.get(body[1], f"refused with code {body[1]}") if body[1] else ""


def number_of(body: bytes) -> int:
    """Which packet a PUBACK or SUBACK confirms (2.3.1).

    Raises:
        PacketError: it says none.
    """
    if len(body) < 2:  # noqa: PLR2004  a number's bytes
        message = "a confirmation of nothing"
        raise PacketError(message)
    return body[0] << 8 | body[1]


def published(flags: int, body: bytes) -> Published:
    """A message (3.3).

    Raises:
        PacketError: it is none, or at a QoS that nobody asked for.
    """
    qos = flags >> 1 & 3
    end = 2 + number_of(body)
    start = end + (2 if qos else 0)
    if qos > 1 or start > len(body):
        message = f"a broken message, or one at QoS {qos}"
        raise PacketError(message)
    try:
        topic = body[2:end].decode()
    except UnicodeDecodeError:
        message = "a topic that is no text"
        raise PacketError(message) from None
    number = number_of(body[end:]) if qos else 0
    return Published(topic, body[start:], bool(flags & 1), number)


def _text(text: str) -> bytes:
    return _counted(text.encode())


def _counted(data: bytes) -> bytes:
    return struct.pack("!H", len(data)) + data


def _packet(kind: int, body: bytes) -> bytes:
    length, head = len(body), bytearray([kind])
    while length > 0x7F:  # noqa: PLR2004  seven bits a byte, the lowest first
        head.append(0x80 | length & 0x7F)
        length >>= 7
    head.append(length)
    return bytes(head) + body
