"""The report's pages on each part: marks, look, photos, sizes with intervals, findings."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barrelfit.acquire.report.blocks import (
    Block,
    Cell,
    Picture,
    StandingBlock,
    TableBlock,
    Text,
    VerdictBlock,
)
from barrelfit.acquire.report.charts import bore_map
from barrelfit.acquire.report.figures import length, microns, size_text
from barrelfit.rules.engine.catalogue import FACTS, feature
from barrelfit.rules.engine.catalogue.barrels import BORE

Line = Mapping[str, Any]


def part_pages(lines: Sequence[Line], photos: Mapping[str, Sequence[Picture]]) -> Iterator[Block]:
    """All there is to say of every part, and of every pair."""
    sizes = [line for line in lines if line["kind"] == "size"]
    sheet = next(line for line in lines if line["kind"] == "sheet")
    for part in lines:
        if part["kind"] == "part":
            own = [s for s in sizes if s["part"] == part["part"]]
            yield from _part(part, own, sheet)
            yield from photos.get(part["part"], ())
    for pair in lines:
        if pair["kind"] == "pair":
            yield StandingBlock(pair["pair"], pair["verdict"])
            yield _findings(pair)


def _part(part: Line, sizes: Sequence[Line], sheet: Line) -> Iterator[Block]:
    yield StandingBlock(part["part"], part["verdict"], "; ".join(_facts(part)))
    if part["findings"]:
        yield _findings(part)
    bore = [s for s in sizes if s["feature"] == BORE.name]
    others = [s for s in sizes if s["feature"] != BORE.name]
    if others:
        rows = tuple((_name(s), size_text(s), length(s["read_mm"]), _source(s)) for s in others)
        yield TableBlock(
            ("Feature", "Size at 20 °C", "As read", "From"), rows, (0.3, 0.26, 0.16, 0.28)
        )
    if bore:
        yield from _bore(part, bore, sheet)


def _facts(part: Line) -> Iterator[str]:
    marks = part["marks"]
    yield f"{part['is']}, serial {part['serial']}" if part["serial"] else part["is"]
    stamped = [length(marks["size_mm"])] if marks["size_mm"] else []
    stamped += [f"group {marks['group']}"] if marks["group"] else []
    told = [words for fact in FACTS if part["is"] in fact.kinds for words in fact.words]
    stamped += [words.format(marks[key]) for key, words in told if marks.get(key)]
    if marks["clearance_min_mm"]:
        stamped.append(f"smallest clearance {length(marks['clearance_min_mm'])}")
    yield f"stamped {', '.join(stamped)}" if stamped else "no stamp put down"
    if marks["unreadable"]:
        yield f"can't be read: {', '.join(marks['unreadable'])}"
    looked = part["looked"]
    yield "not looked at" if looked is None else f"looked at before cleaning: {', '.join(looked)}"
    for key, words in told:
        if part.get(key) not in {None, ""}:
            yield words.format(part[key])
    for photo in part["photos"]:
        digest = f"SHA-256 {photo['sha256'][:16]}…" if photo["sha256"] else "not hashed then"
        yield f"photo {photo['file']} ({digest})"


def _name(size: Line) -> str:
    entry = feature(size["feature"])
    name = str(size["feature"]) if entry is None else entry.label
    return f"{size['depth']} ring: {name}" if size["depth"] else name


def _source(size: Line) -> str:
    """Where a size came from; of a sweep also its passes and what kind of number it is."""
    if not size.get("passes"):
        return str(size["source"])
    return f"{size['source']}, {size['passes']} passes: {size['rank']}"


def _findings(judged: Line) -> TableBlock:
    """Findings with the limit that each stands on and where that limit came from."""
    rows: list[tuple[Cell, ...]] = []
    for finding in judged["findings"]:
        limit = length(finding["limit_mm"]) if finding["limit_mm"] else ""
        weight = finding["severity"]
        mark: Cell = "" if weight == "note" else VerdictBlock(weight)
        rows.append(
            (finding["code"], mark, finding["sentence"], limit, finding["limit_from"] or "")
        )
    head = ("Code", "", "Finding", "Limit", "The limit is from")
    return TableBlock(head, tuple(rows), (0.07, 0.14, 0.37, 0.12, 0.3), small=True)


def _bore(part: Line, bore: Sequence[Line], sheet: Line) -> Iterator[Block]:
    """The bore, depth by direction, as a table and as a picture of its wear."""
    directions = sheet["directions"]
    by_place = {(s["depth"], s["direction"]): s for s in bore}
    rows = [
        (
            f"{d['id']}, {length(d['below_top_mm'])} below the top",
            *(_at(by_place, d["id"], x) for x in directions),
        )
        for d in sheet["depths"]
    ]
    share = 0.62 / len(directions)
    head = ("Bore at 20 °C", *directions)
    yield TableBlock(head, tuple(rows), (0.38, *(share for _ in directions)))
    ranks = sorted({_source(s) for s in bore if s.get("passes")})
    if ranks:
        yield Text(f"From: {'; '.join(ranks)}.", small=True)
    limits = _bore_limits(part)
    if limits is not None:
        yield bore_map(bore, sheet, *limits)


def _at(by_place: Mapping[tuple[str, str], Line], depth: str, direction: str) -> str:
    size = by_place.get((depth, direction))
    return "not measured" if size is None else size_text(size)


def _bore_limits(part: Line) -> tuple[str, str] | None:
    """Original bore and largest allowed, as the judgement had them; None when it had none."""
    original, largest = part.get("original_mm"), part.get("largest_allowed_mm")
    known = isinstance(original, str) and isinstance(largest, str)
    if not known or microns(str(largest), str(original)) <= 0:
        return None
    return str(original), str(largest)
