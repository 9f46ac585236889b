"""The shipped materials and sheets, for the tests of the rules room."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

from barrelfit import rules
from barrelfit.rules.uncertainty.materials import Material, materials_from

TABLE = Path(rules.__file__).parent / "data" / "materials.toml"


def shipped_materials() -> dict[str, Material]:
    """The table that is shipped."""
    text = TABLE.read_text(encoding="utf-8")
    return materials_from(tomllib.loads(text, parse_float=Decimal), TABLE.name)


def shipped_table(sheet: str) -> dict[str, Any]:
    """A shipped sheet as a parsed file."""
    text = (TABLE.parents[1] / "sheets" / f"{sheet}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text, parse_float=Decimal)
