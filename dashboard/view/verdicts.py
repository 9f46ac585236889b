"""A verdict as shown: its word, its reasons with value, limit and origin, and what to do. Pure."""

from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.manner import told
from barrelfit.rules.model import Finding

VERDICTS: Final = ("serviceable", "rework", "discard", "undecided")


@dataclass(frozen=True, slots=True)
class ReasonView:
    """One finding as shown: the sentence, the found value, the limit with its origin."""

    sentence: str
    value: str
    limit: str


@dataclass(frozen=True, slots=True)
class VerdictView:
    """A verdict as shown: word, what it is about, reasons (worst first), what to do."""

    verdict: str
    word: str
    about: str
    reasons: tuple[ReasonView, ...]
    todo: str
    overridden: str = ""


def verdict_view(board: Board, about: str, shown: Shown) -> VerdictView:
    """A verdict as shown, findings worst first, an override beside the rules' own verdict."""
    judged = board.state.judged[about].event
    findings = sorted(judged.findings, key=lambda finding: -finding.severity)
    stood = board.state.overridden.get(about)
    text = ""
    if stood is not None:
        override = stood.event
        word = say_or_raw(override.verdict)
        text = say("overridden", verdict=word, who=override.who, reason=override.reason)
    return VerdictView(
        verdict=judged.verdict.value,
        word=say_or_raw(judged.verdict.value),
        about=about,
        reasons=tuple(_reason(finding, shown) for finding in findings),
        todo=told(judged.todo, shown),
        overridden=text,
    )


def _reason(finding: Finding, shown: Shown) -> ReasonView:
    value_nm, limit_nm = finding.value_nm, finding.limit_nm
    origin = told(finding.limit_from, shown)
    value = limit = ""
    if value_nm is not None and limit_nm is not None:
        value_text, limit_text = shown.apart(value_nm, limit_nm)
        value = say("value_is", value=value_text)
        limit = say("limit_from", limit=limit_text, origin=origin or "?")
    elif value_nm is not None:
        value = say("value_is", value=shown.length(value_nm))
    if not limit and origin:
        limit = say("limit_origin_only", origin=origin)
    return ReasonView(told(finding.sentence, shown), value, limit)


def verdict_key(board: Board, about: str) -> str:
    """A part's or pair's verdict as its key; `none` before it can be acted on."""
    stood = board.state.judged.get(about)
    return stood.event.verdict.value if stood and board.measured(about) else "none"
