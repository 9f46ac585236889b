"""Entries and sweeps that gave no size: the question stays with the part until it is answered."""

from barrelfit.rules.compare import Found
from barrelfit.rules.length import shown
from barrelfit.rules.model import Severity


def left_open(at: str, question: str) -> Found | None:
    """T101: something was measured or typed, but it does not count yet.

    Okay: at P1/gap/top question -
    Found undecided: at P1/gap/top question decimal_slip?
    """
    if not question:
        return None
    advice = "answer the question, or measure again"
    return Found("T101", Severity.UNDECIDED, f"{at}: {question}", advice)


def once_more(place: str, *, twice: bool) -> Found | None:
    """T102: one sweep alone says that a part is worn out; a second one is to bear it out.

    Okay: place P1/skirt twice yes
    Found undecided: place P1/skirt twice no
    """
    if twice:
        return None
    advice = f"take it away and measure {place} once more, to be sure"
    return Found("T102", Severity.UNDECIDED, "one sweep alone says that it is worn out", advice)


def measured_apart(first_nm: int, second_nm: int, doubt_nm: int) -> Found | None:
    """T103: two sweeps of one place differ by more than what both leave open.

    Okay: first 84.850 second 84.852 doubt 0.003
    Okay: first 84.850 second 84.853 doubt 0.003
    Found undecided: first 84.850 second 84.854 doubt 0.003
    Found undecided: first 84.921 second 84.850 doubt 0.003
    """
    apart_nm = abs(second_nm - first_nm)
    if apart_nm <= doubt_nm:
        return None
    sentence = (
        f"two sweeps of it do not agree: first {shown(first_nm)}, then {shown(second_nm)}, "
        f"{shown(apart_nm)} apart where {shown(doubt_nm)} would be"
    )
    return Found("T103", Severity.UNDECIDED, sentence, "find out why: dirt, warmth, the hand")


def on_both_sides(before: str, after: str) -> Found | None:
    """T104: of two sweeps one discards the part and the other does not.

    Okay: before discard after discard
    Okay: before undecided after discard
    Okay: before undecided after serviceable
    Found undecided: before discard after serviceable
    Found undecided: before serviceable after discard
    Found undecided: before discard after rework
    """
    if before == after or {before, after} <= {"undecided", "discard"}:
        return None
    if "discard" not in {before, after}:
        return None
    sentence = f"{before} by the first of two sweeps, {after} by the second"
    return Found("T104", Severity.UNDECIDED, sentence, "find out why: dirt, warmth, the hand")


RULES = (left_open, once_more, measured_apart, on_both_sides)
