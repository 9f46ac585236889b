"""The catalogue's entries of each ring of a piston, and of its groove."""

from collections.abc import Callable
from decimal import Decimal
from typing import Final

from barrelfit.rules.engine.catalogue.diameters import bores_nm
from barrelfit.rules.engine.catalogue.nouns import (
    Asking,
    Fact,
    Feature,
    Known,
    Lack,
    Round,
    Telling,
)
from barrelfit.rules.engine.expectation import ANYTHING, Expected
from barrelfit.rules.engine.form import Form, Key
from barrelfit.rules.engine.gate import stopped_at_gate
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.engine.tables.rings import RingLimits
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import NOTHING, Said, length, said

_WIDTHS_NM = (500_000, 8_000_000)
_BORE_ROOM_NM = 100_000  # how far beside all bores of this engine a ring may lie for its gap

OF_THE_RING: Final = frozenset({"ring", "side", "side-all", "gap", "gap-bore"})
"""What is measured of the ring that lies in a groove: of another ring it says nothing."""

IN: Final = "in"
OUT: Final = "out"
"""Whether a leaf goes into a groove at a place."""
FEELER = Form(
    (
        Key("leaf", "size", "thickness of the leaf"),
        Key("went_in", "flags", "whether it went in, for each place tried around the piston"),
        Key(
            "beside",
            "text",
            "which ring lay in the groove; left out: a new one, as a groove is tried",
            required=False,
            choices=("new", "used"),
        ),
    )
)


def _of_ring(
    expected: Callable[[Known, RingLimits, FeatureId], Expected],
) -> Callable[[Known, FeatureId, Part], Expected]:
    """An expectation by the limits of its ring; of a ring that is not on the sheet, anything."""

    def of_ring(known: Known, at: FeatureId, _piston: Part) -> Expected:
        ring = known.sheet.ring(at.depth)
        return ANYTHING if ring is None else expected(known, ring, at)

    return of_ring


def _side(_known: Known, ring: RingLimits, _at: FeatureId) -> Expected:
    return Expected(ring.side_min_nm, ring.side_max_nm, said("by_side", ring=ring.id))


def _gap(_known: Known, ring: RingLimits, _at: FeatureId) -> Expected:
    return Expected(ring.gap_min_nm, ring.gap_max_nm, said("by_gap", ring=ring.id))


def _groove(known: Known, ring: RingLimits, at: FeatureId) -> Expected:
    """A ring and its groove go together; of one alone only that it is a ring's or its groove's."""
    width = known.sizes.get(FeatureId(at.part, RING.name, ring.id))
    if width is None:
        return _any_width()
    by = said("by_ring_width", width=length(width.size_nm))
    return Expected(width.size_nm, width.size_nm + ring.side_max_nm, by)


def _ring(known: Known, ring: RingLimits, at: FeatureId) -> Expected:
    groove = known.sizes.get(FeatureId(at.part, GROOVE.name, ring.id))
    if groove is None:
        return _any_width()
    by = said("by_groove_width", width=length(groove.size_nm))
    return Expected(groove.size_nm - ring.side_max_nm, groove.size_nm, by)


def _any_width() -> Expected:
    return Expected(*_WIDTHS_NM, said("by_any_width"))


def _gap_bore(known: Known, _ring: RingLimits, _at: FeatureId) -> Expected:
    """A ring's gap is measured in a bore of this engine, new or worn, at its oversize."""
    sheet, engine = known.sheet, known.engine
    sizes_nm = [nm + engine.oversize_nm for nm in bores_nm(sheet)]
    new_nm = sizes_nm[0]
    sizes_nm += [p.marks.size_nm for p in engine.of_kind("barrel") if p.marks.size_nm is not None]
    low_nm, most_nm = min(sizes_nm) - sheet.barrel.under_nm, max(sizes_nm)
    high_nm = most_nm + sheet.barrel.wear.of(most_nm)
    by = said("by_bore_about", bore=length(new_nm))
    least_nm, greatest_nm = low_nm - _BORE_ROOM_NM, high_nm + _BORE_ROOM_NM
    return Expected(low_nm, high_nm, by, new_nm, greatest_nm, least_nm)


def _is_tried(piston: Part, at: FeatureId) -> bool:
    """Whether feelers are put down for a groove: nothing more is asked about it then."""
    return at.depth in {feeler.ring for feeler in piston.feelers}


def _side_asked(sheet: Sheet, engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    ring = sheet.ring(at.depth)
    if ring is None or _is_tried(piston, at) or _leaf_by_leaf(engine):
        return NOTHING
    return said("ask_side", part=piston.id, ring=ring.id, leaf=length(ring.side_max_nm))


def _side_all_asked(sheet: Sheet, engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    ring = sheet.ring(at.depth)
    if ring is None or not ring.side_min_nm or _is_tried(piston, at) or _leaf_by_leaf(engine):
        return NOTHING
    return said("ask_side_all", part=piston.id, ring=ring.id)


def _leaf_by_leaf(engine: EngineSet) -> bool:
    """Whether the plan asks for each leaf at each place, so that no thickest one is asked for."""
    return "rings" in engine.steps


def _leaves(sheet: Sheet, piston: Part) -> list[FeatureId]:
    """The leaves that are to be tried: of each ring the largest clearance, then the smallest.

    With a new ring in the groove; a leaf that was told without saying which ring lay there counts.
    """
    return [
        _leaf_at(piston, ring.id, leaf_nm)
        for ring in sheet.rings
        for leaf_nm in (ring.side_max_nm, ring.side_min_nm)
        if leaf_nm
    ]


def _leaf_at(piston: Part, ring: str, leaf_nm: int) -> FeatureId:
    tried = (f.beside for f in piston.feelers if (f.ring, f.leaf_nm) == (ring, leaf_nm))
    beside = next((b for b in tried if b != "used"), "new")
    thickness = format(Decimal(leaf_nm).scaleb(-6).normalize(), "f")
    return FeatureId(piston.id, LEAVES.name, ring, f"{thickness} {beside}".strip())


def places_told(piston: Part, at: FeatureId) -> tuple[bool, ...]:
    """At which places so far the leaf of a fact's place went in."""
    thickness, _, beside = at.direction.partition(" ")
    leaf_nm = int(Decimal(thickness).scaleb(6))
    mine = (f for f in piston.feelers if (f.ring, f.leaf_nm) == (at.depth, leaf_nm))
    return next((f.went_in for f in mine if f.beside == beside), ())


def places_wanted(sheet: Sheet, at: FeatureId) -> int:
    """At how many places around the piston the groove of a leaf is tried."""
    ring = sheet.ring(at.depth)
    return 0 if ring is None else ring.places


def leaf_is_tried(sheet: Sheet, piston: Part, at: FeatureId) -> bool:
    """Whether a leaf needs no further place; one of the largest clearance that goes in decides."""
    ring, told = sheet.ring(at.depth), places_told(piston, at)
    largest = ring is not None and at == _leaf_at(piston, ring.id, ring.side_max_nm)
    return len(told) >= places_wanted(sheet, at) or (largest and any(told))


def _leaf_asked(sheet: Sheet, piston: Part, at: FeatureId) -> Said:
    """The next place at which a leaf is tried."""
    wanted = places_wanted(sheet, at)
    place = str(min(len(places_told(piston, at)) + 1, wanted))
    leaf = length(int(Decimal(at.direction.split()[0]).scaleb(6)))
    return said(
        "ask_leaf", part=piston.id, ring=at.depth, leaf=leaf, place=place, places=str(wanted)
    )


def _gap_asked(_sheet: Sheet, _engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    return said("ask_gap", part=piston.id, ring=at.depth)


def _gap_bore_asked(_sheet: Sheet, engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    """The bore of each closed gap: without it nobody knows the gap in any other bore.

    A depth of its own barrel will do, unless that failed by eye and is not measured.
    """
    home = engine.home_of(piston.id)
    told = {} if home is None or stopped_at_gate(home) else dict(piston.gap_depths)
    if at.depth in told:
        return NOTHING
    return said("ask_gap_bore", part=piston.id, ring=at.depth)


def _widths(sheet: Sheet, at: FeatureId) -> tuple[str, ...]:
    """A groove and its ring with widths need no leaf.

    A groove's own width will do where the sheet says how wide a new ring is.
    """
    ring = sheet.ring(at.depth)
    return (GROOVE.name, RING.name) if ring is None or ring.width_nm is None else (GROOVE.name,)


def _unknown_nm(_sheet: Sheet, _piston: Part) -> int | None:
    return None


GROOVE = Feature(
    name="groove",
    kind="piston",
    gauge="hand",
    where="rings",
    expected=_of_ring(_groove),
    words=lambda at: said("place_groove", ring=at.depth),
    label=said("label_groove"),
    picture="grooves",
    key=Key("groove_width", "size", "width of the groove", required=False),
)
RING = Feature(
    name="ring",
    kind="piston",
    gauge="hand",
    where="rings",
    expected=_of_ring(_ring),
    words=lambda at: said("place_ring", ring=at.depth),
    label=said("label_ring"),
    picture="grooves",
    key=Key("ring_width", "size", "width of the ring", required=False),
    lacks=(Lack("R115", "hand"),),
)
SIDE = Feature(
    name="side",
    kind="piston",
    gauge="hand",
    where="rings",
    expected=_of_ring(_side),
    words=lambda at: said("place_side", ring=at.depth),
    label=said("label_side"),
    picture="grooves",
    key=None,  # a set file has the leaves that were tried
    asking=Asking(Round.RINGS, _side_asked, _unknown_nm, topic="rings"),
    told_by=_widths,
    lacks=(
        Lack("R102", "hand"),
        Lack("R103", "hand", merely=True),
        Lack("R104", "hand"),
        Lack("R105", "hand"),
        Lack("R109", "hand", merely=True),
        Lack("R110", "hand"),
        Lack("R111", "hand"),
        Lack("R112", "hand"),
        Lack("R113", "hand"),
    ),
)
SIDE_ALL = Feature(
    name="side-all",
    kind="piston",
    gauge="hand",
    where="rings",
    expected=_of_ring(_side),
    words=lambda at: said("place_side_all", ring=at.depth),
    label=said("label_side_all"),
    picture="grooves",
    key=None,
    asking=Asking(Round.RINGS, _side_all_asked, _unknown_nm, topic="rings"),
    told_by=_widths,
)
GAP = Feature(
    name="gap",
    kind="piston",
    gauge="hand",
    where="rings",
    expected=_of_ring(_gap),
    words=lambda at: said("place_gap", ring=at.depth),
    label=said("label_gap"),
    picture="ring",
    key=Key("gap", "size", "closed gap", required=False),
    asking=Asking(Round.RINGS, _gap_asked, _unknown_nm, topic="rings"),
    lacks=(Lack("R108", None, merely=True),),
)
GAP_BORE = Feature(
    name="gap-bore",
    kind="piston",
    gauge="bore",
    where="rings",
    expected=_of_ring(_gap_bore),
    words=lambda at: said("place_gap_bore", ring=at.depth),
    label=said("label_gap_bore"),
    picture="ring",
    key=Key(
        "gap_bore", "size", "diameter of the bore in which the gap was measured", required=False
    ),
    other_keys=(
        Key(
            "gap_depth",
            "text",
            "in place of gap_bore: depth of its own barrel at which the gap was measured",
            required=False,
        ),
    ),
    asking=Asking(
        Round.GAP_BORES,
        _gap_bore_asked,
        lambda sheet, _: sheet.variants[0].groups[0].bore_nm,
        topic="rings",
    ),
    touches="home",
)
LEAVES = Fact(
    name="feeler",
    kinds=("piston",),
    sort="leaves",
    gauge="hand",
    keys=(
        Key(
            "feeler",
            "tables",
            "leaves tried in the groove, beside a new ring",
            required=False,
            form=FEELER,
        ),
    ),
    of_ring=True,
    asking=(
        Telling(
            Round.RINGS,
            "feeler",
            _leaf_asked,
            options=lambda *_: (OUT, IN),
            press=OUT,
            long=IN,
            topic="rings",
            places=_leaves,
        ),
    ),
)
FEATURES = (GROOVE, RING, SIDE, SIDE_ALL, GAP, GAP_BORE)
FACTS = (LEAVES,)

WORDS: Final[dict[str, str]] = {
    "by_side": "side clearance of the {ring} ring",
    "by_gap": "closed gap of the {ring} ring",
    "by_ring_width": "ring width {width} and its side clearance",
    "by_groove_width": "groove width {width} and its side clearance",
    "by_any_width": "the width of a ring or its groove",
    "by_bore_about": "a bore of about {bore}",
    "ask_side": "{part} {ring} ring, a new one in the groove: thickest leaf that goes in anywhere;"
    " try the {leaf} leaf too, in 3 or 4 places",
    "ask_side_all": "{part} {ring} ring, a new one in the groove: thickest leaf that goes in all"
    " round",
    "ask_gap": "{part} {ring} ring: closed gap, the ring pushed square into its bore",
    "ask_gap_bore": "{part} {ring} ring: the bore its gap was measured in, at that place",
    "place_groove": "{ring} ring, width of its groove",
    "label_groove": "groove width",
    "place_ring": "{ring} ring, its width",
    "label_ring": "ring width",
    "place_side": "{ring} ring, side clearance",
    "label_side": "side",
    "place_side_all": "{ring} ring, side clearance all round",
    "label_side_all": "side-all",
    "place_gap": "{ring} ring, closed gap",
    "label_gap": "closed gap",
    "place_gap_bore": "{ring} ring, bore its gap was taken in",
    "label_gap_bore": "bore the gap was measured in",
    "ask_leaf": "{part} {ring} ring, a new one in the groove: does the {leaf} leaf go in?"
    " Place {place} of {places}",
}
