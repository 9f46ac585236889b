"""A fact that is asked for, as shown: its answers, what the pedal means now, what to mind: pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from barrelfit.acquire.bus.plan_told import FactAsked
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.parts import key_words, value_words
from barrelfit.dashboard.words import say, told_words
from barrelfit.rules.engine.catalogue import FACTS, lacks
from barrelfit.rules.engine.catalogue.nouns import ABSENT, LATER, UNREADABLE
from barrelfit.rules.engine.set_facts import PHOTOS
from barrelfit.rules.judge.docket import PASSED
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId

_MERELY = {code for code, (_, lack) in lacks().items() if lack.merely}


@dataclass(frozen=True, slots=True)
class TellingView:
    """What is asked to be told now, or what stands beside a size that is asked for.

    `fact` is None while a size is asked for; `answers` are those to be touched (`answers_to`).
    `number` is the ask's. `pedal` are lines of what each press means now, `meanwhile` of what can
    be done while it waits. `last` is what was told last, `against` what speaks against it,
    `refused` an answer that did not count.
    """

    fact: FactAsked | None
    answers: tuple[tuple[str, str], ...]
    number: int
    step: str
    caution: str
    pedal: tuple[str, ...]
    meanwhile: str
    last: str
    against: tuple[str, ...]
    refused: str


def telling_view(board: Board, shown: Shown) -> TellingView:
    """Work it out of the board."""
    asked = board.state.asked
    at = board.place
    fact = next((f for f in board.facts_asked if f.at == at), None)
    step = fact.step if fact is not None else _step_of_size(board, at)
    caution = board.cautions.get(step)
    free = asked.event.meanwhile if asked is not None else ()
    waiting = ", ".join(_asked_words(place) for place in free)
    return TellingView(
        fact=fact,
        answers=answers_to(fact) if fact is not None else (),
        number=asked.event.ask if asked is not None else 0,
        step=step,
        caution=say("caution_is", caution=told(caution, shown)) if caution is not None else "",
        pedal=tuple(_pedal(board, fact)) if at is not None else (),
        meanwhile=say("meanwhile", what=waiting) if waiting else "",
        last=_last(board),
        against=tuple(_against(board, shown)),
        refused=_refused(board, shown),
    )


def answers_to(fact: FactAsked) -> tuple[tuple[str, str], ...]:
    """The answers that are touched, each with its words.

    They are its options, of a mark that it can't be read or is not there, and later.

    A fact without options is typed; what is left of its answers is touched all the same.
    """
    marks = (UNREADABLE, "answer_unreadable"), (ABSENT, "answer_absent")
    said = (*(marks if fact.is_mark else ()), (LATER, "answer_later"))
    return (
        *((value, told_words(value)) for value in fact.options),
        *((value, say(key)) for value, key in said),
    )


def ask_text(board: Board, shown: Shown) -> str:
    """What is asked for now, as it is said."""
    asked = board.state.asked
    return told(asked.event.sentence, shown) if asked is not None else ""


def _step_of_size(board: Board, at: FeatureId | None) -> str:
    return next((f.step for f in board.features if f.at == at), "")


def _pedal(board: Board, fact: FactAsked | None) -> Iterator[str]:
    """What each way of pressing means now; nothing where the bench has no pedal."""
    meant = {"undo": say("means_back")}
    if fact is not None:
        meant["next"] = told_words(fact.press) if fact.press else say("means_later")
        meant["again"] = told_words(fact.long) if fact.long else say("means_once_more")
    else:
        meant |= {"next": say("means_later"), "again": say("means_once_more")}
    for word, way in board.pedal.items():
        if word in meant:
            yield say("pedal_now", way=say(f"way_{way}"), what=meant[word])


def _asked_words(at: FeatureId) -> str:
    """What can be done: a size in its own words, a fact in those of its key."""
    words = place_words(at)
    return f"{at.part} {key_words(at.feature)}" if words == f"{at.part} {at.feature}" else words


def _last(board: Board) -> str:
    if not board.state.facts:
        return ""
    taken = board.state.facts[-1].event
    at = taken.at
    ring = at.depth if at.feature != PHOTOS else ""
    what = " ".join(w for w in (at.part, key_words(at.feature), ring) if w)
    return say("fact_told_now", what=what, value=value_words(at, taken.value), who=taken.who)


def _against(board: Board, shown: Shown) -> Iterator[str]:
    """What is found of the part that was told of last, without what nobody has done yet."""
    part = board.state.facts[-1].event.at.part if board.state.facts else ""
    judged = board.state.judged.get(part)
    passed_over = {PASSED, *_MERELY, *_still_to_tell(board, part)}
    for finding in judged.event.findings if judged is not None else ():
        if finding.code not in passed_over:
            yield told(finding.sentence, shown)


def _still_to_tell(board: Board, part: str) -> Iterator[str]:
    """The findings that lack what the plan has yet to ask of a part: they speak against nothing."""
    asked = {f.at.feature for f in board.facts_asked if f.at.part == part}
    known = next((k.facts for k in board.parts if k.part == part), {})
    for fact in FACTS:
        keys = {key.name for key in fact.keys}
        if keys & asked and not keys & set(known):
            yield from (lack.code for lack in fact.lacks)


def _refused(board: Board, shown: Shown) -> str:
    stood = board.state.fact_refused
    if stood is None:
        return ""
    question = told(stood.event.sentence, shown).rstrip(".?")
    return say("fact_not_told", question=question, advice=told(stood.event.advice, shown))
