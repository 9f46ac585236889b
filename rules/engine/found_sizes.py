"""Sizes that a bench found, as a set file holds them: at 20 °C, each with its whole budget.

So a session's set can be judged again elsewhere: by the same sizes it comes to the same verdicts.
"""

import math
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.form import Filled, Form, Key, Problem
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import said
from barrelfit.rules.uncertainty.budget import Budget, Component

SHARE = Form(
    (
        Key("name", "text", "the cause"),
        Key("u_nm", "real", "its share of the standard uncertainty, in nm"),
        Key("kind", "text", "how it was evaluated (GUM)", choices=("A", "B")),
        Key("distribution", "text", "of the cause"),
        Key("dof", "real", "degrees of freedom; infinite when left out", required=False),
        Key("shared", "text", "the same word in two sizes is one common cause", required=False),
        Key("lessens", "flag", "the size shrinks where the cause grows", required=False),
    )
)
FOUND = Form(
    (
        Key("at", "text", "the feature, as in P1/skirt or B1/bore/top/thrust"),
        Key("size", "size", "the size at 20 °C"),
        Key("read", "size", "as read, before it was corrected to 20 °C"),
        Key("source", "text", "where it comes from", choices=("sweep", "hand", "file")),
        Key("first", "flag", "the first of two sweeps of that place", required=False),
        Key("share", "tables", "its uncertainty budget", required=False, form=SHARE),
    )
)
OPEN = Form(
    (
        Key("at", "text", "the part, with its feature or fact"),
        Key("question", "text", "what waits for an answer"),
    )
)


@dataclass(frozen=True, slots=True)
class FoundSizes:
    """Sizes found at a bench, and the first ones of what was measured twice."""

    sizes: tuple[Size, ...] = ()
    firsts: tuple[Size, ...] = ()


def found_of(filled: Filled) -> FoundSizes:
    """The sizes that a set file's `found` tables hold."""
    read = [(one.flag("first") or False, _size(one)) for one in filled.tables("found")]
    return FoundSizes(
        tuple(size for first, size in read if not first), tuple(s for first, s in read if first)
    )


def with_found(filled: Filled, found: FoundSizes, questions: Iterable[tuple[str, str]]) -> Filled:
    """The set's keys with sizes found at a bench, and with what waits for an answer there.

    Args:
        filled: the set's keys.
        found: the sizes.
        questions: place and question of each.
    """
    rows = [
        *(_filled(size, first=True) for size in found.firsts),
        *(_filled(size, first=False) for size in found.sizes),
    ]
    asked = [Filled((), {"at": at, "question": question}) for at, question in questions]
    more = {"found": tuple(rows), "open": tuple(asked)}
    return Filled(filled.path, filled.values | {name: rows for name, rows in more.items() if rows})


def found_problems(filled: Filled, given: Iterable[FeatureId]) -> Iterator[Problem]:
    """What is wrong with the `found` and `open` tables; `given` has a length elsewhere."""
    parts = {p.text("id") for k in ("piston", "barrel", "pin") for p in filled.tables(k)}
    yield from _named_wrong(filled, parts)
    seen = {(str(at), False) for at in given}
    for one in filled.tables("found"):
        at = (one.text("at"), one.flag("first") or False)
        if at in seen:
            yield Problem((*one.path, "at"), said("given_elsewhere", at=at[0]))
        seen.add(at)
        for share in one.tables("share"):
            if share.ratio("dof") == 0:
                yield Problem((*share.path, "dof"), said("dof_is_zero"))
    for name, first in seen:
        if first and (name, False) not in seen:
            yield Problem(("found",), said("first_size_alone", name=name))


def _named_wrong(filled: Filled, parts: Collection[str]) -> Iterator[Problem]:
    for one in filled.tables("found"):
        part, _, rest = one.text("at").partition("/")
        if part not in parts or feature(rest.partition("/")[0]) is None:
            yield Problem((*one.path, "at"), said("no_such_feature", at=one.text("at")))
    for one in filled.tables("open"):
        if one.text("at").partition("/")[0] not in parts:
            yield Problem((*one.path, "at"), said("of_no_part", at=one.text("at")))


def place_of(text: str) -> FeatureId:
    """The place that a text as `P1/skirt` names."""
    part, name, depth, direction, *_ = (*text.split("/"), "", "", "")
    return FeatureId(part, name, depth, direction)


def _size(one: Filled) -> Size:
    budget = Budget(tuple(_component(share) for share in one.tables("share")))
    size_nm, read_nm = one.number("size") or 0, one.number("read") or 0
    return Size(place_of(one.text("at")), size_nm, read_nm, budget, one.text("source"))


def _component(share: Filled) -> Component:
    dof = share.ratio("dof")
    return Component(
        name=share.text("name"),
        u_nm=float(share.ratio("u_nm") or 0),
        kind=share.text("kind"),
        distribution=share.text("distribution"),
        dof=math.inf if dof is None else float(dof),
        shared=share.text("shared"),
        sign=-1 if share.flag("lessens") else 1,
    )


def _filled(size: Size, *, first: bool) -> Filled:
    values: dict[str, object] = {"at": str(size.at), "size": size.size_nm, "read": size.read_nm}
    values["source"] = size.source if size.source in {"sweep", "hand"} else "file"
    if first:
        values["first"] = True
    return Filled((), {**values, "share": tuple(_share(c) for c in size.budget.components)})


def _share(component: Component) -> Filled:
    values: dict[str, object] = {
        "name": component.name,
        "u_nm": Decimal(repr(component.u_nm)),
        "kind": component.kind,
        "distribution": component.distribution,
    }
    if math.isfinite(component.dof):
        values["dof"] = Decimal(repr(component.dof))
    if component.shared:
        values["shared"] = component.shared
    if component.sign < 0:
        values["lessens"] = True
    return Filled((), values)
