"""A session's journal as the lines of a report: as it was, with the whole set judged from it.

Sizes and verdicts are the journal's own. Pairing and rework of the whole set are worked out from
the journaled sizes by today's rules; a part whose verdict today would differ is told in a note.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.sizes import first_sizes, standing_sizes
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.set_file import Loaded, set_of, with_photos
from barrelfit.acquire.inputs.set_now import facts_of, opened_now
from barrelfit.acquire.inputs.setup import asked_for, photos_of, setup_of
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.report.set_result import Line, result_lines
from barrelfit.rules.events import Judged
from barrelfit.rules.judge import SetJudgement, judge_set
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.model import Judgement
from barrelfit.rules.said import NOTHING, Said, length, said
from barrelfit.rules.told import FactHeld, FactTaken

Given = Mapping[str, Judged]
"""The verdicts that stand in the session, by what they are about."""


@dataclass(slots=True)
class _Told:
    """What a session's records came to; when the first, the last and each fact were made (UTC)."""

    state: SessionState = field(default_factory=SessionState)
    began: str = ""
    ended: str = ""
    when: dict[int, str] = field(default_factory=dict)

    @property
    def refused(self) -> tuple[Question, ...]:
        """The features that have no size, and why."""
        without = {at: r for at, r in self.state.refused.items() if at not in self.state.sizes}
        return tuple(
            Question(
                at,
                said("refused_so", what=refusal.event.sentence, do=refusal.event.advice),
            )
            for at, refusal in without.items()
        )

    @property
    def notes(self) -> tuple[Said, ...]:
        """What is to be said of the sizes, and of what was decided or pressed in vain."""
        state = self.state
        of_sizes = (note for stood in state.sizes.values() for note in stood.event.notes)
        twice = (
            said(
                "measured_twice",
                at=str(at),
                first=length(stood.event.size_nm),
                second=length(state.sizes[at].event.size_nm),
            )
            for at, stood in state.firsts.items()
            if at in state.sizes
        )
        decided = (
            said(
                "decision_outdated",
                who=o.who,
                about=o.about,
                verdict=verdict_said(o.verdict),
                seq=o.judged_seq,
            )
            for o in (stood.event for stood in state.outdated)
        )
        unanswered = (said("undo_unanswered", seq=seq) for seq in state.undos)
        return tuple(dict.fromkeys((*of_sizes, *twice, *decided, *unanswered)))


def session_lines(name: str) -> list[Line]:
    """The report's lines of a session.

    Raises:
        UserError: there is no such session, or its journal can't be read.
    """
    session = Session.open(name)
    opened = session.opening()
    if not opened.set_text:
        raise UserError([said("no_job_ran", name=name)])
    told = _told(session.records())
    questions = facts_of(setup_of(opened), told.state).questions
    now = opened_now(opened, told.state)
    setup = setup_of(now)
    engine = with_photos(set_of(now.set_text, setup.sheet, name), photos_of(now))
    sizes = standing_sizes(told.state)
    evidence = Evidence(
        setup.sheet,
        engine,
        sizes,
        opened.guard_factor,
        (*told.refused, *questions),
        first_sizes(told.state),
    )
    today = judge_set(evidence)
    given = {about: stood.event for about, stood in told.state.judged.items()}
    judged, notes = _as_it_was(today, given)
    loaded = Loaded(evidence, (*told.notes, *notes), opened.sheet_text, opened.set_text)
    lines = [_swept(line, told) for line in result_lines(loaded, judged)]
    overridden: list[Line] = [
        {
            "kind": "overridden",
            "about": o.about,
            "was": o.was,
            "verdict": o.verdict,
            "who": o.who,
            "reason": o.reason,
        }
        for o in (stood.event for stood in told.state.overridden.values())
    ]
    facts = [*_facts(told), *_held(told)]
    return [lines[0], _session_line(session, opened, told), *lines[1:], *overridden, *facts]


def _facts(told: _Told) -> list[Line]:
    """What was told in the session, each with who said it; the last of a place stands."""
    stand = {stood.seq for stood in told.state.facts_standing.values()}
    return [
        {
            "kind": "fact",
            "part": fact.at.part,
            "at": str(fact.at),
            "value": fact.value,
            "before": fact.before,
            "who": fact.who,
            "by": fact.by,
            "why": fact.why,
            "utc": told.when.get(seq, ""),
            "stands": seq in stand,
            "open": NOTHING,
            "proven": seq in told.state.by_proven,
        }
        for seq, fact in ((stood.seq, stood.event) for stood in told.state.facts)
    ]


def _held(told: _Told) -> list[Line]:
    """What was told and waits for an answer."""
    return [
        {
            "kind": "fact",
            "part": held.at.part,
            "at": str(held.at),
            "value": held.value,
            "before": held.before,
            "who": held.who,
            "by": "",
            "why": "",
            "utc": told.when.get(seq, ""),
            "stands": False,
            "open": held.sentence,
            "proven": False,
        }
        for seq, held in ((s.seq, s.event) for s in told.state.facts_held.values())
    ]


def _told(records: Iterable[Record]) -> _Told:
    told = _Told()
    for record in records:
        told.began = told.began or record.utc
        told.ended = record.utc
        take(told.state, record)
        if isinstance(record.event, FactTaken | FactHeld):
            told.when[record.seq] = record.utc
    return told


def _as_it_was(today: SetJudgement, given: Given) -> tuple[SetJudgement, list[Said]]:
    """The set's judgement with the verdicts as they were given, and where today's would differ."""
    notes = []
    for judgement in (*today.parts, *today.pairs):
        was = given.get(judgement.about)
        if was is not None and was.verdict is not judgement.verdict:
            notes.append(
                said(
                    "judged_otherwise_today",
                    about=judgement.about,
                    was=verdict_said(was.verdict),
                    now=verdict_said(judgement.verdict),
                )
            )
    parts = tuple(_given(j, given) for j in today.parts)
    known = {p.about for p in today.pairs}
    others = [a for a in given if "+" in a and a not in known]
    pairs = (*(_given(j, given) for j in today.pairs), *(_as_given(given[a]) for a in others))
    return replace(today, parts=parts, pairs=pairs), notes


def _swept(line: Line, told: _Told) -> Line:
    """A size's line with what the sweep says of it: passes, estimator, rank of the number."""
    if line["kind"] != "size":
        return line
    sized = next(s.event for at, s in told.state.sizes.items() if str(at) == line["at"])
    how = {"passes": len(sized.pass_sizes_nm), "estimator": sized.estimator, "rank": sized.rank}
    return {**line, **how}


def _given(judgement: Judgement, given: Given) -> Judgement:
    was = given.get(judgement.about)
    return judgement if was is None else _as_given(was)


def _as_given(was: Judged) -> Judgement:
    return Judgement(was.about, was.verdict, was.findings, was.todo)


def _session_line(session: Session, opened: SessionOpened, told: _Told) -> Line:
    return {
        "kind": "session",
        "session": opened.session,
        "bench": opened.bench,
        "who": opened.who,
        "asked_for": asked_for(opened),
        "simulated": opened.simulated,
        "code_version": opened.code_version,
        "began": told.began,
        "ended": told.ended,
        "records": told.state.seq,
        "whole": not session.torn,
        "head_hash": session.head_hash,
    }
