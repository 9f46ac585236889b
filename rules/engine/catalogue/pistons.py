"""The catalogue's entries of a piston: its skirt, and what is read, weighed or seen of it."""

from barrelfit.rules.engine.catalogue.diameters import about, original_nm, pistons_nm
from barrelfit.rules.engine.catalogue.nouns import (
    Asking,
    Fact,
    Feature,
    Known,
    Lack,
    Round,
)
from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.limits import skirt_limit
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, length, mass, said

_READ_STAMP = said("do_read_its_stamp")
STAMP_LACKS = (
    Lack("K102", "eye"),
    Lack("K104", "eye"),
    Lack("K105", "eye", _READ_STAMP),
    Lack("K109", "eye"),
)
"""The findings that lack a size or group stamp, a piston's and a barrel's alike."""


def _skirt_expected(known: Known, _at: FeatureId, piston: Part) -> Expected:
    sheet, engine = known.sheet, known.engine
    return about(skirt_limit(sheet, engine, piston), original_nm(sheet, engine, piston))


def _skirt_asked(sheet: Sheet, _engine: EngineSet, piston: Part, _at: FeatureId) -> Said:
    return said("ask_skirt", part=piston.id, height=length(sheet.piston.skirt_height_nm))


def _skirt_about_nm(sheet: Sheet, piston: Part) -> int | None:
    return piston.marks.size_nm or sheet.variants[0].groups[0].piston_nm


SKIRT = Feature(
    name="skirt",
    kind="piston",
    gauge="outside",
    where="part",
    expected=_skirt_expected,
    words=lambda _: said("place_skirt"),
    label=said("label_skirt"),
    picture="skirt",
    key=Key("skirt", "size", "skirt diameter as measured", required=False),
    trace_key=Key(
        "skirt_trace", "text", "trace file of the skirt's sweep, in place of skirt", required=False
    ),
    asking=Asking(Round.PISTONS, _skirt_asked, _skirt_about_nm),
    limit=skirt_limit,
    nominals_nm=pistons_nm,
    from_edge_nm=lambda sheet, _: sheet.piston.skirt_height_nm or None,
    is_main=True,
    lacks=(Lack("S104", None, merely=True),),
)
PISTON_STAMP = Fact(
    name="stamp",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(
        Key("size_stamp", "size", "stamped diameter", required=False),
        Key("group_stamp", "text", "stamped tolerance mark", required=False),
    ),
    unreadable=("size", "group"),
    nominals_nm=pistons_nm,
    lacks=STAMP_LACKS,
)
CLEARANCE_STAMP = Fact(
    name="clearance-stamp",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("clearance_stamp", "size", "stamped smallest clearance", required=False),),
    unreadable=("clearance",),
    lacks=(Lack("C103", "eye"),),
)
PIN_CLASS_STAMP = Fact(
    name="pin-class",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("pin_class", "text", "stamped pin class", required=False),),
    unreadable=("pin-class",),
    words=(("pin_class", lambda value: said("fact_pin_class", value=value)),),
)
WEIGHT_CLASS = Fact(
    name="weight-class",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("weight_stamp", "text", "stamped weight class", required=False),),
    unreadable=("weight-class",),
    words=(("weight_class", lambda value: said("fact_weight_class", value=value)),),
)
DIRECTION = Fact(
    name="direction",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("direction_stamp", "text", "mark of its direction, in words", required=False),),
    unreadable=("direction",),
    words=(("direction", lambda value: said("fact_direction", value=value)),),
)
MASS = Fact(
    name="mass",
    kinds=("piston",),
    sort="mass",
    gauge="scale",
    keys=(Key("mass_g", "mass", "mass without rings and pin, in grams", required=False),),
    words=(("mass_g", lambda grams: said("fact_mass", mass=mass(round(float(grams) * 1000)))),),
    lacks=(Lack("S103", "scale", said("do_weigh_bare"), merely=True),),
)
OWN_PIN = Fact(  # the set file's [[pin]] tells it
    name="pin",
    kinds=("piston",),
    sort="there",
    gauge="eye",
    keys=(),
    lacks=(Lack("W107", "eye", merely=True),),
)
FEATURES = (SKIRT,)
FACTS = (PISTON_STAMP, CLEARANCE_STAMP, PIN_CLASS_STAMP, WEIGHT_CLASS, DIRECTION, MASS, OWN_PIN)
