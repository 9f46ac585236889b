"""A gauge's profile: how its wire looks, as data. The schema is checked here, all of it at once.

A profile is named by the shape of its wire, never by a maker. DEVELOPERS.md shows how to add one;
`drivers/profiles/*.toml` are the shipped ones. Their examples are their test.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from barrelfit.drivers.checksum import Checksum, checksum_in
from barrelfit.drivers.coded import NOTHING, Coded, said, written
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.examples import Example, examples_in
from barrelfit.drivers.quantity import UNIT_FG, UNIT_NM
from barrelfit.drivers.schema import Problem, ProfileError, Table
from barrelfit.drivers.shapes import CountLayout, FrameShape, Layout

SCHEMA: Final = 1
EVIDENCE: Final = {
    "layout": "written from a described layout; no handbook or capture was at hand",
    "manual": "written from an instrument's handbook or a published report with its bytes",
    "capture": "checked against bytes captured from a gauge",
    "bench": "checked with a gauge on a bench",
}
_SEVEN: Final = 7
SENDS: Final = ("button", "free", "asked")
FRAME_KINDS: Final = ("line", "ended", "fixed", "reports", "usages", "key-events")
NUMBERS: Final = ("decimal", "hex", "hex-signed")
KEY_KINDS: Final = ("reports", "usages", "key-events")
_VALUE_GROUPS: Final = frozenset({"sign", "number", "decimals", "unit", "channel", "judgement"})


@dataclass(frozen=True, slots=True)
class PortSettings:
    """A serial port's settings; `quiet_ms` is the silence after opening that arms the gauge."""

    baud: int
    bits: int
    parity: str  # "none", "even", "odd"
    stop: int
    dtr: bool
    rts: bool
    quiet_ms: int

    @property
    def is_seven_bit(self) -> bool:
        """Whether a character has seven bits, so that bit 7 can only be its parity."""
        return self.bits == _SEVEN


@dataclass(frozen=True, slots=True)
class Saying:
    """A line that is no reading: what it looks like, its short word, and what to do."""

    pattern: re.Pattern[bytes]
    says: str
    hint: Coded = NOTHING


@dataclass(frozen=True, slots=True)
class ProfileAsk:
    """A gauge that sends when asked: what to send, and how long its slowest answer may take."""

    request: bytes
    slowest_ms: int


@dataclass(frozen=True, slots=True)
class Profile:
    """Everything known about one shape of gauge. Times are in ms, `digit_nm` in nm (0: a scale)."""

    id: str
    title: str
    evidence: str
    caution: str
    sends: str
    instead: str  # how one that sends on its button may be asked, or send all the time
    min_repeat_ms: int
    digit_nm: int
    port: PortSettings
    frame: FrameShape
    layout: Layout | CountLayout
    faults: tuple[Saying, ...]
    notes: tuple[Saying, ...]
    ask: ProfileAsk | None
    checksum: Checksum | None
    examples: tuple[Example, ...]

    @property
    def unit_on_wire(self) -> bool:
        """Whether the gauge itself says in which unit it shows."""
        if isinstance(self.layout, CountLayout):
            return self.layout.inch_bit >= 0
        return "unit" in self.layout.pattern.groupindex

    def in_unit(self, unit: str) -> "Profile":
        """The same gauge switched to another unit, which the wire does not tell.

        Raises:
            DriverError: the wire tells the unit itself, or this gauge has no such unit.
        """
        layout = self.layout
        if self.unit_on_wire:
            raise DriverError([said("sends_its_unit", id=self.id, unit=unit)])
        if isinstance(layout, Layout) and unit in (UNIT_FG if layout.weighs else UNIT_NM):
            return replace(self, layout=replace(layout, unit=unit))
        if isinstance(layout, CountLayout) and unit == "in" and layout.inch_digit_nm:
            inch = replace(
                layout, unit="in", digit_nm=layout.inch_digit_nm, decimals=layout.inch_decimals
            )
            return replace(self, layout=inch)
        if isinstance(layout, CountLayout) and unit == layout.unit:
            return self
        raise DriverError([said("no_unit_of_profile", id=self.id, unit=unit)])

    @property
    def weighs(self) -> bool:
        """Whether it is a scale's: what it shows are masses, and never lengths."""
        layout = self.layout
        return isinstance(layout, Layout) and layout.weighs

    @property
    def is_keyboard(self) -> bool:
        """Whether the gauge types instead of sending bytes on a port."""
        return self.frame.kind in KEY_KINDS


def profile_from(data: Mapping[str, Any], name: str) -> Profile:
    """Build a profile from the tables of its TOML file.

    Args:
        data: the parsed file.
        name: what to call the file in a problem's sentence.

    Returns:
        The profile.

    Raises:
        ProfileError: the data is not as it must be; every problem is listed.
    """
    problems: list[Problem] = []
    schema = data.get("schema")
    if schema != SCHEMA:
        newer = said("reads_schema", known=SCHEMA, schema=repr(schema))
        raise ProfileError(name, [Problem(("schema",), newer)])
    top = Table(data, (), problems)
    top.has("schema")
    profile = read_profile(top)
    top.done()
    if not problems:
        problems += _contradictions(profile)
    if problems:
        raise ProfileError(name, problems)
    return profile


def read_profile(top: Table) -> Profile:
    """Read the tables of a profile; what is wrong with them is noted there."""
    sends = top.text("sends", choices=SENDS)
    frame = _frame(top)
    layout = _count(top) if top.has("count") else _layout(top)
    is_scale = isinstance(layout, Layout) and layout.weighs
    return Profile(
        id=top.text("id"),
        title=top.text("title"),
        evidence=top.text("evidence", choices=tuple(EVIDENCE)),
        caution=top.text("caution", ""),
        sends=sends,
        instead=top.text("instead", ""),
        min_repeat_ms=top.whole("min_repeat_ms", 0, 5_000, 100 if sends == "button" else 0),
        digit_nm=0 if is_scale else _digit(top),
        port=_port(top, needed=frame.kind not in KEY_KINDS),
        frame=frame,
        layout=layout,
        faults=_sayings(top, "fault"),
        notes=_sayings(top, "note"),
        ask=_ask(top),
        checksum=checksum_in(top),
        examples=examples_in(top),
    )


def _digit(top: Table) -> int:
    gauge = top.table("gauge")
    if gauge is None:
        top.complain("gauge", said("needs_digit"))
        return 0
    digit = gauge.whole("digit_nm", 1, 100_000_000)
    gauge.done()
    return digit


def _port(top: Table, *, needed: bool) -> PortSettings:
    table = top.table("port")
    if table is None:
        if needed:
            top.complain("port", said("needs_port"))
        return PortSettings(9600, 8, "none", 1, dtr=True, rts=True, quiet_ms=200)
    port = PortSettings(
        baud=table.whole("baud", 50, 4_000_000),
        bits=table.whole("bits", 7, 8),
        parity=table.text("parity", choices=("none", "even", "odd")),
        stop=table.whole("stop", 1, 2),
        dtr=table.flag("dtr", default=True),
        rts=table.flag("rts", default=True),
        quiet_ms=table.whole("quiet_ms", 0, 10_000, 30),
    )
    table.done()
    return port


def _frame(top: Table) -> FrameShape:
    table = top.table("frame")
    if table is None:
        top.complain("frame", said("needs_frame"))
        return FrameShape("line", 64, 2_000)
    kind = table.text("kind", choices=FRAME_KINDS)
    fixed = kind == "fixed"
    shape = FrameShape(
        kind=kind,
        max_bytes=table.whole("max_bytes", 1, 256, None if fixed else 64),
        silence_ms=table.whole("silence_ms", 1, 60_000, 50 if fixed else 2_000),
        start=table.hexadecimal("start", b"") if fixed else b"",
        order=table.text("nibbles", "", ("high", "lsb", "msb")) if fixed else "",
        table=table.text("table", "us", ("us", "de", "fr")) if kind in KEY_KINDS else "",
        end=table.hexadecimal("end") if kind == "ended" else b"",
    )
    table.done()
    return shape


def _layout(top: Table) -> Layout:
    table = top.table("layout")
    if table is None:
        top.complain("layout", said("needs_layout"))
        table = Table({"pattern": "(?P<number>.)", "unit": "mm"}, (), [])
    layout = Layout(
        pattern=table.pattern("pattern", _VALUE_GROUPS),
        marks=table.text("marks", "."),
        unit=table.text("unit", "", (*UNIT_NM, *UNIT_FG)),
        unit_assumed=table.flag("unit_assumed", default=False),
        units=table.texts("units"),
        signs=table.texts("signs") or {"+": "+", "-": "-", " ": "+", "": "+"},
        judgements=table.texts("judgements"),
        places=table.whole("places", 0, 9) if table.has("places") else None,
        split=table.text("split", "").encode(),
        values=table.whole("values", 1, 16, 1),
        backwards=table.flag("backwards", default=False),
        number=table.text("number", "decimal", NUMBERS),
        times=table.whole("times", 1, 1_000, 1),
    )
    table.done()
    return layout


def _count(top: Table) -> CountLayout:
    table = top.table("count") or Table({}, (), [])
    layout = CountLayout(
        value_bit=table.whole("value_bit", 0, 63),
        value_bits=table.whole("value_bits", 1, 63),
        sign_bit=table.whole("sign_bit", -1, 63),
        inch_bit=table.whole("inch_bit", -1, 63, -1),
        one_bit=table.whole("one_bit", -1, 63, -1),
        digit_nm=table.whole("digit_nm", 1, 10_000_000),
        decimals=table.whole("decimals", 0, 6),
        inch_digit_nm=table.whole("inch_digit_nm", 0, 10_000_000, 0),
        inch_decimals=table.whole("inch_decimals", 0, 6, 0),
        count_max=table.whole("count_max", 1, 2**40),
        unit_assumed=table.flag("unit_assumed", default=False),
    )
    table.done()
    return layout


def _sayings(top: Table, key: str) -> tuple[Saying, ...]:
    sayings = []
    for table in top.tables(key):
        groups = frozenset({"code", "channel"}) if key == "fault" else frozenset[str]()
        pattern = table.pattern("pattern", groups)
        says = table.text(key)
        sayings.append(
            Saying(pattern, says, written(table.text("hint")) if key == "fault" else NOTHING)
        )
        table.done()
    return tuple(sayings)


def _ask(top: Table) -> ProfileAsk | None:
    table = top.table("ask")
    if table is None:
        return None
    ask = ProfileAsk(table.ascii("request"), table.whole("slowest_ms", 50, 60_000))
    table.done()
    return ask


def _contradictions(profile: Profile) -> list[Problem]:
    """What each table allows by itself but the profile as a whole does not."""
    found = []
    if (profile.sends == "asked") != (profile.ask is not None):
        found.append(Problem(("sends",), said("ask_belongs")))
    if profile.frame.kind == "ended" and len(profile.frame.end) != 1:
        found.append(Problem(("frame", "end"), said("one_byte_expected")))
    if isinstance(profile.layout, Layout):
        found += _layout_contradictions(profile.layout)
    elif profile.frame.kind != "fixed":
        found.append(Problem(("frame", "kind"), said("count_needs_fixed")))
    if profile.evidence in {"capture", "bench"} and not any(e.source for e in profile.examples):
        found.append(Problem(("evidence",), said("needs_source", evidence=profile.evidence)))
    outcomes = [o for e in profile.examples for o in e.outcomes]
    sort = "mass_fg" if profile.weighs else "length_nm"
    if not any(sort in o for o in outcomes) or not any("fault" in o for o in outcomes):
        found.append(Problem(("example",), said("needs_examples")))
    return found


def _layout_contradictions(layout: Layout) -> list[Problem]:
    groups = layout.pattern.groupindex
    found = [("pattern", said("no_number_group"))] if "number" not in groups else []
    if "unit" in groups and not layout.units:
        found.append(("units", said("units_missing")))
    if "unit" not in groups and not layout.unit:
        found.append(("unit", said("unit_missing")))
    known = (*UNIT_NM, *UNIT_FG)
    strange = sorted(set(layout.units.values()) - {*known})
    found += [("units", said("not_one_of", value=unit, choices=known)) for unit in strange]
    if layout.weighs and layout.all_units & UNIT_NM.keys():
        found.append(("units", said("mass_or_length")))
    if layout.number != "decimal" and layout.places is None:
        found.append(("places", said("places_missing")))
    if layout.values > 1 and not layout.split:
        found.append(("values", said("values_need_split")))
    return [Problem(("layout", key), sentence) for key, sentence in found]
