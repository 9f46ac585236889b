"""The keys of a set file, each with its meaning: read by `set_from` and by the help."""

from barrelfit.rules.engine.form import Form, Key
from barrelfit.rules.engine.limits import QUANTITIES
from barrelfit.rules.engine.parts import LEAVABLE

SCHEMA = 1
MARKS = (
    "size",
    "group",
    "clearance",
    "pin-class",
    "weight-class",
    "direction",
    "height-group",
)

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
PISTON_RING = Form(
    (
        Key("id", "text", "name of the ring, as on the sheet"),
        Key(
            "feeler",
            "tables",
            "leaves tried in the groove, beside a new ring",
            required=False,
            form=FEELER,
        ),
        Key("groove_width", "size", "width of the groove", required=False),
        Key("ring_width", "size", "width of the ring", required=False),
        Key("gap", "size", "closed gap", required=False),
        Key(
            "gap_bore", "size", "diameter of the bore in which the gap was measured", required=False
        ),
        Key(
            "gap_depth",
            "text",
            "in place of gap_bore: depth of its own barrel at which the gap was measured",
            required=False,
        ),
    )
)
_PART = (
    Key("id", "text", "name of the part in this job, as in P1, B1, W1"),
    Key("serial", "text", "serial number", required=False),
    Key(
        "looked",
        "texts",
        'what the look before cleaning saw: ["good"], or reason codes',
        required=False,
    ),
    Key("photos", "texts", "photo files, beside the set file", required=False),
    Key("unreadable", "texts", "marks that can't be read", required=False, choices=MARKS),
)
PISTON = Form(
    (
        *_PART,
        Key("spare", "flag", "one more than the engine has cylinders", required=False),
        Key("size_stamp", "size", "stamped diameter", required=False),
        Key("group_stamp", "text", "stamped tolerance mark", required=False),
        Key("clearance_stamp", "size", "stamped smallest clearance", required=False),
        Key("pin_class", "text", "stamped pin class", required=False),
        Key("weight_stamp", "text", "stamped weight class", required=False),
        Key("direction_stamp", "text", "mark of its direction, in words", required=False),
        Key("mass_g", "mass", "mass without rings and pin, in grams", required=False),
        Key("temp_c", "celsius", "temperature when measured, where it has its own", required=False),
        Key("skirt", "size", "skirt diameter as measured", required=False),
        Key(
            "skirt_trace",
            "text",
            "trace file of the skirt's sweep, in place of skirt",
            required=False,
        ),
        Key("ring", "tables", "its rings", required=False, form=PISTON_RING),
    )
)
BARREL = Form(
    (
        *_PART,
        Key("spare", "flag", "one more than the engine has cylinders", required=False),
        Key("kind", "text", "how the bore is made", required=False),
        Key("seal", "text", "kind of its seal to the head", required=False),
        Key("height_group", "text", "marked height group", required=False),
        Key("piston", "text", "id of the piston it came with", required=False),
        Key("size_stamp", "size", "stamped bore", required=False),
        Key("group_stamp", "text", "stamped tolerance mark", required=False),
        Key("temp_c", "celsius", "temperature when measured, where it has its own", required=False),
        Key("wall", "size", "thinnest wall as measured", required=False),
        Key("bore", "grid", "diameters as measured, as in bore.top.thrust = 85.01", required=False),
        Key("bore_trace", "names", "trace files of the bore's sweeps, as in bore_trace.top.thrust",
            required=False),
    )
)  # fmt: skip
PIN = Form(
    (
        *_PART,
        Key("piston", "text", "id of the piston it belongs to"),
        Key("class", "text", "marked class", required=False),
        Key(
            "play",
            "text",
            "play in its piston by feel",
            required=False,
            choices=("none", "perceptible"),
        ),
        Key("diameter", "size", "diameter as measured", required=False),
    )
)
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
    )
)
