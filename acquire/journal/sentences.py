"""A session as it was, told line by line; nothing is computed anew. Pure."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from msgspec import Struct

from barrelfit.acquire.journal import events as kept
from barrelfit.acquire.journal import job_events as jobs
from barrelfit.acquire.journal import port_events as ports
from barrelfit.acquire.journal import record_events as recorded
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.codes import code_said
from barrelfit.acquire.journal.events import Event, kind_of
from barrelfit.rules import events as found
from barrelfit.rules import hints
from barrelfit.rules import told as facts
from barrelfit.rules.judge import outcome_said
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.said import NOTHING, Said, Value, celsius, decimal, length, said

_DETAIL: Final = (
    kept.ReadingTaken,
    kept.MassTaken,
    kept.FaultSeen,
    kept.WireNote,
    kept.WireSent,
    found.Contact,
    found.Passed,
    found.StillDoubtful,
)


def shown(
    records: Iterable[Record], speed: float, *, readings: bool
) -> Iterator[tuple[float, Record]]:
    """Records that are shown, each with the seconds to wait before it.

    Args:
        records: all of them.
        speed: times as fast as it was; 0 for no waiting.
        readings: whether single readings, faults and passes are shown too.
    """
    last_ns: int | None = None
    for record in records:
        if not readings and isinstance(record.event, _DETAIL):
            continue
        # After a restart of the machine the monotonic clock begins anew: no wait backwards.
        waited_ns = 0 if last_ns is None else max(0, record.t_ns - last_ns)
        last_ns = record.t_ns
        yield (waited_ns / 1e9 / speed if speed > 0 else 0.0), record


def line_of(record: Record, manner: Manner = PLAIN) -> str:
    """One record as a line for people: number, UTC time of day, what happened."""
    event = record.event
    sentence = told(sentence_of(event), manner)
    # Typed texts may hold anything; a line stays one line and moves no cursor.
    words = "".join(c if c.isprintable() else " " for c in sentence)
    return f"{record.seq:>7}  {record.utc[11:23]}  {words}".rstrip()


def _judged(event: found.Judged) -> Said:
    reasons = tuple(finding.sentence for finding in event.findings)
    verdict = verdict_said(event.verdict)
    return said("record_judged", about=event.about, verdict=verdict, reasons=reasons)


def _matched(event: found.Matched) -> Said:
    pairs = [said("seat", piston=p.piston, barrel=p.barrel) for p in event.pairs]
    return said("pairing_told", told=(outcome_said(event.outcome), *pairs, *event.sentences))


def _opened(event: kept.SessionOpened) -> Said:
    return said(
        "record_opened",
        session=event.session,
        simulated=said("is_simulated") if event.simulated else NOTHING,
        job=event.job,
        who=event.who,
        sheet=said("sheet", id=event.sheet_id, revision=event.sheet_revision),
    )


def _put_back(event: recorded.RecordPutBack) -> Said:
    lost = NOTHING
    if event.lost_from:
        lost = said("records_lost", first=event.lost_from, last=event.lost_to)
    aside = said("kept_aside", file=event.aside) if event.aside else NOTHING
    return said("record_put_back", file=event.file, aside=aside, lost=lost)


def _reading(event: kept.ReadingTaken | kept.MassTaken) -> Said:
    value, unit = event.value, event.unit
    if not event.suspect:
        return said("record_reading", gauge=event.gauge, value=value, unit=unit)
    why = _code(event, "suspect")
    return said("record_suspect", gauge=event.gauge, value=value, unit=unit, why=why)


def _far_off(event: found.FarOff) -> Said:
    gauge, at = event.gauge, str(event.at)
    away = length(abs(event.read_nm - event.expected_nm))
    match event.code:
        case "zeroed":
            return said("far_zeroed", gauge=gauge, away=away, at=at)
        case "inches":
            return said("far_inches", gauge=gauge, read=length(event.read_nm), at=at)
        case "another-feature":
            return said("far_another_feature", gauge=gauge, like=str(event.like), at=at)
        case "another-gauge":
            return said("far_another_gauge", gauge=gauge, at=at)
        case _:
            return said("far_off", gauge=gauge, away=away, at=at)


def _measured_twice(event: found.MeasuredTwice) -> Said:
    agree = said("which_agree") if event.agree else said("which_disagree")
    first, second, doubt = map(length, (event.first_nm, event.second_nm, event.doubt_nm))
    at = str(event.at)
    return said("record_twice", at=at, first=first, second=second, agree=agree, doubt=doubt)


def _two_parts(event: found.TwoPartsAsked) -> Said:
    pairs = tuple(
        said("record_alike", parts=(p.earlier, p.later), apart=length(p.apart_nm))
        for p in event.pairs
    )
    return said("several", parts=pairs)


def _not_counted(event: found.NotCounted) -> Said:
    if event.why == "asked-late":
        return said("record_swept_early", at=str(event.at))
    if event.why == "fact-asked":
        return said("record_swept_meanwhile", at=str(event.at))
    return said("record_still_there", at=str(event.at))


def _away(event: hints.PartAway) -> Said:
    if not event.gone_ns:
        return said("record_back", at=str(event.at))
    return said("record_away", at=str(event.at), time=_seconds(event.gone_ns // 1_000_000))


def _job_ordered(event: jobs.JobOrdered) -> Said:
    job = event.job or event.session
    what = _code(event, "what")
    return said("record_job", who=event.who, what=what, job=job, more=event.asked_for)


def _fact_told(event: facts.FactTold) -> Said:
    value = f"{event.value} {event.unit}".strip() or said("unknown")
    by, at, why = _code(event, "by"), str(event.at), event.why
    return said("record_fact_told", who=event.who, by=by, at=at, value=value, why=why)


def _fact_taken(event: facts.FactTaken) -> Said:
    at, value = str(event.at), event.value or said("unknown")
    if not event.before:
        return said("record_fact", at=at, value=value)
    return said("record_fact_before", at=at, value=value, before=event.before)


def _fact_held(event: facts.FactHeld) -> Said:
    at, why, do = str(event.at), event.sentence, event.advice
    return said("record_fact_held", at=at, value=event.value, why=why, do=do)


def _service(event: recorded.ServiceChanged) -> Said:
    service, state = (_code(event, name) for name in ("service", "state"))
    why = event.reason
    if not why:
        return said("record_service", service=service, state=state)
    return said("record_service_why", service=service, state=state, why=why)


def _seconds(ms: int) -> Said:
    return said("number_in", number=decimal(f"{ms / 1000:.1f}"), unit="s")


SPECIAL: Final[dict[type, Callable[[Any], Said]]] = {
    found.FarOff: _far_off,
    found.NotCounted: _not_counted,
    hints.PartAway: _away,
    found.MeasuredTwice: _measured_twice,
    found.TwoPartsAsked: _two_parts,
    found.Judged: _judged,
    found.Matched: _matched,
    found.Wanted: lambda e: said("record_wanted", who=e.who or said("somebody"), at=str(e.at)),
    facts.FactTold: _fact_told,
    facts.FactTaken: _fact_taken,
    facts.FactHeld: _fact_held,
    kept.ReadingTaken: _reading,
    kept.MassTaken: _reading,
    jobs.JobOrdered: _job_ordered,
    ports.GaugeStalled: lambda e: said("record_stalled", gauge=e.gauge, time=_seconds(e.stood_ms)),
    kept.SessionOpened: _opened,
    recorded.ClockStepped: lambda e: said("record_clock", step=decimal(f"{e.step_us / 1e6:+.3f}")),
    recorded.RecordPutBack: _put_back,
    recorded.SessionFollows: lambda e: said("record_follows", session=e.session or said("none")),
    recorded.ServiceChanged: _service,
}
"""What takes more to tell than the fields of its kind."""


def sentence_of(event: Event) -> Said:
    """What a record tells: by its kind's own function, or as its fields say it."""
    special = SPECIAL.get(type(event))
    if special is not None:
        return special(event)
    kind = kind_of(type(event))
    names = event.__struct_fields__ if isinstance(event, Struct) else event.__dataclass_fields__
    values = (_value(kind, name, getattr(event, name)) for name in names)
    return Said(f"kind_{kind}", dict(values))


def _code(event: Event, name: str) -> Said | str:
    return code_said(kind_of(type(event)), name, getattr(event, name))


def _value(kind: str, name: str, value: Any) -> tuple[str, Value]:  # noqa: ANN401  any field's
    """A field as a value of a sentence: by its unit, a code by its words, else as it is."""
    if name.endswith("_nm") and isinstance(value, int):
        return name.removesuffix("_nm"), length(value)
    if name == "milli_celsius":
        return "celsius", celsius(value)
    if isinstance(value, str):
        return name, code_said(kind, name, value)
    return name, value if isinstance(value, int | Said) else str(value)
