"""What is measured, in words: `P1 skirt`, `B3 bore top thrust`, `P2 oil ring, closed gap`. Pure."""

from collections.abc import Sequence
from string import digits
from typing import Final

from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId

SHORT_MOST: Final = 6


def place_words(place: FeatureId | None) -> str:
    """A feature in words, its part first; one this board has no words for, as it came."""
    if place is None:
        return ""
    words = feature_words(place)
    return f"{place.part} {words}" if words else place.part


def feature_words(place: FeatureId) -> str:
    """A feature in words without its part, as a column is headed."""
    entry = feature(place.feature)
    if entry is None:
        return " ".join(filter(None, (place.feature, place.depth, place.direction)))
    return " ".join(told(entry.words(place)).split())


def short_names(names: Sequence[str]) -> tuple[str, ...]:
    """Names that fit a narrow place: what all of them share is cut down to its first letter.

    >>> short_names(("piston-1-left", "piston-2-left", "piston-12-left"))
    ('p…1', 'p…2', 'p…12')
    """
    if all(len(name) <= SHORT_MOST for name in names) or len(names) < 2:  # noqa: PLR2004
        return tuple(names)
    head = _shared(names)
    tail = _shared([name[len(head) :][::-1] for name in names])
    return tuple(
        f"{head[:1]}…{name[len(head) : len(name) - len(tail)]}" if head else name for name in names
    )


def _shared(names: Sequence[str]) -> str:
    """What all names begin with; a number is never cut in two."""
    least, most = min(names), max(names)
    same = next(
        (i for i, (a, b) in enumerate(zip(least, most, strict=False)) if a != b), len(least)
    )
    return least[:same].rstrip(digits)
