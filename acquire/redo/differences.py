"""Compares two events: the first field in which they say something else, but for the wording."""

import math
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from barrelfit.acquire.journal.events import Event, kind_of
from barrelfit.acquire.said_json import said_in, texts
from barrelfit.rules.said import NOTHING, Said

FLOAT_TOLERANCE: Final = 1e-9
WORDS: Final = frozenset(
    {"sentence", "advice", "todo", "hint", "notes", "limit_from", "rank", "said"}
)
"""Fields that speak to people; a better wording is no other result."""


@dataclass(frozen=True, slots=True)
class Difference:
    """The first place where today's code says something else than the journal.

    `seq` is the journal's record (None: the journal has none there); `field` names what differs,
    `was` and `now` are both values as text; `because` explains it as far as that is known.
    """

    seq: int | None
    kind: str
    field: str
    was: str
    now: str
    because: Said = NOTHING


def difference_of(seq: int, was: Event, now: Event) -> Difference | None:
    """The first field that differs in more than wording; None when only words do."""
    kind = kind_of(type(was))
    if type(was) is not type(now):
        return Difference(seq, kind, "kind", text_of(was), text_of(now))
    place = _first_place(_told(was), _told(now), "")
    if place is None:
        return None
    name, old, new = place
    return Difference(seq, kind, name, _shown(old), _shown(new))


def is_reworded(was: Event, now: Event) -> bool:
    """Whether words differ, as they are told: in mm, with a point.

    A sentence of a version that wrote sentences is held against the words that today's parts make.
    """
    return was != now and bool(_told(was) != _told(now))


def _told(event: Event) -> Any:  # noqa: ANN401  plain JSON
    return texts(said_in(event), "")


def _first_place(was: Any, now: Any, path: str) -> tuple[str, Any, Any] | None:  # noqa: ANN401  plain JSON
    """Walk two plain values side by side to the first that differs."""
    if isinstance(was, float) and isinstance(now, float):
        return None if math.isclose(was, now, rel_tol=FLOAT_TOLERANCE) else (path, was, now)
    pairs = _pairs(was, now, path)
    if pairs is None:
        return None if was == now else (path, was, now)
    places = (_first_place(old, new, name) for name, old, new in pairs)
    return next((place for place in places if place is not None), None)


def _pairs(was: Any, now: Any, path: str) -> list[tuple[str, Any, Any]] | None:  # noqa: ANN401  plain JSON
    """What stands side by side in two plain values, with its path; None for what has no parts."""
    if isinstance(was, dict) and isinstance(now, dict):
        keys = [key for key in {**was, **now} if key not in WORDS]
        start = f"{path}." if path else ""
        return [(f"{start}{key}", was.get(key), now.get(key)) for key in keys]
    if isinstance(was, list) and isinstance(now, list) and len(was) == len(now):
        both = enumerate(zip(was, now, strict=True))
        return [(f"{path}[{number}]", old, new) for number, (old, new) in both]
    return None


def _shown(value: object) -> str:
    return value if isinstance(value, str) else msgspec.json.encode(value).decode()


def text_of(event: Event) -> str:
    """An event as one line of text."""
    return f"{kind_of(type(event))} {msgspec.json.encode(event).decode()}"
