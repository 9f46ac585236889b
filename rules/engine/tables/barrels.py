"""The limits of barrels on a sheet: the keys, their values, and what their lengths usually are."""

from dataclasses import dataclass
from typing import Final

from barrelfit.rules.engine.form import Filled, Form, Key
from barrelfit.rules.engine.tables.allowance import Allowance
from barrelfit.rules.said import Said

KINDS = ("all-iron", "iron-liner", "plated")

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

SHARES: Final = {
    "wear_max": ("0.00005", "0.003"),
    "under_max": ("0.00003", "0.0006"),
    "taper_max": ("0.00005", "0.0015"),
    "travel": ("0.4", "2"),
    "out_of_round_max": ("0.00006", "0.0015"),
}
"""Least and greatest of a key as shares of the bore; nought says that there is none."""
DEPTH_SHARES: Final = {"below_top": ("0.03", "2.2")}
KIND_SHARES: Final = {"wall": ("0.01", "0.2"), "wall_min": ("0.008", "0.2")}


@dataclass(frozen=True, slots=True)
class Depth:
    """A depth of the bore, below the barrel's top face."""

    id: str
    below_top_nm: int


@dataclass(frozen=True, slots=True)
class BarrelKind:
    """How a bore is made: what it is of, which head seals suit it, what wall it has."""

    id: str
    material: str
    seals: tuple[str, ...]
    wall_nm: int | None
    wall_min_nm: int | None
    replate: bool

    @property
    def plated(self) -> bool:
        """A plated bore is never honed or bored to a size."""
        return self.id == "plated"


@dataclass(frozen=True, slots=True)
class BarrelLimits:
    """Limits of the barrels; taper and out-of-round are differences of diameters."""

    wear: Allowance
    under_nm: int
    taper_max_nm: int
    taper_rule: Said
    out_of_round_max_nm: int
    directions: tuple[str, ...]
    height_groups: tuple[str, ...]
    depths: tuple[Depth, ...]
    kinds: tuple[BarrelKind, ...]

    def kind(self, kind_id: str) -> BarrelKind | None:
        """Find a kind of barrel by its id."""
        return next((k for k in self.kinds if k.id == kind_id), None)


def barrel_limits(filled: Filled) -> BarrelLimits:
    """The barrels' limits of a filled form."""
    taper = Allowance(filled.number("taper_max"), filled.ratio("taper_ratio_max"))
    return BarrelLimits(
        wear=Allowance(filled.number("wear_max"), filled.ratio("wear_ratio_max")),
        under_nm=filled.number("under_max") or 0,
        taper_max_nm=taper.of(filled.number("travel") or 0),
        taper_rule=taper.rule,
        out_of_round_max_nm=filled.number("out_of_round_max") or 0,
        directions=filled.texts("directions"),
        height_groups=filled.texts("height_groups"),
        depths=tuple(
            Depth(d.text("id"), d.number("below_top") or 0) for d in filled.tables("depth")
        ),
        kinds=tuple(_kind(k) for k in filled.tables("kind")),
    )


def _kind(filled: Filled) -> BarrelKind:
    return BarrelKind(
        id=filled.text("id"),
        material=filled.text("material"),
        seals=filled.texts("seals"),
        wall_nm=filled.number("wall"),
        wall_min_nm=filled.number("wall_min"),
        replate=filled.flag("replate") or False,
    )
