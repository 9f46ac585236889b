"""The catalogue's entry of what the eye sees of any part before it is cleaned."""

from barrelfit.rules.engine.catalogue.nouns import Fact, Lack
from barrelfit.rules.engine.form import Key
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
)
