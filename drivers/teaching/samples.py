"""A reading that was sent, and what the gauge's display showed for it."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.coded import said
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.frame import NS_PER_MS
from barrelfit.drivers.quantity import UNIT_NM, normal_text
from barrelfit.drivers.recognise import Chunk

SILENCE_MS: Final = 30
"""What ends a frame without an end of its own; an adapter may hold bytes back for 16 ms."""

_SHOWN: Final = re.compile(r"\s*([+-]?)\s*(\d*)(?:[.,](\d*))?\s*(mm|in|inch|\")\s*", re.IGNORECASE)


class TeachError(DriverError):
    """Nothing can be taught from this; each problem is a sentence that says what would help."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a display showed: digits with their decimals, in `mm` or `in`."""

    minus: bool
    whole: str
    fraction: str
    unit: str

    @property
    def value(self) -> str:
        """The text that a reading of it has."""
        return normal_text(self.minus, self.whole + self.fraction, len(self.fraction))

    @property
    def count(self) -> int:
        """How many of its last digit it is, without the sign."""
        return int(self.whole + self.fraction)

    @property
    def length_nm(self) -> int:
        """The length in nm, cut to whole ones."""
        parts: int = 10 ** len(self.fraction)
        nm = self.count * UNIT_NM[self.unit] // parts
        return -nm if self.minus else nm


def shown_in(text: str) -> Shown:
    """What somebody typed of a display, as `-0.013 mm` or `0,5 in`.

    Raises:
        TeachError: it is no number with its unit.
    """
    match = _SHOWN.fullmatch(text)
    if match is None or not (match[2] or match[3]):
        raise TeachError([said("type_what_is_shown", text=text)])
    unit = "mm" if match[4].lower() == "mm" else "in"
    return Shown(match[1] == "-", match[2].lstrip("0") or "0", match[3] or "", unit)


def bursts_in(chunks: Sequence[Chunk]) -> list[list[Chunk]]:
    """What arrived, cut where the wire was silent."""
    bursts: list[list[Chunk]] = []
    last_ns: int | None = None
    for chunk in chunks:
        if last_ns is None or chunk[0] - last_ns > SILENCE_MS * NS_PER_MS:
            bursts.append([])
        bursts[-1].append(chunk)
        last_ns = chunk[0]
    return bursts


@dataclass(frozen=True, slots=True)
class Sample:
    """One sent reading: the bytes with the times at which they came, and what was shown."""

    chunks: tuple[Chunk, ...]
    shown: Shown

    @property
    def raw(self) -> bytes:
        """All its bytes."""
        return b"".join(data for _, data in self.chunks)

    @property
    def bursts(self) -> tuple[bytes, ...]:
        """The bytes, cut where the wire was silent."""
        return tuple(b"".join(data for _, data in burst) for burst in bursts_in(self.chunks))


def sample(sent: bytes | Iterable[Chunk], shown: str) -> Sample:
    """A sample of what was typed; bytes without times came all at once.

    Raises:
        TeachError: nothing was sent, or what was typed is no number with its unit.
    """
    chunks = ((0, sent),) if isinstance(sent, bytes) else tuple(sent)
    made = Sample(chunks, shown_in(shown))
    if not made.raw:
        raise TeachError([said("no_byte_arrived")])
    return made


def parity_of(samples: Sequence[Sample]) -> str:
    """`even` or `odd` where the bytes are text of seven bits with a parity bit, else `none`."""
    data = b"".join(one.raw for one in samples)
    weights = {byte.bit_count() % 2 for byte in data}
    plain = bytes(byte & 0x7F for byte in data)
    if max(data) < 0x80 or len(weights) != 1 or not is_text(plain):  # noqa: PLR2004  bit 7
        return "none"
    return "odd" if weights == {1} else "even"


def is_text(data: bytes) -> bool:
    """Whether bytes are printable characters, line ends and the marks that frame texts."""
    return all(0x20 <= byte < 0x7F or byte in b"\t\r\n\x02\x03\x04\x05\x06\x17" for byte in data)  # noqa: PLR2004
