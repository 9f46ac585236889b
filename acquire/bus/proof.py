"""Proves who a message on the bus comes from: a keyed hash (BLAKE2b, RFC 7693) at its end.

A bus password lets anybody speak. So everything that a daemon says of its bench, and everything
that its boards ask of it, ends with a number and a hash over topic, message and number under a key
that never goes over the bus: boards get it through the pipe they were started with, or from a file
that only the bench's user can read (`acquire.bus.link_file`). The daemon makes new keys each time
it starts, so nothing that was said to or by an earlier one counts.

    {"session":"…","events":[…],"n":17,"mac":"0123…"}

stays one JSON object, which anybody may read.
"""

import hashlib
import hmac
import re
import secrets
from dataclasses import dataclass, field
from typing import Final

from barrelfit.acquire.topics import COMMAND, topic

KEY_BYTES: Final = 32
MAC_BYTES: Final = 16
FRESH_NS: Final = 10_000_000_000
"""A command that is older was held up: what was wanted then may be wrong now."""
_MAC: Final = re.compile(rb',"n":([0-9]{1,19}),"mac":"([0-9a-f]{%d})"\}' % (2 * MAC_BYTES))
PROOF_BYTES_MAX: Final = 5 + 19 + 8 + 2 * MAC_BYTES + 2


def new_key() -> bytes:
    """A key that nobody can guess."""
    return secrets.token_bytes(KEY_BYTES)


def seal(key: bytes, where: str, payload: bytes, number: int) -> bytes:
    """A JSON object with its proof at the end.

    Args:
        key: the speaker's.
        where: the topic it goes to; the proof is good for no other.
        payload: the object, with at least one member.
        number: larger than all before it under this key.
    """
    body = payload[:-1] + b',"n":%d' % number
    return body + b',"mac":"' + _mac(key, where, body) + b'"}'


@dataclass(frozen=True, slots=True)
class ProvedMessage:
    """A message whose proof holds: the object without it, its number, and the hash itself."""

    payload: bytes
    number: int
    mac: bytes


def opened(key: bytes, where: str, payload: bytes) -> ProvedMessage | None:
    """Check a message's proof; None when it has none, or not this key's for this topic.

    Nothing of the message is decoded before its proof holds.
    """
    start = max(0, len(payload) - PROOF_BYTES_MAX)
    found = _MAC.search(payload, start)
    if found is None or found.end() != len(payload):
        return None
    body = payload[: found.end(1)]
    if not hmac.compare_digest(_mac(key, where, body), found.group(2)):
        return None
    return ProvedMessage(payload[: found.start()] + b"}", int(found.group(1)), found.group(2))


def _mac(key: bytes, where: str, body: bytes) -> bytes:
    made = hashlib.blake2b(where.encode() + b"\0", key=key, digest_size=MAC_BYTES)
    made.update(body)
    return made.hexdigest().encode()


@dataclass(slots=True)
class Speaker:
    """One who seals messages: each gets the next number.

    Args:
        key: the speaker's.
    """

    key: bytes
    _number: int = 0

    def seal(self, where: str, payload: bytes) -> bytes:
        """The message to be published on the topic `where`."""
        self._number += 1
        return seal(self.key, where, payload, self._number)


@dataclass(slots=True)
class Doorkeeper:
    """Lets commands in that prove the device they come from, each once.

    Args:
        bench: whose commands.
        devices: the keys of the devices that may give commands, by the device's name.
    """

    bench: str
    devices: dict[str, bytes]
    _seen: dict[bytes, int] = field(default_factory=dict)

    def let_in(self, payload: bytes, now_ns: int) -> tuple[str, bytes] | str:
        """Check a command; gives the device and the command without its proof, or what is wrong.

        What is wrong is `unproved` (no device of this bench sent it like this) or `repeated` (it
        was taken before, or is older than ten seconds).

        Args:
            payload: as it came.
            now_ns: this machine's monotonic time, which devices number their commands by.
        """
        device, found = self._opened(payload)
        if found is None:
            return "unproved"
        if not self._is_new(found, now_ns):
            return "repeated"
        fresh = {mac: at for mac, at in self._seen.items() if now_ns - at <= 2 * FRESH_NS}
        self._seen = {**fresh, found.mac: found.number}
        return device, found.payload

    def would_let_in(self, payload: bytes, now_ns: int) -> bool:
        """Whether `let_in` would let a command in as it stands; it counts as sent by neither."""
        _, found = self._opened(payload)
        return found is not None and self._is_new(found, now_ns)

    def _opened(self, payload: bytes) -> tuple[str, ProvedMessage | None]:
        """The device that a command comes from, with what it says; None when none sent it."""
        where = topic(self.bench, COMMAND)
        for device, key in self.devices.items():
            if (found := opened(key, where, payload)) is not None:
                return device, found
        return "", None

    def _is_new(self, found: ProvedMessage, now_ns: int) -> bool:
        return abs(now_ns - found.number) <= FRESH_NS and found.mac not in self._seen
