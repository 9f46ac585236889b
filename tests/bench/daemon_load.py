"""Wire to verdict with a whole bench under load: prints figures, fails on losses, never on a time.

    python -m tests.bench.daemon_load --gauges 64 --rate 10 --seconds 60

Every gauge is a pseudo-terminal of this process, written to on an absolute schedule. One plays
whole sweeps, the others numbered readings. One daemon reads them all; an independent client on
its bus notes when each record and verdict came. Every number is checked against the journal:
none lost, none doubled, none out of order.
"""

import argparse
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

from simulators.line import Encoder
from simulators.trace import make_trace
from tests.system.bench_rig import PROFILE, Daemon, bench_text, ending, free_port, gauge_text

FIRST_NM = 12_000_000
STEP_NM = 1_000
SIZE_MM = 84.92
AWAY_S = 3.0


@dataclass
class Cable:
    """A gauge's end: its pseudo-terminal and what was written to it, with the moment."""

    link: Path
    near: int = 0
    sent: dict[int, float] = field(default_factory=dict)

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
            os.write(cable.near, frame)


def write_sweeps(cable: Cable, rate_hz: float, stop: threading.Event) -> None:
    """Whole sweeps, and the gauge away between them."""
    encoder = Encoder.for_profile(PROFILE)
    seed, due = 0, time.monotonic()
    while not stop.is_set():
        seed += 1
        trace = make_trace("to-and-fro", rate_hz, seed, size_mm=SIZE_MM)
        away = [70_000_000] * round(AWAY_S * rate_hz)
        for length_nm in (*trace.readings_nm, *away):
            due += 1.0 / rate_hz
            time.sleep(max(0.0, due - time.monotonic()))
            if stop.is_set():
                return
            os.write(cable.near, encoder.encode(length_nm))


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def bench_file(folder: Path, port: int, cables: list[Cable]) -> Path:
    gauges = [gauge_text(cable.link.name, cable.link) for cable in cables]
    file = folder / "bench.toml"
    file.write_text(bench_text(folder, port, "\n".join(gauges)))
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
    """Numbers that the journal has lost, doubled or mixed up."""
    found: dict[str, list[int]] = {cable.link.name: [] for cable in cables}
    for line in journal.read_text(encoding="utf-8").splitlines():
        record = json.loads(line)
        if record["kind"] == "reading_taken" and record["data"]["gauge"] in found:
            found[record["data"]["gauge"]].append(record["data"]["length_nm"])
    return [
        f"{cable.link.name}: {len(cable.sent)} sent, {len(found[cable.link.name])} journaled"
        for cable in cables
        if found[cable.link.name] != list(cable.sent)
    ]


def study(gauges: int, rate_hz: float, seconds: float) -> list[str]:
    """Run the load once and print its figures; returns what was lost or doubled."""
    with tempfile.TemporaryDirectory(prefix="load-") as name:
        folder, port, bus, stop = Path(name), free_port(), Bus(), threading.Event()
        cables = [Cable(folder / f"g{number}") for number in range(gauges)]
        sweeps, numbers = cables[0], cables[1:]
        began = time.monotonic()
        daemon = Daemon(bench_file(folder, port, cables))
        with ending(daemon):
            journal = Path(daemon.ready()["journal"])
            say(f"ready after {time.monotonic() - began:.2f} s")
            client = client_of(port, folder, bus)
            daemon.told("asked")
            hand = threading.Thread(target=write_sweeps, args=(sweeps, rate_hz, stop))
            hand.start()
            write_numbers(numbers, rate_hz, seconds)
            stop.set()
            hand.join()
            _until_still(bus)
            daemon.end()
            client.disconnect()
            client.loop_stop()
        _print(bus, numbers)
        faults = faults_of(journal, numbers)
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
    quantiles("wire to a verdict on the bus", [w for kind, w in found if kind == "judged"])
    say(f"records on the bus: {len(bus.at)}, repeated by it: {bus.doubled}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--gauges", type=int, default=64)
    parser.add_argument("--rate", type=float, default=10.0)
    parser.add_argument("--seconds", type=float, default=60.0)
    options = parser.parse_args()
    return 1 if study(options.gauges, options.rate, options.seconds) else 0


if __name__ == "__main__":
    raise SystemExit(main())
