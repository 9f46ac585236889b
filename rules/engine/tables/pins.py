"""The limits of pins on a sheet: the keys, their values, and what their lengths usually are."""

from dataclasses import dataclass
from typing import Final

from barrelfit.rules.engine.doubts import UM
from barrelfit.rules.engine.form import Filled, Form, Key

PIN = Form(
    (
        Key("classes", "texts", "the pin classes, as marked"),
        Key("diameter", "size", "original diameter of the wrist pin", required=False),
        Key("wear_max", "size", "how far the pin may be below its diameter", required=False),
    )
)

SHARES: Final = {"diameter": ("0.15", "0.4")}
"""Least and greatest of a key as shares of the bore; nought says that there is none."""
LENGTHS: Final = {"wear_max": (3 * UM, 50 * UM)}
"""Least and greatest of a key that is about as large in any engine, in nm."""


@dataclass(frozen=True, slots=True)
class PinLimits:
    """Wrist pins: classes as marked; diameter and its wear where the sheet gives them."""

    classes: tuple[str, ...]
    diameter_nm: int | None
    wear_nm: int | None


def pin_limits(filled: Filled) -> PinLimits:
    """The pins' limits of a filled form."""
    return PinLimits(filled.texts("classes"), filled.number("diameter"), filled.number("wear_max"))
