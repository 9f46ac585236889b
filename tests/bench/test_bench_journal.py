"""Figures of the journal: sealing, writing, reading, redoing. Printed, never a reason to fail.

python -m pytest tests/bench/test_bench_journal.py -m long -s
"""

import time
import tracemalloc

import pytest

from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.lines import Head, Scanner, after, seal
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.verify import verify_journal
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.rules.events import PedalPressed
from barrelfit.simulators.trace import make_trace
from tests.acquire.journal_samples import opened, reading, stamp
from tests.acquire.recorded import Recording, opening

READINGS = 576_000  # eight hours at 20 a second
SECONDS_BETWEEN_SWEEPS = 280  # gives about as many sizes as a six-cylinder set measured twice


def told(what, number, start, cpu):
    """Print one figure."""
    wall_s, cpu_s = time.perf_counter() - start, time.process_time() - cpu
    rate = number / wall_s
    print(f"\n{what}: {number} in {wall_s:.2f} s ({cpu_s:.2f} s of a core): {rate:,.0f}/s")  # noqa: T201  a figure


def clocks():
    return time.perf_counter(), time.process_time()


@pytest.mark.long
def test_sealing_and_scanning():
    number = 200_000
    head, lines = Head(), []
    when = clocks()
    for _ in range(number):
        line = seal(head, reading(), stamp())
        head = after(head, line)
        lines.append(line)
    told("sealed", number, *when)
    whole = b"".join(lines)
    when = clocks()
    scanner = Scanner()
    for start in range(0, len(whole), 1 << 20):
        scanner.feed(whole[start : start + (1 << 20)])
    told("scanned and checked", number, *when)
    assert scanner.head == head


@pytest.mark.long
def test_append_and_flush_in_groups(tmp_path):
    journal = JournalFile.create(tmp_path / "s.jsonl", RealDisk(), stamp)
    journal.append(opened())
    when = clocks()
    for _ in range(1000):
        for _ in range(32):
            journal.append(reading())
        journal.flush()
    told("appended, in 1000 groups each synced", 32_000, *when)
    journal.close()


@pytest.mark.long
@pytest.mark.timeout(600)
def test_redo_of_eight_hours(tmp_path):
    path = eight_hours(tmp_path)
    print(f"\njournal of eight hours: {path.stat().st_size / 1e6:.0f} MB")  # noqa: T201  a figure
    when = clocks()
    found = verify_journal(path, RealDisk())
    told("verified", found.records, *when)
    when = clocks()
    done = redo_session(Session(path))
    told(f"redone, {len(done.sizes)} sizes among them,", done.readings, *when)
    assert done.difference is None
    tracemalloc.start()
    for number, block in enumerate(Session(path).blocks()):
        if number == 20:
            break
        assert block
    print(f"memory while reading: {tracemalloc.get_traced_memory()[1] / 1e6:.1f} MB at most")  # noqa: T201  a figure
    tracemalloc.stop()


def eight_hours(folder):
    """A day at the bench: a skirt swept, a rest, again and again; the gauge talks on."""
    recording = Recording(folder / "day.jsonl", opening(session="day"))
    sweeps = [make_trace("to-and-fro", 20, seed, size_mm=84.938, passes=6) for seed in range(12)]
    rest = recording.encoders["micrometer"].encode(84_000_000)
    count = turn = 0
    while count < READINGS:
        before = recording.asked.at
        trace = sweeps[turn % len(sweeps)]
        recording.play("micrometer", trace)
        for _ in range(SECONDS_BETWEEN_SWEEPS * 20):
            recording.t_ns += 50_000_000
            recording.send("micrometer", rest)
        count += len(trace.times_ns) + SECONDS_BETWEEN_SWEEPS * 20
        turn += 1
        if recording.asked.at != before:
            recording.input(PedalPressed(recording.t_ns, "undo"))
        recording.journal.flush()
    recording.close("")
    return folder / "day.jsonl"
