"""The catalogue's entries of a piston: its skirt, and what is read, weighed or seen of it."""

from collections.abc import Callable, Sequence
from typing import Final

from barrelfit.rules.engine.catalogue.diameters import about, original_nm, pistons_nm
from barrelfit.rules.engine.catalogue.nouns import (
    UNREADABLE,
    Asking,
    Fact,
    Feature,
    Known,
    Lack,
    Round,
    Telling,
)
from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.limits import skirt_limit
from barrelfit.rules.engine.parts import EngineSet, Part, PartKind
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import NOTHING, Said, length, mass, said

_READ_STAMP = said("do_read_its_stamp")
DONE: Final = "done"
"""What work on a part is said to be that nothing else shows."""
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


def mark_asked(
    key: str,
    mark: str,
    asked: Callable[[str], Said],
    listed: Callable[[Sheet], Sequence[str]] | None = None,
    *,
    round_: Round = Round.IDENTIFY,
    topic: str = "",
) -> Telling:
    """How the plan asks for a mark: read, unreadable, or absent.

    Args:
        key: the set file's key.
        mark: what the set file calls it where it is unreadable or absent.
        asked: what is asked, of a part by its name.
        listed: the marks that the sheet has; where it has none, nobody is asked. None: any mark.
        round_: in which round.
        topic: the topic of `LEAVABLE` it belongs to.
    """

    def sentence(sheet: Sheet, part: Part, _at: FeatureId) -> Said:
        known = listed is None or listed(sheet)
        return asked(part.id) if known else NOTHING

    def options(sheet: Sheet, _part: Part) -> Sequence[str]:
        return () if listed is None else listed(sheet)

    return Telling(round_, key, sentence, options, long=UNREADABLE, mark=mark, topic=topic)


def groups(sheet: Sheet) -> list[str]:
    """The marks of all size groups."""
    return list(dict.fromkeys(g.id for v in sheet.variants for g in v.groups))


def stamp_of(kind: PartKind, size: str, nominals_nm: Callable[[Sheet], Sequence[int]]) -> Fact:
    """What is stamped on a piston or barrel of its size; `size` is how the set file calls that."""
    return Fact(
        name="stamp",
        kinds=(kind,),
        sort="marks",
        gauge="eye",
        keys=(
            Key("size_stamp", "size", size, required=False),
            Key("group_stamp", "text", "stamped tolerance mark", required=False),
        ),
        unreadable=("size", "group"),
        nominals_nm=nominals_nm,
        lacks=STAMP_LACKS,
        asking=(
            mark_asked("size_stamp", "size", lambda part: said("ask_size_stamp", part=part)),
            mark_asked(
                "group_stamp", "group", lambda part: said("ask_group_stamp", part=part), groups
            ),
        ),
    )


def _crowns(sheet: Sheet, _part: Part) -> list[str]:
    return list(dict.fromkeys(v.crown for v in sheet.variants if v.crown))


def pin_classes(sheet: Sheet) -> Sequence[str]:
    """The classes of pins."""
    return sheet.pin.classes


def _height_asked(sheet: Sheet, piston: Part, _at: FeatureId) -> Said:
    return said("ask_height_marked", part=piston.id, height=length(sheet.piston.skirt_height_nm))


def cleaned_asked(asked: Callable[[str], Said]) -> Telling:
    """How the plan asks for a part to be cleaned: all that is measured of it waits for that."""

    def sentence(_sheet: Sheet, part: Part, _at: FeatureId) -> Said:
        return asked(part.id)

    return Telling(Round.CLEAN, "cleaned", sentence, press=DONE, holds=True)


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
PISTON_STAMP = stamp_of("piston", "stamped diameter", pistons_nm)
CLEARANCE_STAMP = Fact(
    name="clearance-stamp",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("clearance_stamp", "size", "stamped smallest clearance", required=False),),
    unreadable=("clearance",),
    lacks=(Lack("C103", "eye"),),
    asking=(
        mark_asked(
            "clearance_stamp", "clearance", lambda part: said("ask_clearance_stamp", part=part)
        ),
    ),
)
PIN_CLASS_STAMP = Fact(
    name="pin-class",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("pin_class", "text", "stamped pin class", required=False),),
    unreadable=("pin-class",),
    words=(("pin_class", lambda value: said("fact_pin_class", value=value)),),
    asking=(
        mark_asked(
            "pin_class",
            "pin-class",
            lambda part: said("ask_pin_class", part=part),
            pin_classes,
            topic="pins",
        ),
    ),
)
WEIGHT_CLASS = Fact(
    name="weight-class",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("weight_stamp", "text", "stamped weight class", required=False),),
    unreadable=("weight-class",),
    words=(("weight_class", lambda value: said("fact_weight_class", value=value)),),
    asking=(
        mark_asked(
            "weight_stamp",
            "weight-class",
            lambda part: said("ask_weight_stamp", part=part),
            topic="mass",
        ),
    ),
)
DIRECTION = Fact(
    name="direction",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(Key("direction_stamp", "text", "mark of its direction, in words", required=False),),
    unreadable=("direction",),
    words=(("direction", lambda value: said("fact_direction", value=value)),),
    asking=(
        mark_asked(
            "direction_stamp", "direction", lambda part: said("ask_direction_stamp", part=part)
        ),
    ),
)
CROWN = Fact(
    name="crown",
    kinds=("piston",),
    sort="choice",
    gauge="eye",
    keys=(Key("crown", "text", "form of its crown: flat, dished, domed", required=False),),
    words=(("crown", lambda value: said("fact_crown", value=value)),),
    asking=(
        Telling(
            Round.IDENTIFY,
            "crown",
            lambda _sheet, part, _at: said("ask_crown", part=part.id),
            options=_crowns,
        ),
    ),
    lacks=(Lack("S107", "eye"),),
)
NUMBER = Fact(
    name="number",
    kinds=("piston",),
    sort="marks",
    gauge="eye",
    keys=(
        Key(
            "number",
            "text",
            "number inside of it, by which its pin is kept with it",
            required=False,
        ),
    ),
    unreadable=("number",),
    words=(("number", lambda value: said("fact_number", value=value)),),
    asking=(mark_asked("number", "number", lambda part: said("ask_number", part=part)),),
)
CLEANED = Fact(
    name="cleaned",
    kinds=("piston",),
    sort="done",
    gauge="eye",
    keys=(
        Key(
            "cleaned", "text", "it is cleaned, its grooves scraped", required=False, choices=(DONE,)
        ),
    ),
    asking=(cleaned_asked(lambda part: said("ask_clean_piston", part=part)),),
)
HEIGHT_MARKED = Fact(
    name="height-marked",
    kinds=("piston",),
    sort="done",
    gauge="eye",
    keys=(
        Key(
            "height_marked",
            "text",
            "the height at which it is measured is marked on its skirt",
            required=False,
            choices=(DONE,),
        ),
    ),
    asking=(Telling(Round.MARK, "height_marked", _height_asked, press=DONE, holds=True),),
)
MASS = Fact(
    name="mass",
    kinds=("piston",),
    sort="mass",
    gauge="scale",
    keys=(Key("mass_g", "mass", "mass without rings and pin, in grams", required=False),),
    words=(("mass_g", lambda grams: said("fact_mass", mass=mass(round(float(grams) * 1000)))),),
    lacks=(Lack("S103", "scale", said("do_weigh_bare"), merely=True),),
    asking=(
        Telling(
            Round.MASS,
            "mass_g",
            lambda _sheet, part, _at: said("ask_mass", part=part.id),
            topic="mass",
        ),
    ),
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
FACTS = (
    *(PISTON_STAMP, CLEARANCE_STAMP, PIN_CLASS_STAMP, WEIGHT_CLASS, DIRECTION, CROWN, NUMBER),
    *(CLEANED, HEIGHT_MARKED, MASS, OWN_PIN),
)

WORDS: Final[dict[str, str]] = {
    "do_read_its_stamp": "read its size or group stamp, or give the engine's group",
    "do_weigh_bare": "weigh it without rings and pin",
    "ask_skirt": "{part} skirt, across the thrust faces, {height} above the lower edge",
    "place_skirt": "skirt",
    "label_skirt": "skirt",
    "fact_weight_class": "weight class {value}",
    "fact_direction": "direction {value}",
    "fact_mass": "mass {mass}",
    "ask_clearance_stamp": "{part}: the smallest clearance that is stamped on it",
    "ask_pin_class": "{part}: the mark of its pin class",
    "ask_weight_stamp": "{part}: the mark of its weight class",
    "ask_direction_stamp": "{part}: the mark of its direction, in words",
    "ask_crown": "{part}: the form of its crown",
    "ask_number": "{part}: the number inside of it, by which its pin is kept with it",
    "ask_clean_piston": "{part}: clean it, and scrape its ring grooves; is it clean?",
    "ask_height_marked": "{part}: mark the height on the skirt, {height} above the lower edge;"
    " is it marked?",
    "ask_mass": "{part}: weigh it without rings and pin",
    "fact_crown": "{value} crown",
    "fact_number": "number {value} inside",
}
