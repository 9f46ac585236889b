"""Wire to verdict with a whole bench under load: prints figures, fails on losses, never on a time.

    python -m tests.bench.daemon_load --gauges 64 --rate 10 --seconds 600

Every gauge is a pseudo-terminal of this process, written to on an absolute schedule. One plays
whole sweeps of skirts, one of bores, the others numbered readings. One daemon reads them all; an
independent client on its bus notes when each record and verdict came. The oracle is what was
written: every gauge's bytes are in the journal once and in order, every line is the reading that
was sent, and the journal verifies. CPU is of the daemon and its children together, memory of
each, all along.
"""

import argparse
import contextlib
import json
import os
import pty
import statistics
import sys
import tempfile
import threading
import time
import tty
from dataclasses import dataclass, field
from pathlib import Path

import paho.mqtt.client as mqtt

from barrelfit.acquire.cli import run_cli
from barrelfit.simulators.line import Encoder
from barrelfit.simulators.trace import make_trace
from tests.system.bench_rig import (
    PROFILE,
    Daemon,
    bench_text,
    children_of,
    ending,
    gauge_text,
    profile_for,
)
from tests.system.ports import free_port

FIRST_NM = 12_000_000
STEP_NM = 1_000
AWAY_S = 3.0
SWEPT = {"outside": ("to-and-fro", 84.92, 70_000_000), "bore": ("bore", 85.0, 95_000_000)}
"""Kind of trace, size in mm, and what the gauge shows in nm while it is away."""


NAMES = {"iotcore": "broker", "rules_service": "rules"}
"""What a child is called, by a part of its command line."""

TWENTY = """[temperature]
part_c = 20.0
gauge_c = 20.0"""  # so that sweeps of following gauges go on until they are sure


@dataclass
class Cable:
    """A gauge's end: its pseudo-terminal, all bytes written to it, and numbers with the moment."""

    link: Path
    measures: str = "outside"
    near: int = 0
    wire: bytearray = field(default_factory=bytearray)
    sent: dict[int, float] = field(default_factory=dict)

    def write(self, frame: bytes) -> None:
        os.write(self.near, frame)
        self.wire += frame

    def __post_init__(self) -> None:
        self.near, self._far = pty.openpty()
        tty.setraw(self._far)
        self.link.symlink_to(os.ttyname(self._far))

    def close(self) -> None:
        os.close(self.near)
        os.close(self._far)


@dataclass
class Bus:
    """Moments at which the bus brought journal records: readings by gauge and length, and all."""

    readings: dict[tuple[str, int], float] = field(default_factory=dict)
    doubled: int = 0
    findings: list[tuple[str, int, float]] = field(default_factory=list)
    at: dict[int, float] = field(default_factory=dict)
    record_ns: dict[int, int] = field(default_factory=dict)

    def hear(self, _client, _userdata, message) -> None:
        now = time.monotonic()
        for event in json.loads(message.payload)["events"]:
            if event["seq"] in self.at:
                self.doubled += 1
                continue
            self.at[event["seq"]] = now
            self.record_ns[event["seq"]] = event["t"]
            if event["kind"] == "reading_taken":
                data = event["data"]
                self.readings[data["gauge"], data["length_nm"]] = now
            elif (event["because"] or 0) > 1:  # what the first record led to was no reading
                self.findings.append((event["kind"], event["because"], now))


def write_numbers(cables: list[Cable], rate_hz: float, seconds: float) -> None:
    """Numbered readings on all cables, spread over the period, on an absolute schedule."""
    encoder = Encoder.for_profile(PROFILE)
    begin, period_s = time.monotonic(), 1.0 / rate_hz
    for number in range(round(rate_hz * seconds)):
        frame = encoder.encode(FIRST_NM + number * STEP_NM)
        for place, cable in enumerate(cables):
            due = begin + (number + place / len(cables)) * period_s
            time.sleep(max(0.0, due - time.monotonic()))
            cable.sent[FIRST_NM + number * STEP_NM] = time.monotonic()
            cable.write(frame)


def write_sweeps(cable: Cable, rate_hz: float, stop: threading.Event) -> None:
    """Whole sweeps, and the gauge away between them."""
    encoder = Encoder.for_profile(profile_for(cable.measures))
    kind, size_mm, away_nm = SWEPT[cable.measures]
    seed, due = 0, time.monotonic()
    while not stop.is_set():
        seed += 1
        trace = make_trace(kind, rate_hz, seed, size_mm=size_mm)
        away = [away_nm] * round(AWAY_S * rate_hz)
        for length_nm in (*trace.readings_nm, *away):
            due += 1.0 / rate_hz
            time.sleep(max(0.0, due - time.monotonic()))
            if stop.is_set():
                return
            cable.write(encoder.encode(length_nm))


@dataclass
class Family:
    """CPU and memory of the daemon and its children, looked at again and again."""

    pid: int
    rows: list[tuple[float, dict[str, float], dict[str, float]]] = field(default_factory=list)

    def look(self) -> None:
        """Note the moment, and of each the CPU seconds so far and the resident MB."""
        cpu_s, resident = {}, {}
        for pid, command in {self.pid: "daemon", **children_of(self.pid)}.items():
            with contextlib.suppress(OSError):  # it has just ended
                stat = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
                name = next((name for part, name in NAMES.items() if part in command), command)
                cpu_s[name] = (int(stat[11]) + int(stat[12])) / os.sysconf("SC_CLK_TCK")
                resident[name] = int(stat[21]) * os.sysconf("SC_PAGE_SIZE") / 1e6
        self.rows.append((time.monotonic(), cpu_s, resident))

    def watch(self, every_s: float, stop: threading.Event) -> None:
        while not stop.wait(every_s):
            self.look()

    def show(self) -> None:
        first, last = self.rows[0], self.rows[-1]
        seconds = last[0] - first[0]
        cores = {name: (s - first[1].get(name, 0.0)) / seconds for name, s in last[1].items()}
        each = ", ".join(f"{name} {share:.3f}" for name, share in cores.items())
        say(f"CPU of daemon and children: {sum(cores.values()):.3f} cores ({each})")
        for name in sorted(last[2]):
            course = " ".join(f"{row[2][name]:.0f}" for row in self.rows if name in row[2])
            say(f"MB of {name}, over time: {course}")


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def bench_file(folder: Path, port: int, cables: list[Cable]) -> Path:
    gauges = [gauge_text(cable.link.name, cable.link, cable.measures) for cable in cables]
    file = folder / "bench.toml"
    file.write_text(bench_text(folder, port, "\n".join(gauges), TWENTY))
    return file


def client_of(port: int, folder: Path, bus: Bus) -> mqtt.Client:
    password = (folder / "sessions" / "broker-password").read_text().strip()
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, client_id="load")
    client.username_pw_set("barrelfit", password)
    client.on_message = bus.hear
    client.connect("127.0.0.1", port)
    client.subscribe("barrelfit/stand/journal", qos=1)
    client.loop_start()
    return client


def quantiles(name: str, seconds: list[float]) -> None:
    if len(seconds) < 2:
        say(f"{name}: too few ({len(seconds)})")
        return
    cut = statistics.quantiles(seconds, n=100)
    median, p95, p99, most = (1e3 * s for s in (cut[49], cut[94], cut[98], max(seconds)))
    say(
        f"{name}: {len(seconds)} of them, median {median:.1f} ms, p95 {p95:.1f} ms, "
        f"p99 {p99:.1f} ms, most {most:.1f} ms"
    )


def faults_of(journal: Path, cables: list[Cable]) -> list[str]:
    """What the journal has lost, doubled, mixed up or misread."""
    wires = {cable.link.name: bytearray() for cable in cables}
    lengths: dict[str, list[int]] = {cable.link.name: [] for cable in cables}
    faults = []
    for line in journal.read_text(encoding="utf-8").splitlines():
        record = json.loads(line)
        data = record.get("data", {})
        if record["kind"] in {"reading_taken", "fault_seen", "wire_note"}:
            wires[data["gauge"]] += bytes.fromhex(data["raw"])
        if record["kind"] == "reading_taken":
            lengths[data["gauge"]].append(data["length_nm"])
        if record["kind"] == "fault_seen":
            faults.append(f"{data['gauge']}: {data['fault']}: {data['raw']}")
    faults += [
        f"{c.link.name}: {len(c.wire)} bytes sent, {len(wires[c.link.name])} journaled"
        for c in cables
        if wires[c.link.name] != c.wire
    ]
    faults += [
        f"{c.link.name}: {len(c.sent)} sent, {len(lengths[c.link.name])} journaled"
        for c in cables
        if c.sent and lengths[c.link.name] != list(c.sent)
    ]
    return faults if run_cli(["verify", str(journal)]) == 0 else [*faults, "it does not verify"]


def study(gauges: int, rate_hz: float, seconds: float) -> list[str]:
    """Run the load once and print its figures; returns what was lost or doubled."""
    with tempfile.TemporaryDirectory(prefix="load-") as name:
        folder, port, bus, stop = Path(name), free_port(), Bus(), threading.Event()
        swept = [Cable(folder / f"sweeps-{measures}", measures) for measures in SWEPT]
        numbered = [Cable(folder / f"g{number}") for number in range(gauges - len(swept))]
        cables = swept + numbered
        say(f"{gauges} gauges at {rate_hz:g}/s for {seconds:g} s; load before: {os.getloadavg()}")
        began = time.monotonic()
        daemon = Daemon(bench_file(folder, port, cables))
        with ending(daemon):
            journal = Path(daemon.ready()["journal"])
            say(f"ready after {time.monotonic() - began:.2f} s")
            client = client_of(port, folder, bus)
            daemon.told("asked")
            family = Family(daemon.pid)
            family.look()
            beside = [threading.Thread(target=family.watch, args=(seconds / 20, stop))]
            beside += [
                threading.Thread(target=write_sweeps, args=(cable, rate_hz, stop))
                for cable in swept
            ]
            for thread in beside:
                thread.start()
            write_numbers(numbered, rate_hz, seconds)
            stop.set()
            for thread in beside:
                thread.join()
            _until_still(bus)
            family.look()
            daemon.end()
            client.disconnect()
            client.loop_stop()
        _print(bus, numbered)
        family.show()
        faults = faults_of(journal, cables)
        for cable in cables:
            cable.close()
    for fault in faults:
        say(f"FAULT {fault}")
    return faults


def _until_still(bus: Bus) -> None:
    """Wait until the bus has brought nothing for a second."""
    seen = -1
    while len(bus.at) != seen:
        seen = len(bus.at)
        time.sleep(1.0)


def _print(bus: Bus, numbers: list[Cable]) -> None:
    wire = [
        bus.readings[cable.link.name, length] - sent
        for cable in numbers
        for length, sent in cable.sent.items()
        if (cable.link.name, length) in bus.readings
    ]
    quantiles("wire to bus", wire)
    found = [
        (kind, now - bus.record_ns[because] / 1e9)
        for kind, because, now in bus.findings
        if because in bus.record_ns
    ]
    quantiles("wire to a finding on the bus", [waited for _, waited in found])
    for kind in sorted({kind for kind, _ in found}):
        quantiles(f"    of them {kind}", [waited for of, waited in found if of == kind])
    for kind, waited in sorted(found, key=lambda pair: -pair[1])[:5]:
        say(f"    slowest: {kind} after {1e3 * waited:.0f} ms")
    readings = sum(len(cable.sent) for cable in numbers)
    say(f"numbered readings: {readings}; records on the bus: {len(bus.at)}, doubled {bus.doubled}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--gauges", type=int, default=64)
    parser.add_argument("--rate", type=float, default=10.0)
    parser.add_argument("--seconds", type=float, default=600.0)
    options = parser.parse_args()
    return 1 if study(options.gauges, options.rate, options.seconds) else 0


if __name__ == "__main__":
    raise SystemExit(main())
