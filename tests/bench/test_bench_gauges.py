"""64 gauges at 10 readings/s on ttys into one daemon: nothing lost, nothing doubled; CPU, memory.

Run with `pytest -m long tests/bench/test_bench_gauges.py -s`; SOAK_SECONDS (600) and SOAK_GAUGES
(64) change it. The oracle is what was written to the ttys.
"""

import json
import os
import signal
import subprocess
import sys
import threading
import time
import tty
from pathlib import Path

import pytest

from acquire.cli import run_cli

SECONDS = float(os.environ.get("SOAK_SECONDS", "600"))
GAUGES = int(os.environ.get("SOAK_GAUGES", "64"))
RATE_HZ = 10
HEAD = """schema = 1
bench = "soak"
sheet = "flat-four-85"
sessions = "{folder}"

[set]
job = "soak"
variant = "early"
group = "I"
barrel_kind = "iron-liner"
"""
GAUGE = """
[[gauge]]
id = "g{number}"
profile = "signed-decimal-streaming-crlf"
port = "{port}"
measures = "outside"
movement = "following"
"""


class Ttys:
    """Pseudo-terminals that number their readings, each in its own phase of the period."""

    def __init__(self):
        self.pairs = [os.openpty() for _ in range(GAUGES)]
        for _, slave in self.pairs:
            tty.setraw(slave)
        self.sent = [bytearray() for _ in self.pairs]

    def play(self, seconds):
        begun = time.monotonic()
        for turn in range(int(seconds * RATE_HZ)):
            for number, (master, _) in enumerate(self.pairs):
                due = begun + turn / RATE_HZ + number / GAUGES / RATE_HZ
                if (wait := due - time.monotonic()) > 0:
                    time.sleep(wait)
                line = b"+%03d.%03d\r\n" % divmod(turn % 1_000_000, 1000)
                os.write(master, line)
                self.sent[number] += line

    def close(self):
        for pair in self.pairs:
            for descriptor in pair:
                os.close(descriptor)


def cpu_and_memory(pid):
    """CPU seconds so far of a process and its children together, and resident MB of each."""
    cpu, resident = 0.0, {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split()
        except OSError:  # it has just ended
            continue
        if int(folder.name) == pid or int(fields[1]) == pid:
            cpu += (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
            resident[int(folder.name)] = int(fields[21]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    return cpu, [round(resident[number]) for number in sorted(resident)]


@pytest.mark.long
@pytest.mark.timeout(SECONDS + 300)
def test_64_gauges(tmp_path):
    ttys = Ttys()
    ports = [os.ttyname(slave) for _, slave in ttys.pairs]
    bench = tmp_path / "soak.toml"
    tables = [GAUGE.format(number=n, port=port) for n, port in enumerate(ports)]
    bench.write_text(HEAD.format(folder=tmp_path) + "".join(tables))
    command = [sys.executable, "-m", "acquire", "run", str(bench), "--json"]
    with (tmp_path / "told").open("wb") as told:
        daemon = subprocess.Popen(command, stdout=told, stderr=told)  # noqa: S603
    try:
        journal = wait_for_ports(tmp_path, daemon)
        before = cpu_and_memory(daemon.pid)
        player = threading.Thread(target=ttys.play, args=(SECONDS,))
        player.start()
        player.join()
        time.sleep(1.0)  # let the last reading reach the disk
        after = cpu_and_memory(daemon.pid)
    finally:
        daemon.send_signal(signal.SIGTERM)
        daemon.wait(60)
        ttys.close()
    readings = check(journal, ttys.sent)
    sys.stdout.write(
        f"{GAUGES} gauges, {SECONDS:.0f} s: {readings} readings, none lost or doubled; "
        f"{(after[0] - before[0]) / SECONDS:.2f} cores, "
        f"MB of daemon and children {before[1]} at the start, {after[1]} at the end\n"
    )
    assert run_cli(["verify", str(journal)]) == 0


def wait_for_ports(folder, daemon):
    """The journal, once every gauge's port is open in it."""
    end = time.monotonic() + 60
    while time.monotonic() < end and daemon.poll() is None:
        for path in folder.glob("soak-*"):
            if path.suffix != ".lock" and path.read_bytes().count(b'"wire_opened"') >= GAUGES:
                return path
        time.sleep(0.2)
    pytest.fail((folder / "told").read_text())


def check(journal, sent):
    """Every gauge's bytes are in the journal once and in order, every line a reading."""
    raw = {f"g{n}": bytearray() for n in range(len(sent))}
    count = 0
    for line in journal.read_text().splitlines():
        record = json.loads(line)
        data = record.get("data", {})
        if record["kind"] in {"reading_taken", "fault_seen", "wire_note"}:
            raw[data["gauge"]] += bytes.fromhex(data["raw"])
            assert record["kind"] != "fault_seen", data
            count += record["kind"] == "reading_taken"
    for number, bytes_sent in enumerate(sent):
        assert raw[f"g{number}"] == bytes_sent, f"g{number}"
    assert count == sum(b.count(b"\n") for b in sent)
    return count
