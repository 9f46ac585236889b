"""The report's page of what was told at the bench, fact by fact, with who said it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.blocks import Block, Heading, TableBlock, Text
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.manner import Manner, told

Line = Mapping[str, Any]


def told_facts(facts: Sequence[Line], manner: Manner) -> Iterator[Block]:
    """A table of the `fact` lines; nothing where none was told."""
    if not facts:
        return
    yield Heading(say("told_at_bench"), 2)
    yield Text(say("told_how"), small=True)
    rows = tuple(
        (f["at"], _value(f, manner), _who(f), f["utc"][:19].replace("T", " ")) for f in facts
    )
    yield TableBlock(
        tuple(map(say, ("told_what", "told_value", "told_by", "told_utc"))),
        rows,
        (0.24, 0.4, 0.18, 0.18),
        small=True,
    )


def _value(fact: Line, manner: Manner) -> str:
    value = fact["value"] or say("told_unknown")
    if fact["open"]:
        return say("told_not_taken", value=value, why=told(fact["open"], manner))
    before = say("told_before", before=fact["before"]) if fact["before"] else ""
    why = f" ({fact['why']})" if fact["why"] else ""
    later = "" if fact["stands"] or not fact["value"] else say("told_no_more")
    return f"{value}{before}{why}{later}"


def _who(fact: Line) -> str:
    by = say_or_raw(f"means_{fact['by']}", fact["by"])
    who = fact["who"] or say("nobody_named")
    who = say("told_proven", who=who) if fact.get("proven") else who
    return who if fact["by"] in {"", "board"} else say("told_by_means", who=who, by=by)
