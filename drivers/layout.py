"""Decodes the characters of one whole frame: all of them must match, or it is no reading."""

import re
from typing import Final

from barrelfit.drivers.coded import said
from barrelfit.drivers.count import decode_count
from barrelfit.drivers.identity import IDENTIFICATION
from barrelfit.drivers.outcome import Note, Outcome, Shown, WireFault, WireMass, WireReading
from barrelfit.drivers.profile import Profile, Saying
from barrelfit.drivers.quantity import UNIT_FG, QuantityError, length_nm, mass_fg, normal_text
from barrelfit.drivers.shapes import CountLayout, Layout

UNREADABLE: Final = "unreadable"

_SWAPPED_NIBBLE: Final = [int(f"{n:04b}"[::-1], 2) for n in range(16)]


class Decoder:
    """Turns payloads into outcomes without bytes and time: `raw` is empty and `t_ns` is 0."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile

    def decode(self, payload: bytes) -> tuple[Outcome, ...]:
        """Decode one whole frame; an unreadable one gives exactly one fault without a hint."""
        layout, checksum = self._profile.layout, self._profile.checksum
        if checksum is not None and not checksum.fits(payload):
            return (WireFault(b"", 0, UNREADABLE),)
        if isinstance(layout, CountLayout):
            return (decode_count(payload, layout),)
        text = nibble_text(payload, self._profile.frame.order)
        text = text[::-1] if layout.backwards else text
        if layout.split:
            return self._values(text, layout)
        return (self._one(text, layout),)

    def known_fault(self, payload: bytes) -> WireFault | None:
        """The fault that the profile knows by these bytes, though they are no frame of its own."""
        text = nibble_text(payload, self._profile.frame.order)
        found = self._saying(text)
        return found if isinstance(found, WireFault) else None

    def fits(self, payload: bytes) -> bool:
        """Whether the payload is one this profile knows, be it a reading, a fault or a note."""
        outcomes = self.decode(payload)
        return not any(isinstance(o, WireFault) and o.fault == UNREADABLE for o in outcomes)

    def reads(self, payload: bytes) -> bool:
        """Whether the payload is a reading."""
        return isinstance(self.decode(payload)[0], Shown)

    def names(self, payload: bytes) -> bool:
        """Whether the payload is a line by which the gauge names itself."""
        outcome = self.decode(payload)[0]
        return isinstance(outcome, Note) and outcome.note == IDENTIFICATION

    def _values(self, text: bytes, layout: Layout) -> tuple[Outcome, ...]:
        parts = text.split(layout.split)
        if len(parts) != layout.values:
            return (self._saying(text) or WireFault(b"", 0, UNREADABLE),)
        values = [self._one(part, layout) for part in parts]
        channels = [v.channel for v in values if not isinstance(v, Note)]
        unread = any(isinstance(v, WireFault) and v.fault == UNREADABLE for v in values)
        # A damaged or doubled place could have been another's: the whole line is refused.
        if unread or len(set(channels)) != layout.values:
            return (WireFault(b"", 0, UNREADABLE),)
        return tuple(values)

    def _one(self, text: bytes, layout: Layout) -> Outcome:
        match = layout.pattern.fullmatch(text)
        if match:
            return _value(match, layout)
        return self._saying(text) or WireFault(b"", 0, UNREADABLE)

    def _saying(self, text: bytes) -> WireFault | Note | None:
        for saying in self._profile.faults:
            match = saying.pattern.fullmatch(text)
            if match:
                return _fault(match, saying)
        for saying in self._profile.notes:
            if saying.pattern.fullmatch(text):
                return Note(b"", 0, saying.says)
        return None


def nibble_text(payload: bytes, order: str) -> bytes:
    """Write packed nibbles as hexadecimal digits in the order they were sent.

    Args:
        payload: the packed bytes.
        order: `lsb` where the first bit sent is bit 0 of a byte, `msb` where it is bit 7 (a
            nibble's own first bit is its lowest in both), `high` where a byte's high nibble comes
            first and is written as it is, empty for text that is not packed.

    Returns:
        One hexadecimal digit a nibble, the unused last one included; or the payload itself.
    """
    if not order:
        return payload
    if order == "high":
        return payload.hex().upper().encode()
    nibbles = []
    for byte in payload:
        high, low = divmod(byte, 16)
        nibbles += [low, high] if order == "lsb" else [_SWAPPED_NIBBLE[n] for n in (high, low)]
    return "".join(f"{n:X}" for n in nibbles).encode()


def _fault(match: re.Match[bytes], saying: Saying) -> WireFault:
    named = {k: (v or b"").decode("ascii") for k, v in match.groupdict().items()}
    says = saying.says.replace("{code}", named.get("code", ""))
    return WireFault(b"", 0, says, saying.hint, channel=named.get("channel", ""))


def _value(match: re.Match[bytes], layout: Layout) -> Outcome:
    try:
        named = {k: (v or b"").decode("ascii") for k, v in match.groupdict().items()}
    except UnicodeDecodeError:
        return WireFault(b"", 0, UNREADABLE)
    channel = named.get("channel", "").strip()
    sign = layout.signs.get(named.get("sign", ""))
    if layout.number == "decimal":
        number = _digits(named["number"].lstrip(" "), layout, named.get("decimals", ""))
    else:
        sign, number = _counts(named["number"], sign, layout)
    if sign is None or number is None:
        return WireFault(b"", 0, UNREADABLE)
    letters = named.get("unit", "")
    unit = layout.units.get(letters) if letters else layout.unit
    if not unit:
        hint = said("unit_unknown", unit=letters)
        return WireFault(b"", 0, "unknown unit", hint, channel=channel)
    judgement = named.get("judgement", "")
    assumed = layout.unit_assumed and not letters
    marks = (channel, layout.judgements.get(judgement, judgement), assumed)
    try:
        return _shown(sign == "-", number, unit, marks)
    except QuantityError as error:
        return WireFault(b"", 0, error.fault, error.hint, channel=channel)


def _shown(
    minus: bool,  # noqa: FBT001  a sign is a bool
    number: tuple[str, int],
    unit: str,
    marks: tuple[str, str, bool],
) -> Shown:
    """A length or a mass, by its unit.

    `marks` are the channel, the gauge's own judgement, and whether the unit is assumed.
    """
    digits, decimals = number
    value = normal_text(minus, digits, decimals)
    if unit in UNIT_FG:
        return WireMass(b"", 0, value, unit, mass_fg(minus, digits, decimals, unit), *marks)
    return WireReading(b"", 0, value, unit, length_nm(minus, digits, decimals, unit), *marks)


def _counts(
    number: str, sign: str | None, layout: Layout
) -> tuple[str | None, tuple[str, int] | None]:
    """Sign, digits and decimals of a number of counts; None for what it is not."""
    try:
        count = int(number, 16)
    except ValueError:
        return sign, None
    if layout.number == "hex-signed" and count >= 1 << 4 * len(number) - 1:
        sign, count = "-", (1 << 4 * len(number)) - count
    return sign, (str(count * layout.times), layout.places or 0)


def _digits(number: str, layout: Layout, decimals: str) -> tuple[str, int] | None:
    """Digits and how many of them are decimals; None when the text is no number."""
    whole, fraction = number, ""
    for mark in layout.marks:
        if mark in number:
            whole, fraction = number.split(mark, 1)
            break
    digits = whole + fraction
    if not (digits.isascii() and digits.isdigit()):
        return None
    if decimals:
        return digits, int(decimals)
    return digits, len(fraction) if layout.places is None else layout.places
