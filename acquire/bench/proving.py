"""What a proof over the bus must fit: a nonce that is good once, and few wrong tries. Pure.

Times are monotonic nanoseconds, and come in as arguments.
"""

from collections import OrderedDict
from collections.abc import Callable
from typing import Final

NONCE_NS: Final = 60_000_000_000
NONCES_MAX: Final = 64
WRONG_MAX: Final = 5
"""So many wrong proofs of one name within `WRONG_NS`, and its next ones are not looked at."""
WRONG_NS: Final = 300_000_000_000


class Nonces:
    """Nonces that were given out, each to be proved with by one name.

    Args:
        make: makes an unguessable text, new each time.
    """

    def __init__(self, make: Callable[[], str]) -> None:
        self._make = make
        self._issued: OrderedDict[str, tuple[str, int]] = OrderedDict()

    def issue(self, who: str, now_ns: int) -> str:
        """A new one for a name; of too many the oldest are good for nothing any more."""
        nonce = self._make()
        self._issued[nonce] = (who, now_ns)
        while len(self._issued) > NONCES_MAX:
            self._issued.popitem(last=False)
        return nonce

    def spend(self, nonce: str, who: str, now_ns: int) -> bool:
        """Whether it was given to that name lately; it is used up, whatever comes of it."""
        issued = self._issued.pop(nonce, None)
        return issued is not None and issued[0] == who and now_ns - issued[1] < NONCE_NS


class WrongTries:
    """Wrong proofs of late, by the name that they were for.

    Args:
        of_all_max: so many of all names together, and nobody's are looked at; None: any number.
    """

    def __init__(self, of_all_max: int | None = None) -> None:
        self._of_all_max = of_all_max
        self._wrong: list[tuple[str, int]] = []

    def note(self, who: str, now_ns: int) -> None:
        """One more was wrong."""
        self._wrong.append((who, now_ns))

    def are_too_many(self, who: str, now_ns: int) -> bool:
        """Whether a name's proofs are not looked at for now."""
        self._wrong = [(name, t) for name, t in self._wrong if now_ns - t < WRONG_NS]
        own = sum(name == who for name, _ in self._wrong)
        of_all_max = self._of_all_max
        return own >= WRONG_MAX or (of_all_max is not None and len(self._wrong) >= of_all_max)
