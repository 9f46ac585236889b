"""The catalogue's entries of each ring of a piston, and of its groove."""

from collections.abc import Callable

from barrelfit.rules.engine.catalogue.diameters import bores_nm
from barrelfit.rules.engine.catalogue.nouns import Asking, Fact, Feature, Known, Lack, Round
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


def _side_asked(sheet: Sheet, _engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    ring = sheet.ring(at.depth)
    if ring is None or _is_tried(piston, at):
        return NOTHING
    return said("ask_side", part=piston.id, ring=ring.id, leaf=length(ring.side_max_nm))


def _side_all_asked(sheet: Sheet, _engine: EngineSet, piston: Part, at: FeatureId) -> Said:
    ring = sheet.ring(at.depth)
    if ring is None or not ring.side_min_nm or _is_tried(piston, at):
        return NOTHING
    return said("ask_side_all", part=piston.id, ring=ring.id)


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
)
FEATURES = (GROOVE, RING, SIDE, SIDE_ALL, GAP, GAP_BORE)
FACTS = (LEAVES,)
