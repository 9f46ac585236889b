"""A session as it was, told line by line; nothing is computed anew. Pure."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from barrelfit.acquire.journal import events as kept
from barrelfit.acquire.journal import port_events as ports
from barrelfit.acquire.journal import record_events as recorded
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.rules import events as said
from barrelfit.rules import telling
from barrelfit.rules import told as facts
from barrelfit.rules.manner import told, told_all

_DETAIL: Final = (
    kept.ReadingTaken,
    kept.FaultSeen,
    kept.WireNote,
    kept.WireSent,
    said.Contact,
    said.Passed,
    said.StillDoubtful,
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


def line_of(record: Record) -> str:
    """One record as a line for people: number, UTC time of day, what happened."""
    event = record.event
    sentence = SENTENCES[type(event)](event)
    # Typed texts may hold anything; a line stays one line and moves no cursor.
    words = "".join(c if c.isprintable() else " " for c in sentence)
    return f"{record.seq:>7}  {record.utc[11:23]}  {words}".rstrip()


def _sized(event: said.Sized) -> str:
    low, high = _mm(event.low_nm), _mm(event.high_nm)
    size = f"SIZE {event.at}: {_mm(event.size_nm)} mm at 20 °C"
    return f"{size}, 95 % within {low} to {high} mm ({event.estimator})"


def _judged(event: said.Judged) -> str:
    reasons = "; ".join(told(finding.sentence) for finding in event.findings)
    return f"VERDICT {event.about}: {event.verdict.value}. {reasons}"


def _matched(event: said.Matched) -> str:
    pairs = [f"{p.piston} in {p.barrel}" for p in event.pairs]
    return "; ".join([f"pairing {event.outcome}", *pairs, *told_all(event.sentences)])


def _set_done(event: said.SetDone) -> str:
    return (
        f"set done: {event.serviceable} serviceable, {event.rework} rework, "
        f"{event.discard} discard, {event.undecided} undecided"
    )


def _opened(event: kept.SessionOpened) -> str:
    simulated = " (simulated)" if event.simulated else ""
    sheet = f"sheet {event.sheet_id} rev {event.sheet_revision}"
    return f"session {event.session}{simulated} of job {event.job} opened by {event.who}, {sheet}"


def _put_back(event: recorded.RecordPutBack) -> str:
    lost = f", records {event.lost_from} to {event.lost_to} are LOST" if event.lost_from else ""
    aside = f", the other file is kept as {event.aside}" if event.aside else ""
    return f"the record is on disk again, in {event.file}{aside}{lost}"


def _reading(event: kept.ReadingTaken) -> str:
    suspect = f" ({event.suspect})" if event.suspect else ""
    return f"{event.gauge}: {event.value} {event.unit}{suspect}"


def _far_off(event: said.FarOff) -> str:
    away, read = _mm(abs(event.read_nm - event.expected_nm)), _mm(event.read_nm)
    words = {
        "zeroed": f"reads {away} mm away from {event.at}: zeroed?",
        "inches": f"reads {read} mm where {event.at} is asked for: that looks like inches",
        "another-feature": f"reads like {event.like}, not like {event.at}: on another part?",
        "far": f"reads {away} mm away from {event.at}: which part, which unit?",
        "another-gauge": f"is swept, but {event.at} is asked of another gauge",
    }
    return f"{event.gauge} {words[event.code]}"


def _fact_told(event: facts.FactTold) -> str:
    value = f"{event.value} {event.unit}".strip() or "unknown"
    return f"told by {event.who} by {event.by}: {event.at} = {value}. {event.why}"


def _mm(length_nm: int) -> str:
    """A length for people, in mm; the exact one is in the record."""
    return f"{length_nm / 1_000_000:.4f}"


SENTENCES: Final[dict[type, Callable[[Any], str]]] = {
    said.Asked: lambda e: f"asked ({e.done} of {e.total}): {told(e.sentence)}",
    said.Contact: lambda e: f"contact: {e.at}",
    said.Passed: lambda e: f"pass {e.number} of {e.at}: {_mm(e.size_nm)} mm as read",
    said.PassLost: lambda e: f"one pass of {e.at} lost: readings missing",
    said.FarOff: _far_off,
    said.Interrupted: lambda e: f"{e.at} put down after {e.passes} of {e.least} passes: goes on",
    said.StartedAnew: lambda e: (
        f"{e.at} starts anew: {e.passes} passes that are not like those before it was put down"
    ),
    said.StillDoubtful: lambda e: (
        f"{e.at} still doubtful after {e.passes} passes: {_mm(e.low_nm)} to {_mm(e.high_nm)} mm"
    ),
    said.NotCounted: lambda e: (
        f"not counted for {e.at}: swept before it was asked for"
        if e.why == "asked-late"
        else f"not counted for {e.at}: what was measured is still there"
    ),
    said.Sized: _sized,
    said.Refused: lambda e: f"refused {e.at}: {told(e.sentence)}; {told(e.advice)}",
    said.MeasuredTwice: lambda e: (
        f"{e.at} measured twice: {_mm(e.first_nm)} and {_mm(e.second_nm)} mm, "
        f"{'which agree' if e.agree else 'WHICH DO NOT AGREE'} ({_mm(e.doubt_nm)} mm is open)"
    ),
    said.TwoPartsAsked: lambda e: "; ".join(
        f"{p.earlier} and {p.later} agree to {_mm(p.apart_nm)} mm: two parts?" for p in e.pairs
    ),
    said.TwoPartsSettled: lambda e: f"two parts or one ({e.feature}): {e.how}",
    said.TakenBack: lambda e: f"TAKEN BACK: the size of {e.at}",
    said.Judged: _judged,
    said.Matched: _matched,
    said.SetDone: _set_done,
    said.GaugeChanged: lambda e: f"{e.gauge} is {e.state}. {e.reason}",
    said.PedalPressed: lambda e: f"pedal: {e.action}",
    said.Wanted: lambda e: f"{e.who or 'somebody'} wants to measure {e.at}",
    said.EntryMade: lambda e: f"typed by {e.who}: {e.at} = {e.text} {e.unit}. {e.why}",
    facts.FactTold: _fact_told,
    facts.FactTaken: lambda e: (
        f"FACT {e.at}: {e.value or 'unknown'}{f', before it was {e.before}' if e.before else ''}"
    ),
    facts.FactHeld: lambda e: f"NOT TAKEN {e.at} = {e.value}: {told(e.sentence)}; {told(e.advice)}",
    facts.FactSettled: lambda e: f"what was held of {e.at} is settled",
    telling.BoardAwaited: lambda _: "what is asked for counts once the bench's own board shows it",
    telling.AskShown: lambda e: f"the board shows ask {e.ask}",
    said.TemperatureTaken: lambda e: f"temperature of {e.of}: {e.milli_celsius / 1000:.1f} °C",
    kept.ReadingTaken: _reading,
    kept.FaultSeen: lambda e: f"{e.gauge}: fault {e.fault}: {e.hint}",
    kept.WireNote: lambda e: f"{e.gauge}: {e.note}",
    OverrideAsked: lambda e: f"{e.who} asks the lead to look at {e.about}: {e.reason}",
    Overridden: lambda e: f"OVERRIDDEN by {e.who}: {e.about} {e.was} -> {e.verdict}. {e.reason}",
    OverrideRefused: lambda e: f"override of {e.about} by {e.who} refused: {e.sentence}",
    kept.WireSent: lambda e: f"{e.gauge} was sent {e.raw}",
    kept.WireOpened: lambda e: f"{e.gauge}: port {e.port} opened",
    ports.AdapterTaken: lambda e: f"{e.gauge}: adapter {e.usb} {e.serial_number} in {e.socket}",
    ports.AdapterChosen: lambda e: f"{e.gauge}: {e.who} said that it is at {e.port}",
    ports.NameShared: lambda e: f"{e.gauge}: port {e.port} could be more than one: {e.adapters}",
    ports.GaugeStalled: lambda e: f"{e.gauge} WAS NOT READ for {e.stood_ms / 1000:.1f} s",
    ports.BytesLeftOut: lambda e: f"{e.gauge} babbled: {e.count} bytes left out",
    kept.UnitChanged: lambda e: f"{e.gauge} CHANGED ITS UNIT from {e.was} to {e.now}: look at it",
    kept.SessionOpened: _opened,
    kept.SessionResumed: lambda e: f"resumed after record {e.last_seq}; {e.torn_bytes} bytes torn",
    kept.SessionClosed: lambda e: f"session closed: {e.how}",
    kept.SessionSigned: lambda e: f"signed by {e.who}",
    kept.HeadSeen: lambda e: f"witness: {e.bench} had recorded {e.seq} records of {e.session}",
    recorded.ClockStepped: lambda e: f"the wall clock was set by {e.step_us / 1e6:+.3f} s",
    recorded.ClockNotSet: lambda e: f"the wall clock is not set: it shows {e.utc}",
    recorded.RecordingStopped: lambda e: f"RECORDING STOPPED: {e.reason}",
    recorded.ReserveUsed: lambda e: f"disk full: the reserve of {e.freed_bytes} bytes was given up",
    recorded.RecordingResumed: lambda e: f"recording resumed; {e.refused} records were turned away",
    recorded.MessageRefused: lambda e: f"{e.topic}: refused ({e.count}): {e.problem}",
    recorded.RecordGone: lambda e: f"JOURNAL {e.what.upper()} from outside: {e.file}",
    recorded.RecordPutBack: _put_back,
    recorded.EndUnsaved: lambda e: (
        f"ENDED UNSAVED: {e.records} records, {e.readings} readings among them: {e.reason}"
    ),
    recorded.SessionFollows: lambda e: f"the session before was {e.session or 'none'}",
    recorded.VersionChanged: lambda e: f"barrelfit {e.now} goes on; before it was {e.was}",
    recorded.LimitReached: lambda e: f"limit of {e.limit} reached: {e.what}, {e.dropped} dropped",
    recorded.ServiceChanged: lambda e: f"{e.service} {e.state}: {e.reason}".removesuffix(": "),
}
