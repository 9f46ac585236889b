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
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.engine.catalogue import FACTS, feature
from barrelfit.rules.engine.catalogue.barrels import BORE
from barrelfit.rules.manner import Manner, told

Line = Mapping[str, Any]


def part_pages(
    lines: Sequence[Line], photos: Mapping[str, Sequence[Picture]], manner: Manner
) -> Iterator[Block]:
    """All there is to say of every part, and of every pair."""
    sizes = [line for line in lines if line["kind"] == "size"]
    sheet = next(line for line in lines if line["kind"] == "sheet")
    for part in lines:
        if part["kind"] == "part":
            own = [s for s in sizes if s["part"] == part["part"]]
            yield from _part(part, own, sheet, manner)
            yield from photos.get(part["part"], ())
    for pair in lines:
        if pair["kind"] == "pair":
            yield StandingBlock(pair["pair"], pair["verdict"])
            yield _findings(pair, manner)


def _part(part: Line, sizes: Sequence[Line], sheet: Line, manner: Manner) -> Iterator[Block]:
    yield StandingBlock(part["part"], part["verdict"], "; ".join(_facts(part, manner)))
    if part["findings"]:
        yield _findings(part, manner)
    bore = [s for s in sizes if s["feature"] == BORE.name]
    others = [s for s in sizes if s["feature"] != BORE.name]
    if others:
        rows = tuple(
            (_name(s), size_text(s, manner), length(s["read_mm"], manner), _source(s))
            for s in others
        )
        head = tuple(map(say, ("feature", "size_at_20", "as_read", "from")))
        yield TableBlock(head, rows, (0.3, 0.26, 0.16, 0.28))
    if bore:
        yield from _bore(part, bore, sheet, manner)


def _facts(part: Line, manner: Manner) -> Iterator[str]:
    marks, kind = part["marks"], say_or_raw(f"is_{part['is']}", part["is"])
    yield say("serial_is", kind=kind, serial=part["serial"]) if part["serial"] else kind
    told_of = [one for fact in FACTS if part["is"] in fact.kinds for one in fact.words]
    stamped = list(_stamped(marks, manner))
    stamped += [told(words(str(marks[key])), manner) for key, words in told_of if marks.get(key)]
    if marks["clearance_min_mm"]:
        clearance = length(marks["clearance_min_mm"], manner)
        stamped.append(say("stamped_clearance", clearance=clearance))
    yield say("stamped", marks=", ".join(stamped)) if stamped else say("no_stamp")
    if marks["unreadable"]:
        yield say("unreadable", marks=", ".join(marks["unreadable"]))
    looked = part["looked"]
    yield say("not_looked_at") if looked is None else say("looked_at", seen=", ".join(looked))
    for key, words in told_of:
        if part.get(key) not in {None, ""}:
            yield told(words(str(part[key])), manner)
    for photo in part["photos"]:
        known = photo["sha256"][:16]
        digest = say("digest", digest=known) if known else say("not_hashed")
        yield say("photo", file=photo["file"], digest=digest)


def _stamped(marks: Line, manner: Manner) -> Iterator[str]:
    if marks["size_mm"]:
        yield length(marks["size_mm"], manner)
    if marks["group"]:
        yield say("stamped_group", group=marks["group"])


def _name(size: Line) -> str:
    entry = feature(size["feature"])
    name = str(size["feature"]) if entry is None else told(entry.label)
    return say("of_ring", ring=size["depth"], what=name) if size["depth"] else name


def _source(size: Line) -> str:
    """Where a size came from; of a sweep also its passes and what kind of number it is."""
    kind, _, file = str(size["source"]).partition(" ")
    source = say_or_raw(f"by_{kind}", kind).format(file=file)
    if not size.get("passes"):
        return source
    rank = say_or_raw(_RANKS.get(size["rank"], ""), size["rank"])
    return say("by_passes", source=source, passes=size["passes"], rank=rank)


_RANKS = {
    "minimum of two-point sizes": "rank_minimum",
    "average of two-point sizes": "rank_average",
    "one two-point size": "rank_one",
    "one value by hand": "rank_by_hand",
}
"""Which number a size is, by what stands in records."""


def _findings(judged: Line, manner: Manner) -> TableBlock:
    """Findings with the limit that each stands on and where that limit came from."""
    rows: list[tuple[Cell, ...]] = []
    for finding in judged["findings"]:
        limit = length(finding["limit_mm"], manner) if finding["limit_mm"] else ""
        weight = finding["severity"]
        mark: Cell = "" if weight == "note" else VerdictBlock(weight)
        sentence, origin = (told(finding[key], manner) for key in ("sentence", "limit_from"))
        rows.append((finding["code"], mark, sentence, limit, origin))
    head = say("code"), "", say("finding"), say("limit"), say("limit_is_from")
    return TableBlock(head, tuple(rows), (0.07, 0.14, 0.37, 0.12, 0.3), small=True)


def _bore(part: Line, bore: Sequence[Line], sheet: Line, manner: Manner) -> Iterator[Block]:
    """The bore, depth by direction, as a table and as a picture of its wear."""
    directions = sheet["directions"]
    by_place = {(s["depth"], s["direction"]): s for s in bore}
    rows = [
        (
            say("below_top", depth=d["id"], below=length(d["below_top_mm"], manner)),
            *(_at(by_place, d["id"], x, manner) for x in directions),
        )
        for d in sheet["depths"]
    ]
    share = 0.62 / len(directions)
    head = (say("bore_at_20"), *directions)
    yield TableBlock(head, tuple(rows), (0.38, *(share for _ in directions)))
    ranks = sorted({_source(s) for s in bore if s.get("passes")})
    if ranks:
        yield Text(say("all_from", sources="; ".join(ranks)), small=True)
    limits = _bore_limits(part)
    if limits is not None:
        yield bore_map(bore, sheet, *limits, manner)


def _at(
    by_place: Mapping[tuple[str, str], Line], depth: str, direction: str, manner: Manner
) -> str:
    size = by_place.get((depth, direction))
    return say("not_measured") if size is None else size_text(size, manner)


def _bore_limits(part: Line) -> tuple[str, str] | None:
    """Original bore and largest allowed, as the judgement had them; None when it had none."""
    original, largest = part.get("original_mm"), part.get("largest_allowed_mm")
    known = isinstance(original, str) and isinstance(largest, str)
    if not known or microns(str(largest), str(original)) <= 0:
        return None
    return str(original), str(largest)
