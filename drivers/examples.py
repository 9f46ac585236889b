"""A profile's examples: bytes, and what they must become."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from barrelfit.drivers.coded import said
from barrelfit.drivers.schema import Table


@dataclass(frozen=True, slots=True)
class Example:
    """Bytes and what they must become; the keys of an outcome are those of its class."""

    raw: bytes
    outcomes: tuple[Mapping[str, object], ...]
    source: str


_OUTCOME_TEXTS: Final = ("value", "unit", "channel", "judgement", "suspect", "fault", "note")


def examples_in(top: Table) -> tuple[Example, ...]:
    """A profile's `[[example]]` tables; what is wrong with them is noted there."""
    examples = []
    for table in top.tables("example"):
        raw = table.hexadecimal("hex") if table.has("hex") else table.ascii("text")
        outcomes = tuple(_outcome(t) for t in table.tables("outcome")) or (_outcome(table),)
        examples.append(Example(raw, outcomes, table.text("source", "")))
        table.done()
    return tuple(examples)


def _outcome(table: Table) -> dict[str, object]:
    outcome: dict[str, object] = {k: table.text(k) for k in _OUTCOME_TEXTS if table.has(k)}
    if table.has("length_nm"):
        outcome["length_nm"] = table.whole("length_nm", -(10**10), 10**10)
    if table.has("mass_fg"):
        outcome["mass_fg"] = table.whole("mass_fg", -(10**19), 10**19)
    if table.has("unit_assumed"):
        outcome["unit_assumed"] = table.flag("unit_assumed", default=False)
    if not {"length_nm", "mass_fg", "fault", "note"} & outcome.keys():
        table.complain("outcome", said("outcome_unsaid"))
    return outcome
