"""The keys of an engine sheet, each with its meaning: read by `sheet_from` and by the help."""

from barrelfit.rules.engine.form import Form, Key

SCHEMA = 1
KINDS = ("all-iron", "iron-liner", "plated")

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
        Key("group", "tables", "the size groups of the variant", form=GROUP),
    )
)
BANK = Form(
    (
        Key("id", "text", "name of the bank"),
        Key("cylinders", "counts", "numbers of the cylinders that stand in the bank"),
    )
)
PISTON = Form(
    (
        Key("material", "text", "material, a name of the materials' data"),
        Key(
            "skirt_height", "length", "height above the skirt's lower edge at which it is measured"
        ),
        Key("wear_max", "size", "how far the skirt may be below its original size", required=False),
        Key("wear_ratio_max", "ratio", "the same for each unit of diameter", required=False),
        Key("over_max", "length", "how far a sound skirt may be above its original size"),
        Key("mass_spread_max_g", "mass", "largest difference of mass within the set, in grams"),
        Key(
            "mass_off_max_g",
            "mass",
            "most that may be taken off one piston, in grams; left out: as much as the difference",
            required=False,
        ),
    )
)
RING = Form(
    (
        Key("id", "text", "name of the ring, from the crown down: top, second, oil"),
        Key("width", "size", "width of a new ring", required=False),
        Key("side_clearance_min", "length", "smallest clearance in the groove", required=False),
        Key("side_clearance_max", "size", "largest clearance in the groove"),
        Key("gap_min", "size", "smallest closed gap"),
        Key("gap_max", "size", "largest closed gap"),
    )
)
PIN = Form(
    (
        Key("classes", "texts", "the pin classes, as marked"),
        Key("diameter", "size", "original diameter of the wrist pin", required=False),
        Key("wear_max", "size", "how far the pin may be below its diameter", required=False),
    )
)
DEPTH = Form(
    (
        Key("id", "text", "name of the depth"),
        Key("below_top", "length", "distance below the barrel's top face"),
    )
)
KIND = Form(
    (
        Key("id", "text", "how the bore is made", choices=KINDS),
        Key("material", "text", "material of the bore's wall, a name of the materials' data"),
        Key("seals", "texts", "the head-seal kinds this barrel can be fitted with"),
        Key("wall", "size", "wall of a new barrel (or liner) at its thinnest", required=False),
        Key("wall_min", "size", "thinnest wall that may be left", required=False),
        Key("replate", "flag", "whether a worn plated bore can be replated", required=False),
    )
)
BARREL = Form(
    (
        Key("wear_max", "size", "how far the bore may be above its original size", required=False),
        Key("wear_ratio_max", "ratio", "the same for each unit of diameter", required=False),
        Key("under_max", "length", "how far a sound bore may be below its original size"),
        Key("taper_max", "size", "largest difference of diameters along the bore", required=False),
        Key("taper_ratio_max", "ratio", "the same for each unit of piston travel", required=False),
        Key("travel", "size", "piston travel (stroke), needed for taper_ratio_max", required=False),
        Key("out_of_round_max", "size", "largest difference of diameters at one depth"),
        Key("directions", "texts", "the directions in which each depth is measured"),
        Key("height_groups", "texts", "height groups of barrels, as marked", required=False),
        Key("depth", "tables", "the depths at which the bore is measured", form=DEPTH),
        Key("kind", "tables", "the kinds of barrel this engine was built with", form=KIND),
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
