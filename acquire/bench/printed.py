"""What `barrelfit run` prints: the session's findings, as sentences or as JSON lines."""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from barrelfit.acquire.bench.daemon import RunningSession
from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.journal.codes import code_said
from barrelfit.acquire.journal.events import (
    READINGS,
    Event,
    SessionOpened,
    UnitChanged,
    WireNote,
    WireSent,
    kind_of,
)
from barrelfit.acquire.journal.record_events import ServiceChanged
from barrelfit.acquire.journal.sentences import sentence_of
from barrelfit.acquire.said_json import said_in, with_parts
from barrelfit.rules.events import (
    Asked,
    FarOff,
    GaugeChanged,
    Interrupted,
    Judged,
    MeasuredTwice,
    PassLost,
    Refused,
    SetDone,
    Sized,
    StartedAnew,
    StillDoubtful,
    TakenBack,
    TwoPartsAsked,
    TwoPartsSettled,
)
from barrelfit.rules.hints import Coached
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.model import Verdict
from barrelfit.rules.said import NOTHING, Said, length, said, small

AS_RECORDED = (
    FarOff,
    TwoPartsAsked,
    TwoPartsSettled,
    MeasuredTwice,
    PassLost,
    Interrupted,
    StartedAnew,
    Coached,
    TakenBack,
)
QUIET = (*READINGS, WireNote, WireSent, SessionOpened)


class Teller:
    """Prints what happens, one line each, flushed."""

    def __init__(self, *, as_json: bool, manner: Manner = PLAIN) -> None:
        self._as_json = as_json
        self._manner = manner
        self._heard = True
        self._held: list[tuple[int, Event]] | None = []

    def opened(
        self,
        bench: str,
        session: RunningSession,
        address: BrokerAddress | None,
        password_at: Path | None,
        cautions: Sequence[str] = (),
    ) -> None:
        """Say where everything is, once recording is on; then what happened meanwhile.

        Args:
            bench: its name.
            session: the open session.
            address: the bus's, None while it is away.
            password_at: the file that holds the bus's password, None when it has none.
            cautions: what is to be looked at about the bench's gauges.
        """
        where = session.recorder.journal.path
        if self._as_json:
            self._json(
                {
                    "kind": "ready",
                    "bench": bench,
                    "session": session.id,
                    "journal": str(where),
                    "broker": f"{address.host}:{address.port}" if address else "",
                    "user": address.user if address else "",
                    "cautions": list(cautions),
                }
            )
        else:
            self._line(f"bench {bench}: recording session {session.id}")
            self._line(f"  journal  {where}")
            if address is not None:
                login = f"user {address.user}, password in {password_at}, " if password_at else ""
                where_bus = f"{address.host}:{address.port}, {login}topics barrelfit/{bench}/#"
                self._line(f"  bus      {where_bus}")
            for caution in cautions:
                self._line(f"  gauge    {caution}")
            if session.changed:
                self._line(f"  changed  {told(session.changed, self._manner)}")
            self._line("  Ctrl-C ends; an unfinished set goes on when this command is given again")
        held, self._held = self._held or [], None
        for seq, event in held:
            self.tell(seq, event)

    def board(self, url: str) -> None:
        """Say where the board is."""
        self._json({"kind": "board", "url": url}) if self._as_json else self._line(
            f"  board    {url}"
        )

    def tell(self, seq: int, event: Event) -> None:
        """Tell of one journaled event."""
        if isinstance(event, QUIET):
            return
        if self._held is not None:
            self._held.append((seq, event))
        elif self._as_json:
            data = with_parts(said_in(event), "")
            self._json({"kind": kind_of(type(event)), "seq": seq, "data": data})
        elif sentence := in_words(event, self._manner):
            self._line(sentence)

    def closed(self, session: RunningSession) -> None:
        """Say how the session stands at the end."""
        journal = session.recorder.journal
        how = "finished" if session.snapshot.finished else "unfinished, goes on next time"
        missing = session.recorder.missing
        if self._as_json:
            self._json({"kind": "ended", "how": how, "seq": journal.durable_seq,
                        "head": journal.head_hash, "missing": missing})  # fmt: skip
        else:
            if missing:
                self._line(f"NOT ALL IS RECORDED: {missing}")
            self._line(f"session {session.id} {how}; head {journal.head_hash[:16]}…")

    def _json(self, message: object) -> None:
        self._line(ENCODE(message).decode())

    def _line(self, text: str) -> None:
        if self._heard:
            try:
                sys.stdout.write(text + "\n")
                sys.stdout.flush()
            except OSError:  # whoever read along has gone; recording goes on
                self._heard = False
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def in_words(event: Event, manner: Manner = PLAIN) -> str:
    """One line about an event, empty for what only the board shows."""
    return told(_said(event), manner)


def _said(event: Event) -> Said:
    match event:
        case GaugeChanged() | ServiceChanged() | UnitChanged():
            return _of_bench(event)
        case Asked():
            return _of_ask(event)
        case Sized() | StillDoubtful():
            return _of_size(event)
        case Refused() | Judged() | SetDone():
            return _of_result(event)
        case _:
            as_recorded = isinstance(event, AS_RECORDED)
            return sentence_of(event) if as_recorded else NOTHING


def _of_ask(event: Asked) -> Said:
    done, total, ask = event.done, event.total, event.sentence
    if not event.gauge:
        return said("run_ask", done=done, total=total, ask=ask)
    return said("run_ask_gauge", done=done, total=total, ask=ask, gauge=event.gauge)


def _of_result(event: Refused | Judged | SetDone) -> Said:
    if isinstance(event, Refused):
        return said("run_refused", at=str(event.at), why=event.sentence, do=event.advice)
    if isinstance(event, Judged):
        verdict = VERDICTS[event.verdict]
        reasons = tuple(f.sentence for f in event.findings[:2])
        return said("run_verdict", about=event.about, verdict=verdict, reasons=reasons)
    return said(
        "run_set_done",
        serviceable=event.serviceable,
        rework=event.rework,
        discard=event.discard,
        undecided=event.undecided,
    )


VERDICTS = {
    Verdict.SERVICEABLE: said("run_serviceable"),
    Verdict.REWORK: said("run_rework"),
    Verdict.DISCARD: said("run_discard"),
    Verdict.UNDECIDED: said("run_undecided"),
}


def _of_bench(event: GaugeChanged | ServiceChanged | UnitChanged) -> Said:
    """One line about what the bench works with."""
    if isinstance(event, GaugeChanged):
        gauge, why = event.gauge, event.reason
        state = code_said("gauge_changed", "state", event.state)
        if why:
            return said("run_gauge_why", gauge=gauge, state=state, why=why)
        return said("run_gauge", gauge=gauge, state=state)
    if isinstance(event, UnitChanged):
        return said("run_unit", gauge=event.gauge, was=event.was, now=event.now)
    name, why = code_said("service_changed", "service", event.service), event.reason
    if event.state != "running":
        return said("run_service_away", service=name, why=why)
    if why:
        return said("run_service_why", service=name, why=why)
    return said("run_service_back", service=name)


def _of_size(event: Sized | StillDoubtful) -> Said:
    half = small(-(-(event.high_nm - event.low_nm) // 200) * 100)
    if isinstance(event, StillDoubtful):
        return said("run_doubtful", at=str(event.at), half=half, passes=event.passes)
    size, passes = length(event.size_nm), len(event.pass_sizes_nm)
    return said("run_sized", at=str(event.at), size=size, half=half, passes=passes)
