"""The report's last pages: budgets, assumptions, and what proves the record."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.blocks import Block, Heading, Items, TableBlock, Text
from barrelfit.acquire.report.figures import size_text
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.manner import Manner, told, told_all

Line = Mapping[str, Any]

_WORDS = ("word_sizes", "word_form", "word_limit", "word_which")


def budgets(lines: Sequence[Line], manner: Manner) -> Iterator[Block]:
    """Uncertainty budgets (GUM, JCGM 100): one table a kind of feature, a row a size."""
    yield Heading(say("budgets"), 2)
    yield Text(say("budgets_are"), small=True)
    sizes = [line for line in lines if line["kind"] == "size"]
    for feature in dict.fromkeys(s["feature"] for s in sizes):
        own = [s for s in sizes if s["feature"] == feature]
        yield from _budget_tables(own, manner)


def _budget_tables(sizes: Sequence[Line], manner: Manner) -> Iterator[Block]:
    """Sizes whose budgets have the same lines share one table, its columns numbered."""
    shapes: dict[tuple[str, ...], list[Line]] = {}
    for size in sizes:
        shapes.setdefault(tuple(told(c["name"]) for c in size["budget"]), []).append(size)
    for names, alike in shapes.items():
        share = 0.5 / (len(names) + 1)
        numbers = tuple(str(n) for n in range(1, len(names) + 1))
        yield TableBlock(
            (say("feature"), say("size_at_20"), *numbers, say("u_in_um")),
            tuple(_shares(s, manner) for s in alike),
            (0.26, 0.24, *(share for _ in names), share),
            small=True,
        )
        yield Text("; ".join(_key(alike[0]["budget"])), small=True)


def _shares(size: Line, manner: Manner) -> tuple[str, ...]:
    shares = (c["u_um"] for c in size["budget"])
    numbers = (f"{um:.2f}" for um in (*shares, size["standard_uncertainty_um"]))
    return (size["at"], size_text(size, manner), *map(manner.marked, numbers))


def _key(budget: Sequence[Line]) -> Iterator[str]:
    """What the numbered columns are: name, type of evaluation, distribution, common cause."""
    for number, line in enumerate(budget, start=1):
        shape = say_or_raw(f"shape_{line['distribution']}", line["distribution"])
        of = {"name": told(line["name"]), "type": line["type"], "distribution": shape}
        yield say("column_shared" if line["shared"] else "column", number=number, **of)


def assumptions(lines: Sequence[Line], manner: Manner) -> Iterator[Block]:
    """What had to be assumed, what was not asked for, and the words' meanings."""
    head = next(line for line in lines if line["kind"] == "set")
    if head["notes"]:
        yield Heading(say("assumed"), 2)
        yield Items(told_all(head["notes"], manner))
    yield Heading(say("how_decided"), 2)
    guard = say("word_guard", factor=manner.marked(f"{head['guard_factor']:g}"))
    yield Items((*map(say, _WORDS), guard))


def proof(lines: Sequence[Line]) -> Iterator[Block]:
    """Hashes by which anyone can check that these are the files and the session."""
    head = next(line for line in lines if line["kind"] == "set")
    yield Heading(say("stands_on"), 2)
    rows = [
        (say("sheet_hash"), head["sheet_sha256"]),
        (say("set_hash"), head["set_sha256"]),
    ]
    for session in (line for line in lines if line["kind"] == "session"):
        records = "records_whole" if session["whole"] else "records_torn"
        rows += [
            (say("session_row"), session["session"]),
            (say("written_by"), say("program", version=session["code_version"])),
            (say("head_hash"), session["head_hash"]),
            (say("records"), say(records, count=session["records"])),
        ]
        yield Text(say("how_to_verify"), small=True)
    yield TableBlock(("", ""), tuple(rows), (0.22, 0.78), small=True)
