"""Reason codes of the look before cleaning: what the eye may see, and what it means."""

from dataclasses import dataclass

from barrelfit.rules.engine.parts import Part, PartKind
from barrelfit.rules.model import Severity
from barrelfit.rules.said import NOTHING, Said, said

GOOD = "good"


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing the eye may see on a kind of part.

    `only_on` is the one kind of barrel that can have it, empty where every kind can.
    """

    code: str
    kinds: tuple[PartKind, ...]
    severity: Severity
    sentence: Said
    advice: Said = NOTHING
    only_on: str = ""


_ANY: tuple[PartKind, ...] = ("piston", "barrel", "pin")
_LOOK_AGAIN = said("do_clean_and_look")

REASONS = (
    Reason("cracked", _ANY, Severity.DISCARD, said("seen_cracked")),
    Reason("overheated", _ANY, Severity.DISCARD, said("seen_overheated")),
    Reason("scored-skirt", ("piston",), Severity.DISCARD, said("seen_scored_skirt")),
    Reason("broken-ring-land", ("piston",), Severity.DISCARD, said("seen_broken_ring_land")),
    Reason("damaged-crown", ("piston",), Severity.DISCARD, said("seen_damaged_crown")),
    Reason("damaged-pin-area", ("piston",), Severity.DISCARD, said("seen_damaged_pin_area")),
    Reason("light-scuffing", ("piston",), Severity.UNDECIDED, said("seen_light_scuffing"),
           _LOOK_AGAIN),
    Reason("scored-bore", ("barrel",), Severity.REWORK, said("seen_scored_bore"),
           said("do_reach_score")),
    Reason("peeling-plating", ("barrel",), Severity.REWORK, said("seen_peeling_plating"),
           said("do_replate_or_replace"), only_on="plated"),
    Reason("broken-fins", ("barrel",), Severity.DISCARD, said("seen_broken_fins")),
    Reason("cracked-fin-root", ("barrel",), Severity.DISCARD, said("seen_cracked_fin_root")),
    Reason("loose-liner", ("barrel",), Severity.DISCARD, said("seen_loose_liner"),
           only_on="iron-liner"),
    Reason("damaged-sealing-face", ("barrel",), Severity.REWORK,
           said("seen_damaged_sealing_face"), said("do_dress_bank")),
    Reason("damaged-foot", ("barrel",), Severity.REWORK, said("seen_damaged_foot"),
           said("do_dress_face")),
    Reason("pitted", ("pin",), Severity.DISCARD, said("seen_pitted")),
    Reason("stained", _ANY, Severity.UNDECIDED, said("seen_stained"), _LOOK_AGAIN),
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
