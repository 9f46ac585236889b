"""Entries and sweeps that gave no size: the question stays with the part until it is answered."""

from barrelfit.rules.compare import Found
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


RULES = (left_open,)
