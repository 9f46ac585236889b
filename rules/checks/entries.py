"""Entries and sweeps that gave no size: the question stays with the part until it is answered."""

from typing import Final

from barrelfit.rules.compare import Found
from barrelfit.rules.model import Severity, Verdict
from barrelfit.rules.said import Said, length, said

_VERDICTS = {
    Verdict.SERVICEABLE: said("verdict_serviceable"),
    Verdict.REWORK: said("verdict_rework"),
    Verdict.DISCARD: said("verdict_discard"),
    Verdict.UNDECIDED: said("verdict_undecided"),
}

LEFT_OPEN = "T101"
"""The finding that stands while something that was told, typed or swept waits for an answer."""


def left_open(at: str, question: Said) -> Found | None:
    """T101: something was measured or typed, but it does not count yet.

    Okay: at P1/gap/top question -
    Found undecided: at P1/gap/top question decimal_slip?
    """
    if not question:
        return None
    sentence = said("of_place", at=at, what=question)
    return Found("T101", Severity.UNDECIDED, sentence, said("do_answer"))


def once_more(place: str, *, twice: bool) -> Found | None:
    """T102: one sweep alone says that a part is worn out; a second one is to bear it out.

    Okay: place P1/skirt twice yes
    Found undecided: place P1/skirt twice no
    """
    if twice:
        return None
    advice = said("do_measure_once_more", place=place)
    return Found("T102", Severity.UNDECIDED, said("one_sweep_alone"), advice)


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
    sentence = said(
        "measured_apart",
        first=length(first_nm),
        second=length(second_nm),
        apart=length(apart_nm),
        doubt=length(doubt_nm),
    )
    return Found("T103", Severity.UNDECIDED, sentence, said("do_find_out_why"))


def on_both_sides(before: Verdict, after: Verdict) -> Found | None:
    """T104: of two sweeps one discards the part and the other does not.

    Okay: before discard after discard
    Okay: before undecided after discard
    Okay: before undecided after serviceable
    Found undecided: before discard after serviceable
    Found undecided: before serviceable after discard
    Found undecided: before discard after rework
    """
    if before is after or {before, after} <= {Verdict.UNDECIDED, Verdict.DISCARD}:
        return None
    if Verdict.DISCARD not in {before, after}:
        return None
    sentence = said("on_both_sides", before=_VERDICTS[before], after=_VERDICTS[after])
    return Found("T104", Severity.UNDECIDED, sentence, said("do_find_out_why"))


def places_apart(
    largest_nm: int, at_largest: str, smallest_nm: int, at_smallest: str
) -> Found | None:
    """T105: two places of one bore are further apart than any wear leaves them (from memory).

    So a gauge was set otherwise for one of them, and another sweep by it bears nothing out.

    Okay: largest 85.120 at_largest top/thrust smallest 85.000 at_smallest bottom/pin
    Okay: largest 85.300 at_largest top/thrust smallest 85.000 at_smallest bottom/pin
    Found undecided: largest 85.600 at_largest top/thrust smallest 85.000 at_smallest bottom/pin
    """
    apart_nm = largest_nm - smallest_nm
    if apart_nm <= PLACES_APART_NM:
        return None
    apart = length(apart_nm)
    sentence = said("places_apart", apart=apart, largest=at_largest, smallest=at_smallest)
    advice = said("do_check_zero_and_measure", largest=at_largest, smallest=at_smallest)
    return Found("T105", Severity.UNDECIDED, sentence, advice)


PLACES_APART_NM = 300_000
RULES = (left_open, once_more, measured_apart, on_both_sides, places_apart)

WORDS: Final[dict[str, str]] = {
    "of_place": "{at}: {what}",
    "do_answer": "answer the question, or measure again",
    "one_sweep_alone": "one sweep alone says that it is worn out",
    "do_measure_once_more": "take it away and measure {place} once more, to be sure",
    "measured_apart": "two sweeps of it do not agree: first {first}, then {second}, {apart} apart"
    " where {doubt} would be",
    "do_find_out_why": "find out why: dirt, warmth, the hand",
    "on_both_sides": "{before} by the first of two sweeps, {after} by the second",
    "verdict_serviceable": "serviceable",
    "verdict_rework": "rework",
    "verdict_discard": "discard",
    "verdict_undecided": "undecided",
    "places_apart": "its bore reads {apart} larger at {largest} than at {smallest}, which no wear"
    " does: a gauge was set otherwise",
    "do_check_zero_and_measure": "check the gauge's zero, then measure {largest} and {smallest}"
    " again",
}
