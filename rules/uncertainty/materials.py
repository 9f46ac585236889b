"""Materials as data: expansion coefficients with their doubt and where each was read.

The shipped table is `rules/data/materials.toml`; a shop's own table has the same form.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from barrelfit.rules.errors import RulesError
from barrelfit.rules.said import Said, said

SCHEMA = 1
EXPANSION_MAX_PPB = 100_000  # 100e-6 per kelvin: above any metal a gauge or an engine is made of
_KEYS = {"expansion", "plus_minus", "source", "status"}
_STATUSES = {"read", "from memory"}


@dataclass(frozen=True, slots=True)
class Material:
    """A material's linear expansion, taken as constant near 20 °C.

    Attributes:
        name: its key in the table.
        expansion_ppb: expansion coefficient in 1e-9 per kelvin (11_500 for 11.5e-6 per kelvin).
        plus_minus_ppb: half-width of the rectangular distribution of its doubt, same unit.
        source: where the coefficient is printed, and what the half-width covers.
        status: "read" when the printed value was read, "from memory" when it was not.
    """

    name: str
    expansion_ppb: int
    plus_minus_ppb: int
    source: str
    status: str = "read"


def materials_from(table: Mapping[str, object], name: str = "materials") -> dict[str, Material]:
    """Read a table of materials as parsed from TOML with exact decimals.

    Args:
        table: `schema`, and one table a material: `expansion` and `plus_minus` in 1e-6 per kelvin,
            `source`, and `status` ("read" or "from memory").
        name: of the file, for the sentences of errors.

    Returns:
        The materials by name.

    Raises:
        RulesError: with every problem and the key it is about.
    """
    problems: list[Said] = []
    found: dict[str, Material] = {}
    schema = table.get("schema")
    if schema != SCHEMA or isinstance(schema, bool):
        problems.append(said("schema_expected", name=name, known=SCHEMA, schema=str(schema)))
    for key, value in table.items():
        if key == "schema":
            continue
        if isinstance(value, Mapping):
            found[key] = _material(key, value, f"{name}: {key}", problems)
        else:
            problems.append(said("table_expected", name=name, key=key))
    if not found and not problems:
        problems.append(said("no_material_in_it", name=name))
    if problems:
        raise RulesError(problems)
    return found


def _material(
    key: str, entry: Mapping[object, object], where: str, problems: list[Said]
) -> Material:
    problems.extend(
        said("unknown_of", where=where, key=str(extra), known=tuple(sorted(_KEYS)))
        for extra in entry
        if extra not in _KEYS
    )
    status = _text(entry, "status", where, problems)
    if status and status not in _STATUSES:
        problems.append(said("status_expected", where=where, status=status))
    return Material(
        name=key,
        expansion_ppb=_ppb(entry, "expansion", where, problems),
        plus_minus_ppb=_ppb(entry, "plus_minus", where, problems),
        source=_text(entry, "source", where, problems),
        status=status,
    )


def _text(entry: Mapping[object, object], key: str, where: str, problems: list[Said]) -> str:
    value = entry.get(key)
    if isinstance(value, str) and value:
        return value
    problems.append(said("text_expected", where=where, key=key, value=str(value)))
    return ""


def _ppb(entry: Mapping[object, object], key: str, where: str, problems: list[Said]) -> int:
    """Turn a coefficient in 1e-6 per kelvin into whole 1e-9 per kelvin."""
    value = entry.get(key)
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        ppb = Decimal(value) * 1000
        if ppb.is_finite() and 0 < ppb <= EXPANSION_MAX_PPB and ppb == ppb.to_integral_value():
            return int(ppb)
    problems.append(
        said(
            "expansion_expected",
            where=where,
            key=key,
            most=EXPANSION_MAX_PPB // 1000,
            value=str(value),
        )
    )
    return 0
