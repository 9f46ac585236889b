"""Checksums at the end of a frame: what is not borne out by its checksum is no reading.

The sixteen-bit ones are cyclic codes with the polynomials 0x1021 (first bit highest) and 0x8005
(first bit lowest, 0xA001), each begun with zeros or ones; `crc8-07` has the polynomial 0x07.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.schema import Table


def _cyclic_high(data: bytes, poly: int, begin: int, width: int) -> int:
    top, mask, value = 1 << (width - 1), (1 << width) - 1, begin
    for byte in data:
        value ^= byte << (width - 8)
        for _ in range(8):
            value = (value << 1 ^ poly if value & top else value << 1) & mask
    return value


def _cyclic_low(data: bytes, poly: int, begin: int) -> int:
    value = begin
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ poly if value & 1 else value >> 1
    return value


def _xor(data: bytes) -> int:
    value = 0
    for byte in data:
        value ^= byte
    return value


SUMS: Final[dict[str, tuple[int, Callable[[bytes], int]]]] = {
    "sum": (1, lambda data: sum(data) & 0xFF),
    "sum-negative": (1, lambda data: -sum(data) & 0xFF),
    "sum-inverted": (1, lambda data: ~sum(data) & 0xFF),
    "sum-7": (1, lambda data: sum(data) & 0x7F),
    "xor": (1, _xor),
    "xor-7": (1, lambda data: _xor(data) & 0x7F),
    "crc8-07": (1, lambda data: _cyclic_high(data, 0x07, 0, 8)),
    "sum-16": (2, lambda data: sum(data) & 0xFFFF),
    "crc16-1021-ones": (2, lambda data: _cyclic_high(data, 0x1021, 0xFFFF, 16)),
    "crc16-1021-zeros": (2, lambda data: _cyclic_high(data, 0x1021, 0, 16)),
    "crc16-a001-ones": (2, lambda data: _cyclic_low(data, 0xA001, 0xFFFF)),
    "crc16-a001-zeros": (2, lambda data: _cyclic_low(data, 0xA001, 0)),
}
"""How many bytes each has, and what works it out."""

FORMS: Final = ("high-first", "low-first", "hex-upper", "hex-lower")


@dataclass(frozen=True, slots=True)
class Checksum:
    """Where a frame's checksum stands, and what it is of.

    `kind` is one of `SUMS`, `form` one of `FORMS`. It covers the payload from byte `first` on up
    to `gap` bytes before the checksum; `tail` bytes stand behind it.
    """

    kind: str
    form: str
    first: int
    gap: int
    tail: int

    @property
    def size(self) -> int:
        """How many bytes of the payload it takes."""
        return SUMS[self.kind][0] * (2 if self.form.startswith("hex") else 1)

    def fits(self, payload: bytes) -> bool:
        """Whether the checksum is the one of what it covers."""
        stop = len(payload) - self.tail
        start = stop - self.size
        covered = payload[self.first : max(start - self.gap, 0)]
        return bool(covered) and payload[start:stop] == self._written(covered)

    def _written(self, covered: bytes) -> bytes:
        size, works_out = SUMS[self.kind]
        value = works_out(covered)
        if self.form == "hex-upper":
            return f"{value:0{2 * size}X}".encode()
        if self.form == "hex-lower":
            return f"{value:0{2 * size}x}".encode()
        return value.to_bytes(size, "big" if self.form == "high-first" else "little")


def checksum_in(top: Table) -> Checksum | None:
    """A profile's `[checksum]` table; what is wrong with it is noted there."""
    table = top.table("checksum")
    if table is None:
        return None
    checksum = Checksum(
        kind=table.text("kind", choices=tuple(SUMS)),
        form=table.text("form", choices=FORMS),
        first=table.whole("first", 0, 255, 0),
        gap=table.whole("gap", 0, 255, 0),
        tail=table.whole("tail", 0, 255, 0),
    )
    table.done()
    return checksum
