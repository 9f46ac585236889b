"""Records a whole session without a daemon: simulated sweeps, bytes, wire, rules, journal.

What the daemon does with tasks and a bus happens here in one loop, so that a test can have any
session in a moment.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from barrelfit.acquire.clock import utc_text
from barrelfit.acquire.inputs.setup import MATERIALS, setup_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import (
    SessionClosed,
    SessionOpened,
    WireOpened,
    of_outcome,
    to_input,
)
from barrelfit.acquire.journal.job_events import GaugeSetup
from barrelfit.acquire.journal.lines import Stamp
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.events import Asked, GaugeChanged
from barrelfit.simulators.line import Encoder
from barrelfit.simulators.trace import make_trace

START = datetime(2026, 11, 25, 1, 2, 3, tzinfo=UTC)
SHEET = "flat-four-85"

CONFIG = """\
schema = 1
bench = "bench1"
sheet = "flat-four-85"

[set]
job = "job-7"
variant = "early"
group = "II"

[[gauge]]
id = "micrometer"
profile = "signed-decimal-streaming-crlf"
port = "/dev/pts/90"
measures = "outside"
movement = "following"

[[gauge]]
id = "bore"
profile = "decimal-unit-suffix"
port = "/dev/pts/91"
measures = "bore"
movement = "bore"

[temperature]
part_c = 20.0
gauge_c = 20.0
"""

SET = """\
schema = 1
unit = "mm"
job = "{job}"
variant = "early"
group = "II"
left_out = ["looked-at", "rings", "pins", "mass", "height-groups", "head-seal"]
[[piston]]
id = "P1"
serial = "{serial}"
[[piston]]
id = "P2"
serial = "K-101"
[[piston]]
id = "P3"
[[piston]]
id = "P4"
[[barrel]]
id = "B1"
kind = "iron-liner"
piston = "P1"
[[barrel]]
id = "B2"
kind = "iron-liner"
piston = "P2"
[[barrel]]
id = "B3"
kind = "iron-liner"
piston = "P3"
[[barrel]]
id = "B4"
kind = "iron-liner"
piston = "P4"
"""


def opening(session="bench1-20261125T010203Z", job="job-7", serial="K-100", **changes):
    """A session's first document; `changes` replace its fields."""
    gauges = {
        "micrometer": ("signed-decimal-streaming-crlf", "following", "/dev/pts/90"),
        "bore": ("decimal-unit-suffix", "bore", "/dev/pts/91"),
    }
    given = {
        "session": session,
        "bench": "bench1",
        "who": "A. Smith",
        "job": job,
        "code_version": "0.1.0",
        "sheet_id": SHEET,
        "sheet_revision": "A",
        "sheet_text": shipped_text("rules", "sheets", SHEET),
        "set_text": SET.format(job=job, serial=serial),
        "config_text": CONFIG,
        "gauges": {
            name: GaugeSetup(profile, shipped_text("drivers", "profiles", profile), movement,
                             port=port)
            for name, (profile, movement, port) in gauges.items()
        },
        "guard_factor": 1.65,
        "settings": {MATERIALS: shipped_text("rules", "data", "materials")},
        "simulated": True,
    }  # fmt: skip
    return SessionOpened(**given | changes)


def one_gauge(profile):
    """The opening of a bench with one gauge, called `g`, of any profile."""
    measures, movement = ("mass", "settling") if "mass" in profile else ("outside", "following")
    config = CONFIG[: CONFIG.index("[[gauge]]")] + (
        f'[[gauge]]\nid = "g"\nprofile = "{profile}"\nport = "/dev/pts/90"\n'
        f'measures = "{measures}"\nmovement = "{movement}"\n'
    )
    setup = GaugeSetup(profile, shipped_text("drivers", "profiles", profile), movement)
    return opening(session="one", config_text=config, gauges={"g": setup})


class Recording:
    """A session being recorded."""

    def __init__(self, path, document):
        self.t_ns = 1_000_000_000
        self.path, self.opened = path, document
        self.journal = JournalFile.create(path, RealDisk(), self.stamp)
        self.bench, found = begin(setup_of(document))
        self.wires = {name: wire_of(document, name) for name in document.gauges}
        self.encoders = {
            name: Encoder.for_profile(gauge.profile) for name, gauge in document.gauges.items()
        }
        self.asked = None
        self.refused = 0
        self.on_their_way = None
        self.journal.append(document)
        self._say(found, 1)
        for name, gauge in document.gauges.items():
            self._record(WireOpened(name, gauge.port))
            self.wires[name].opened(self.t_ns)
            self._record(GaugeChanged(name, self.t_ns, "present"))

    def stamp(self):
        moment = START + timedelta(microseconds=self.t_ns // 1000)
        return Stamp(self.t_ns, utc_text(moment))

    def send(self, gauge, data):
        """Bytes of a gauge arrive."""
        for outcome in self.wires[gauge].feed(data, self.t_ns):
            self._record(of_outcome(gauge, outcome))

    def play(self, gauge, trace, pause_s=2.0):
        """A whole trace of readings arrives, after a pause."""
        start_ns = self.t_ns + int(pause_s * 1e9)
        for t_ns, length_nm in trace.samples_ns:
            self.t_ns = start_ns + t_ns
            self.send(gauge, self.encoders[gauge].encode(length_nm))

    def input(self, event):
        """Something else happens: the pedal, an entry, a temperature."""
        self._record(event)

    def close(self, how="done"):
        if how:
            self._record(SessionClosed(how))
        assert self.journal.close()
        return self.journal

    def _record(self, event):
        seq = self.journal.append(event)
        known = to_input(event, self.t_ns)
        if known is not None:
            self.bench, found = step(self.bench, known)
            self._say(found, seq)

    def hold_back(self):
        """From here on findings are on their way, and reach the journal at `let_through`."""
        self.on_their_way = []

    def let_through(self):
        on_their_way, self.on_their_way = self.on_their_way, None
        for output, because in on_their_way:
            self._write(output, because)

    def _write(self, output, because):
        """A finding reaches the journal; what was asked for is known to be said from here on."""
        seq = self.journal.append(output, because=because)
        if isinstance(output, Asked):
            self.bench, found = step(self.bench, output)
            self._say(found, seq)

    def _say(self, found, because):
        for output in found:
            if self.on_their_way is None:
                self._write(output, because)
            else:
                self.on_their_way.append((output, because))
            if isinstance(output, Asked):
                self.asked = output


def true_size_mm(at):
    """What each part of the set measures: one piston is worn, one bore is oval, none is alike."""
    number = int(at.part[1:])
    if at.part.startswith("P"):
        return 84.850 if number == 2 else 84.936 - 0.006 * (number - 1)
    return 85.015 if (at.part, at.direction) == ("B3", "thrust") else 85.003 + 0.005 * (number % 3)


def sweep(recording, kind="", seed=1, **options):
    """Sweep the asked feature once; returns its id."""
    asked = recording.asked
    gauge = asked.gauge
    kind = kind or ("bore" if gauge == "bore" else "to-and-fro")
    trace = make_trace(
        kind, rate_hz=20, seed=seed, size_mm=true_size_mm(asked.at), bounce_share=0.0, **options
    )
    recording.play(gauge, trace)
    return asked.at


def record_set(folder: Path, document=None, *, features=None, how="done"):
    """Record a set's session to its end, or `features` of it; returns the journal's path."""
    document = document or opening()
    path = folder / f"{document.session}.jsonl"
    recording = Recording(path, document)
    done = 0
    for seed in range(1, 200):
        if recording.asked.at is None or done == features:
            break
        before = recording.asked.at
        sweep(recording, seed=seed)
        done += recording.asked.at != before
    recording.close(how)
    return path
