"""What a gauge's bytes turn out to be: a reading, a fault, or something merely worth a note.

Every byte of the wire is in the `raw` of exactly one outcome: joined in order, the `raw`s give
the wire back. A line that holds several values gives several outcomes; the first carries the
line's bytes, the others carry `b""` and their place in the line as `index`.

`t_ns` is the monotonic time in ns at which the last byte of `raw` arrived. So feeding the `raw`s
at their times into a fresh `Wire` gives the same outcomes again: a replay rests on it.
"""

from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.coded import NOTHING, Coded


@dataclass(frozen=True, slots=True)
class WireReading:
    """A length the gauge showed.

    `value` is the decimal text as sent, without leading zeros; `unit` is `mm`, `in` or `um`;
    `length_nm` is the same, exactly, in nm. `judgement` is the gauge's own, stored beside ours,
    never instead of it. `suspect` says why the reading must not be used without confirmation.
    """

    raw: bytes
    t_ns: int
    value: str
    unit: str
    length_nm: int
    channel: str = ""
    judgement: str = ""
    unit_assumed: bool = False
    suspect: str = ""
    index: int = 0


@dataclass(frozen=True, slots=True)
class WireMass:
    """A mass a scale showed, at rest: as `WireReading`, but for its unit.

    `unit` is `g`, `kg` or `oz`; `mass_fg` is the same as `value`, exactly, in femtograms.
    """

    raw: bytes
    t_ns: int
    value: str
    unit: str
    mass_fg: int
    channel: str = ""
    judgement: str = ""
    unit_assumed: bool = False
    suspect: str = ""
    index: int = 0


@dataclass(frozen=True, slots=True)
class WireFault:
    """Bytes that are no reading: `fault` is the short word, `hint` what to do."""

    raw: bytes
    t_ns: int
    fault: str
    hint: Coded = NOTHING
    channel: str = ""
    index: int = 0


@dataclass(frozen=True, slots=True)
class Note:
    """Bytes that are neither reading nor fault: an identification, an echo, an old line."""

    raw: bytes
    t_ns: int
    note: str


Shown = WireReading | WireMass
"""What a gauge's display shows: a length, or a mass."""

Outcome = Shown | WireFault | Note

UNSTEADY: Final = "unsteady"
"""The note of a frame in which a scale says that it has not come to rest: no mass."""
