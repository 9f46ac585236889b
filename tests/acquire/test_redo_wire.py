"""What the daemon journals of a wire is what a redo finds in its bytes again, for every profile."""

import random

import pytest

from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import shipped_names
from barrelfit.acquire.journal.codec import RECORD_TYPES, Record
from barrelfit.acquire.journal.events import FaultSeen, ReadingTaken, WireSent
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.line import Encoder
from tests.acquire.recorded import one_gauge

NOISE = [b"\x00", b"\xb1", b"ERR3", b"\r\n", b"\n", b"+12", b"xyz\r", b"\x02", b"\xff" * 5]


class Records:
    """Stands in for the recorder: keeps what was recorded, as the journal would."""

    def __init__(self, first):
        self.all: list[Record] = []
        self.record(first, t_ns=0)

    def record(self, event, *, t_ns):
        made = RECORD_TYPES[type(event)](
            len(self.all) + 1, 1, None, t_ns, "2026-11-25T01:02:03.000000Z", event, "", ""
        )
        self.all.append(made)


class Ticks:
    """A clock that says what it is told."""

    def __init__(self):
        self.now_ns = 0

    def monotonic_ns(self):
        return self.now_ns


def frames(profile, chance):
    """Bytes of a gauge of that shape, with trouble in between."""
    try:
        encoder = Encoder.for_profile(profile)
    except SimulatorError:
        return [bytes(chance.randrange(256) for _ in range(8)) for _ in range(200)]
    pieces = []
    for _ in range(200):
        if chance.random() < 0.15:
            pieces.append(chance.choice(NOISE))
        length_nm = 12_700_000 + 127_000 * chance.randrange(300)
        try:
            frame = encoder.encode(length_nm)
        except SimulatorError:
            frame = b""
        pieces.append(
            frame[: chance.randrange(len(frame))] if frame and chance.random() < 0.1 else frame
        )
    return pieces


def chunks(data, chance):
    place = 0
    while place < len(data):
        size = chance.choice((1, 2, 5, 9, 30, 120))
        yield data[place : place + size]
        place += size


@pytest.mark.parametrize("profile", shipped_names("drivers", "profiles"))
@pytest.mark.parametrize("seed", range(3))
def test_what_was_journaled_is_found_in_the_bytes_again(profile, seed):
    chance = random.Random(f"{profile}{seed}")  # noqa: S311  a test's chance
    document = one_gauge(profile)
    records, clock, life = Records(document), Ticks(), Ticks()
    port, wire = GaugePort("g", "/dev/x"), wire_of(document, "g")
    gauge = BenchGauge(port, wire, records, clock, life.monotonic_ns)
    clock.now_ns = 1_000_000_000
    gauge.changed(clock.now_ns, present=True, reason="")
    sent = b""
    for data in chunks(b"".join(frames(profile, chance)), chance):
        clock.now_ns += chance.choice((1_000_000, 20_000_000, 60_000_000, 3_000_000_000))
        if chance.random() < 0.1:
            gauge.tick()
        if chance.random() < 0.02:
            gauge.changed(clock.now_ns, present=False, reason="unplugged")
            clock.now_ns += 2_000_000_000
            gauge.changed(clock.now_ns, present=True, reason="")
        if chance.random() < 0.02:
            life.now_ns += 5_000_000_000  # the process was stopped
        sent += data
        gauge.received(clock.now_ns, data)
    gauge.changed(clock.now_ns + 1, present=False, reason="end")
    raw = b"".join(bytes.fromhex(r.event.raw) for r in records.all if hasattr(r.event, "raw"))
    assert raw == sent  # every byte of the wire, once, in order
    assert not any(isinstance(r.event, WireSent) for r in records.all)
    if profile == "signed-decimal-cr":
        assert {FaultSeen, ReadingTaken} <= {type(r.event) for r in records.all}
    redo = Redo(setup_of, wire_of, "0.1.0")
    redo.take(r for r in records.all)
    assert redo.result().difference is None
