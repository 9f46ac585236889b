"""How a wire is cut into frames, and what the characters or bits of one mean: data of a profile."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from barrelfit.drivers.quantity import UNIT_FG


@dataclass(frozen=True, slots=True)
class FrameShape:
    """How the wire is cut: see `drivers.frame` and, for keyboard gauges, `drivers.hid`.

    `max_bytes` is a line's limit or a fixed frame's length; `start` a fixed frame's mark, `end` the
    one byte that ends an `ended` one; `order` (`high`, `lsb`, `msb`, or empty: `drivers.layout`)
    says how nibbles are packed; `table` is a keyboard's.
    """

    kind: str
    max_bytes: int
    silence_ms: int
    start: bytes = b""
    order: str = ""
    table: str = ""
    end: bytes = b""


@dataclass(frozen=True, slots=True)
class Layout:
    """What a frame's characters mean; the pattern must match all of them.

    `unit` is what the profile stands for when the wire names none; `unit_assumed` says that the
    gauge could have been switched without our seeing it. `places` is the number of implied
    decimals, None where the text has a mark or a digit for them. `split` parts a line's values.
    `backwards`: the frame is read from its last character on. `number` is `decimal`, or `hex` or
    `hex-signed` (two's complement) for counts that are each worth `times` of the last digit.
    """

    pattern: re.Pattern[bytes]
    marks: str
    unit: str
    unit_assumed: bool
    units: Mapping[str, str]
    signs: Mapping[str, str]
    judgements: Mapping[str, str]
    places: int | None
    split: bytes
    values: int
    backwards: bool
    number: str
    times: int

    @property
    def all_units(self) -> set[str]:
        """Every unit that it can show."""
        return {self.unit, *self.units.values()} - {""}

    @property
    def weighs(self) -> bool:
        """Whether its units are those of masses."""
        return bool(self.all_units & UNIT_FG.keys())


@dataclass(frozen=True, slots=True)
class CountLayout:
    """A frame that is one binary number, first bit received = bit 0, as counts of the digit.

    A count is worth `digit_nm`, or `inch_digit_nm` where `inch_bit` is set. Bits are numbers from
    0, -1 where the layout has none; every bit not named must be 0.
    """

    value_bit: int
    value_bits: int
    sign_bit: int
    inch_bit: int
    one_bit: int
    digit_nm: int
    decimals: int
    inch_digit_nm: int
    inch_decimals: int
    count_max: int
    unit_assumed: bool
    unit: str = "mm"
