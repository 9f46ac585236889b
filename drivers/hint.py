"""Says in a sentence what an unreadable frame looks like, so that somebody can mend it."""

import re
from collections.abc import Callable
from typing import Final

from barrelfit.drivers.frame import ASCII_END
from barrelfit.drivers.profile import Layout, Profile

# A line with its end, whether or not a parity bit stands in bit 7 of the end; or what is left.
_SEVEN_BIT_LINE: Final = re.compile(rb"[^\r\n\x8d\x8a]*[\r\n\x8d\x8a]+|[^\r\n\x8d\x8a]+")

WRONG_PARITY: Final = (
    "a character came with a wrong parity bit: check rate, parity and cable; send again"
)
_MARK: Final = b"\xff\x00"  # how a system marks such a character (POSIX termios, PARMRK)


def hint_for(raw: bytes, profile: Profile, fits: Callable[[bytes], bool]) -> str:
    """A sentence on what is probably wrong with bytes that are no reading.

    Args:
        raw: the bytes, line ends included.
        profile: the profile they should have fitted.
        fits: whether a payload is one the profile knows.

    Returns:
        The sentence; it is a guess for a person and never changes what the bytes count as.
    """
    if profile.frame.kind != "line":
        return "not a frame of this profile: check the profile and the wiring"
    payload = raw.strip(b"\r\n")
    if profile.port.parity != "none" and _MARK in payload:
        return WRONG_PARITY
    if max(payload, default=0) >= ASCII_END:
        return _parity_hint(raw, fits)
    if b"\0" in payload:
        return "a NUL byte inside the line: line noise, a loose plug or a break"
    if b"\x11" in payload or b"\x13" in payload:
        return "flow control bytes inside the line: switch software flow control off"
    return _shape_hint(payload, profile, fits)


def seven_bit_lines(raw: bytes, fits: Callable[[bytes], bool]) -> tuple[str, list[bytes]]:
    """Tell lines of seven bits with parity that were read as eight bits.

    Args:
        raw: the bytes as they arrived.
        fits: whether a payload is one the profile knows.

    Returns:
        The parity, `even` or `odd`, and the bytes cut behind each line's end; an empty parity
        where bytes disagree or a whole line does not fit.
    """
    weights = {byte.bit_count() % 2 for byte in raw}
    lines = _SEVEN_BIT_LINE.findall(raw)
    cleared = [bytes(byte & 0x7F for byte in line) for line in lines]
    whole = [line.strip(b"\r\n") for line in cleared if line[-1] in b"\r\n"]
    if len(weights) != 1 or max(raw) < ASCII_END or not whole or not all(map(fits, whole)):
        return "", [raw]
    return ("odd" if weights == {1} else "even"), lines


def _parity_hint(raw: bytes, fits: Callable[[bytes], bool]) -> str:
    parity, _ = seven_bit_lines(raw, fits)
    if not parity:
        return "bytes above 0x7F: check rate, bits and parity"
    return (
        f"port is set to 8N1 but the device looks like 7{parity[0].upper()}: "
        f'set bits = 7 and parity = "{parity}"'
    )


def _shape_hint(payload: bytes, profile: Profile, fits: Callable[[bytes], bool]) -> str:
    if any(fits(payload[:cut]) and fits(payload[cut:]) for cut in range(1, len(payload))):
        return "two lines run together: a line end was lost"
    layout = profile.layout
    other = b"." if isinstance(layout, Layout) and layout.marks == "," else b","
    mark = b"," if other == b"." else b"."
    if other in payload and fits(payload.replace(other, mark)):
        return "the decimal mark is not this profile's: choose the profile for it"
    return "the line does not match the profile: a lost character, or another profile"
