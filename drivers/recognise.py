"""Which profiles fit bytes from an unknown gauge: two whole frames, and nothing that does not fit.

The bytes were heard with eight data bits and no parity. A gauge that sends seven bits with parity
shows its parity bit as bit 7 then, so the three ways are tried for every profile.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from barrelfit.drivers.decode import FILLING, Wire
from barrelfit.drivers.frame import ASCII_END, INCOMPLETE, OUT_OF_STEP, OVERRUN
from barrelfit.drivers.layout import UNREADABLE
from barrelfit.drivers.outcome import Note, Outcome, Shown, WireFault
from barrelfit.drivers.profile import Profile

_DAMAGED: Final = frozenset({UNREADABLE, INCOMPLETE, OVERRUN, OUT_OF_STEP})
_CUT: Final = frozenset({UNREADABLE, OUT_OF_STEP})

STREAM_READINGS: Final = 4  # a button that bounces gives two
PRESS_NS: Final = 400_000_000  # nobody presses a gauge's button more often, time after time

Chunk = tuple[int, bytes]
"""Bytes with the monotonic ns at which they arrived."""


@dataclass(frozen=True, slots=True)
class ProfileFit:
    """A profile that fits what was heard, the line it was heard on, and how well.

    `parity` is `none`, `even` or `odd`; `readings` counts the whole readings, `last` is the last;
    `streams`: they came one after another, quicker than anybody presses a button.
    """

    profile: Profile
    bits: int
    parity: str
    readings: int
    last: Shown
    streams: bool = False


def recognise(
    chunks: Sequence[Chunk], profiles: Sequence[Profile], needed: int
) -> list[ProfileFit]:
    """The profiles that fit what was heard, the strictest first.

    Args:
        chunks: what was heard; it may begin and end inside a frame.
        profiles: those to try; gauges that type are left out.
        needed: how many whole readings a profile must give.

    Returns:
        The fits: profiles of fixed width before those that can't see a lost character.
    """
    high = any(byte >= ASCII_END for _, data in chunks for byte in data)
    fits = []
    for profile in profiles:
        if profile.is_keyboard:
            continue
        lines = [(8, "none")]
        if profile.frame.kind == "line":
            lines = [(7, "even"), (7, "odd")] if high else [(8, "none")]
        for bits, parity in lines:
            fit = _fit(chunks, profile, bits, parity)
            if fit is not None and fit.readings >= needed:
                fits.append(fit)
    return sorted(fits, key=lambda fit: (bool(fit.profile.caution), -fit.readings))


def _fit(chunks: Sequence[Chunk], profile: Profile, bits: int, parity: str) -> ProfileFit | None:
    port = replace(profile.port, bits=bits, parity=parity)
    wire = Wire(profile, port=port, min_repeat_ms=0)
    heard: list[Outcome] = []
    for t_ns, data in chunks:
        heard += wire.feed(data, t_ns)
    heard += wire.closed(0)
    heard = [o for o in heard if not (isinstance(o, Note) and o.note == FILLING)]
    if heard and _is_fault(heard[0], _CUT):
        del heard[0]  # we may have begun to listen inside a frame
    if heard and _is_fault(heard[-1], frozenset({INCOMPLETE})):
        del heard[-1]
    readings = [o for o in heard if isinstance(o, Shown) and not o.index]
    if not readings or any(_is_fault(o, _DAMAGED) for o in heard):
        return None
    return ProfileFit(profile, bits, parity, len(readings), readings[-1], _streams(readings))


def _streams(readings: Sequence[Shown]) -> bool:
    if len(readings) < STREAM_READINGS:
        return False
    return readings[-1].t_ns - readings[0].t_ns < PRESS_NS * (len(readings) - 1)


def _is_fault(outcome: Outcome, kinds: frozenset[str]) -> bool:
    return isinstance(outcome, WireFault) and outcome.fault in kinds
