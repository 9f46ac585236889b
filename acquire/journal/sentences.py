"""A session as it was, told line by line; nothing is computed anew. Pure."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from barrelfit.acquire.journal import events as kept
from barrelfit.acquire.journal import job_events as jobs
from barrelfit.acquire.journal import port_events as ports
from barrelfit.acquire.journal import record_events as recorded
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.rules import events as found
from barrelfit.rules import telling
from barrelfit.rules import told as facts
from barrelfit.rules.judge import outcome_said
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.said import NOTHING, Said, celsius, decimal, length, said

_DETAIL: Final = (
    kept.ReadingTaken,
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
    sentence = told(SENTENCES[type(event)](event), manner)
    # Typed texts may hold anything; a line stays one line and moves no cursor.
    words = "".join(c if c.isprintable() else " " for c in sentence)
    return f"{record.seq:>7}  {record.utc[11:23]}  {words}".rstrip()


def _sized(event: found.Sized) -> Said:
    return said(
        "record_sized",
        at=str(event.at),
        size=length(event.size_nm),
        low=length(event.low_nm),
        high=length(event.high_nm),
        estimator=event.estimator,
    )


def _judged(event: found.Judged) -> Said:
    reasons = tuple(finding.sentence for finding in event.findings)
    verdict = verdict_said(event.verdict)
    return said("record_judged", about=event.about, verdict=verdict, reasons=reasons)


def _matched(event: found.Matched) -> Said:
    pairs = [said("seat", piston=p.piston, barrel=p.barrel) for p in event.pairs]
    return said("pairing_told", told=(outcome_said(event.outcome), *pairs, *event.sentences))


def _set_done(event: found.SetDone) -> Said:
    return said(
        "record_set_done",
        serviceable=event.serviceable,
        rework=event.rework,
        discard=event.discard,
        undecided=event.undecided,
    )


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


def _reading(event: kept.ReadingTaken) -> Said:
    value, unit = event.value, event.unit
    if not event.suspect:
        return said("record_reading", gauge=event.gauge, value=value, unit=unit)
    why = event.suspect
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


def _job_ordered(event: jobs.JobOrdered) -> Said:
    job = event.job or event.session
    return said("record_job", who=event.who, what=event.what, job=job, more=event.asked_for)


def _fact_told(event: facts.FactTold) -> Said:
    value = f"{event.value} {event.unit}".strip() or said("unknown")
    by, at, why = event.by, str(event.at), event.why
    return said("record_fact_told", who=event.who, by=by, at=at, value=value, why=why)


def _fact_taken(event: facts.FactTaken) -> Said:
    at, value = str(event.at), event.value or said("unknown")
    if not event.before:
        return said("record_fact", at=at, value=value)
    return said("record_fact_before", at=at, value=value, before=event.before)


def _fact_held(event: facts.FactHeld) -> Said:
    at, why, do = str(event.at), event.sentence, event.advice
    return said("record_fact_held", at=at, value=event.value, why=why, do=do)


def _doubtful(event: found.StillDoubtful) -> Said:
    low, high = length(event.low_nm), length(event.high_nm)
    return said("record_doubtful", at=str(event.at), passes=event.passes, low=low, high=high)


def _overridden(event: Overridden) -> Said:
    was, verdict = verdict_said(event.was), verdict_said(event.verdict)
    who, about, why = event.who, event.about, event.reason
    return said("record_overridden", who=who, about=about, was=was, verdict=verdict, why=why)


def _service(event: recorded.ServiceChanged) -> Said:
    if not event.reason:
        return said("record_service", service=event.service, state=event.state)
    service, state, why = event.service, event.state, event.reason
    return said("record_service_why", service=service, state=state, why=why)


def _gone(event: recorded.RecordGone) -> Said:
    return said("record_gone", what=event.what.upper(), file=event.file)


def _seconds(ms: int) -> Said:
    return said("number_in", number=decimal(f"{ms / 1000:.1f}"), unit="s")


SENTENCES: Final[dict[type, Callable[[Any], Said]]] = {
    found.Asked: lambda e: said("record_asked", done=e.done, total=e.total, ask=e.sentence),
    found.Contact: lambda e: said("record_contact", at=str(e.at)),
    found.Passed: lambda e: said(
        "record_passed", number=e.number, at=str(e.at), size=length(e.size_nm)
    ),
    found.PassLost: lambda e: said("record_pass_lost", at=str(e.at)),
    found.FarOff: _far_off,
    found.Interrupted: lambda e: said(
        "record_put_down", at=str(e.at), passes=e.passes, least=e.least
    ),
    found.StartedAnew: lambda e: said("record_anew", at=str(e.at), passes=e.passes),
    found.StillDoubtful: _doubtful,
    found.NotCounted: _not_counted,
    found.Sized: _sized,
    found.Refused: lambda e: said("record_refused", at=str(e.at), why=e.sentence, do=e.advice),
    found.MeasuredTwice: _measured_twice,
    found.TwoPartsAsked: _two_parts,
    found.TwoPartsSettled: lambda e: said("record_settled", feature=e.feature, how=e.how),
    found.TakenBack: lambda e: said("record_taken_back", at=str(e.at)),
    found.Judged: _judged,
    found.Matched: _matched,
    found.SetDone: _set_done,
    found.GaugeChanged: lambda e: said("record_gauge", gauge=e.gauge, state=e.state, why=e.reason),
    found.PedalPressed: lambda e: said("record_pedal", action=e.action),
    found.Wanted: lambda e: said("record_wanted", who=e.who or said("somebody"), at=str(e.at)),
    found.EntryMade: lambda e: said(
        "record_typed", who=e.who, at=str(e.at), text=e.text, unit=e.unit, why=e.why
    ),
    facts.FactTold: _fact_told,
    facts.FactTaken: _fact_taken,
    facts.FactHeld: _fact_held,
    facts.FactSettled: lambda e: said("record_fact_settled", at=str(e.at)),
    telling.BoardAwaited: lambda _: said("record_board_awaited"),
    telling.AskShown: lambda e: said("record_ask_shown", ask=e.ask),
    found.TemperatureTaken: lambda e: said(
        "record_temperature", of=e.of, celsius=celsius(e.milli_celsius)
    ),
    kept.ReadingTaken: _reading,
    kept.FaultSeen: lambda e: said("record_fault", gauge=e.gauge, fault=e.fault, hint=e.hint),
    kept.WireNote: lambda e: said("record_note", gauge=e.gauge, note=e.note),
    jobs.JobOrdered: _job_ordered,
    jobs.SignedOn: lambda e: said("record_signed_on", who=e.who),
    jobs.JobPaused: lambda e: said("record_job_paused", who=e.who),
    OverrideAsked: lambda e: said("record_override_asked", who=e.who, about=e.about, why=e.reason),
    Overridden: _overridden,
    OverrideRefused: lambda e: said(
        "record_override_refused", about=e.about, who=e.who, why=e.sentence
    ),
    kept.WireSent: lambda e: said("record_sent", gauge=e.gauge, raw=e.raw),
    kept.WireOpened: lambda e: said("record_port", gauge=e.gauge, port=e.port),
    ports.AdapterTaken: lambda e: said(
        "record_adapter", gauge=e.gauge, usb=e.usb, serial=e.serial_number, socket=e.socket
    ),
    ports.AdapterChosen: lambda e: said(
        "record_adapter_chosen", gauge=e.gauge, who=e.who, port=e.port
    ),
    ports.NameShared: lambda e: said(
        "record_name_shared", gauge=e.gauge, port=e.port, adapters=e.adapters
    ),
    ports.GaugeStalled: lambda e: said("record_stalled", gauge=e.gauge, time=_seconds(e.stood_ms)),
    ports.BytesLeftOut: lambda e: said("record_left_out", gauge=e.gauge, count=e.count),
    kept.UnitChanged: lambda e: said("record_unit", gauge=e.gauge, was=e.was, now=e.now),
    kept.SessionOpened: _opened,
    kept.SessionResumed: lambda e: said("record_resumed", seq=e.last_seq, count=e.torn_bytes),
    kept.SessionClosed: lambda e: said("record_closed", how=e.how),
    kept.SessionSigned: lambda e: said("record_signed", who=e.who),
    kept.HeadSeen: lambda e: said("record_witness", bench=e.bench, count=e.seq, session=e.session),
    recorded.ClockStepped: lambda e: said("record_clock", step=decimal(f"{e.step_us / 1e6:+.3f}")),
    recorded.ClockNotSet: lambda e: said("record_clock_not_set", utc=e.utc),
    recorded.RecordingStopped: lambda e: said("record_stopped", why=e.reason),
    recorded.ReserveUsed: lambda e: said("record_reserve", count=e.freed_bytes),
    recorded.RecordingResumed: lambda e: said("record_recording", count=e.refused),
    recorded.MessageRefused: lambda e: said(
        "record_message", topic=e.topic, count=e.count, why=e.problem
    ),
    recorded.RecordGone: _gone,
    recorded.RecordPutBack: _put_back,
    recorded.EndUnsaved: lambda e: said(
        "record_unsaved", records=e.records, readings=e.readings, why=e.reason
    ),
    recorded.SessionFollows: lambda e: said("record_follows", session=e.session or said("none")),
    recorded.VersionChanged: lambda e: said("record_version", now=e.now, was=e.was),
    recorded.LimitReached: lambda e: said(
        "record_limit", limit=e.limit, what=e.what, dropped=e.dropped
    ),
    recorded.ServiceChanged: _service,
}
"""What each kind of record tells."""
