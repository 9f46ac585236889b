"""What `barrelfit run` prints: the session's findings, as sentences or as JSON lines."""

import os
import sys
from pathlib import Path

from barrelfit.acquire.bench.daemon import Session
from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.journal.events import (
    Event,
    ReadingTaken,
    SessionOpened,
    UnitChanged,
    WireNote,
    WireSent,
    kind_of,
)
from barrelfit.acquire.journal.sentences import SENTENCES
from barrelfit.rules.events import (
    Asked,
    FarOff,
    GaugeChanged,
    Interrupted,
    Judged,
    MeasuredTwice,
    Refused,
    SetDone,
    Sized,
    StartedAnew,
    StillDoubtful,
    TakenBack,
    TwoPartsAsked,
    TwoPartsSettled,
)
from barrelfit.rules.length import shown

AS_RECORDED = (
    FarOff,
    TwoPartsAsked,
    TwoPartsSettled,
    MeasuredTwice,
    Interrupted,
    StartedAnew,
    TakenBack,
)
QUIET = (ReadingTaken, WireNote, WireSent, SessionOpened)


class Teller:
    """Prints what happens, one line each, flushed."""

    def __init__(self, *, as_json: bool) -> None:
        self._as_json = as_json
        self._heard = True

    def opened(
        self, bench: str, session: Session, address: BrokerAddress, password_at: Path | None
    ) -> None:
        """Say where everything is, once the session is open.

        Args:
            bench: its name.
            session: the open session.
            address: the bus's.
            password_at: the file that holds the bus's password, None when it has none.
        """
        where = session.recorder.journal.path
        if self._as_json:
            self._json(
                {
                    "kind": "ready",
                    "bench": bench,
                    "session": session.id,
                    "journal": str(where),
                    "broker": f"{address.host}:{address.port}",
                    "user": address.user,
                }
            )
            return
        self._line(f"bench {bench}: recording session {session.id}")
        self._line(f"  journal  {where}")
        login = f"user {address.user}, password in {password_at}, " if password_at else ""
        self._line(f"  bus      {address.host}:{address.port}, {login}topics barrelfit/{bench}/#")
        self._line("  Ctrl-C ends; an unfinished set goes on when this command is given again")

    def board(self, url: str) -> None:
        """Say where the board is."""
        self._json({"kind": "board", "url": url}) if self._as_json else self._line(
            f"  board    {url}"
        )

    def tell(self, seq: int, event: Event) -> None:
        """Tell of one journaled event."""
        if isinstance(event, QUIET):
            return
        if self._as_json:
            self._json({"kind": kind_of(type(event)), "seq": seq, "data": event})
        elif sentence := in_words(event):
            self._line(sentence)

    def closed(self, session: Session) -> None:
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


def in_words(event: Event) -> str:
    """One line about an event, empty for what only the board shows."""
    match event:
        case GaugeChanged():
            because = f": {event.reason}" if event.reason else ""
            words = f"gauge {event.gauge} {event.state}{because}"
        case UnitChanged():
            words = (
                f"gauge {event.gauge} changed its unit from {event.was} to {event.now}: look at it"
            )
        case Asked():
            gauge = f" (gauge {event.gauge})" if event.gauge else ""
            words = f"{event.done}/{event.total}  {event.sentence}{gauge}"
        case Sized() | StillDoubtful():
            words = _of_size(event)
        case Refused():
            words = f"{event.at}: no size: {event.sentence}; {event.advice}"
        case Judged():
            reasons = "; ".join(f.sentence for f in event.findings[:2])
            words = f"{event.about}: {event.verdict.upper()}: {reasons}"
        case SetDone():
            words = (
                f"the set is done: {event.serviceable} serviceable, {event.rework} rework, "
                f"{event.discard} discard, {event.undecided} undecided"
            )
        case _:
            told = isinstance(event, AS_RECORDED)
            words = SENTENCES[type(event)](event) if told else ""
    return words


def _of_size(event: Sized | StillDoubtful) -> str:
    half_um = (event.high_nm - event.low_nm) / 2000
    if isinstance(event, StillDoubtful):
        return f"{event.at}: ± {half_um:.1f} µm after {event.passes} passes: go on"
    return (
        f"{event.at}: {shown(event.size_nm)} ± {half_um:.1f} µm (95 %) at 20 °C, "
        f"{len(event.pass_sizes_nm)} passes"
    )
