"""The look before any cleaning: a part that fails by eye costs no more bench time."""

from typing import Final

from barrelfit.rules.compare import Found
from barrelfit.rules.engine.gate import reason
from barrelfit.rules.model import Severity
from barrelfit.rules.said import said


def not_looked_at(*, looked: bool) -> Found | None:
    """E101: nobody has looked at the part yet.

    Okay: looked yes
    Found undecided: looked no
    """
    if looked:
        return None
    advice = said("do_look_before_cleaning")
    return Found("E101", Severity.UNDECIDED, said("not_looked_at"), advice)


def failed_by_eye(code: str) -> Found | None:
    """E102: the eye saw damage that no measuring can mend.

    Okay: code good
    Okay: code light-scuffing
    Found discard: code scored-skirt
    Found discard: code cracked-fin-root
    """
    seen = reason(code)
    if seen is None or seen.severity is not Severity.DISCARD:
        return None
    return Found("E102", seen.severity, seen.sentence, said("do_no_further_work"))


def doubtful_by_eye(code: str) -> Found | None:
    """E103: the eye saw something that must be looked into or reworked.

    Okay: code good
    Okay: code scored-skirt
    Found rework: code damaged-sealing-face
    Found undecided: code light-scuffing
    """
    seen = reason(code)
    if seen is None or seen.severity is Severity.DISCARD:
        return None
    return Found("E103", seen.severity, seen.sentence, seen.advice)


RULES = (not_looked_at, failed_by_eye, doubtful_by_eye)

WORDS: Final[dict[str, str]] = {
    "not_looked_at": "the part was not looked at yet",
    "do_look_before_cleaning": "look at it before cleaning: scoring, cracks, ring lands, pin area,"
    " threads and faces",
    "do_no_further_work": "no further work on this part",
}
