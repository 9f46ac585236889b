"""An engine's sheet: its sizes and limits as frozen values in nm (masses in mg)."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from barrelfit.rules.engine.form import Filled, FormError, Problem, fill
from barrelfit.rules.engine.sheet_check import sheet_problems
from barrelfit.rules.engine.sheet_form import SCHEMA, SHEET


@dataclass(frozen=True, slots=True)
class Group:
    """A size group: the tolerance mark `id` stands for these original sizes at 20 °C, in nm."""

    id: str
    piston_nm: int
    bore_nm: int


@dataclass(frozen=True, slots=True)
class Variant:
    """A variant of the engine with its size groups; its own smallest clearance, if it has one."""

    id: str
    groups: tuple[Group, ...]
    clearance_min_nm: int | None = None

    def group(self, group_id: str) -> Group | None:
        """Find a size group by its mark."""
        return next((g for g in self.groups if g.id == group_id), None)


@dataclass(frozen=True, slots=True)
class Bank:
    """A bank and the numbers of its cylinders."""

    id: str
    cylinders: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Allowance:
    """A limit given as a length, or as a ratio of a size (0.001 inch per inch is 0.001)."""

    length_nm: int | None
    ratio: Decimal | None = None

    def of(self, size_nm: int) -> int:
        """Length allowed at a size, in nm; a ratio's is cut to whole nm (the stricter side)."""
        if self.length_nm is not None:
            return self.length_nm
        ratio = self.ratio or Decimal(0)
        return int((ratio * size_nm).to_integral_value(rounding=ROUND_FLOOR))

    @property
    def rule(self) -> str:
        """The rule behind a ratio in words, empty for a plain length."""
        return "" if self.ratio is None else f"{self.ratio} for each unit of length"


@dataclass(frozen=True, slots=True)
class PistonLimits:
    """Limits of the pistons; `mass_off_mg` is the most that may be taken off one of them."""

    material: str
    skirt_height_nm: int
    wear: Allowance
    over_nm: int
    mass_spread_mg: int
    mass_off_mg: int


@dataclass(frozen=True, slots=True)
class RingLimits:
    """Side clearance in the groove and closed gap of one ring, in nm; a new ring's width."""

    id: str
    side_min_nm: int
    side_max_nm: int
    gap_min_nm: int
    gap_max_nm: int
    width_nm: int | None = None


@dataclass(frozen=True, slots=True)
class PinLimits:
    """Wrist pins: classes as marked; diameter and its wear where the sheet gives them."""

    classes: tuple[str, ...]
    diameter_nm: int | None
    wear_nm: int | None


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
    taper_rule: str
    out_of_round_max_nm: int
    directions: tuple[str, ...]
    height_groups: tuple[str, ...]
    depths: tuple[Depth, ...]
    kinds: tuple[BarrelKind, ...]

    def kind(self, kind_id: str) -> BarrelKind | None:
        """Find a kind of barrel by its id."""
        return next((k for k in self.kinds if k.id == kind_id), None)


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
    def name(self) -> str:
        """Name of the sheet as an origin of a limit: `sheet flat-four-85 rev A`."""
        return f"sheet {self.id} rev {self.revision}"

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
        sentence = f"{schema} is newer than this program knows ({SCHEMA}); update the program"
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
        piston=_piston(filled.table("piston")),
        rings=tuple(_ring(r) for r in filled.tables("ring")),
        pin=_pin(filled.table("pin")),
        barrel=_barrel(filled.table("barrel")),
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
    return Variant(filled.text("id"), groups, filled.number("clearance_min"))


def _piston(filled: Filled) -> PistonLimits:
    return PistonLimits(
        material=filled.text("material"),
        skirt_height_nm=filled.number("skirt_height") or 0,
        wear=Allowance(filled.number("wear_max"), filled.ratio("wear_ratio_max")),
        over_nm=filled.number("over_max") or 0,
        mass_spread_mg=filled.number("mass_spread_max_g") or 0,
        mass_off_mg=filled.number("mass_off_max_g") or filled.number("mass_spread_max_g") or 0,
    )


def _ring(filled: Filled) -> RingLimits:
    return RingLimits(
        id=filled.text("id"),
        side_min_nm=filled.number("side_clearance_min") or 0,
        side_max_nm=filled.number("side_clearance_max") or 0,
        gap_min_nm=filled.number("gap_min") or 0,
        gap_max_nm=filled.number("gap_max") or 0,
        width_nm=filled.number("width"),
    )


def _pin(filled: Filled) -> PinLimits:
    return PinLimits(filled.texts("classes"), filled.number("diameter"), filled.number("wear_max"))


def _barrel(filled: Filled) -> BarrelLimits:
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
