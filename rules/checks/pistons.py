"""Pistons: the skirt against its original size, and the mass within the set."""

from dataclasses import replace
from typing import Final

from barrelfit.rules.compare import Found, Value, advised, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity
from barrelfit.rules.said import length, said


def skirt_worn(skirt: Value, limit: Limit) -> Found | None:
    """S101: the skirt is worn further below its original size than the wear limit allows.

    Okay: skirt 84.917±0.001 limit 84.860..
    Okay: skirt 84.860±0 limit 84.860..
    Found discard: skirt 84.850±0.001 limit 84.860..
    Found undecided: skirt 84.861±0.001 limit 84.860..
    """
    found = under("S101", Severity.DISCARD, said("skirt"), skirt, limit)
    return advised(found, said("do_another_piston"))


def skirt_over_size(skirt: Value, limit: Limit) -> Found | None:
    """S102: the skirt is larger than a new one, so the stamp, the gauge or its warmth is in doubt.

    Okay: skirt 84.945±0.001 limit ..84.950
    Found undecided: skirt 84.965±0.001 limit ..84.950
    Found undecided: skirt 84.949±0.001 limit ..84.950
    """
    found = over("S102", Severity.UNDECIDED, said("skirt"), skirt, limit)
    if found is None:
        return None
    sentence = said("skirt_over_size", found=found.sentence)
    return replace(found, sentence=sentence, advice=said("do_check_stamp_setting_warmth"))


def mass_missing(*, weighed: bool) -> Found | None:
    """S103: the piston was not weighed.

    Okay: weighed yes
    Found undecided: weighed no
    """
    if weighed:
        return None
    return Found("S103", Severity.UNDECIDED, said("not_weighed"), said("do_weigh"))


def skirt_unmeasured(height_nm: int, *, measured: bool) -> Found | None:
    """S104: the skirt has no size yet.

    Okay: measured yes height 12
    Found undecided: measured no height 12
    """
    if measured:
        return None
    advice = said("do_measure_skirt", height=length(height_nm))
    return Found("S104", Severity.UNDECIDED, said("skirt_unmeasured"), advice)


def weight_class_apart(weight_class: str, others: tuple[str, ...]) -> Found | None:
    """S105: the pistons of the set carry different weight classes.

    Okay: weight_class + others +
    Okay: weight_class - others +
    Found note: weight_class x others +
    """
    apart = tuple(sorted(set(others) - {weight_class, ""}))
    if not weight_class or not apart:
        return None
    sentence = said("weight_class_apart", mark=weight_class, others=apart)
    return Found("S105", Severity.NOTE, sentence, said("do_weigh_them"))


def direction_apart(direction: str, others: tuple[str, ...]) -> Found | None:
    """S106: the pistons of the set carry different marks of direction.

    Okay: direction arrow others Arrow
    Okay: direction - others arrow
    Found note: direction notch others arrow
    """
    mine = direction.strip().casefold()
    apart = tuple(sorted({o for o in others if o and o.strip().casefold() != mine}))
    if not direction or not apart:
        return None
    sentence = said("direction_apart", mark=direction, others=apart)
    return Found("S106", Severity.NOTE, sentence, said("do_look_at_direction"))


def crown_apart(crown: str, wanted: str, others: tuple[str, ...]) -> Found | None:
    """S107: the crown has another form than the variant's pistons, or than others of the set.

    Okay: crown flat wanted - others flat
    Okay: crown - wanted dished others flat
    Found undecided: crown flat wanted dished others flat
    Found undecided: crown flat wanted - others dished
    """
    apart = tuple(sorted({other for other in others if other and other != crown}))
    if not crown or not (apart or wanted not in {"", crown}):
        return None
    sentence = said("crown_not_of_others", crown=crown, others=apart)
    if wanted not in {"", crown}:
        sentence = said("crown_not_of_variant", crown=crown, wanted=wanted)
    return Found("S107", Severity.UNDECIDED, sentence, said("do_look_at_crown"))


RULES = (
    skirt_worn,
    skirt_over_size,
    mass_missing,
    skirt_unmeasured,
    weight_class_apart,
    direction_apart,
    crown_apart,
)

WORDS: Final[dict[str, str]] = {
    "skirt": "skirt",
    "do_another_piston": "another piston; its pin goes with it",
    "skirt_over_size": "{found}; a used skirt is not larger than new",
    "do_check_stamp_setting_warmth": "check the stamp and the gauge's setting, let the part come to"
    " 20 °C, measure again",
    "not_weighed": "the piston was not weighed",
    "do_weigh": "weigh it",
    "skirt_unmeasured": "the skirt has no size yet",
    "do_measure_skirt": "measure it across the thrust faces, {height} above the skirt's lower edge",
    "weight_class_apart": "weight class {mark}, where others of the set have {others}",
    "do_weigh_them": "weigh them; the masses decide",
    "direction_apart": "direction mark '{mark}', where others of the set have '{others:quoted}'",
    "do_look_at_direction": "look at the marks again; a piston the wrong way round knocks, or is of"
    " another engine",
    "crown_not_of_variant": "its crown is {crown}, and the variant's pistons have it {wanted}",
    "crown_not_of_others": "its crown is {crown}; other pistons of the set have it {others:and}",
    "do_look_at_crown": "look at crowns and stamps again: another crown is another compression, and"
    " may strike the head",
}
