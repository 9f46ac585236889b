"""What must hold between the keys of a set file, and between it and the sheet."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from barrelfit.rules.engine.catalogue import FACTS, KINDS, features_of
from barrelfit.rules.engine.doubts import as_written
from barrelfit.rules.engine.form import Filled, Path, Problem
from barrelfit.rules.engine.gate import codes_for
from barrelfit.rules.engine.parts import KIND_SAID, PartKind
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.engine.slips import length_slip
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.said import NOTHING, length, said

FAR_OFF = 20  # a diameter further than 1/20 from every size of the sheet is no such part's
LIKE = 100  # what a slip is thought of for lies within 1/100: all oversizes and all wear


def set_problems(filled: Filled, sheet: Sheet) -> list[Problem]:
    """Find every contradiction; absent or wrong keys are passed over."""
    return [
        *_named(filled, sheet),
        *_counts(filled, sheet),
        *_names(filled),
        *_looks(filled),
        *_mates(filled),
        *_whence(filled, sheet),
        *_group_stamps(filled, sheet),
        *_places(filled, sheet),
        *_read_and_traced(filled),
        *_rings(filled, sheet),
        *_sizes(filled, sheet),
        *_overrides(filled),
        *_measuring(filled.table("measuring")),
    ]


def _named(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    variant_id, group_id = filled.text("variant"), filled.text("group")
    variant = sheet.variant(variant_id)
    if variant_id and variant is None:
        names = tuple(v.id for v in sheet.variants)
        yield Problem(
            ("variant",),
            said("no_such_variant", variant=variant_id, sheet=sheet.said, names=names),
        )
    if variant is not None and group_id and variant.group(group_id) is None:
        names = tuple(g.id for g in variant.groups)
        sentence = said("no_such_group", group=group_id, variant=variant_id, names=names)
        yield Problem(("group",), sentence)
    oversize_nm = filled.number("oversize")
    if oversize_nm and oversize_nm not in sheet.rework.oversizes_nm:
        has = tuple(map(length, sheet.rework.oversizes_nm)) or said("none")
        sentence = said(
            "no_such_oversize", oversize=length(oversize_nm), sheet=sheet.said, names=has
        )
        yield Problem(("oversize",), sentence)


def _counts(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    for kind in ("piston", "barrel"):
        parts = filled.tables(kind)
        ordinary = [p for p in parts if not (p.flag("spare") or p.text("replaces"))]
        if kind in filled.values and len(ordinary) != sheet.cylinders:
            many = said("many_pistons") if kind == "piston" else said("many_barrels")
            sentence = said(
                "wrong_count", count=len(ordinary), parts=many, cylinders=sheet.cylinders
            )
            yield Problem((kind,), sentence)


def _names(filled: Filled) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for kind in KINDS:
        serials: dict[str, str] = {}
        for part in filled.tables(kind):
            name, serial = part.text("id"), part.text("serial")
            if name and name in seen:
                yield Problem((*part.path, "id"), said("there_twice", name=name))
            seen[name] = name
            if serial and serial in serials:
                sentence = said("serial_twice", serial=serial, other=serials[serial])
                yield Problem((*part.path, "serial"), sentence)
            serials.setdefault(serial, name)
    inside: dict[str, str] = {}
    for piston in filled.tables("piston"):
        number = piston.text("number")
        if number and number in inside:
            sentence = said("number_twice", number=number, other=inside[number])
            yield Problem((*piston.path, "number"), sentence)
        inside.setdefault(number, piston.text("id"))


def _looks(filled: Filled) -> Iterator[Problem]:
    for kind in KINDS:
        known = codes_for(kind)
        for part in filled.tables(kind):
            looked = part.texts("looked")
            for code in looked:
                if code not in known:
                    sentence = said("no_such_look", code=code, kind=KIND_SAID[kind], codes=known)
                    yield Problem((*part.path, "looked"), sentence)
            if "looked" in part.values and (not looked or ("good" in looked and len(looked) > 1)):
                sentence = said("good_or_reasons")
                yield Problem((*part.path, "looked"), sentence)


def _mates(filled: Filled) -> Iterator[Problem]:
    pistons = {p.text("id") for p in filled.tables("piston")}
    replaced = {p.text("replaces") for p in filled.tables("pin")}
    for kind in ("barrel", "pin"):
        taken: dict[str, str] = {}
        for part in filled.tables(kind):
            if kind == "pin" and part.text("id") in replaced:
                continue
            mate = part.text("piston")
            if mate and mate not in pistons:
                yield Problem((*part.path, "piston"), said("no_such_piston", mate=mate))
            if mate and mate in taken:
                sentence = said("has_one_already", mate=mate, other=taken[mate])
                yield Problem((*part.path, "piston"), sentence)
            taken.setdefault(mate, part.text("id"))


def _whence(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    for kind in KINDS:
        known = {p.text("id") for p in filled.tables(kind)}
        taken: dict[str, str] = {}
        for part in filled.tables(kind):
            position, place, name = part.number("position"), part.text("replaces"), part.text("id")
            if position is not None and position > sheet.cylinders:
                sentence = said("beyond_cylinders", cylinders=sheet.cylinders)
                yield Problem((*part.path, "position"), sentence)
            if place and (place not in known or place == name):
                yield Problem(
                    (*part.path, "replaces"),
                    said("no_such_other", kind=KIND_SAID[kind], place=place),
                )
            if place in taken:
                sentence = said("place_taken", other=taken[place], place=place)
                yield Problem((*part.path, "replaces"), sentence)
            if place:
                taken[place] = name


def _group_stamps(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    known = list(dict.fromkeys(g.id for v in sheet.variants for g in v.groups))
    for kind in ("piston", "barrel"):
        for part in filled.tables(kind):
            mark = part.text("group_stamp")
            if mark and mark not in known:
                sentence = said(
                    "no_such_group_stamp", mark=mark, sheet=sheet.said, names=tuple(known)
                )
                yield Problem((*part.path, "group_stamp"), sentence)


def _places(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    for kind in KINDS:
        for entry in features_of(kind):
            if entry.where == "places" and entry.key is not None and entry.trace_key is not None:
                for part in filled.tables(kind):
                    yield from _grid(part, entry.key.name, entry.trace_key.name, sheet)


def _grid(part: Filled, key: str, trace_key: str, sheet: Sheet) -> Iterator[Problem]:
    measured, traced = part.grid(key), part.names(trace_key)
    for name, places in ((key, list(measured)), (trace_key, list(traced))):
        for place in places:
            yield from _place((*part.path, name), place, sheet)
    for depth, direction in set(measured) & set(traced):
        sentence = said("place_given_too", depth=depth, direction=direction, key=key)
        yield Problem((*part.path, trace_key), sentence)


def _read_and_traced(filled: Filled) -> Iterator[Problem]:
    for kind in KINDS:
        for entry in features_of(kind):
            if entry.where == "part" and entry.key is not None and entry.trace_key is not None:
                key, trace_key = entry.key.name, entry.trace_key.name
                for part in filled.tables(kind):
                    if key in part.values and trace_key in part.values:
                        sentence = said("given_too", key=key)
                        yield Problem((*part.path, trace_key), sentence)


def _place(path: Path, place: tuple[str, str], sheet: Sheet) -> Iterator[Problem]:
    depth, direction = place
    depths = [d.id for d in sheet.barrel.depths]
    if depth not in depths:
        yield Problem(
            path, said("no_such_depth", depth=depth, sheet=sheet.said, depths=tuple(depths))
        )
    if direction not in sheet.barrel.directions:
        names = sheet.barrel.directions
        yield Problem(
            path, said("no_such_direction", direction=direction, sheet=sheet.said, names=names)
        )


def _rings(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    known = [r.id for r in sheet.rings]
    widths = {r.id: r.width_nm for r in sheet.rings}
    lie: dict[str, str] = {}
    for piston in filled.tables("piston"):
        seen: set[str] = set()
        for ring in piston.tables("ring"):
            name = ring.text("id")
            if name and name not in known:
                sentence = said("no_such_ring", name=name, sheet=sheet.said, names=tuple(known))
                yield Problem((*ring.path, "id"), sentence)
            if name in seen:
                yield Problem((*ring.path, "id"), said("ring_twice", name=name))
            seen.add(name)
            yield from _other_ring(ring, lie)
            yield from _widths(ring, new=widths.get(name))
            yield from _gap_depth(ring, sheet)


def _other_ring(ring: Filled, lie: dict[str, str]) -> Iterator[Problem]:
    """One ring lies in one groove; `lie` are those that lie somewhere."""
    name = ring.text("replaced_by")
    if name and name in lie:
        yield Problem((*ring.path, "replaced_by"), said("ring_lies_elsewhere", name=name))
    lie.setdefault(name, name)


def _widths(ring: Filled, *, new: int | None) -> Iterator[Problem]:
    """A ring's width says nothing without its groove's; nor that without a ring's, used or new."""
    groove, width = "groove_width" in ring.values, "ring_width" in ring.values
    if groove != width and not (groove and new is not None):
        yield Problem((*ring.path, "ring_width"), said("widths_together"))


def _gap_depth(ring: Filled, sheet: Sheet) -> Iterator[Problem]:
    depth, depths = ring.text("gap_depth"), [d.id for d in sheet.barrel.depths]
    if depth and depth not in depths:
        sentence = said("no_such_depth", depth=depth, sheet=sheet.said, depths=tuple(depths))
        yield Problem((*ring.path, "gap_depth"), sentence)
    if depth and "gap_bore" in ring.values:
        yield Problem((*ring.path, "gap_depth"), said("gap_bore_given_too"))


def _sizes(filled: Filled, sheet: Sheet) -> Iterator[Problem]:
    unit = filled.text("unit")
    for kind in KINDS:
        for part in filled.tables(kind):
            for key, place, size_nm, known_nm in _with_nominals(kind, part, sheet):
                for found in _size((*part.path, key), size_nm, known_nm, unit):
                    yield Problem(found.path, said("at_place", place=place, what=found.sentence))


def _with_nominals(
    kind: PartKind, part: Filled, sheet: Sheet
) -> Iterator[tuple[str, str, int, Sequence[int]]]:
    """What may be held against sizes of the sheet: key, place in words, size, those sizes (nm)."""
    own = features_of(kind)
    whole = [(f.key, f.nominals_nm(sheet)) for f in own if f.where == "part"]
    whole += [(f.keys[0], f.nominals_nm(sheet)) for f in FACTS if kind in f.kinds and f.keys]
    for key, known_nm in whole:
        size_nm = part.number(key.name) if key is not None else None
        if key is not None and known_nm and size_nm is not None:
            yield key.name, "", size_nm, known_nm
    for entry in (f for f in own if f.where == "places"):
        key, known_nm = entry.key, entry.nominals_nm(sheet)
        if key is not None and known_nm:
            for (depth, direction), size_nm in part.grid(key.name).items():
                yield key.name, f"{depth}.{direction} ", size_nm, known_nm


def _size(path: Path, size_nm: int, known_nm: Sequence[int], unit: str) -> Iterator[Problem]:
    if _near(size_nm, known_nm):
        return
    inch, mm = NM_PER_UNIT["inch"], NM_PER_UNIT["mm"]
    hint = NOTHING
    if _near(size_nm * inch // mm, known_nm):
        hint = said("looks_like_inches")
    elif _near(size_nm * mm // inch, known_nm):
        hint = said("looks_like_mm")
    elif _near(size_nm * 10, known_nm) or _near(size_nm // 10, known_nm):
        hint = said("mark_one_off")
    else:
        text = as_written(size_nm, unit)
        slip = length_slip(text, unit, lambda nm: _near(nm, known_nm, LIKE), far=True)
        hint = said("asks_too", question=slip.question) if slip is not None else NOTHING
    span = said("span", low=length(min(known_nm)), high=length(max(known_nm)))
    sentence = said("far_from_sheet", size=length(size_nm), span=span, hint=hint)
    yield Problem(path, sentence)


def _near(size_nm: int | Fraction, known_nm: Sequence[int], part: int = FAR_OFF) -> bool:
    return any(abs(Fraction(size_nm) - k) * part <= k for k in known_nm)


def _overrides(filled: Filled) -> Iterator[Problem]:
    parts = {p.text("id") for kind in KINDS for p in filled.tables(kind)}
    limits: dict[tuple[str, str], int] = {}
    for override in filled.tables("override"):
        part = override.text("part")
        if part and part not in parts:
            yield Problem((*override.path, "part"), said("no_such_part", part=part))
        value_nm = override.number("value")
        if value_nm is not None:
            limits[override.text("quantity"), part] = value_nm
        low_nm, high_nm = limits.get(("clearance.min", part)), limits.get(("clearance.max", part))
        if low_nm is not None and high_nm is not None and high_nm < low_nm:
            sentence = said("clearances_crossed", high=length(high_nm), low=length(low_nm))
            yield Problem((*override.path, "value"), sentence)


def _measuring(measuring: Filled) -> Iterator[Problem]:
    if ("standard" in measuring.values) != ("standard_u" in measuring.values):
        yield Problem((*measuring.path, "standard_u"), said("standard_and_u"))
    temps = [k for k in ("gauge_temp_c", "part_temp_c", "room_temp_c") if k in measuring.values]
    if measuring.flag("at_20") and temps:
        sentence = said("at_20_already", temps=tuple(temps))
        yield Problem((*measuring.path, "at_20"), sentence)
