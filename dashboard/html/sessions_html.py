"""The answers of the sessions page's tools as text and HTML. Pure."""

from decimal import Decimal, InvalidOperation
from typing import Any, Final

from barrelfit.dashboard.html.templates import made
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.manner import told, told_all

SMALL_NM: Final = 100_000
"""Below this a value in nm is a doubt or a difference, and is written as one."""
MOST_MORE: Final = 8


def difference_text(difference: dict[str, Any], shown: Shown) -> str:
    """The first difference that a redo found, its lengths in the board's unit.

    Args:
        difference: `seq` (None at the session's end), `kind`, `field`, `was`, `now`, `because`.
        shown: how lengths are written.
    """
    was, now = _values(difference, shown)
    seq = difference["seq"]
    place = say("redo_at_end") if seq is None else say("redo_at", seq=seq)
    what = f"{difference['kind']} {difference['field']}".rstrip()
    differs = say("redo_differs", place=place, what=what, was=was, now=now)
    because = difference["because"]
    return f"{differs} {say('redo_because', why=told(because, shown))}" if because else differs


def _values(difference: dict[str, Any], shown: Shown) -> tuple[str, str]:
    """Both values: as lengths where the field's name says nm, with decimals until they differ."""
    texts: tuple[str, str] = (difference["was"], difference["now"])
    try:
        was, now = map(Decimal, texts)
    except InvalidOperation:
        return texts
    if not difference["field"].endswith("_nm") or was == now:
        return texts
    if max(abs(was), abs(now)) >= SMALL_NM:
        return shown.apart(int(was), int(now))
    for more in range(MOST_MORE):
        both = shown.small(float(was), more), shown.small(float(now), more)
        if both[0] != both[1]:
            return both
    return texts


def what_if_html(lines: list[dict[str, Any]], shown: Shown) -> str:
    """The verdicts of a what-if beside the recorded ones; what would change stands out.

    Args:
        lines: one a part or pair: `about`, `was`, `now`, `changed`, `reasons`; others are left out.
        shown: how lengths are written.
    """
    judged = [line for line in lines if "about" in line]
    return made("sessions", "what_if", [_row(line, shown) for line in judged]) if judged else ""


def _row(line: dict[str, Any], shown: Shown) -> dict[str, Any]:
    changed = bool(line["changed"])
    return {
        "changed": changed,
        "about": line["about"],
        "was": say_or_raw(line["was"] or "none"),
        "now": say_or_raw(line["now"]) if changed else say("unchanged"),
        "why": list(told_all(line["reasons"], shown)) if changed else [],
    }


def chosen_html(file: str, target: str) -> str:
    """The session that was chosen, with the button that shows it."""
    return made("sessions", "chosen", file, target)
