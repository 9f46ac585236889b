"""Why a sweep gives no size: a code, a sentence and what to do, each written once."""

from rules.sweep.nouns import Refused

REFUSALS = {
    "no-contact": ("the part never touched the gauge", "put the part in the gauge and sweep again"),
    "chords-only": (
        "the part turned back before its full width was between the contacts",
        "sweep right over the crest, out at the other side, several times",
    ),
    "too-few-passes": ("too few passes over the crest", "sweep on until enough passes are counted"),
    "passes-disagree": (
        "the passes disagree",
        "check that the part is clean and sits firmly, and sweep again",
    ),
    "drift": (
        "the passes drift one way",
        "let the part come to the room's temperature, and sweep again",
    ),
    "part-exchanged": ("two different parts were swept", "sweep one part at a time"),
    "gap-in-crest": (
        "readings are missing inside a crest",
        "check cable and gauge, and sweep again",
    ),
    "stale-times": (
        "readings came twice or late: their times do not grow",
        "check the gauge's connection, and sweep again",
    ),
    "out-of-range": (
        "a reading lies outside the gauge's measuring range",
        "take the gauge that fits, and sweep again",
    ),
}


def refuse(reason: str) -> Refused:
    """The refusal with that code."""
    return Refused(reason, *REFUSALS[reason])
