"""Cuts a wire's bytes into frames, however they were cut by the port.

A framer owns a bounded buffer. Every byte fed comes out in exactly one frame's `raw`, in order:
garbage, line ends and over-long lines included. What one `feed` gives depends only on the bytes
and their times, never on where the port happened to cut them.
"""

import re
from typing import Final, NamedTuple

WHOLE: Final = "whole"
INCOMPLETE: Final = "incomplete"  # silence, or the end, came before the frame's end
OVERRUN: Final = "overrun"  # reached the limit without an end
REST: Final = "rest"  # what followed an overrun, up to its line end
OUT_OF_STEP: Final = "out of step"  # bytes outside any frame
LINE_ENDS: Final = "line ends"  # line ends with nothing between them

NS_PER_MS: Final = 1_000_000
ASCII_END: Final = 0x80  # bytes from here on are no ASCII character

_LINE_END: Final = re.compile(rb"[\r\n]")
_NOT_LINE_END: Final = re.compile(rb"[^\r\n]")
_ONE_LINE: Final = re.compile(rb"([^\r\n]+)(?:\r\n|\r|\n)")


class Frame(NamedTuple):
    """One piece of the wire: `payload` is `raw` without line ends; `t_ns` is its last byte's.

    `suspect` says why a whole frame is doubtful all the same (a key that repeated).
    """

    state: str
    raw: bytes
    payload: bytes
    t_ns: int
    suspect: str = ""


class LineFramer:
    r"""Lines that end in CR, LF or CRLF.

    CR ends a line at once, so a gauge that sends CR alone is never waited for. Line ends with
    nothing between them (the LF of a CRLF that the port cut in two) open no line: they travel with
    the next line's `raw`. After an overrun everything up to the next line end is `REST`, because
    the end of a long line can look like a whole short one.
    """

    def __init__(self, max_bytes: int, silence_ms: int) -> None:
        self._max = max_bytes
        self._silence_ns = silence_ms * NS_PER_MS
        self._buffer = bytearray()
        self._last_ns = 0
        self._over = False

    @property
    def fresh(self) -> bool:
        """Whether the next byte begins a new line."""
        return not self._buffer and not self._over

    def feed(self, data: bytes, t_ns: int) -> list[Frame]:
        """Take bytes that arrived at `t_ns` and give the frames they complete."""
        if self.fresh and (one := _ONE_LINE.fullmatch(data)):  # nearly all that comes
            payload: bytes = one[1]
            if len(payload) < self._max:
                return [Frame(WHOLE, data, payload, t_ns)]
        frames = self.idle(t_ns)
        self._buffer += data
        if data:
            self._last_ns = t_ns
        buffer = self._buffer
        start = 0
        while (stop := self._cut(start)) > start:
            raw = bytes(buffer[start:stop])
            frames.append(self._frame(raw, t_ns))
            start = stop
        del buffer[:start]
        return frames

    def _cut(self, start: int) -> int:
        """Index behind the frame that begins at `start`; `start` itself when none is complete."""
        buffer = self._buffer
        body = start
        if not self._over:  # line ends in front belong to this line; after an overrun they end it
            begin = _NOT_LINE_END.search(buffer, start)
            body = begin.start() if begin else len(buffer)
            if body - start >= self._max:
                return start + self._max
        end = _LINE_END.search(buffer, body, body + self._max)
        if end is None:
            return body + self._max if len(buffer) >= body + self._max else start
        return end.end() + (buffer[end.start() : end.end() + 1] == b"\r\n")

    def _frame(self, raw: bytes, t_ns: int) -> Frame:
        payload = raw.strip(b"\r\n")
        if self._over:
            self._over = raw[-1] not in b"\r\n"
            return Frame(REST, raw, payload, t_ns)
        if not payload:
            return Frame(LINE_ENDS, raw, payload, t_ns)
        self._over = raw[-1] not in b"\r\n"
        return Frame(OVERRUN if self._over else WHOLE, raw, payload, t_ns)

    def idle(self, t_ns: int) -> list[Frame]:
        """Drop a line that has waited for its end longer than the silence allowed."""
        if self._buffer and t_ns - self._last_ns > self._silence_ns:
            return self._drop(keep_line_ends=True)
        return []

    def close(self) -> list[Frame]:
        """Give up what is left: the port is gone or the stream has ended."""
        frames = self._drop(keep_line_ends=False)
        self._over = False
        return frames

    def _drop(self, *, keep_line_ends: bool) -> list[Frame]:
        raw = bytes(self._buffer)
        payload = raw.strip(b"\r\n")
        if not raw or (keep_line_ends and not payload):
            return []
        self._buffer.clear()
        state = (REST if self._over else INCOMPLETE) if payload else LINE_ENDS
        self._over = False
        return [Frame(state, raw, payload, self._last_ns)]


class EndedFramer:
    """Frames that end in one byte of their own, which stands nowhere else in them.

    After an overrun everything up to the next end is `REST`, as with lines.
    """

    def __init__(self, end: bytes, max_bytes: int, silence_ms: int) -> None:
        self._end = end
        self._max = max_bytes
        self._silence_ns = silence_ms * NS_PER_MS
        self._buffer = bytearray()
        self._last_ns = 0
        self._over = False

    @property
    def fresh(self) -> bool:
        """Whether the next byte begins a new frame."""
        return not self._buffer and not self._over

    def feed(self, data: bytes, t_ns: int) -> list[Frame]:
        """Take bytes that arrived at `t_ns` and give the frames they complete."""
        frames = self.idle(t_ns)
        for byte in data:
            self._buffer.append(byte)
            self._last_ns = t_ns
            ended = byte == self._end[0]
            if ended or len(self._buffer) >= self._max:
                whole = REST if self._over else WHOLE
                frames.append(self._take(whole if ended else REST if self._over else OVERRUN))
                self._over = not ended
        return frames

    def idle(self, t_ns: int) -> list[Frame]:
        """Drop a frame that has waited for its end longer than the silence allowed."""
        return self.close() if t_ns - self._last_ns > self._silence_ns else []

    def close(self) -> list[Frame]:
        """Give up what is left; the next byte begins a frame."""
        over, self._over = self._over, False
        return [self._take(REST if over else INCOMPLETE)] if self._buffer else []

    def _take(self, state: str) -> Frame:
        raw = bytes(self._buffer)
        self._buffer.clear()
        return Frame(state, raw, raw.removesuffix(self._end), self._last_ns)


class FixedFramer:
    """Frames of a fixed number of bytes, with or without a start mark.

    With a mark, its first byte must not occur later in a frame: where it does, the frame before
    was cut and a new one begins there. Without a mark only silence tells where a frame begins and
    ends: exactly so many bytes between two silences are one, and where more come nothing counts
    until there was silence again, as after `lose_step` (a frame that can't be one).
    """

    def __init__(self, length: int, start: bytes, silence_ms: int) -> None:
        self._length = length
        self._start = start
        self._silence_ns = silence_ms * NS_PER_MS
        self._buffer = bytearray()
        self._times_ns: list[int] = []  # when each byte of the buffer arrived
        self._last_ns = 0
        self._lost = False

    @property
    def fresh(self) -> bool:
        """Whether the next byte begins a new frame."""
        return not self._buffer and not self._lost

    def lose_step(self) -> None:
        """The last frame was none: without a start mark, wait for silence."""
        self._lost = not self._start

    def feed(self, data: bytes, t_ns: int) -> list[Frame]:
        """Take bytes that arrived at `t_ns`; gives what silence ended, `take` gives the rest."""
        frames = self.idle(t_ns)
        self._buffer += data
        self._times_ns += [t_ns] * len(data)
        if data:
            self._last_ns = t_ns
        return frames

    def take(self) -> Frame | None:
        """Give the next frame; one at a time, because a bad one decides what the next bytes are."""
        state, size = self._cut()
        return self._frame(state, size) if size else None

    def _frame(self, state: str, size: int) -> Frame:
        raw = bytes(self._buffer[:size])
        t_ns = self._times_ns[size - 1]
        del self._buffer[:size]
        del self._times_ns[:size]
        return Frame(state, raw, raw, t_ns)

    def _cut(self) -> tuple[str, int]:
        buffer, start, length = self._buffer, self._start, self._length
        if self._lost:
            return OUT_OF_STEP, len(buffer)
        if not start:
            self._lost = len(buffer) > length
            return OUT_OF_STEP, (len(buffer) if self._lost else 0)
        if buffer and not start.startswith(buffer[: len(start)]):
            again = buffer.find(start[:1], 1, length)
            if again > 0:
                return OUT_OF_STEP, again
            return OUT_OF_STEP, (length if len(buffer) >= length else 0)
        again = buffer.find(start[:1], len(start), length)
        if again > 0:
            return INCOMPLETE, again
        return WHOLE, (length if len(buffer) >= length else 0)

    def idle(self, t_ns: int) -> list[Frame]:
        """Drop a frame that has waited for its rest longer than the silence allowed."""
        if t_ns - self._last_ns <= self._silence_ns:
            return []
        return self.close()

    def close(self) -> list[Frame]:
        """Give up what is left; the next byte begins a frame."""
        self._lost = False
        if not self._buffer:
            return []
        # Less than the mark counts as outside, whether silence or another mark ends it.
        if not self._start and len(self._buffer) == self._length:
            return [self._frame(WHOLE, self._length)]
        stepped = self._buffer.startswith(self._start)
        return [self._frame(INCOMPLETE if stepped else OUT_OF_STEP, len(self._buffer))]
