"""The keys of a set file, each with its meaning: read by `set_from` and by the help.

What is measured, read, looked at or weighed of a part has its keys in the catalogue.
"""

from barrelfit.rules.engine.catalogue import fact_keys, feature_keys, unreadable_marks
from barrelfit.rules.engine.catalogue.looks import LOOKED
from barrelfit.rules.engine.form import Form, Key
from barrelfit.rules.engine.found_sizes import FOUND, OPEN
from barrelfit.rules.engine.limits import QUANTITIES
from barrelfit.rules.engine.parts import LEAVABLE, STEPS

SCHEMA = 1

MEASURING = Form(
    (
        Key(
            "outside_u",
            "length",
            "standard uncertainty of the outside gauge's sizes",
            required=False,
        ),
        Key("bore_u", "length", "standard uncertainty of the bore gauge's sizes", required=False),
        Key("hand_u", "length", "standard uncertainty of feelers and scales", required=False),
        Key("standard", "text", "ring or block that both gauges were set with", required=False),
        Key(
            "standard_u",
            "length",
            "its standard uncertainty; it cancels in a clearance",
            required=False,
        ),
        Key("gauge_temp_c", "celsius", "temperature of the gauges", required=False),
        Key("part_temp_c", "celsius", "temperature of the parts", required=False),
        Key("room_temp_c", "celsius", "temperature of the room", required=False),
        Key("at_20", "flag", "the sizes below are corrected to 20 °C already", required=False),
        Key("gauge_material", "text", "material of the gauges", required=False),
        Key(
            "outside_movement",
            "text",
            "of the traces",
            required=False,
            choices=("following", "screw"),
        ),
        Key("digit", "size", "last digit of the gauges, of the traces", required=False),
    )
)
PISTON_RING = Form(
    (
        Key("id", "text", "name of the ring, as on the sheet"),
        Key("replaced_by", "text", "name of another ring that took its place", required=False),
        *fact_keys("piston", of_ring=True),
        *feature_keys("piston", of_ring=True),
    )
)
_PART = (
    Key("id", "text", "name of the part in this job, as in P1, B1, W1"),
    Key("serial", "text", "serial number", required=False),
    *LOOKED.keys,
    Key("photos", "texts", "photo files, beside the set file", required=False),
    Key(
        "unreadable",
        "texts",
        "marks that can't be read",
        required=False,
        choices=unreadable_marks(),
    ),
    Key(
        "absent",
        "texts",
        "marks that it does not have",
        required=False,
        choices=unreadable_marks(),
    ),
)
_REPLACES = Key("replaces", "text", "id of the part whose place it is to take", required=False)
_WHENCE = (
    Key("position", "count", "cylinder it came from", required=False),
    Key("spare", "flag", "one more than the engine has cylinders", required=False),
    _REPLACES,
)
_TEMPERATURE = Key(
    "temp_c", "celsius", "temperature when measured, where it has its own", required=False
)
PISTON = Form(
    (
        *_PART,
        *_WHENCE,
        *fact_keys("piston"),
        _TEMPERATURE,
        *feature_keys("piston"),
        Key("ring", "tables", "its rings", required=False, form=PISTON_RING),
    )
)
BARREL = Form(
    (*_PART, *_WHENCE, *fact_keys("barrel"), _TEMPERATURE, *feature_keys("barrel")),
)
PIN = Form((*_PART, _REPLACES, *fact_keys("pin"), *feature_keys("pin")))
OVERRIDE = Form(
    (
        Key("quantity", "text", "what is set", choices=QUANTITIES),
        Key("part", "text", "id of the part it holds for; for all when left out", required=False),
        Key("value", "length", "the value that holds in place of the sheet's"),
        Key("signed_by", "text", "who signed it"),
        Key("why", "text", "the reason"),
    )
)
SET = Form(
    (
        Key("schema", "count", f"version of this form, now {SCHEMA}"),
        Key("job", "text", "number or name of the job"),
        Key("unit", "text", "unit of every length in the file", choices=("mm", "inch")),
        Key("variant", "text", "variant the engine is said to be"),
        Key("group", "text", "size group the engine is said to have", required=False),
        Key("oversize", "length", "oversize the engine is said to have", required=False),
        Key("head_seal", "text", "kind of the seal the heads have", required=False),
        Key("measured_by", "text", "who measured", required=False),
        Key("left_out", "texts", "what the job does not ask for", required=False, choices=LEAVABLE),
        Key(
            "steps",
            "texts",
            "steps in which a bench asks for what no gauge measures; left out: none",
            required=False,
            choices=STEPS,
        ),
        Key(
            "confirmed",
            "texts",
            "features and keys of unusual values that are meant so: P1/gap/top, measuring.digit",
            required=False,
        ),
        Key("measuring", "table", "how the sizes were measured", required=False, form=MEASURING),
        Key("override", "tables", "signed overrides", required=False, form=OVERRIDE),
        Key("piston", "tables", "the pistons", form=PISTON),
        Key("barrel", "tables", "the barrels", form=BARREL),
        Key("pin", "tables", "the wrist pins", required=False, form=PIN),
        Key("found", "tables", "sizes that a bench found", required=False, form=FOUND),
        Key("open", "tables", "what waited for an answer there", required=False, form=OPEN),
    )
)
