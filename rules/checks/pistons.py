"""Pistons: the skirt against its original size, and the mass within the set."""

from dataclasses import replace

from barrelfit.rules.compare import Found, Value, advised, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.length import shown
from barrelfit.rules.model import Severity


def skirt_worn(skirt: Value, limit: Limit) -> Found | None:
    """S101: the skirt is worn further below its original size than the wear limit allows.

    Okay: skirt 84.917±0.001 limit 84.860..
    Okay: skirt 84.860±0 limit 84.860..
    Found discard: skirt 84.850±0.001 limit 84.860..
    Found undecided: skirt 84.861±0.001 limit 84.860..
    """
    advice = "another piston; its pin goes with it"
    return advised(under("S101", Severity.DISCARD, "skirt", skirt, limit), advice)


def skirt_over_size(skirt: Value, limit: Limit) -> Found | None:
    """S102: the skirt is larger than a new one, so the stamp, the gauge or its warmth is in doubt.

    Okay: skirt 84.945±0.001 limit ..84.950
    Found undecided: skirt 84.965±0.001 limit ..84.950
    Found undecided: skirt 84.949±0.001 limit ..84.950
    """
    found = over("S102", Severity.UNDECIDED, "skirt", skirt, limit)
    if found is None:
        return None
    advice = "check the stamp and the gauge's setting, let the part come to 20 °C, measure again"
    return replace(
        found, sentence=f"{found.sentence}; a used skirt is not larger than new", advice=advice
    )


def mass_missing(*, weighed: bool) -> Found | None:
    """S103: the piston was not weighed.

    Okay: weighed yes
    Found undecided: weighed no
    """
    if weighed:
        return None
    return Found("S103", Severity.UNDECIDED, "the piston was not weighed", "weigh it")


def skirt_unmeasured(height_nm: int, *, measured: bool) -> Found | None:
    """S104: the skirt has no size yet.

    Okay: measured yes height 12
    Found undecided: measured no height 12
    """
    if measured:
        return None
    advice = f"measure it across the thrust faces, {shown(height_nm)} above the skirt's lower edge"
    return Found("S104", Severity.UNDECIDED, "the skirt has no size yet", advice)


def weight_class_apart(weight_class: str, others: tuple[str, ...]) -> Found | None:
    """S105: the pistons of the set carry different weight classes.

    Okay: weight_class + others +
    Okay: weight_class - others +
    Found note: weight_class x others +
    """
    apart = sorted(set(others) - {weight_class, ""})
    if not weight_class or not apart:
        return None
    sentence = f"weight class {weight_class}, where others of the set have {', '.join(apart)}"
    return Found("S105", Severity.NOTE, sentence, "weigh them; the masses decide")


def direction_apart(direction: str, others: tuple[str, ...]) -> Found | None:
    """S106: the pistons of the set carry different marks of direction.

    Okay: direction arrow others Arrow
    Okay: direction - others arrow
    Found note: direction notch others arrow
    """
    mine = direction.strip().casefold()
    apart = sorted({o for o in others if o and o.strip().casefold() != mine})
    if not direction or not apart:
        return None
    names = "', '".join(apart)
    sentence = f"direction mark '{direction}', where others of the set have '{names}'"
    advice = "look at the marks again; a piston the wrong way round knocks, or is of another engine"
    return Found("S106", Severity.NOTE, sentence, advice)


RULES = (
    skirt_worn,
    skirt_over_size,
    mass_missing,
    skirt_unmeasured,
    weight_class_apart,
    direction_apart,
)
