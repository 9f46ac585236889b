"""A small journal of every shape of record, for the tests of this room."""

from barrelfit.acquire.journal.events import (
    FaultSeen,
    ReadingTaken,
    SessionClosed,
    SessionOpened,
    WireNote,
)
from barrelfit.acquire.journal.job_events import GaugeSetup
from barrelfit.acquire.journal.lines import Head, Stamp, after, seal
from barrelfit.rules.events import Asked, Contact, EntryMade, GaugeChanged, Judged, Passed, Sized
from barrelfit.rules.model import FeatureId, Finding, Severity, Verdict
from barrelfit.rules.said import written

SKIRT = FeatureId("P1", "skirt")


def stamp(number=0):
    return Stamp(1_000_000_000 + 50_000_000 * number, f"2026-11-25T01:02:03.{number:06d}Z")


def opened(session="s1"):
    gauges = {"micrometer": GaugeSetup("signed-decimal-cr", "schema = 1\n", "following")}
    return SessionOpened(
        session=session,
        bench="bench1",
        who="A. Smith",
        job="job 7",
        code_version="0.1.0",
        sheet_id="flat",
        sheet_revision="B",
        sheet_text='unit = "mm"\n',
        set_text="",
        config_text="# é\n",
        gauges=gauges,
        guard_factor=1.65,
    )


def reading(text="12.345"):
    value_nm = int(text.replace(".", "")) * 1000
    return ReadingTaken("micrometer", f"+{text}\r".encode().hex(), text, "mm", value_nm)


EVENTS = [
    opened(),
    GaugeChanged("micrometer", 1_000_000_000, "answering"),
    WireNote("micrometer", "00fe80", "before session"),
    reading(),
    Contact(SKIRT, 1_150_000_000),
    FaultSeen("micrometer", "452d310d", "out of range", written("look at the spindle")),
    reading("12.346"),
    Passed(SKIRT, 1, 12_345_000, 1, 2),
    Sized(SKIRT, 12_345_000, 12_346_000, 410.5, 1, 2, (1, 2), "e", "minimum of two-point sizes"),
    Judged(
        "P1",
        Verdict.UNDECIDED,
        (Finding("S1", Severity.NOTE, "P1", written('a "b" \n ü')),),
        written("again"),
    ),
    EntryMade(1, FeatureId("B1", "bore", "top", "thrust"), "0,021", "mm", "A. Smith"),
    Asked(None, "micrometer", written("done"), 1, 2),
    SessionClosed("done"),
]


def lines(events=None):
    """Seal events into lines, in order."""
    head, made = Head(), []
    for number, event in enumerate(EVENTS if events is None else events):
        line = seal(head, event, stamp(number), because=head.seq or None)
        head = after(head, line)
        made.append(line)
    return made
