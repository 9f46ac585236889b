"""Which of the common checksums a frame ends with, if any."""

from collections.abc import Iterator, Sequence
from typing import Final

from barrelfit.drivers.checksum import FORMS, SUMS, Checksum

_TAIL_MAX: Final = 2
_GAP_MAX: Final = 2
_FIRST_MAX: Final = 2


def checksum_of(payloads: Sequence[bytes]) -> Checksum | None:
    """The checksum that all frames bear out, the one that covers most; None for none."""
    return next((c for c in _all() if all(map(c.fits, payloads)) and _varies(c, payloads)), None)


def _all() -> Iterator[Checksum]:
    for first in range(_FIRST_MAX + 1):
        for gap in range(_GAP_MAX + 1):
            for tail in range(_TAIL_MAX + 1):
                for kind, (size, _) in reversed(SUMS.items()):
                    forms = FORMS if size > 1 else [f for f in FORMS if f != "low-first"]
                    for form in forms:
                        yield Checksum(kind, form, first, gap, tail)


def _varies(checksum: Checksum, payloads: Sequence[bytes]) -> bool:
    """Whether the checksum itself differs: one that never does proves nothing."""
    sums = {p[len(p) - checksum.tail - checksum.size : len(p) - checksum.tail] for p in payloads}
    return len(sums) == len(set(payloads)) or len(sums) > 2  # noqa: PLR2004
