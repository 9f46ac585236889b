"""An engine's sheet: its sizes and limits as frozen values in nm (masses in mg)."""

from collections.abc import Mapping
from dataclasses import dataclass

from barrelfit.rules.engine.form import Filled, FormError, Problem, fill
from barrelfit.rules.engine.sheet_check import sheet_problems
from barrelfit.rules.engine.sheet_form import SCHEMA, SHEET
from barrelfit.rules.engine.tables.barrels import BarrelLimits, barrel_limits
from barrelfit.rules.engine.tables.pins import PinLimits, pin_limits
from barrelfit.rules.engine.tables.pistons import PistonLimits, piston_limits
from barrelfit.rules.engine.tables.rings import RingLimits, ring_limits
from barrelfit.rules.said import Said, said


@dataclass(frozen=True, slots=True)
class Group:
    """A size group: the tolerance mark `id` stands for these original sizes at 20 °C, in nm."""

    id: str
    piston_nm: int
    bore_nm: int


@dataclass(frozen=True, slots=True)
class Variant:
    """A variant of the engine with its size groups; its own smallest clearance, if it has one.

    `crown` is the form of its pistons' crowns, empty where the sheet does not say.
    """

    id: str
    groups: tuple[Group, ...]
    clearance_min_nm: int | None = None
    crown: str = ""

    def group(self, group_id: str) -> Group | None:
        """Find a size group by its mark."""
        return next((g for g in self.groups if g.id == group_id), None)


@dataclass(frozen=True, slots=True)
class Bank:
    """A bank and the numbers of its cylinders."""

    id: str
    cylinders: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ReworkLimits:
    """Oversizes that can be had, and the stock that boring and honing need on the diameter.

    `honing_most_nm` is the most that is honed off, None where only the bore's limit says so.
    """

    oversizes_nm: tuple[int, ...]
    boring_nm: int
    honing_nm: int
    honing_most_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Costs:
    """Relative costs of mends; a shop sets its own."""

    hone: int = 1
    lighten: int = 1
    piston: int = 3
    barrel: int = 6
    oversize: int = 12


@dataclass(frozen=True, slots=True)
class Sheet:
    """One engine's limits, as its sheet states them."""

    id: str
    revision: str
    unit: str
    engine: str
    source: str
    cylinders: int
    banks: tuple[Bank, ...]
    variants: tuple[Variant, ...]
    piston: PistonLimits
    rings: tuple[RingLimits, ...]
    pin: PinLimits
    barrel: BarrelLimits
    clearance_min_nm: int
    clearance_max_nm: int
    rework: ReworkLimits
    costs: Costs

    @property
    def said(self) -> Said:
        """The sheet as the origin of a limit: `sheet flat-four-85 rev A`."""
        return said("sheet", id=self.id, revision=self.revision)

    def variant(self, variant_id: str) -> Variant | None:
        """Find a variant by its id."""
        return next((v for v in self.variants if v.id == variant_id), None)

    def ring(self, ring_id: str) -> RingLimits | None:
        """Find a ring by its id."""
        return next((r for r in self.rings if r.id == ring_id), None)


def sheet_from(table: Mapping[str, object], name: str) -> Sheet:
    """Build a sheet from a parsed TOML file (decimals as `Decimal`).

    Args:
        table: the parsed file.
        name: name of the file, for the problems' sentences.

    Returns:
        The sheet, all lengths in nm.

    Raises:
        FormError: the file is not as it must be; all problems at once, each with its key.
    """
    newer = _newer(table)
    if newer is not None:
        raise FormError(name, [newer])
    unit = table.get("unit")
    filling = fill(SHEET, table, unit if isinstance(unit, str) else "")
    problems = [*filling.problems, *sheet_problems(filling.filled)]
    if problems:
        raise FormError(name, problems)
    return _sheet(filling.filled)


def _newer(table: Mapping[str, object]) -> Problem | None:
    schema = table.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        sentence = said("schema_newer", schema=schema, known=SCHEMA)
        return Problem(("schema",), sentence)
    return None


def _sheet(filled: Filled) -> Sheet:
    clearance = filled.table("clearance")
    return Sheet(
        id=filled.text("id"),
        revision=filled.text("revision"),
        unit=filled.text("unit"),
        engine=filled.text("engine"),
        source=filled.text("source"),
        cylinders=filled.number("cylinders") or 0,
        banks=tuple(Bank(b.text("id"), b.numbers("cylinders")) for b in filled.tables("bank")),
        variants=tuple(_variant(v) for v in filled.tables("variant")),
        piston=piston_limits(filled.table("piston")),
        rings=tuple(ring_limits(r) for r in filled.tables("ring")),
        pin=pin_limits(filled.table("pin")),
        barrel=barrel_limits(filled.table("barrel")),
        clearance_min_nm=clearance.number("min") or 0,
        clearance_max_nm=clearance.number("max") or 0,
        rework=_rework(filled.table("rework")),
        costs=_costs(filled.table("cost")),
    )


def _variant(filled: Filled) -> Variant:
    groups = tuple(
        Group(g.text("id"), g.number("piston") or 0, g.number("bore") or 0)
        for g in filled.tables("group")
    )
    return Variant(filled.text("id"), groups, filled.number("clearance_min"), filled.text("crown"))


def _rework(filled: Filled) -> ReworkLimits:
    return ReworkLimits(
        oversizes_nm=filled.numbers("oversizes"),
        boring_nm=filled.number("boring_allowance") or 0,
        honing_nm=filled.number("honing_allowance") or 0,
        honing_most_nm=filled.number("honing_max"),
    )


def _costs(filled: Filled) -> Costs:
    usual = Costs()
    return Costs(
        hone=filled.number("hone") or usual.hone,
        lighten=filled.number("lighten") or usual.lighten,
        piston=filled.number("piston") or usual.piston,
        barrel=filled.number("barrel") or usual.barrel,
        oversize=filled.number("oversize") or usual.oversize,
    )
