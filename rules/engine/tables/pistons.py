"""The limits of pistons on a sheet: the keys, their values, and what their lengths usually are."""

from dataclasses import dataclass
from typing import Final

from barrelfit.rules.engine.form import Filled, Form, Key
from barrelfit.rules.engine.tables.allowance import Allowance

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

SHARES: Final = {
    "skirt_height": ("0.02", "0.5"),
    "wear_max": ("0.00005", "0.003"),
    "over_max": ("0.00003", "0.0006"),
}
"""Least and greatest of a key as shares of the bore; nought says that there is none."""


@dataclass(frozen=True, slots=True)
class PistonLimits:
    """Limits of the pistons; `mass_off_mg` is the most that may be taken off one of them."""

    material: str
    skirt_height_nm: int
    wear: Allowance
    over_nm: int
    mass_spread_mg: int
    mass_off_mg: int


def piston_limits(filled: Filled) -> PistonLimits:
    """The pistons' limits of a filled form."""
    return PistonLimits(
        material=filled.text("material"),
        skirt_height_nm=filled.number("skirt_height") or 0,
        wear=Allowance(filled.number("wear_max"), filled.ratio("wear_ratio_max")),
        over_nm=filled.number("over_max") or 0,
        mass_spread_mg=filled.number("mass_spread_max_g") or 0,
        mass_off_mg=filled.number("mass_off_max_g") or filled.number("mass_spread_max_g") or 0,
    )
