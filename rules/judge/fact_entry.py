"""Facts told one by one: read as the set file reads them, and held with a question.

Nothing is ever corrected here, and nothing is replaced silently: a fact that says something else
than what stands there counts only when it is told again on purpose, or with a reason.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from barrelfit.rules.engine.catalogue import KINDS
from barrelfit.rules.engine.doubts import plain_question, text_problems
from barrelfit.rules.engine.form import Filled, Key, Problem, read_value, written
from barrelfit.rules.engine.set_check import set_problems
from barrelfit.rules.engine.set_doubts import doubts_of
from barrelfit.rules.engine.set_facts import (
    PART,
    confirmed,
    fact_text,
    key_at,
    path_at,
    standing,
    unconfirmed,
    value_told,
    with_fact,
    with_part,
)
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.errors import UnfitError
from barrelfit.rules.judge.evidence import Question
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, said
from barrelfit.rules.said import written as as_written
from barrelfit.rules.told import FactTaken, FactTold


@dataclass(frozen=True, slots=True)
class FactStands:
    """The fact counts: the set with it, its value as written, and what stood there."""

    filled: Filled
    value: str
    before: str
    confirmed: bool


@dataclass(frozen=True, slots=True)
class FactDoubt:
    """The fact does not count: see `rules.told.FactHeld`; `confirmable` by telling it again."""

    reason: str
    sentence: Said
    advice: Said
    before: str
    confirmable: bool = False


def check_fact(
    filled: Filled, sheet: Sheet, told: FactTold, *, insists: bool
) -> FactStands | FactDoubt:
    """Read a fact as told, with every check of a set file that holds it.

    Args:
        filled: the set before it.
        sheet: the engine's sheet.
        told: the fact.
        insists: whether it was told before, or is explained: doubts and what stands there give way.
    """
    if told.at.feature == PART and filled.values:
        return _check_part(filled, sheet, told)
    key = key_at(filled, told.at) if filled.values else None  # without a job there is no set
    if key is None:
        return FactDoubt("no-such-fact", said("no_such_fact"), said("do_see_keys"), "")
    value, problems = _read(filled, key, told)
    if problems:
        before = fact_text(key, standing(filled, told.at))
        advice = said("do_tell_as_it_is", meaning=as_written(key.meaning))
        return FactDoubt("unreadable", problems[0].sentence, advice, before)
    return _weighed(filled, sheet, told, (key, value), insists=insists)


def _weighed(
    filled: Filled, sheet: Sheet, told: FactTold, read: tuple[Key, object], *, insists: bool
) -> FactStands | FactDoubt:
    """A fact that could be read, beside the sheet, what is usual, and what stands there."""
    key, value = read
    stood = standing(filled, told.at)
    before = fact_text(key, stood)
    now = _with(filled, told.at, value)
    problems = _new(set_problems(now, sheet), set_problems(filled, sheet))
    if problems:
        sentence = problems[0].sentence
        return FactDoubt("not-on-sheet", sentence, said("do_look_again"), before)
    path = path_at(now, told.at)
    doubts = [p for p in doubts_of(now, sheet) if p.path == path]
    if doubts and not insists:
        sentence = plain_question(doubts[0])
        return FactDoubt("doubt", sentence, said("do_tell_again"), before, confirmable=True)
    if _differs(stood, value) and not insists:
        sentence = said("another_value", before=before, value=told.value)
        return FactDoubt("another-value", sentence, said("do_tell_which"), before, confirmable=True)
    if doubts:
        now = confirmed(now, written(path))
    return FactStands(now, fact_text(key, value), before, bool(doubts))


def _check_part(filled: Filled, sheet: Sheet, told: FactTold) -> FactStands | FactDoubt:
    """Another part: its name, its kind, and whose it is or whose place it takes."""
    value, name = " ".join(told.value.split()), told.at.part
    try:
        now = with_part(filled, name, value)
    except UnfitError as error:
        return FactDoubt("unreadable", error.what, said("do_look_again"), "")
    problems = _new(set_problems(now, sheet), set_problems(filled, sheet))
    problems = problems or _new(doubts_of(now, sheet), doubts_of(filled, sheet))
    if problems:
        sentence = problems[0].sentence
        return FactDoubt("not-on-sheet", sentence, said("do_look_again"), "")
    return FactStands(now, value, "", confirmed=False)


def with_taken(filled: Filled, taken: FactTaken) -> Filled:
    """The set with a fact that was taken; one that this version does not know changes nothing."""
    if taken.at.feature == PART:
        try:
            return with_part(filled, taken.at.part, taken.value)
        except UnfitError:
            return filled
    key = key_at(filled, taken.at)
    if key is None:
        return filled
    told = FactTold(0, taken.at, taken.value)
    value, problems = _read(filled, key, told)
    if problems:
        return filled
    now = _with(filled, taken.at, value)
    return confirmed(now, written(path_at(now, taken.at))) if taken.confirmed else now


def open_doubts(before: Filled, now: Filled, sheet: Sheet) -> tuple[Question, ...]:
    """What has become doubtful of a set since it was `before`, by what was told since."""
    found = _new(doubts_of(now, sheet), doubts_of(before, sheet))
    return tuple(
        Question(at, plain_question(problem))
        for problem in found
        for at in [_place_of(now, problem)]
        if at is not None
    )


def _with(filled: Filled, at: FeatureId, value: object) -> Filled:
    """The set with a fact; what was said to be meant so was said of the value before."""
    path = path_at(filled, at)
    names = written(path[:-2] if value is None and at.direction else path)
    return with_fact(unconfirmed(filled, names), at, value)


def _read(filled: Filled, key: Key, told: FactTold) -> tuple[object, list[Problem]]:
    """The value of a fact as its key has it (None: taken back), and what is wrong with it."""
    path = path_at(filled, told.at)
    if not told.value.strip():
        needed = (
            [Problem(path, said("cant_be_taken_back", meaning=key.meaning))] if key.required else []
        )
        return None, needed
    try:
        value, unit = value_told(key, told.at, told.value, told.unit)
    except UnfitError as error:
        return None, [Problem(path, error.what)]
    problems = list(text_problems({key.name: value}))
    if key.form is None:
        read, wrong = read_value(key, value, unit, path)
        return read, [*problems, *wrong]
    read, wrong = read_value(key, [value], unit, path[:-2])
    return (read[0] if isinstance(read, tuple) and read else None), [*problems, *wrong]


def _differs(stood: object, value: object) -> bool:
    """Whether what is told now takes from what stands there.

    More of a list only adds to it, as do further places at which a leaf was tried.
    """
    if stood is None or stood == value:
        return False
    if isinstance(stood, Filled) and isinstance(value, Filled):
        was, now = stood.flags("went_in"), value.flags("went_in")
        return now[: len(was)] != was
    return not (isinstance(stood, tuple) and isinstance(value, tuple) and set(stood) <= set(value))


def _new(now: Iterable[Problem], before: Iterable[Problem]) -> list[Problem]:
    """Problems that were not there before; one whose words alone changed is none."""
    known = Counter(p.path for p in before)
    found: list[Problem] = []
    for problem in now:
        if known[problem.path] > 0:
            known[problem.path] -= 1
        else:
            found.append(problem)
    return found


def _place_of(filled: Filled, problem: Problem) -> FeatureId | None:
    """The fact's place that a problem's path is of, None where it is of no part."""
    kind, *rest = problem.path
    if kind not in KINDS or len(rest) < 2 or not isinstance(rest[0], int):  # noqa: PLR2004  part, key
        return None
    part = filled.tables(str(kind))[rest[0]]
    key, ring = str(rest[-1]), ""
    if rest[1] == "ring" and isinstance(rest[2], int):
        ring = part.tables("ring")[rest[2]].text("id")
        key = str(rest[3])
    return FeatureId(part.text("id"), key, ring)
