"""The report's page of what was told at the bench, fact by fact, with who said it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.blocks import Block, Heading, TableBlock, Text

Line = Mapping[str, Any]


def told_facts(facts: Sequence[Line]) -> Iterator[Block]:
    """A table of the `fact` lines; nothing where none was told."""
    if not facts:
        return
    yield Heading("What was told at the bench", 2)
    yield Text(
        "As it was told, in mm and g. A name without a personal code is a statement: nobody proved "
        "who told it. What was told first stands in the table, too, where another value took its "
        "place.",
        small=True,
    )
    rows = tuple((f["at"], _value(f), _who(f), f["utc"][:19].replace("T", " ")) for f in facts)
    yield TableBlock(("What", "Told", "By", "At (UTC)"), rows, (0.24, 0.4, 0.18, 0.18), small=True)


def _value(fact: Line) -> str:
    value = fact["value"] or "unknown: taken back"
    if fact["open"]:
        return f"{value}: NOT TAKEN, {fact['open']}"
    before = f", in place of {fact['before']}" if fact["before"] else ""
    why = f" ({fact['why']})" if fact["why"] else ""
    later = "" if fact["stands"] or not fact["value"] else "; stands no more"
    return f"{value}{before}{why}{later}"


def _who(fact: Line) -> str:
    by = "" if fact["by"] in {"", "board"} else f", by {fact['by']}"
    return f"{fact['who'] or 'nobody named'}{by}"
