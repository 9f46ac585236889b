"""The catalogue's entry of what the eye sees of any part before it is cleaned."""

from typing import Final

from barrelfit.rules.engine.catalogue.nouns import Fact, Lack, Round, Telling
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.gate import GOOD, codes_for
from barrelfit.rules.said import said

_LOOK = said("do_look_at_it")

LOOKED = Fact(
    name="looked",
    kinds=("piston", "barrel", "pin"),
    sort="looks",
    gauge="eye",
    keys=(
        Key(
            "looked",
            "texts",
            'what the look before cleaning saw: ["good"], or reason codes',
            required=False,
        ),
    ),
    lacks=(Lack("E101", "eye", _LOOK, merely=True), Lack("E103", "eye")),
    asking=(
        Telling(
            Round.LOOK,
            "looked",
            lambda _sheet, part, _at: said("ask_look", part=part.id),
            options=lambda _, part: codes_for(part.kind),
            press=GOOD,
            topic="looked-at",
        ),
    ),
)

WORDS: Final[dict[str, str]] = {
    "do_look_at_it": "look at it before cleaning: cracks, scoring, ring lands, pin area, fins and"
    " faces",
    "ask_look": "{part}: look at it, before it is cleaned; what is seen?",
}
