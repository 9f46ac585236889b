"""The keys of an engine sheet, each with its meaning: read by `sheet_from` and by the help."""

from barrelfit.rules.engine.form import Form, Key
from barrelfit.rules.engine.tables.barrels import BARREL
from barrelfit.rules.engine.tables.pins import PIN
from barrelfit.rules.engine.tables.pistons import PISTON
from barrelfit.rules.engine.tables.rings import RING

SCHEMA = 1

GROUP = Form(
    (
        Key("id", "text", "the tolerance mark of the size group, as stamped"),
        Key("piston", "size", "original skirt diameter of the group, at 20 °C"),
        Key("bore", "size", "original bore diameter of the group, at 20 °C"),
    )
)
VARIANT = Form(
    (
        Key("id", "text", "name of the engine's variant"),
        Key(
            "clearance_min",
            "size",
            "smallest clearance, where the variant has its own",
            required=False,
        ),
        Key("crown", "text", "form of its pistons' crowns: flat, dished, domed", required=False),
        Key("group", "tables", "the size groups of the variant", form=GROUP),
    )
)
BANK = Form(
    (
        Key("id", "text", "name of the bank"),
        Key("cylinders", "counts", "numbers of the cylinders that stand in the bank"),
    )
)
REWORK = Form(
    (
        Key("oversizes", "sizes", "oversizes of pistons that can be had", required=False),
        Key(
            "boring_allowance",
            "length",
            "stock on the diameter an oversize needs to clean up a bore",
        ),
        Key(
            "honing_allowance", "length", "stock on the diameter that honing a bore true takes away"
        ),
        Key(
            "honing_max",
            "size",
            "most that is honed off the diameter; left out: as the bore's limit allows",
            required=False,
        ),
    )
)
CLEARANCE = Form(
    (
        Key("min", "size", "smallest clearance of skirt and bore, at 20 °C"),
        Key("max", "size", "largest clearance of skirt and bore, at 20 °C"),
    )
)
COST = Form(
    (
        Key("hone", "count", "honing one barrel", required=False),
        Key("piston", "count", "one other piston", required=False),
        Key("barrel", "count", "one other barrel", required=False),
        Key("lighten", "count", "taking mass off one piston", required=False),
        Key("oversize", "count", "boring the whole set, with new pistons", required=False),
    )
)
SHEET = Form(
    (
        Key("schema", "count", f"version of this form, now {SCHEMA}"),
        Key("id", "text", "name of the sheet"),
        Key("revision", "text", "revision of the sheet"),
        Key("unit", "text", "unit of every length in the file", choices=("mm", "inch")),
        Key("engine", "text", "the engine in words"),
        Key("source", "text", "where the limits come from: document and page"),
        Key(
            "confirmed",
            "texts",
            "keys of unusual values that are meant so, as in piston.wear_max",
            required=False,
        ),
        Key("cylinders", "count", "how many cylinders the engine has"),
        Key("bank", "tables", "the banks of cylinders", form=BANK),
        Key("variant", "tables", "the variants with their size groups", form=VARIANT),
        Key("piston", "table", "limits of the pistons", form=PISTON),
        Key("ring", "tables", "the piston rings, from the crown down", form=RING),
        Key("pin", "table", "limits of the wrist pins", form=PIN),
        Key("barrel", "table", "limits of the barrels", form=BARREL),
        Key("clearance", "table", "limits of the running clearance", form=CLEARANCE),
        Key("rework", "table", "what rework can do", form=REWORK),
        Key(
            "cost",
            "table",
            "relative costs of mends, for choosing the cheapest",
            required=False,
            form=COST,
        ),
    )
)
