"""Why a sweep gives no size: a code, a sentence and what to do, each written once."""

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.nouns import GaugeTraits, SweepRefused

REFUSALS = {
    "no-contact": (
        "the gauge never touched the part",
        "put the part in the gauge and sweep again",
    ),
    "chords-only": (
        "the part turned back before its full width was between the contacts",
        "go right over the crest and out at the other side, several times",
    ),
    "too-few-passes": (
        "only {found} of at least {wanted} {passes}",
        "sweep on until enough of them are counted",
    ),
    "too-quick": (
        "too few readings on the crest for the speed of the hand",
        "sweep more slowly, or more often",
    ),
    "passes-disagree": (
        "the {passes} disagree by more than tilt and noise explain",
        "clean part and contacts, hold the part straight, and sweep again",
    ),
    "drift": (
        "the size moves one way from pass to pass",
        "let part and gauge come to the room's temperature, and sweep again",
    ),
    "part-exchanged": (
        "two different sizes were swept one after the other",
        "sweep one part, at one height, at a time",
    ),
    "gap-in-crest": (
        "readings are missing where the size is read",
        "check the gauge's battery and connection, and sweep again",
    ),
    "frozen": (
        "the reading stood still while the part moved",
        "check the gauge's display and connection, and sweep again",
    ),
    "stale-times": (
        "readings came twice or late: their times do not grow",
        "check the gauge's connection, and sweep again",
    ),
    "out-of-range": (
        "a reading lies outside the gauge's measuring range",
        "take the gauge that fits the part, and sweep again",
    ),
}


def refuse(reason: str, movement: Movement) -> SweepRefused:
    """The refusal with that code."""
    sentence, advice = REFUSALS[reason]
    return SweepRefused(reason, sentence.format(passes=entry_of(movement).passes), advice)


def too_few(traits: GaugeTraits, found: int) -> SweepRefused:
    """The refusal of a sweep in which only `found` passes count."""
    sentence, advice = REFUSALS["too-few-passes"]
    passes = entry_of(traits.movement).passes
    told = sentence.format(found=found, wanted=traits.passes_min, passes=passes)
    return SweepRefused("too-few-passes", told, advice)
