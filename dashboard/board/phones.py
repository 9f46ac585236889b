"""Which phones are paired with a bench: by a code that its board shows, once each. Pure.

Time and chance are arguments. Of codes and cookies only their SHA-256 is kept. What is kept ends
with the board's process: then phones are paired anew.
"""

import hashlib
import hmac
import threading
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Literal

OFFER_NS: Final = 180_000_000_000
"""How long a code is good for."""
PHONES_MOST: Final = 8
NAME_MOST: Final = 62
_SPAN_NS: Final = 60_000_000_000
_WRONG_MOST: Final = 5
"""So many wrong codes from one address within a minute; then it is not listened to."""
_WRONG_ALL_MOST: Final = 50
"""So many from all addresses while a code is shown; then that code is good for nothing."""
_SENDERS_MOST: Final = 256

Outcome = Literal["paired", "wrong", "often", "nameless", "many"]


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that was paired: by which name its owner goes."""

    name: str


@dataclass(slots=True)
class _Offer:
    digest: bytes
    until_ns: int
    wrong: int = 0


@dataclass(slots=True)
class Phones:
    """The phones of one bench; any thread may ask.

    Attributes:
        bench: the bench's name.
        address: tells where phones find the bench now, empty where no network is.
        fingerprint: SHA-256 of the certificate, as a browser shows it.
        trouble: why phones can't come, empty where they can.
    """

    bench: str
    address: Callable[[], str]
    fingerprint: str = ""
    trouble: str = ""
    _offer: _Offer | None = None
    _known: dict[bytes, Phone] = field(default_factory=dict)
    _wrong: OrderedDict[str, deque[int]] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def offer(self, code: str, now_ns: int) -> None:
        """Let the one who shows this code pair, once and for a while; an earlier code is void."""
        with self._lock:
            self._offer = _Offer(_digest(code), now_ns + OFFER_NS)

    def withdraw(self) -> None:
        """Let no code pair any more."""
        with self._lock:
            self._offer = None

    def left_ns(self, code: str, now_ns: int) -> int:
        """For how long a code is still good; 0 once it was used, is old or void."""
        with self._lock:
            offer = self._offer
            if offer is None or not hmac.compare_digest(offer.digest, _digest(code)):
                return 0
            return max(offer.until_ns - now_ns, 0)

    def pair(self, code: str, name: str, cookie: str, sender: str, now_ns: int) -> Outcome:
        """Pair the phone that shows a code.

        Args:
            code: what it shows.
            name: by which name its owner goes.
            cookie: what it is to be known by from now on, new and random.
            sender: its address.
            now_ns: a monotonic time.

        Returns:
            Whether it was, or why not. A used, an old and a wrong code are not told apart.
        """
        with self._lock:
            if self._is_deaf(sender, now_ns):
                return "often"
            offer = self._offer
            fresh = offer is not None and now_ns < offer.until_ns
            right = hmac.compare_digest(_digest(code), offer.digest if offer else bytes(32))
            if offer is None or not (fresh and right):
                self._note_wrong(sender, now_ns)
                return "wrong"
            plain = " ".join(name.split())[:NAME_MOST]
            if not plain:
                return "nameless"  # the code stays good: nobody was let in
            if len(self._known) >= PHONES_MOST:
                return "many"
            self._offer = None
            self._known[_digest(cookie)] = Phone(plain)
            return "paired"

    def known(self, cookie: str) -> Phone | None:
        """The phone that a cookie is of."""
        with self._lock:
            return self._known.get(_digest(cookie)) if cookie else None

    def forget(self, cookie: str = "") -> None:
        """Forget the phone of a cookie; without one all of them, and the code that is shown."""
        with self._lock:
            if cookie:
                self._known.pop(_digest(cookie), None)
                return
            self._known.clear()
            self._offer = None

    @property
    def names(self) -> tuple[str, ...]:
        """Whose phones are paired."""
        with self._lock:
            return tuple(phone.name for phone in self._known.values())

    def _is_deaf(self, sender: str, now_ns: int) -> bool:
        times = self._wrong.get(sender, deque())
        while times and now_ns - times[0] >= _SPAN_NS:
            times.popleft()
        return len(times) >= _WRONG_MOST

    def _note_wrong(self, sender: str, now_ns: int) -> None:
        self._wrong.setdefault(sender, deque(maxlen=_WRONG_MOST)).append(now_ns)
        self._wrong.move_to_end(sender)
        while len(self._wrong) > _SENDERS_MOST:
            self._wrong.popitem(last=False)
        if self._offer is not None:
            self._offer.wrong += 1
            if self._offer.wrong >= _WRONG_ALL_MOST:
                self._offer = None


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()
