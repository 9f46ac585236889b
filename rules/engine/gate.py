"""Reason codes of the look before cleaning: what the eye may see, and what it means."""

from dataclasses import dataclass

from barrelfit.rules.engine.parts import Part, PartKind
from barrelfit.rules.model import Severity

GOOD = "good"


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing the eye may see on a kind of part.

    `only_on` is the one kind of barrel that can have it, empty where every kind can.
    """

    code: str
    kinds: tuple[PartKind, ...]
    severity: Severity
    sentence: str
    advice: str = ""
    only_on: str = ""


_ANY: tuple[PartKind, ...] = ("piston", "barrel", "pin")
_LOOK_AGAIN = "clean it, look again under a lens, and put down what is seen then"

REASONS = (
    Reason("cracked", _ANY, Severity.DISCARD, "a crack is seen"),
    Reason("overheated", _ANY, Severity.DISCARD, "colour or softening shows that it was too hot"),
    Reason("scored-skirt", ("piston",), Severity.DISCARD, "the skirt is scored"),
    Reason("broken-ring-land", ("piston",), Severity.DISCARD, "a ring land is broken or loose"),
    Reason("damaged-crown", ("piston",), Severity.DISCARD, "the crown is burnt or struck"),
    Reason("damaged-pin-area", ("piston",), Severity.DISCARD, "the pin area is torn or beaten out"),
    Reason("light-scuffing", ("piston",), Severity.UNDECIDED, "the skirt is lightly scuffed",
           _LOOK_AGAIN),
    Reason("scored-bore", ("barrel",), Severity.REWORK, "the bore is scored",
           "measure it; only rework that reaches the bottom of the score can save it"),
    Reason("peeling-plating", ("barrel",), Severity.REWORK, "the plating peels or is through",
           "replate or replace", only_on="plated"),
    Reason("broken-fins", ("barrel",), Severity.DISCARD, "cooling fins are broken off"),
    Reason("cracked-fin-root", ("barrel",), Severity.DISCARD, "a fin is cracked at its root"),
    Reason("loose-liner", ("barrel",), Severity.DISCARD, "the liner has moved in its jacket",
           only_on="iron-liner"),
    Reason("damaged-sealing-face", ("barrel",), Severity.REWORK,
           "the sealing face to the head is damaged", "dress all barrels of the bank alike"),
    Reason("damaged-foot", ("barrel",), Severity.REWORK, "the foot or its face is damaged",
           "dress the face; all barrels of the bank to one height"),
    Reason("pitted", ("pin",), Severity.DISCARD, "the pin's surface is pitted or flaking"),
    Reason("stained", _ANY, Severity.UNDECIDED, "stains hide the surface", _LOOK_AGAIN),
)  # fmt: skip
_BY_CODE = {r.code: r for r in REASONS}


def reason(code: str) -> Reason | None:
    """Find a reason by its code, None for `good` and for codes nobody knows."""
    return _BY_CODE.get(code)


def codes_for(kind: PartKind) -> tuple[str, ...]:
    """All codes that may be put down for a kind of part, `good` first."""
    return (GOOD, *(r.code for r in REASONS if kind in r.kinds))


def belongs_to_kind(code: str, barrel_kind: str) -> bool:
    """Whether a barrel of a kind can have what was seen; of an unknown kind it may."""
    seen = reason(code)
    return seen is None or not barrel_kind or seen.only_on in {"", barrel_kind}


def seen_on(part: Part) -> tuple[str, ...]:
    """What the eye saw on a part, without what its kind of barrel can't have."""
    return tuple(c for c in part.looked or () if belongs_to_kind(c, part.barrel_kind))


def stopped_at_gate(part: Part) -> bool:
    """Whether a part failed by eye, so that nothing more is measured on it."""
    seen = (reason(code) for code in seen_on(part))
    return any(r is not None and r.severity is Severity.DISCARD for r in seen)
