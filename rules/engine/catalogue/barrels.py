"""The catalogue's entries of a barrel: its bore, its wall, and what is read or seen of it."""

from dataclasses import replace
from typing import Final

from barrelfit.rules.engine.catalogue.diameters import about, bores_nm, original_nm
from barrelfit.rules.engine.catalogue.nouns import (
    Asking,
    Fact,
    Feature,
    Known,
    Lack,
    Round,
    Telling,
)
from barrelfit.rules.engine.catalogue.pistons import (
    DONE,
    cleaned_asked,
    mark_asked,
    stamp_of,
)
from barrelfit.rules.engine.expectation import ANYTHING, Expected
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.limits import Limit, bore_limit
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, length, said

_OTHERS_LEAST = 3


def _bore_expected(known: Known, at: FeatureId, barrel: Part) -> Expected:
    sheet, engine = known.sheet, known.engine
    expected = about(bore_limit(sheet, engine, barrel), original_nm(sheet, engine, barrel))
    return replace(expected, beside=_beside(known, at))


def _beside(known: Known, at: FeatureId) -> tuple[int, int] | None:
    """How large a place of a bore may be by its other places; None while too few are known.

    The outermost of the others may be wrong itself. From the rest a place differs by taper and
    out-of-round at most, and from those at its own depth by out-of-round, unless the bore is worn
    oddly, or the number is wrong.
    """
    others = {
        other: size.size_nm
        for other, size in known.sizes.items()
        if (other.part, other.feature) == (at.part, at.feature) and other != at
    }
    if len(others) < _OTHERS_LEAST:
        return None
    limits = known.sheet.barrel
    room_nm = limits.taper_max_nm + limits.out_of_round_max_nm
    second_nm, last_but_one_nm = sorted(others.values())[1], sorted(others.values())[-2]
    oval_nm = limits.out_of_round_max_nm
    level_nm = [nm for other, nm in others.items() if other.depth == at.depth]
    low_nm = min([second_nm - room_nm, *(nm - oval_nm for nm in level_nm)])
    high_nm = max([last_but_one_nm + room_nm, *(nm + oval_nm for nm in level_nm)])
    return low_nm, high_nm


def _bore_asked(sheet: Sheet, _engine: EngineSet, barrel: Part, at: FeatureId) -> Said:
    below, direction = length(_below_top_nm(sheet, at) or 0), at.direction
    return said("ask_bore", part=barrel.id, depth=at.depth, below=below, direction=direction)


def _below_top_nm(sheet: Sheet, at: FeatureId) -> int | None:
    return {depth.id: depth.below_top_nm for depth in sheet.barrel.depths}.get(at.depth)


def _bore_about_nm(sheet: Sheet, barrel: Part) -> int | None:
    return barrel.marks.size_nm or sheet.variants[0].groups[0].bore_nm


def _wall_expected(known: Known, _at: FeatureId, barrel: Part) -> Expected:
    """A used wall is no thicker than a new one, whose castings differ a little."""
    kind = known.sheet.barrel.kind(barrel.barrel_kind)
    if kind is None or kind.wall_nm is None:
        return ANYTHING
    by = said("by_new_wall", wall=length(kind.wall_nm))
    most_nm = kind.wall_nm + kind.wall_nm // 10
    return Expected(kind.wall_min_nm, kind.wall_nm, by, most_nm=most_nm)


def _wall_limit(sheet: Sheet, _engine: EngineSet, barrel: Part) -> Limit | None:
    kind = sheet.barrel.kind(barrel.barrel_kind)
    if kind is None or kind.wall_min_nm is None:
        return None
    return Limit(
        lower_nm=kind.wall_min_nm, lower_from=said("sheet_kind", sheet=sheet.said, kind=kind.id)
    )


def _seals(sheet: Sheet, barrel: Part) -> list[str]:
    """The seals of the barrel's kind; of an unknown kind those of all."""
    kinds = [k for k in sheet.barrel.kinds if barrel.barrel_kind in {"", k.id}]
    return list(dict.fromkeys(seal for kind in kinds for seal in kind.seals))


BORE = Feature(
    name="bore",
    kind="barrel",
    gauge="bore",
    where="places",
    expected=_bore_expected,
    words=lambda at: said("place_bore", depth=at.depth, direction=at.direction),
    label=said("label_bore"),
    picture="bore",
    key=Key("bore", "grid", "diameters as measured, as in bore.top.thrust = 85.01", required=False),
    trace_key=Key(
        "bore_trace",
        "names",
        "trace files of the bore's sweeps, as in bore_trace.top.thrust",
        required=False,
    ),
    asking=Asking(Round.BORES, _bore_asked, _bore_about_nm),
    limit=bore_limit,
    nominals_nm=bores_nm,
    from_edge_nm=_below_top_nm,
    is_main=True,
    discards="above",
    lacks=(Lack("B105", None),),
)
WALL = Feature(
    name="wall",
    kind="barrel",
    gauge="hand",
    where="part",
    expected=_wall_expected,
    words=lambda _: said("place_wall"),
    label=said("label_wall"),
    picture="piston",
    key=Key("wall", "size", "thinnest wall as measured", required=False),
    limit=_wall_limit,
    lacks=(Lack("B106", "hand"), Lack("Q103", "hand")),
)
KIND = Fact(
    name="kind",
    kinds=("barrel",),
    sort="choice",
    gauge="eye",
    keys=(Key("kind", "text", "how the bore is made", required=False),),
    words=(("barrel_kind", lambda value: said("fact_barrel_kind", value=value)),),
    lacks=(Lack("H101", "eye"), Lack("H105", "eye")),
    asking=(
        Telling(
            Round.IDENTIFY,
            "kind",
            lambda _sheet, part, _at: said("ask_kind", part=part.id),
            options=lambda sheet, _: [kind.id for kind in sheet.barrel.kinds],
        ),
    ),
)
SEAL = Fact(
    name="seal",
    kinds=("barrel",),
    sort="choice",
    gauge="eye",
    keys=(Key("seal", "text", "kind of its seal to the head", required=False),),
    words=(("seal", lambda value: said("fact_seal", value=value)),),
    lacks=(
        Lack(
            "H102",
            "eye",
            said("do_say_seal"),
            merely=True,
        ),
        Lack("H103", "eye"),
    ),
    asking=(
        Telling(
            Round.IDENTIFY,
            "seal",
            lambda _sheet, part, _at: said("ask_seal", part=part.id),
            options=_seals,
            topic="head-seal",
        ),
    ),
)
HEAD_SEAL = Telling(
    Round.IDENTIFY,
    "head_seal",
    lambda *_: said("ask_head_seal"),
    options=_seals,
    topic="head-seal",
)
"""How the plan asks for what the heads have, of the engine as a whole."""
HEIGHT_GROUP = Fact(
    name="height-group",
    kinds=("barrel",),
    sort="marks",
    gauge="eye",
    keys=(Key("height_group", "text", "marked height group", required=False),),
    unreadable=("height-group",),
    words=(("height_group", lambda value: said("fact_height_group", value=value)),),
    lacks=(Lack("H104", "eye", said("do_read_height_group"), merely=True),),
    asking=(
        mark_asked(
            "height_group",
            "height-group",
            lambda part: said("ask_height_group", part=part),
            lambda sheet: sheet.barrel.height_groups,
            round_=Round.HEIGHTS,
            topic="height-groups",
        ),
    ),
)
BARREL_MATE = Fact(
    name="mate",
    kinds=("barrel",),
    sort="mate",
    gauge="eye",
    keys=(Key("piston", "text", "id of the piston it came with", required=False),),
)
BARREL_STAMP = stamp_of("barrel", "stamped bore", bores_nm)
BARREL_CLEANED = Fact(
    name="cleaned",
    kinds=("barrel",),
    sort="done",
    gauge="eye",
    keys=(Key("cleaned", "text", "it is cleaned", required=False, choices=(DONE,)),),
    asking=(cleaned_asked(lambda part: said("ask_clean_barrel", part=part)),),
)
FEATURES = (WALL, BORE)
FACTS = (KIND, SEAL, HEIGHT_GROUP, BARREL_MATE, BARREL_STAMP, BARREL_CLEANED)

WORDS: Final[dict[str, str]] = {
    "sheet_kind": "{sheet}, {kind}",
    "by_new_wall": "wall of a new barrel {wall}",
    "do_say_seal": "say which seal to the head it is made for, and the heads' own",
    "do_read_height_group": "read its height group, or measure the height",
    "ask_bore": "{part} bore, {depth}, {below} below the top, {direction} direction",
    "place_bore": "bore {depth} {direction}",
    "label_bore": "bore",
    "place_wall": "thinnest wall",
    "label_wall": "wall",
    "fact_barrel_kind": "{value}",
    "fact_seal": "{value} head seal",
    "fact_height_group": "height group {value}",
    "ask_kind": "{part}: how its bore is made",
    "ask_seal": "{part}: the kind of its seal to the head",
    "ask_head_seal": "the heads: the kind of seal that they have",
    "ask_clean_barrel": "{part}: clean it, bore and faces; is it clean?",
    "ask_height_group": "{part}: the mark of its height group",
}
