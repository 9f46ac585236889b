"""Says what an unreadable frame looks like, so that somebody can mend it."""

import re
from collections.abc import Callable
from typing import Final

from barrelfit.drivers.coded import Coded, said
from barrelfit.drivers.frame import ASCII_END
from barrelfit.drivers.profile import Profile
from barrelfit.drivers.shapes import Layout

# A line with its end, whether or not a parity bit stands in bit 7 of the end; or what is left.
_SEVEN_BIT_LINE: Final = re.compile(rb"[^\r\n\x8d\x8a]*[\r\n\x8d\x8a]+|[^\r\n\x8d\x8a]+")

WRONG_PARITY: Final = said("wrong_parity")
_MARK: Final = b"\xff\x00"  # how a system marks such a character (POSIX termios, PARMRK)


def hint_for(raw: bytes, profile: Profile, fits: Callable[[bytes], bool]) -> Coded:
    """What is probably wrong with bytes that are no reading.

    Args:
        raw: the bytes, line ends included.
        profile: the profile they should have fitted.
        fits: whether a payload is one the profile knows.

    Returns:
        A guess for a person; it never changes what the bytes count as.
    """
    if profile.frame.kind != "line":
        return said("no_frame_of_profile")
    payload = raw.strip(b"\r\n")
    if profile.port.parity != "none" and _MARK in payload:
        return WRONG_PARITY
    if max(payload, default=0) >= ASCII_END:
        return _parity_hint(raw, fits)
    if b"\0" in payload:
        return said("nul_in_line")
    if b"\x11" in payload or b"\x13" in payload:
        return said("flow_control")
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


def _parity_hint(raw: bytes, fits: Callable[[bytes], bool]) -> Coded:
    parity, _ = seven_bit_lines(raw, fits)
    if not parity:
        return said("high_bytes")
    return said("looks_like_seven_bits", sign=parity[0].upper(), parity=parity)


def _shape_hint(payload: bytes, profile: Profile, fits: Callable[[bytes], bool]) -> Coded:
    if any(fits(payload[:cut]) and fits(payload[cut:]) for cut in range(1, len(payload))):
        return said("two_lines")
    layout = profile.layout
    other = b"." if isinstance(layout, Layout) and layout.marks == "," else b","
    mark = b"," if other == b"." else b"."
    if other in payload and fits(payload.replace(other, mark)):
        return said("other_mark_sent")
    return said("no_match")
