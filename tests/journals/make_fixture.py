"""Writes this version's fixture journal: `python -m tests.journals.make_fixture`.

One journal of every released version stays here for ever: whatever is changed later, they open.
Written again only before a release; after it, a changed document gets a new version and a step in
`acquire.codec.UPCASTS`, and the next release a fixture of its own.
"""

import sys
import tempfile
from pathlib import Path

from barrelfit.acquire.journal.events import (
    HeadSeen,
    MassTaken,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    UnitChanged,
    WireNote,
    WireSent,
)
from barrelfit.acquire.journal.job_events import BenchChanged, JobOrdered, JobPaused, SignedOn
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.acquire.journal.port_events import (
    AdapterChosen,
    AdapterTaken,
    BytesLeftOut,
    GaugeStalled,
    NameShared,
)
from barrelfit.acquire.journal.record_events import (
    ClockNotSet,
    ClockStepped,
    EndUnsaved,
    LimitReached,
    MessageRefused,
    RecordGone,
    RecordingResumed,
    RecordingStopped,
    RecordPutBack,
    ReserveUsed,
    ServiceChanged,
    SessionFollows,
    VersionChanged,
)
from barrelfit.acquire.journal.signing import sign_head
from barrelfit.rules.events import (
    AlikeParts,
    EntryMade,
    FarOff,
    Interrupted,
    MeasuredTwice,
    PassLost,
    PedalPressed,
    StartedAnew,
    TemperatureTaken,
    TwoPartsAsked,
    TwoPartsSettled,
    Wanted,
)
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said, written
from barrelfit.rules.telling import AskShown, BoardAwaited
from barrelfit.rules.told import FactTold
from tests.acquire.recorded import CONFIG, Recording, opening, sweep
from tests.acquire.test_signing import KEY

VERSION = 10
FOLDER = Path(__file__).parent
# So that a sweep goes on while its size is doubtful.
WELL_SET = CONFIG.replace(
    'movement = "following"\n', 'movement = "following"\nsetting = { standard = "r", u_um = 0.3 }\n'
)


def _typed(recording: Recording, skirt: FeatureId) -> None:
    """A slip, its second try, and an undo."""
    for text in ("8.4938", "84.938"):
        recording.input(EntryMade(recording.t_ns, skirt, text, "mm", "A. Smith"))
    recording.input(PedalPressed(recording.t_ns, "undo"))


def _hinted(recording: Recording, skirt: FeatureId) -> None:
    """What becomes of a sweep, what helps a hand, and a scale's mass."""
    away = PartAway(skirt, recording.t_ns, 1_200_000_000)
    grams = MassTaken("scale", "0d", "412.5", "g", 412_500_000_000_000_000)
    helps = Coached(skirt, 3, said("do_rest_flatter"))
    for event in (StartedAnew(skirt, 1), helps, away, grams):
        recording.journal.append(event)


def _jobs(recording: Recording, document: SessionOpened) -> None:
    """A job, who is at it, and another bench beneath it."""
    gone = said("gauge_is_gone", gauge="scale")
    for event in (
        JobOrdered("new", "A. Smith", "board", job="job-8"),
        JobPaused("A. Smith"),
        SignedOn("A. Smith", "board", proven=True),
        BenchChanged(document.config_text, document.gauges, gone),
    ):
        recording.journal.append(event)


def record(folder: Path) -> Path:
    """Record a short session in which everything happens; gives its path."""
    document = opening(session=f"fixture-v{VERSION}", config_text=WELL_SET)
    recording = Recording(folder / f"v{VERSION}.jsonl", document)
    recording.input(TemperatureTaken(recording.t_ns, "part", 21_500))
    sweep(recording, seed=1, passes=14)
    recording.t_ns += 2_000_000_000
    recording.send("micrometer", b"ERR3\r\n")
    skirt = FeatureId("P2", "skirt")
    _typed(recording, skirt)
    serial = FeatureId("P2", "serial")
    for value, confirms in (("K-102", False), ("K-102", True)):  # held, and told again on purpose
        recording.input(FactTold(recording.t_ns, serial, value, who="A. Smith", confirms=confirms))
    _hinted(recording, skirt)
    _jobs(recording, document)
    for event in (
        AdapterTaken("bore", "/dev/serial/by-id/x", "1209:0002", "SN1", "1-2", "1:4", 5, "00"),
        AdapterChosen("bore", "/dev/serial/by-path/y", "A. Smith", "board"),
        NameShared("bore", "/dev/serial/by-id/x", "the adapter a and the adapter b"),
        GaugeStalled("bore", 60_000),
        BytesLeftOut("bore", 1_000_000, "780d780d"),
        WireSent("bore", "3f0d"),
        WireNote("bore", "3f0d", "acknowledgement"),
        UnitChanged("bore", "mm", "in"),
        HeadSeen("bench2", "bench2-20261125T000000Z", 7, "ab" * 32),
        ClockStepped(3_600_000_000),
        ClockNotSet("1970-01-01T00:00:00.000000Z"),
        RecordingStopped("No space left on device"),
        ReserveUsed(262_144),
        RecordingResumed(0, f"v{VERSION}.jsonl"),
        OverrideAsked("P1", "A. Smith", "a scratch that is none"),
        Overridden("P1", "rework", "serviceable", 9, "B. Jones", "hone it", "r1"),
        OverrideRefused("P2", "C. Clark", "passphrase", said("override_passphrase"), "r2"),
        Wanted(recording.t_ns, skirt, "A. Smith"),
        MeasuredTwice(skirt, 84_850_000, 84_851_000, 2_900, agree=True),
        TwoPartsAsked("skirt", (AlikeParts("P1", "P2", 1_000, 2_900),)),
        TwoPartsSettled("skirt", "pressed"),
        FarOff(skirt, "micrometer", "zeroed", 13_000, 84_940_000),
        PassLost(skirt, recording.t_ns),
        Interrupted(skirt, 2, 5),
        BoardAwaited(recording.t_ns),
        AskShown(recording.t_ns, 1),
        LimitReached("records waiting", 100, 3),
        MessageRefused("barrelfit/b/heartbeat", "nested deeper than 32", "[[[[[[[[", 1),
        RecordGone(f"v{VERSION}.jsonl", "replaced"),
        RecordPutBack(f"v{VERSION}.jsonl", f"v{VERSION}.strange1", 3, 4),
        EndUnsaved(7, 5, "No space left on device"),
        VersionChanged("0.3.0", "0.4.0"),
        SessionFollows("bench1-20261124T010203Z"),
        ServiceChanged("rules", "away", written("it ended (-9)")),
        SessionResumed(recording.journal.last_seq),
    ):
        recording.journal.append(event)
    recording.input(SessionClosed("stopped"))
    recording.journal.flush()
    recording.input(sign_head(KEY, recording.journal.head_hash, "A. Smith"))
    recording.journal.close()
    return folder / f"v{VERSION}.jsonl"


def main() -> int:
    """Write the fixture beside this file."""
    target = FOLDER / f"v{VERSION}.jsonl"
    with tempfile.TemporaryDirectory() as name:
        target.write_bytes(record(Path(name)).read_bytes())
    sys.stdout.write(f"{target}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
