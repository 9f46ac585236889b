"""The bench file: which gauges stand where, which sheet applies, where sessions are kept.

Every problem is reported at once, each with the file's line. Lengths are decimal texts in mm
(`"0.001"`) or exact TOML decimals; they become whole nm here and nowhere else.
"""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.inputs.size_options import ANVIL_MAX_MM, DIGIT_MAX_MM
from barrelfit.acquire.inputs.toml_places import Path as Place
from barrelfit.acquire.inputs.toml_places import located, unknown_key
from barrelfit.acquire.topics import BENCH_NAME
from barrelfit.acquire.wires.busy_port import BUSY_S
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.errors import UnfitError
from barrelfit.rules.model import Movement
from barrelfit.rules.said import NOTHING, Said, decimal, length, said, written
from barrelfit.rules.sweep.movements import entry_of

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

SCHEMA = 1
LONGEST_MM = 10_000
LOOPBACK = "127.0.0.1"
SETTLING: Final = "settling"
"""How a scale's reading moves that sends all the time: it comes to rest."""


def _name(text: str) -> str:
    if not BENCH_NAME.fullmatch(text):
        raise UnfitError(said("not_a_name"))
    return text


def _decimal(value: object) -> object:
    if isinstance(value, float):
        raise UnfitError(said("write_as_decimal"))
    return value


def _millimetres(value: Decimal) -> Decimal:
    if abs(value) > LONGEST_MM:
        raise UnfitError(said("longer_than_any", most=length(LONGEST_MM * 1_000_000)))
    if (value * 1_000_000) % 1 != 0:
        raise UnfitError(said("not_whole_nm"))
    return value


def nm_of_mm(value: Decimal) -> int:
    """Whole nanometres of an exact number of millimetres."""
    return int(value * 1_000_000)


Name = Annotated[str, AfterValidator(_name)]
Exact = Annotated[Decimal, BeforeValidator(_decimal), Field(allow_inf_nan=False)]
Millimetres = Annotated[Exact, AfterValidator(_millimetres)]


class BenchTable(BaseModel):
    """A TOML table: unknown keys are refused, values never change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class BrokerTable(BenchTable):
    """`[broker]`: the bench's own broker, or the shop's that gets a copy of all that it tells.

    Every bench has a bus of its own on its machine: an embedded broker, on a free port unless one
    is named. `embedded = false` names a broker that gets a copy besides; with `local = true` it is
    the bench's own bus instead, for a machine that has no embedded one.
    """

    embedded: bool = True
    local: bool = False
    host: str = LOOPBACK
    port: Annotated[int, Field(ge=1, le=65535)] | None = None
    user: str = "barrelfit"
    password_file: Path | None = None

    @model_validator(mode="after")
    def _own_is_local(self) -> "BrokerTable":
        if self.embedded and self.host != LOOPBACK:
            raise UnfitError(said("embedded_is_local"))
        if self.local and (self.embedded or self.host != LOOPBACK):
            raise UnfitError(said("local_runs_already"))
        return self


def _address(text: str) -> str:
    try:
        return str(ip_address(text))
    except ValueError:
        raise UnfitError(said("not_an_address")) from None


class BoardTable(BenchTable):
    """`[board]`: whether phones in the workshop's network may be paired with the bench's board.

    With `lan = true` the board serves a page for paired phones, over TLS alone, at `lan_port` of
    all addresses of this machine, or of `lan_address` alone. Everything else it serves on
    127.0.0.1 only.
    """

    lan: bool = False
    lan_port: Annotated[int, Field(ge=1, le=65535)] = 8443
    lan_address: Annotated[str, AfterValidator(_address)] | None = None


class TemperatureTable(BenchTable):
    """`[temperature]`: degrees Celsius of part, gauge and room, left out where unknown."""

    part_c: Annotated[Exact, Field(ge=-20, le=90)] | None = None
    gauge_c: Annotated[Exact, Field(ge=-20, le=90)] | None = None
    room_c: Annotated[Exact, Field(ge=-20, le=90)] | None = None


class SettingTable(BenchTable):
    """`gauge.setting`: how the gauge was set, with its standard uncertainty.

    Two gauges set with the same standard share its error, which cancels in a clearance. What one
    setting itself adds (`barrelfit setting` finds it) is each gauge's own.
    """

    standard: Name | None = None
    u_um: Annotated[Exact, Field(ge=0, le=100)]
    repeat_um: Annotated[Exact, Field(ge=0, le=100)] = Decimal(0)
    repeat_dof: Annotated[int, Field(ge=1, le=10_000)] | None = None


class LineTable(BenchTable):
    """`gauge.line`: how this gauge's port is set, where it is not as its profile says."""

    baud: Annotated[int, Field(ge=50, le=4_000_000)] | None = None
    bits: Literal[7, 8] | None = None
    parity: Literal["none", "even", "odd"] | None = None
    stop: Literal[1, 2] | None = None


class GaugeTable(BenchTable):
    """`[[gauge]]`: one gauge, its wire and what it measures."""

    id: Name
    profile: str
    port: str
    measures: Literal["outside", "bore", "mass"]
    movement: Literal["following", "screw", "bore", "held", "settling"]
    digit_mm: Annotated[Millimetres, Field(gt=0, le=DIGIT_MAX_MM)] = Decimal("0.001")
    anvil_mm: Annotated[Millimetres, Field(gt=0, le=ANVIL_MAX_MM)] = Decimal("6.5")
    range_mm: tuple[Millimetres, Millimetres] | None = None
    averages_ms: Annotated[int, Field(ge=0, le=2_000)] | None = None
    passes: Annotated[int, Field(ge=3, le=50)] = 5
    ask_ms: Annotated[int, Field(ge=10, le=60_000)] = 50
    material: str = "gauge-steel"
    force_n: Annotated[Exact, Field(ge=0, le=100)] | None = None
    setting: SettingTable | None = None
    line: LineTable | None = None
    unit: Literal["mm", "in", "um", "g", "kg", "oz"] | None = None
    channel: Annotated[str, Field(max_length=20)] = ""

    @model_validator(mode="after")
    def _movement_fits(self) -> "GaugeTable":
        if self.measures == "mass":
            return self._scale_fits()
        entry = None if self.movement == SETTLING else entry_of(Movement(self.movement))
        if entry is None or self.measures not in entry.measures:
            raise UnfitError(said("movement_unfit"))
        if self.averages_ms is not None and entry.by_press:
            raise UnfitError(said("averages_of_press"))
        if self.range_mm is not None and self.range_mm[0] >= self.range_mm[1]:
            raise UnfitError(said("range_reversed"))
        return self

    def _scale_fits(self) -> "GaugeTable":
        """A scale is swept by nobody: it settles, or sends once when it has settled."""
        if self.movement not in {SETTLING, "held"}:
            raise UnfitError(said("scale_settles"))
        of_length = sorted(self.model_fields_set & _OF_LENGTH)
        if of_length:
            raise UnfitError(said("not_of_a_scale", keys=tuple(of_length)))
        return self


_OF_LENGTH: Final = frozenset(
    {"digit_mm", "anvil_mm", "range_mm", "averages_ms", "passes", "material", "force_n", "setting"}
)


class PedalTable(BenchTable):
    """`[pedal]`: a foot pedal that the system sees as a USB keyboard."""

    port: Annotated[str, Field(pattern=r"^usb:")]
    press: Literal["next", "again", "back", "undo", "nothing"] = "next"
    long: Literal["next", "again", "back", "undo", "nothing"] = "again"
    double: Literal["next", "again", "back", "undo", "nothing"] = "undo"
    long_ms: Annotated[int, Field(ge=200, le=5_000)] = 700
    double_ms: Annotated[int, Field(ge=100, le=2_000)] = 350


class SetTable(BenchTable):
    """`[set]`: the engine's set on this bench, or a set file that describes every part."""

    job: Name
    file: Path | None = None
    variant: str | None = None
    group: str | None = None
    barrel_kind: str | None = None

    @model_validator(mode="after")
    def _file_or_plain(self) -> "SetTable":
        plain = (self.variant, self.group, self.barrel_kind)
        if self.file is not None and any(value is not None for value in plain):
            raise UnfitError(said("file_or_plain"))
        return self


class VerdictTable(BenchTable):
    """`[verdict]`: the guard band's factor, 1.65 for 95 % after ISO 14253-1."""

    guard_factor: Annotated[Exact, Field(ge=0, le=5)] = Decimal("1.65")


class SimulationTable(BenchTable):
    """`[simulation]`: session time runs `speed` times as fast as life; never on a real bench."""

    speed: Annotated[Exact, Field(gt=0, le=100)] = Decimal(1)


class SignTable(BenchTable):
    """`[sign]`: sign every finished session with this private key (`barrelfit sign` makes one)."""

    key: Path
    who: Annotated[str, Field(min_length=1)]


class BenchFile(BenchTable):
    """A whole bench file; `busy_s` is how long another program may hold a port at the start.

    Without a `set` the bench's jobs are begun at its board.

    `confirmed` names keys of unusual values that are meant so (see `acquire.inputs.bench_doubts`).
    """

    format_version: Annotated[Literal[1], Field(alias="schema")]
    bench: Name
    sheet: str
    who: str = ""
    leads: Path | None = None
    people: Path | None = None
    sessions: Path = Path("~/.local/share/barrelfit")
    confirmed: tuple[str, ...] = ()
    busy_s: Annotated[Exact, Field(ge=0, le=120)] = Decimal(BUSY_S)
    set: SetTable | None = None
    gauge: Annotated[tuple[GaugeTable, ...], Field(min_length=1, max_length=64)]
    pedal: PedalTable | None = None
    broker: BrokerTable = BrokerTable()
    board: BoardTable = BoardTable()
    temperature: TemperatureTable = TemperatureTable()
    verdict: VerdictTable = VerdictTable()
    simulation: SimulationTable | None = None
    sign: SignTable | None = None

    @model_validator(mode="after")
    def _gauges_differ(self) -> "BenchFile":
        problems: list[Said] = []
        ids = [gauge.id for gauge in self.gauge]
        problems += [said("two_gauges_have", what="id", value=v) for v in _repeated(ids)]
        problems += [p for tables in self.by_port if (p := _behind_one_port(tables))]
        if problems:
            raise UnfitError(said("several", parts=tuple(problems)))
        return self

    @property
    def by_port(self) -> tuple[tuple[GaugeTable, ...], ...]:
        """The gauges of each port, in the file's order: one, or several behind one box."""
        ports = dict.fromkeys(gauge.port for gauge in self.gauge)
        return tuple(tuple(g for g in self.gauge if g.port == port) for port in ports)


def _behind_one_port(tables: tuple[GaugeTable, ...]) -> Said:
    """Why gauges can't share their port, nothing where they can, or where there is one."""
    channels = [gauge.channel for gauge in tables]
    if len(tables) > 1 and ("" in channels or _repeated(channels)):
        return said("two_gauges_have", what="port", value=tables[0].port)
    alike = {(g.profile, g.unit, g.ask_ms, g.line) for g in tables}
    return said("one_box_one_wire", port=tables[0].port) if len(alike) > 1 else NOTHING


def _repeated(values: list[str]) -> list[str]:
    return sorted({v for v in values if values.count(v) > 1})


_KINDS: Final[Mapping[str, Callable[[Mapping[str, Any]], Said]]] = {
    "string_type": lambda _: said("must_be_quoted"),
    "bool_type": lambda _: said("must_be_true_or_false"),
    "bool_parsing": lambda _: said("must_be_true_or_false"),
    "int_type": lambda _: said("must_be_integer"),
    "int_parsing": lambda _: said("must_be_integer"),
    "int_from_float": lambda _: said("must_be_integer"),
    "decimal_type": lambda _: said("must_be_decimal"),
    "decimal_parsing": lambda _: said("must_be_decimal"),
    "finite_number": lambda _: said("must_be_decimal"),
    "tuple_type": lambda _: said("must_be_list"),
    "model_type": lambda _: said("must_be_a_table"),
    "literal_error": lambda c: said("must_be_one_of", choices=str(c["expected"])),
    "enum": lambda c: said("must_be_one_of", choices=str(c["expected"])),
    "greater_than": lambda c: said("must_be_above", limit=decimal(str(c["gt"]))),
    "greater_than_equal": lambda c: said("must_be_at_least", limit=decimal(str(c["ge"]))),
    "less_than_equal": lambda c: said("must_be_at_most", limit=decimal(str(c["le"]))),
    "string_too_short": lambda _: said("must_not_be_empty"),
    "too_short": lambda c: said("must_have_entries", count=int(c["min_length"])),
    "too_long": lambda c: said("must_have_fewer", count=int(c["max_length"])),
}
"""What the validator's own checks find, by their kind; of any other its own words are shown."""


def bench_file(text: str, name: str) -> BenchFile:
    """Check a bench file's text; raises UserError with every problem and its line.

    Args:
        text: the TOML text.
        name: how messages call the file.
    """
    data = parse_toml(text, name)
    if isinstance(data.get("schema"), int) and data["schema"] > SCHEMA:
        raise UserError([said("file_newer", name=name, schema=str(data["schema"]), known=SCHEMA)])
    try:
        return BenchFile.model_validate(data)
    except ValidationError as error:
        problems = [p for p in error.errors() if not _is_echo(p, error.errors())]
        raise UserError(located(map(_told, problems), text, name)) from None


def _is_echo(problem: "ErrorDetails", problems: "list[ErrorDetails]") -> bool:
    """Whether a list is called too short only because its entries were refused already."""
    inside = [p for p in problems if p["loc"][:1] == problem["loc"] and len(p["loc"]) > 1]
    return problem["type"] == "too_short" and bool(inside)


def _told(problem: "ErrorDetails") -> Problem:
    """A problem as the validator found it, in our words."""
    path = tuple(p for p in problem["loc"] if p != "function-after")
    says = _says(problem)
    if problem["type"] == "extra_forbidden":
        says = unknown_key(str(path[-1]), _keys_beside(path))
    if problem["type"] == "missing":
        says = said("missing")
    return Problem(path, says)


def _says(problem: "ErrorDetails") -> Said:
    """What one check found: ours say it themselves, the validator's own by their kind."""
    context = problem.get("ctx", {})
    if isinstance(error := context.get("error"), UnfitError):
        return error.what
    make = _KINDS.get(problem["type"])
    return written(problem["msg"]) if make is None else make(context)


def _keys_beside(path: Place) -> list[str]:
    """The keys that the table around a key may have."""
    table: type[BaseModel] = BenchFile
    for step in path[:-1]:
        if isinstance(step, str):
            table = next(_tables_in(table.model_fields[step].annotation))
    return [field.alias or name for name, field in table.model_fields.items()]


def _tables_in(annotation: object) -> Iterator[type[BaseModel]]:
    """The tables that a key's type speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _tables_in(inner)
