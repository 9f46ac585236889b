"""Tells bytes that were waiting when a port was opened from what the gauge sends now.

The rule, in order:

1. After opening, bytes belong to *before the session* until the wire has been quiet for the
   profile's `quiet_ms`, counted from the opening or from the last byte. A first press later than
   that is a reading; old lines that the driver or the adapter had kept are not. A read that came
   back full may have left more in the port: a busy reader is no quiet wire, and only one second
   without a byte is quiet then.
2. A gauge that never falls quiet is taken to be live after one second, where its frames can be
   told by their bytes; frames without a start mark, and typed lines, need the quiet.
3. Where the old bytes end inside a line, the rest of that line is old too, up to its line end or
   to the profile's silence. Noise (NUL, or bytes above 0x7F) begins no line.
"""

import re
from typing import Final

from barrelfit.drivers.frame import NS_PER_MS
from barrelfit.drivers.profile import Profile

LIVE_AFTER_NS: Final = 1_000_000_000
READ_BYTES: Final = 512
"""A port is read in pieces of so many bytes; a shorter one left nothing behind."""

_LINE_END: Final = re.compile(rb"\r\n|\r|\n")
_CUT_LINE: Final = re.compile(rb"[\x01-\x09\x0b\x0c\x0e-\x7f][^\r\n]*\Z")


class Arming:
    """Splits arriving bytes into old and live ones; armed from the start unless opened."""

    def __init__(self, profile: Profile, *, seven_bit: bool = False) -> None:
        self._mask = 0x7F if seven_bit else 0xFF
        self._is_line = profile.frame.kind == "line"
        self._needs_quiet = not self._is_line and not profile.frame.start
        self._quiet_ns = profile.port.quiet_ms * NS_PER_MS
        self._silence_ns = profile.frame.silence_ms * NS_PER_MS
        self.armed = True
        self._opened_ns = 0
        self._last_ns = 0
        self._inside_line = False
        self._more_waits = False

    def opened(self, t_ns: int) -> None:
        """The port was opened at `t_ns`."""
        self.armed = False
        self._opened_ns = t_ns
        self._last_ns = t_ns
        self._inside_line = self._more_waits = False

    def split(self, data: bytes, t_ns: int) -> tuple[bytes, bytes]:
        """Part bytes into (before the session, live)."""
        quiet_ns = t_ns - self._last_ns
        self._last_ns = t_ns
        if self.armed:
            return b"", data
        live_anyway = t_ns - self._opened_ns >= LIVE_AFTER_NS and not self._needs_quiet
        was_quiet = quiet_ns >= (LIVE_AFTER_NS if self._more_waits else self._quiet_ns)
        self._more_waits = len(data) >= READ_BYTES
        if was_quiet:
            if not self._inside_line or quiet_ns >= self._silence_ns:
                return self._arm(data, 0)
            return self._after_line_end(data)
        if live_anyway:
            return self._after_line_end(data) if self._is_line else self._arm(data, 0)
        self._note_cut_line(data)
        return data, b""

    def _arm(self, data: bytes, at: int) -> tuple[bytes, bytes]:
        self.armed = True
        return data[:at], data[at:]

    def _after_line_end(self, data: bytes) -> tuple[bytes, bytes]:
        end = _LINE_END.search(self.plain(data))
        if end:
            return self._arm(data, end.end())
        self._inside_line = True
        return data, b""

    def _note_cut_line(self, data: bytes) -> None:
        if self._is_line and data:
            data = self.plain(data)
            ended = data[-1] in b"\r\n"
            self._inside_line = not ended and (self._inside_line or bool(_CUT_LINE.search(data)))

    def plain(self, data: bytes) -> bytes:
        """The bytes without a parity bit that may stand in bit 7."""
        return bytes(byte & self._mask for byte in data)
