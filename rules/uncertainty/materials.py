"""Materials as data: expansion coefficients with their doubt and where each was read.

The shipped table is `rules/data/materials.toml`; a shop's own table has the same form.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from barrelfit.rules.errors import RulesError

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
    problems: list[str] = []
    found: dict[str, Material] = {}
    schema = table.get("schema")
    if schema != SCHEMA or isinstance(schema, bool):
        problems.append(f"{name}: schema: {SCHEMA} was expected, not {schema}")
    for key, value in table.items():
        if key == "schema":
            continue
        if isinstance(value, Mapping):
            found[key] = _material(key, value, f"{name}: {key}", problems)
        else:
            problems.append(f"{name}: {key}: a table was expected, such as [{key}]")
    if not found and not problems:
        problems.append(f"{name}: no material in it")
    if problems:
        raise RulesError(problems)
    return found


def _material(
    key: str, entry: Mapping[object, object], where: str, problems: list[str]
) -> Material:
    problems.extend(
        f"{where}.{extra}: unknown key; there are: {', '.join(sorted(_KEYS))}"
        for extra in entry
        if extra not in _KEYS
    )
    status = _text(entry, "status", where, problems)
    if status and status not in _STATUSES:
        problems.append(f"{where}.status: 'read' or 'from memory' was expected, not '{status}'")
    return Material(
        name=key,
        expansion_ppb=_ppb(entry, "expansion", where, problems),
        plus_minus_ppb=_ppb(entry, "plus_minus", where, problems),
        source=_text(entry, "source", where, problems),
        status=status,
    )


def _text(entry: Mapping[object, object], key: str, where: str, problems: list[str]) -> str:
    value = entry.get(key)
    if isinstance(value, str) and value:
        return value
    problems.append(f"{where}.{key}: text was expected, not {value!r}")
    return ""


def _ppb(entry: Mapping[object, object], key: str, where: str, problems: list[str]) -> int:
    """Turn a coefficient in 1e-6 per kelvin into whole 1e-9 per kelvin."""
    value = entry.get(key)
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        ppb = Decimal(value) * 1000
        if ppb.is_finite() and 0 < ppb <= EXPANSION_MAX_PPB and ppb == ppb.to_integral_value():
            return int(ppb)
    problems.append(
        f"{where}.{key}: a number above 0 and up to {EXPANSION_MAX_PPB // 1000} in 1e-6 per kelvin,"
        f" with at most three decimals, was expected, not {value}"
    )
    return 0
