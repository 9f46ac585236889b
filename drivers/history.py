"""Doubts about a reading that only what came before it can raise.

Where the width of a line is free, the rest of a cut line can look like a whole one (`1`, a pause
or a stray line end, `2.345`), and a lost digit is not seen. Two things tell all the same: what was
cut before fits in front of it, or it has fewer decimals than this gauge has shown.
"""

from typing import Final, Protocol

from barrelfit.drivers.outcome import Shown

REST: Final = "perhaps the rest of a cut line: send again"
FEWER_DECIMALS: Final = "fewer decimals than before, a digit may be lost: send again"
PIECES_MAX: Final = 64


class Decodes(Protocol):
    """Tells what a whole payload is."""

    def reads(self, payload: bytes) -> bool:
        """Whether the payload is a reading."""
        ...


class History:
    """Remembers the damaged lines just before, and each unit's decimals.

    Args:
        decoder: tells whether joined pieces are a reading.
        shown: whether the number of decimals is the gauge's own digit, and not said by the frame.
    """

    def __init__(self, decoder: Decodes, *, shown: bool) -> None:
        self._decoder = decoder
        self._shown = shown
        self._pieces = b""
        self._decimals: dict[tuple[str, str], int] = {}

    def damaged(self, payload: bytes) -> None:
        """A line that is none."""
        self._pieces = (self._pieces + payload)[-PIECES_MAX:]

    def whole(self) -> None:
        """A line that is no reading but known: what came before it is over."""
        self._pieces = b""

    def doubt(self, payload: bytes, reading: Shown) -> str:
        """Say why a reading is suspect, empty for no reason."""
        if self._pieces:
            joined, self._pieces = self._pieces + payload, b""
            if self._decoder.reads(joined):
                return REST
        if self._shown:
            of = reading.channel, reading.unit
            decimals = len(reading.value.partition(".")[2])
            most = self._decimals.get(of, 0)
            if decimals < most:
                return FEWER_DECIMALS
            if decimals > most:
                self._decimals[of] = decimals
        return ""
