"""The catalogue's entries of a wrist pin."""

from dataclasses import replace
from typing import Final

from barrelfit.rules.engine.catalogue.diameters import about
from barrelfit.rules.engine.catalogue.nouns import (
    Asking,
    Fact,
    Feature,
    Known,
    Lack,
    Round,
    Telling,
)
from barrelfit.rules.engine.catalogue.pistons import mark_asked, pin_classes
from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.limits import Limit, pin_limit
from barrelfit.rules.engine.parts import EngineSet, Part
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import NOTHING, Said, said


def _expected(known: Known, _at: FeatureId, _pin: Part) -> Expected:
    """A used pin is no thicker than a new one; pins of other classes differ by less than wear."""
    new_nm, wear_nm = known.sheet.pin.diameter_nm, known.sheet.pin.wear_nm
    most_nm = None if new_nm is None or wear_nm is None else new_nm + wear_nm
    return replace(about(pin_limit(known.sheet), new_nm), most_nm=most_nm)


def _asked(sheet: Sheet, _engine: EngineSet, pin: Part, _at: FeatureId) -> Said:
    return NOTHING if sheet.pin.diameter_nm is None else said("ask_pin", part=pin.id)


def _limit(sheet: Sheet, _engine: EngineSet, _pin: Part) -> Limit | None:
    return pin_limit(sheet)


def _nominals_nm(sheet: Sheet) -> list[int]:
    return [] if sheet.pin.diameter_nm is None else [sheet.pin.diameter_nm]


DIAMETER = Feature(
    name="diameter",
    kind="pin",
    gauge="outside",
    where="part",
    expected=_expected,
    words=lambda _: said("place_diameter"),
    label=said("label_diameter"),
    picture="pin",
    key=Key("diameter", "size", "diameter as measured", required=False),
    asking=Asking(Round.PINS, _asked, lambda sheet, _: sheet.pin.diameter_nm, topic="pins"),
    limit=_limit,
    nominals_nm=_nominals_nm,
    is_main=True,
    lacks=(Lack("W104", "hand"), Lack("W106", None, merely=True)),
)
PIN_MATE = Fact(
    name="mate",
    kinds=("pin",),
    sort="mate",
    gauge="eye",
    keys=(Key("piston", "text", "id of the piston it belongs to"),),
)
PIN_CLASS = Fact(
    name="class",
    kinds=("pin",),
    sort="marks",
    gauge="eye",
    keys=(Key("class", "text", "marked class", required=False),),
    unreadable=("pin-class",),
    words=(("pin_class", lambda value: said("fact_pin_class", value=value)),),
    lacks=(Lack("W101", "eye", said("do_read_its_class")), Lack("W102", "eye")),
    asking=(
        mark_asked(
            "class",
            "pin-class",
            lambda part: said("ask_class", part=part),
            pin_classes,
            topic="pins",
        ),
    ),
)
PLAY = Fact(
    name="play",
    kinds=("pin",),
    sort="feel",
    gauge="hand",
    keys=(
        Key(
            "play",
            "text",
            "play in its piston by feel",
            required=False,
            choices=("none", "perceptible"),
        ),
    ),
    lacks=(Lack("W103", "hand", said("do_try_its_fit"), merely=True),),
    asking=(
        Telling(
            Round.FITS,
            "play",
            lambda _sheet, part, _at: said("ask_play", part=part.id, piston=part.mate),
            options=lambda *_: ("none", "perceptible"),
            press="none",
            long="perceptible",
            topic="pins",
        ),
    ),
)
FEATURES = (DIAMETER,)
FACTS = (PIN_MATE, PIN_CLASS, PLAY)

WORDS: Final[dict[str, str]] = {
    "do_read_its_class": "read its class mark, one of the sheet's",
    "do_try_its_fit": "try its fit in the piston, oiled, by hand",
    "ask_pin": "{part} wrist pin, where it is worn most",
    "place_diameter": "wrist pin",
    "label_diameter": "pin diameter",
    "ask_class": "{part}: its class mark",
    "ask_play": "{part} in {piston}, oiled, by hand: is there play?",
}
