"""The report's last pages: budgets, assumptions, and what proves the record."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.blocks import Block, Heading, Items, TableBlock, Text
from barrelfit.acquire.report.figures import size_text

Line = Mapping[str, Any]

_WORDS = (
    (
        "Sizes are two-point sizes (ISO 14405-1). The smallest clearance is taken at the smallest "
        "place of the bore, the largest at the largest place."
    ),
    (
        "Taper is the largest difference of diameters along the bore in one direction; the local "
        "taper of ISO 12180 is half of it. Out-of-round is the largest difference of diameters "
        "at one depth. A two-point gauge can't see a shape of three lobes, whose diameters are all "
        "equal."
    ),
    (
        "A value is within its limit when it is inside by the guard band (ISO 14253-1), outside "
        "when it is outside by it, and undecided between. A value on the limit is allowed."
    ),
    "Which limit applies: a legible stamp on the part, then a signed override, then the sheet.",
)


def budgets(lines: Sequence[Line]) -> Iterator[Block]:
    """Uncertainty budgets (GUM, JCGM 100): one table a kind of feature, a row a size."""
    yield Heading("Uncertainty budgets", 2)
    yield Text(
        "Shares of each size's standard uncertainty in µm; u is their combined value (JCGM 100). "
        "A share marked * has a cause in common with other sizes, and cancels in their difference "
        "as far as it is the same.",
        small=True,
    )
    sizes = [line for line in lines if line["kind"] == "size"]
    for feature in dict.fromkeys(s["feature"] for s in sizes):
        own = [s for s in sizes if s["feature"] == feature]
        yield from _budget_tables(own)


def _budget_tables(sizes: Sequence[Line]) -> Iterator[Block]:
    """Sizes whose budgets have the same lines share one table, its columns numbered."""
    shapes: dict[tuple[str, ...], list[Line]] = {}
    for size in sizes:
        shapes.setdefault(tuple(c["name"] for c in size["budget"]), []).append(size)
    for names, alike in shapes.items():
        share = 0.5 / (len(names) + 1)
        numbers = tuple(str(n) for n in range(1, len(names) + 1))
        yield TableBlock(
            ("Feature", "Size at 20 °C", *numbers, "u in µm"),
            tuple(_shares(s) for s in alike),
            (0.26, 0.24, *(share for _ in names), share),
            small=True,
        )
        yield Text("; ".join(_key(alike[0]["budget"])), small=True)


def _shares(size: Line) -> tuple[str, ...]:
    shares = (f"{c['u_um']:.2f}" for c in size["budget"])
    return (size["at"], size_text(size), *shares, f"{size['standard_uncertainty_um']:.2f}")


def _key(budget: Sequence[Line]) -> Iterator[str]:
    """What the numbered columns are: name, type of evaluation, distribution, common cause."""
    for number, line in enumerate(budget, start=1):
        star = " *" if line["shared"] else ""
        yield f"{number}: {line['name']}{star} (type {line['type']}, {line['distribution']})"


def assumptions(lines: Sequence[Line]) -> Iterator[Block]:
    """What had to be assumed, what was not asked for, and the words' meanings."""
    head = next(line for line in lines if line["kind"] == "set")
    if head["notes"]:
        yield Heading("Assumed, or not asked for", 2)
        yield Items(tuple(head["notes"]))
    yield Heading("How it was decided", 2)
    guard = f"The guard band of this report is {head['guard_factor']:g} standard uncertainties."
    yield Items((*_WORDS, guard))


def proof(lines: Sequence[Line]) -> Iterator[Block]:
    """Hashes by which anyone can check that these are the files and the session."""
    head = next(line for line in lines if line["kind"] == "set")
    yield Heading("What this report stands on", 2)
    rows = [
        ("sheet (SHA-256)", head["sheet_sha256"]),
        ("set file (SHA-256)", head["set_sha256"]),
    ]
    for session in (line for line in lines if line["kind"] == "session"):
        rows += [
            ("session", session["session"]),
            ("written by", f"barrelfit {session['code_version']}"),
            ("head hash", session["head_hash"]),
            ("records", f"{session['records']}, {session['whole']}"),
        ]
        yield Text(
            "Run 'barrelfit verify' on the session with this head hash: any line that was changed, "
            "added or taken away since is found. 'barrelfit replay --redo' runs its bytes again.",
            small=True,
        )
    yield TableBlock(("", ""), tuple(rows), (0.22, 0.78), small=True)
