"""What in a frame tells sign or unit, as a piece of the pattern that names it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from barrelfit.drivers.teaching.forms import FREE, SUM, Forms, literal

_START: Final = "(?=.{%d}(?P<%s>.))"
_END: Final = "(?=.*(?P<%s>.).{%d}\\Z)"


@dataclass(frozen=True, slots=True)
class Teller:
    """Where sign or unit is told: `where` is `zone`, `after`, or `seen` with a look of its own.

    `means` maps the text there to what it means.
    """

    where: str
    look: str = ""
    means: Mapping[str, str] = field(default_factory=dict)


def teller(name: str, wanted: Sequence[str], forms: Forms) -> Teller | None:
    """The part of a frame that tells what is wanted; None where none does.

    Args:
        name: the group's name in the pattern.
        wanted: what each sample means, empty where it means nothing (the sign of zero).
        forms: what may come.
    """
    zones = [p.zone for p in forms.told]
    if name == "sign" and (means := _means([_sign(z) for z in zones], wanted)) is not None:
        grown = {z: _meant(z, means) for z in _plain(forms.zones)}
        return Teller("zone", means={z: m for z, m in grown.items() if m})
    heads = ["".join((*p.before, p.zone)) for p in forms.told]
    for at in range(_steady(heads, forms.before)):
        chars = [head[at] for head in heads]
        if (means := _means(chars, wanted)) is not None:
            return Teller("seen", _START % (at, name), means)
    ends = ["".join(p.after) for p in forms.told]
    for at in range(_steady([end[::-1] for end in ends], forms.after)):
        chars = [end[len(end) - 1 - at] for end in ends]
        if (means := _means(chars, wanted)) is not None:
            return Teller("seen", _END % (name, at), means)
    if (means := _means(ends, wanted)) is not None and {literal(e) for e in ends} == set(
        forms.after
    ):
        return Teller("after", means=means)
    return None


def _steady(sides: Sequence[str], patterns: Sequence[str]) -> int:
    """How many characters of a side stand at the same place in every frame that may come."""
    shortest = min(map(len, sides))
    if not any(FREE in pattern for pattern in patterns):
        return shortest
    return min([shortest, *(side.index(SUM) for side in sides if SUM in side)])


def _means(told: Sequence[str], wanted: Sequence[str]) -> dict[str, str] | None:
    """What each text means, where each means one thing and not all the same; None otherwise."""
    means: dict[str, str] = {}
    for text, meaning in zip(told, wanted, strict=True):
        if SUM in text or not text.isascii() or (meaning and means.get(text, meaning) != meaning):
            return None
        if meaning:
            means[text] = meaning
    if len(set(means.values())) < 2:  # noqa: PLR2004  both signs, or both units
        return None
    return {**dict.fromkeys(told, "+"), **means}


def _sign(zone: str) -> str:
    return zone.strip(" 0")


def _meant(zone: str, means: Mapping[str, str]) -> str:
    return means.get(_sign(zone), "")


def _plain(zones: Sequence[str]) -> list[str]:
    """Zones as texts again: they hold blanks, zeros and a sign alone."""
    return [zone.replace("\\", "") for zone in zones]
