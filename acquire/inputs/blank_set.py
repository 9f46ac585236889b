"""A set file to fill in: every part of an engine, and every key with its meaning as a comment."""

from collections.abc import Iterable, Iterator

from barrelfit.rules.engine.form import Form, Key
from barrelfit.rules.engine.gate import codes_for
from barrelfit.rules.engine.parts import PartKind
from barrelfit.rules.engine.set_form import BARREL, MEASURING, PIN, PISTON, PISTON_RING, SCHEMA, SET
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.manner import told

_KNOWN = {"id", "piston", "ring", "bore", "bore_trace", "looked"}  # written out, not listed
_LENGTHS = {"length", "size"}


def blank_set(sheet: Sheet) -> str:
    """Text of a set file for an engine, valid as it is: nothing is measured yet."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    yield f"# A set of {told(sheet.said)}: {sheet.engine}."
    yield f"# Lengths in {sheet.unit}. Take the # away where there is something to put down."
    yield f"schema = {SCHEMA}"
    yield 'job = "new job"'
    yield f'unit = "{sheet.unit}"'
    yield f'variant = "{sheet.variants[0].id}"   # {_choice(v.id for v in sheet.variants)}'
    groups = _choice(f"{v.id}: {', '.join(g.id for g in v.groups)}" for v in sheet.variants)
    yield f'# group = "{sheet.variants[0].groups[0].id}"   # {groups}'
    yield from _optional(SET, skip={"group", "measuring", "override", "pin", "found", "open"})
    yield ""
    yield "[measuring]"
    yield from _optional(MEASURING)
    for number in range(1, sheet.cylinders + 1):
        yield from _piston(sheet, number)
    for number in range(1, sheet.cylinders + 1):
        yield from _barrel(sheet, number)
    for number in range(1, sheet.cylinders + 1):
        yield from ("", "[[pin]]", f'id = "W{number}"', f'piston = "P{number}"', _looked("pin"))
        yield from _optional(PIN)
        yield f"# classes: {', '.join(sheet.pin.classes)}"


def _piston(sheet: Sheet, number: int) -> Iterator[str]:
    yield from ("", "[[piston]]", f'id = "P{number}"', _looked("piston"))
    yield from _optional(PISTON)
    for ring in sheet.rings:
        yield from ("[[piston.ring]]", f'id = "{ring.id}"')
        yield from _optional(PISTON_RING, skip={"feeler"})
        leaf = '{ leaf = , went_in = [false, false, false, false], beside = "new" }'
        yield f"# feeler = [{leaf}]   # beside a new ring, or a used one"


def _barrel(sheet: Sheet, number: int) -> Iterator[str]:
    kinds = [k.id for k in sheet.barrel.kinds]
    yield from ("", "[[barrel]]", f'id = "B{number}"', f'piston = "P{number}"')
    yield f'kind = "{kinds[0]}"   # {_choice(kinds)}'
    yield _looked("barrel")
    yield from _optional(BARREL, skip={"kind"})
    for depth in sheet.barrel.depths:
        places = ", ".join(f"{direction} = " for direction in sheet.barrel.directions)
        yield f"# bore.{depth.id} = {{ {places}}}"


def _looked(kind: PartKind) -> str:
    return f'# looked = ["good"]   # or: {", ".join(codes_for(kind)[1:])}'


def _optional(form: Form, skip: set[str] | None = None) -> Iterator[str]:
    """The keys that may be left out, each as a comment with its meaning."""
    for key in form.keys:
        if not key.required and key.name not in _KNOWN | (skip or set()):
            yield f"# {key.name} = {_hint(key)}   # {key.meaning}"


def _hint(key: Key) -> str:
    if key.choices and key.kind == "text":
        return f'"{key.choices[0]}"'
    if key.kind in {"text", "texts"}:
        return '""' if key.kind == "text" else "[]"
    if key.kind == "flag":
        return "true"
    return "0.0" if key.kind in _LENGTHS else "0"


def _choice(names: Iterable[str]) -> str:
    return f"one of: {'; '.join(names)}"
