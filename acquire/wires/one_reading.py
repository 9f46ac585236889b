"""One reading from a gauge that is taught: what comes of one press, or while it is held still."""

import os
import select
from collections.abc import Callable, Sequence
from types import TracebackType
from typing import Final, Protocol, Self

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.drivers.frame import NS_PER_MS
from barrelfit.drivers.recognise import Chunk
from barrelfit.drivers.teaching.samples import bursts_in, is_text
from barrelfit.rules.said import said

ENDED_NS: Final = 300 * NS_PER_MS
"""Silence after which a press has sent all it has."""
STREAMS_NS: Final = 1_500 * NS_PER_MS
"""A gauge that has not fallen silent by then sends all the time."""
STILL: Final = 3
"""How many equal frames in a row mean that a gauge which sends all the time is held still."""
_LOOK_S: Final = 0.05
_DIGITS_MIN: Final = 3


class Hearing(Protocol):
    """A wire that is listened to."""

    def listen(self, timeout_s: float) -> bytes:
        """What arrives next; empty when nothing does in time. Raises OSError when it is gone."""
        ...


class PortEar(Hearing, Protocol):
    """A wire whose rate can be chosen; a context manager."""

    def set_rate(self, baud: int) -> None:
        """Listen at this rate from now on; what was waiting is thrown away."""
        ...

    def __enter__(self) -> Self:
        """Give the opened wire."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        ...


class UsbEar:
    """A USB gauge's bulk or interrupt end point: packets, and no rate.

    Raises:
        UserError: no rights, or another program has it.
        OSError: it is not there, or gone.
    """

    def __init__(self, port: str, backend: object = None) -> None:
        from barrelfit.acquire.wires.usb_line import UsbLine  # noqa: PLC0415  only where USB is meant

        self._line = UsbLine(GaugePort("taught", port), types=False, backend=backend)

    def __enter__(self) -> Self:
        """Give the opened end point."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Give the gauge back to the system."""
        self._line.close()

    def set_rate(self, baud: int) -> None:
        """It has none."""

    def listen(self, timeout_s: float) -> bytes:
        """The next packet; empty when none comes in time."""
        return self._line.read()


def one_reading(
    ear: Hearing, clock: Clock, wanted: Callable[[], bool] = lambda: True
) -> tuple[Chunk, ...]:
    """Wait for one reading: a press that falls silent, or a stream that is held still.

    Args:
        ear: the wire.
        clock: stamps what arrives.
        wanted: asked again and again; where it says no, nothing is waited for any longer.

    Returns:
        Its bytes with their times; none where it is no longer wanted.
    """
    chunks: list[Chunk] = []
    while wanted():
        data = ear.listen(_LOOK_S)
        now_ns = clock.monotonic_ns()
        if data:
            chunks.append((now_ns, data))
        if not chunks:
            continue
        if now_ns - chunks[-1][0] >= ENDED_NS:
            return tuple(chunks)
        if now_ns - chunks[0][0] >= STREAMS_NS and data:
            if still := held_still(chunks):
                return still
            chunks = chunks[-200:]
    return ()


def held_still(chunks: Sequence[Chunk]) -> tuple[Chunk, ...]:
    """The last frames of a stream where they are all the same; none where they differ.

    The first bytes may be a frame's rest, and the last ones its beginning.
    """
    data = b"".join(part for _, part in chunks)
    for end in (b"\r\n", b"\r", b"\n", b"\x03", b";"):
        frames = data.split(end)[1:-1]
        if len(frames) >= STILL:
            same = len(set(frames[-STILL:])) == 1 and frames[-1]
            frame = (frames[-1] + end) if same else b""
            return ((chunks[-1][0], frame),) if frame else ()
    bursts = bursts_in(chunks)[1:-1]
    if len(bursts) >= STILL and len({b"".join(d for _, d in b) for b in bursts[-STILL:]}) == 1:
        return tuple(chunk for burst in bursts[-STILL:] for chunk in burst)
    return ()


def is_readable(chunks: Sequence[Chunk]) -> bool:
    """Whether what arrived are characters, with or without a parity bit: the rate is right."""
    data = b"".join(part for _, part in chunks)
    weights = {byte.bit_count() % 2 for byte in data}
    plain = is_text(data) or (len(weights) == 1 and is_text(bytes(b & 0x7F for b in data)))
    digits = sum(0x30 <= byte & 0x7F <= 0x39 for byte in data)  # noqa: PLR2004
    return digits >= _DIGITS_MIN and plain


class TypedLines:
    """Lines that somebody types, or that come through a pipe, without ever waiting for one.

    Args:
        fd: where they come from.
    """

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._data = b""
        self.ended = False

    @property
    def waits(self) -> bool:
        """Whether a line, or the end, is there."""
        while (
            not self.ended and b"\n" not in self._data and select.select([self._fd], [], [], 0)[0]
        ):
            self._more()
        return self.ended or b"\n" in self._data

    def next(self) -> str | None:
        """The next line, waited for; None at the end."""
        while not self.ended and b"\n" not in self._data:
            self._more()
        if not self._data:
            return None
        line, _, self._data = self._data.partition(b"\n")
        return line.decode("utf-8", "replace").strip()

    def _more(self) -> None:
        got = os.read(self._fd, 4096)
        self._data += got
        self.ended = not got


def ear_at(port: str, baud: int) -> PortEar:
    """Open a port for listening: a serial one at a rate, or a USB gauge's end point.

    Raises:
        UserError: another program has it, or there are no rights.
        OSError: it can't be opened.
    """
    if port.startswith("usb:"):
        return UsbEar(port)
    if "://" in port:
        raise UserError([said("only_here_taught", port=port)])
    from barrelfit.acquire.wires.serial_ear import SerialEar  # noqa: PLC0415  POSIX only

    return SerialEar(port, baud)
