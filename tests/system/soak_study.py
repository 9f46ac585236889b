"""A day's readings fed to a real daemon as fast as it takes them: memory and descriptors stay flat.

    python -m tests.system.soak_study --readings 1728000      # 24 h at 20 a second

Several gauges on pseudo-terminals send numbered readings, each below the rate at which a gauge is
taken for one that babbles; what the daemon has not read yet holds the sender up. Memory and
descriptors of the daemon and its helpers are sampled; at the end the record must account for every
byte, no number may stand in it twice or out of order, and memory must not have grown from the first
quarter to the last.
"""

import argparse
import contextlib
import itertools
import os
import pty
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import tty
from dataclasses import dataclass, field
from pathlib import Path

from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import FaultSeen, ReadingTaken, WireNote
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.acquire.journal.port_events import BytesLeftOut
from barrelfit.simulators.line import Encoder
from tests.system.bench_rig import bench_text, family_of, gauge_text
from tests.system.ports import free_port

GAUGES = 4
RATE_PER_S = 1_200  # of one gauge: below the fuse
PROFILE = "signed-decimal-streaming-crlf"
NUMBERS = 200_000  # a gauge shows up to 200 mm in steps of 1 µm, then begins again
SAMPLE_S = 5.0
GROWTH_MAX = 1.1


@dataclass
class Samples:
    """Memory in kB and descriptors of all processes of the bench, over time."""

    kb: list[int] = field(default_factory=list)
    descriptors: list[int] = field(default_factory=list)

    def take(self, pid: int) -> None:
        kb = descriptors = 0
        for each in {pid, *family_of(pid)}:
            with contextlib.suppress(OSError, TypeError):
                status = Path(f"/proc/{each}/status").read_text()
                kb += int(re.search(r"VmRSS:\s+(\d+)", status)[1])
                descriptors += len(os.listdir(f"/proc/{each}/fd"))  # noqa: PTH208
        self.kb.append(kb)
        self.descriptors.append(descriptors)

    @property
    def quarters(self) -> list[float]:
        """Median memory of each quarter of the time, in MB."""
        cuts = [len(self.kb) * n // 4 for n in range(5)]
        parts = (self.kb[start : end + 1] for start, end in itertools.pairwise(cuts))
        return [statistics.median(part) / 1024 for part in parts]


class Feeder(threading.Thread):
    """One gauge's far end; `sent` counts what went out whole."""

    def __init__(self, link: Path, readings: int) -> None:
        super().__init__(daemon=True)
        self._near, self._far = pty.openpty()
        tty.setraw(self._far)
        link.symlink_to(os.ttyname(self._far))
        self._readings = readings
        self.sent = 0
        self.bytes_sent = 0

    def run(self) -> None:
        encoder, start = Encoder.for_profile(PROFILE), time.monotonic()
        while self.sent < self._readings:
            due = min(self._readings, int((time.monotonic() - start) * RATE_PER_S))
            if self.sent >= due:
                time.sleep(0.002)
                continue
            upto = min(due, self.sent + 60)
            numbers = (n % NUMBERS for n in range(self.sent, upto))
            frames = b"".join(encoder.encode(number * 1000) for number in numbers)
            view = memoryview(frames)
            while view:
                view = view[os.write(self._near, view) :]
            self.sent, self.bytes_sent = upto, self.bytes_sent + len(frames)


def feed(folder: Path, readings: int) -> tuple[Path, Samples, list[Feeder]]:
    """Run a daemon through it all; gives its journal, the samples and the feeders."""
    feeders = [Feeder(folder / f"g{n}", readings // GAUGES) for n in range(GAUGES)]
    gauges = "".join(gauge_text(f"g{n}", folder / f"g{n}") for n in range(GAUGES))
    file = folder / "bench.toml"
    file.write_text(bench_text(folder, free_port(), gauges), encoding="utf-8")
    command = [sys.executable, "-m", "barrelfit.acquire", "run", str(file), "--json"]
    samples = Samples()
    with (folder / "said").open("wb") as said, subprocess.Popen(command, stdout=said) as daemon:  # noqa: S603
        while b"ready" not in (folder / "said").read_bytes():
            time.sleep(0.05)
        for feeder in feeders:
            feeder.start()
        while any(feeder.is_alive() for feeder in feeders):
            time.sleep(SAMPLE_S)
            samples.take(daemon.pid)
            done = sum(feeder.sent for feeder in feeders)
            line = f"{done} readings, {samples.kb[-1] // 1024} MB, {samples.descriptors[-1]} fd\n"
            sys.stdout.write(line)
            sys.stdout.flush()
        time.sleep(1.0)  # what is still in the terminals' buffers
        daemon.send_signal(signal.SIGINT)
        code = daemon.wait()
    assert code == 0, code
    (journal,) = (folder / "sessions").glob("*.jsonl")
    return journal, samples, feeders


def bytes_kept(journal: Path) -> tuple[dict[str, list[int]], dict[str, int]]:
    """Each gauge's numbers that became readings, and its bytes that the record accounts for."""
    numbers: dict[str, list[int]] = {f"g{n}": [] for n in range(GAUGES)}
    kept = dict.fromkeys(numbers, 0)
    for block in JournalReader(journal, RealDisk()).blocks():
        for record in block:
            event = record.event
            if isinstance(event, ReadingTaken):
                numbers[event.gauge].append(event.length_nm // 1000)
            if isinstance(event, ReadingTaken | FaultSeen | WireNote):
                kept[event.gauge] += len(event.raw) // 2
            elif isinstance(event, BytesLeftOut):
                kept[event.gauge] += event.count
    return numbers, kept


def problems_of(journal: Path, samples: Samples, feeders: list[Feeder]) -> list[str]:
    """What did not hold: what stood too long in a port is kept, but is no reading."""
    numbers, kept = bytes_kept(journal)
    found = []
    for feeder, gauge in zip(feeders, numbers, strict=True):
        steps = [(b - a) % NUMBERS for a, b in itertools.pairwise(numbers[gauge])]
        if not all(steps) or sum(steps) >= feeder.sent:
            found.append(f"{gauge}: a number stands twice or out of order")
        if kept[gauge] != feeder.bytes_sent:
            found.append(f"{gauge}: {feeder.bytes_sent} bytes sent, {kept[gauge]} accounted for")
        sys.stdout.write(f"{gauge}: {len(numbers[gauge])} of {feeder.sent} became readings\n")
    first, *_, last = samples.quarters
    if last > first * GROWTH_MAX:
        found.append(f"memory grew from {first:.0f} to {last:.0f} MB")
    if samples.descriptors[-1] > samples.descriptors[len(samples.descriptors) // 4]:
        found.append(f"descriptors grew to {samples.descriptors[-1]}")
    return found


def main() -> int:
    """Run the study from the command line; exit code 1 when a promise was broken."""
    parser = argparse.ArgumentParser(description="Feed a day's readings and watch the memory.")
    parser.add_argument("--readings", type=int, default=1_728_000)
    given = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="barrelfit-soak-") as name:
        found = feed(Path(name), given.readings)
        took_s = time.monotonic() - began
        broken = problems_of(*found)
    quarters = ", ".join(f"{mb:.0f}" for mb in found[1].quarters)
    sys.stdout.write(f"{given.readings} readings in {took_s:.0f} s; MB by quarter: {quarters}\n")
    sys.stdout.write("".join(f"BROKEN: {problem}\n" for problem in broken))
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
