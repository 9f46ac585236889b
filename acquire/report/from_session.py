"""A session's journal as the lines of a report: as it was, with the whole set judged from it.

Sizes and verdicts are the journal's own. Pairing and rework of the whole set are worked out from
the journaled sizes by today's rules; a part whose verdict today would differ is told in a note.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from barrelfit.acquire.inputs.set_file import Loaded, set_of, with_photos
from barrelfit.acquire.inputs.setup import photos_of, setup_of
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import Event, SessionOpened
from barrelfit.acquire.journal.override_events import Overridden
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.standing_sizes import Standing
from barrelfit.acquire.report.set_result import Line, result_lines
from barrelfit.rules.events import Judged, Refused, Sized
from barrelfit.rules.judge import SetJudgement, judge_set
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.model import FeatureId, Judgement, Size
from barrelfit.rules.uncertainty.size_budget import budget_from_lines


@dataclass(slots=True)
class _Told:
    """What a session's records came to."""

    swept: dict[str, Sized] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    judged: dict[str, Judged] = field(default_factory=dict)
    refused: dict[FeatureId, str] = field(default_factory=dict)
    overridden: dict[str, Overridden] = field(default_factory=dict)
    standing: Standing = field(default_factory=Standing)
    records: int = 0
    began: str = ""
    ended: str = ""

    def hear(self, record: Record) -> None:
        """Follow one record."""
        event: Event = record.event
        self.standing.hear(record)
        match event:
            case Sized():
                self._take(event)
            case Refused():
                self.refused[event.at] = f"{event.sentence}; {event.advice}"
            case Judged():
                self.judged[event.about] = event
            case Overridden():
                self.overridden[event.about] = event
            case _:
                pass

    def sizes(self) -> dict[FeatureId, Size]:
        """The last size of each feature, unless it was taken back."""
        return {at: _size(sized) for at, (_, sized) in self.standing.sizes().items()}

    def _take(self, sized: Sized) -> None:
        self.swept[str(sized.at)] = sized
        self.refused.pop(sized.at, None)
        self.notes += [n for n in sized.notes if n not in self.notes]


def _size(sized: Sized) -> Size:
    budget = budget_from_lines(sized.budget)
    return Size(sized.at, sized.size_nm, sized.read_nm, budget, sized.source)


def session_lines(name: str) -> list[Line]:
    """The report's lines of a session.

    Raises:
        UserError: there is no such session, or its journal can't be read.
    """
    session = Session.open(name)
    opened = session.opening()
    told = _told(session.records())
    sizes = told.sizes()
    setup = setup_of(opened)
    asked = tuple(Question(at, why) for at, why in told.refused.items() if at not in sizes)
    engine = with_photos(set_of(opened.set_text, setup.sheet, name), photos_of(opened))
    evidence = Evidence(setup.sheet, engine, sizes, opened.guard_factor, asked)
    today = judge_set(evidence)
    judged, notes = _as_it_was(today, told)
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
        for o in told.overridden.values()
    ]
    return [lines[0], _session_line(session, opened, told), *lines[1:], *overridden]


def _told(records: Iterable[Record]) -> _Told:
    told = _Told()
    for record in records:
        told.records += 1
        told.began = told.began or record.utc
        told.ended = record.utc
        told.hear(record)
    return told


def _as_it_was(today: SetJudgement, told: _Told) -> tuple[SetJudgement, list[str]]:
    """The set's judgement with the verdicts as they were given, and where today's would differ."""
    notes = []
    for judgement in (*today.parts, *today.pairs):
        was = told.judged.get(judgement.about)
        if was is not None and was.verdict is not judgement.verdict:
            notes.append(
                f"{judgement.about}: judged {was.verdict.value} in the session; from the same "
                f"sizes today's rules say {judgement.verdict.value}"
            )
    parts = tuple(_given(j, told) for j in today.parts)
    known = {p.about for p in today.pairs}
    given = [a for a in told.judged if "+" in a and a not in known]
    pairs = (*(_given(j, told) for j in today.pairs), *(_as_given(told.judged[a]) for a in given))
    return replace(today, parts=parts, pairs=pairs), notes


def _swept(line: Line, told: _Told) -> Line:
    """A size's line with what the sweep says of it: passes, estimator, rank of the number."""
    sized = told.swept.get(str(line.get("at")))
    if line["kind"] != "size" or sized is None:
        return line
    how = {"passes": len(sized.pass_sizes_nm), "estimator": sized.estimator, "rank": sized.rank}
    return {**line, **how}


def _given(judgement: Judgement, told: _Told) -> Judgement:
    was = told.judged.get(judgement.about)
    return judgement if was is None else _as_given(was)


def _as_given(was: Judged) -> Judgement:
    return Judgement(was.about, was.verdict, was.findings, was.todo)


def _session_line(session: Session, opened: SessionOpened, told: _Told) -> Line:
    whole = "whole" if not session.torn else "with a torn tail that was never confirmed"
    return {
        "kind": "session",
        "session": opened.session,
        "bench": opened.bench,
        "who": opened.who,
        "simulated": opened.simulated,
        "code_version": opened.code_version,
        "began": told.began,
        "ended": told.ended,
        "records": told.records,
        "whole": whole,
        "head_hash": session.head_hash,
    }
