"""How soon a bench with a large journal is heard again: prints figures, never fails on a time.

    python -m tests.bench.restart --megabytes 87

A session is begun, ended as a power cut would, and filled up to that size; then its bench is
started again while its gauge goes on sending. An independent client notes when each record came.
"""

import argparse
import json
import statistics
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import paho.mqtt.client as mqtt
from msgspec.structs import replace

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import ReadingTaken
from barrelfit.acquire.journal.recorder import stamp_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.writer import JournalFile
from tests.system.bench_rig import Daemon, FarEnd, bench_text, ending, gauge_text
from tests.system.ports import free_port

RATE_HZ = 10.0
SECONDS = 15.0
FLUSHED = 5_000
WAIT_S = 120.0


def say(text: str) -> None:
    """One line of figures."""
    sys.stdout.write(text + "\n")


def fill(path: Path, megabytes: float) -> int:
    """Add readings to an unfinished session up to a size; gives its last seq."""
    readings = (r.event for r in Session.open(path).records())
    reading = next(event for event in readings if isinstance(event, ReadingTaken))
    now = partial(stamp_of, RunningClock())
    journal = JournalFile.resume(path, RealDisk(), now)
    while path.stat().st_size < megabytes * 1e6:
        for number in range(FLUSHED):
            journal.append(replace(reading, length_nm=80_000_000 + number * 1_000), None, now())
        journal.flush(now=True)
    journal.close()
    return journal.durable_seq


def listen(port: int, login: tuple[str, str], until_s: float) -> list[tuple[float, dict]]:
    """Every record that comes over the bus until a moment, with the moment it came."""
    heard: list[tuple[float, dict]] = []
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2)
    client.username_pw_set(*login)
    client.on_connect = lambda c, *_: c.subscribe("barrelfit/+/journal", qos=1)
    client.on_message = lambda _c, _u, message: heard.extend(
        (time.monotonic(), event) for event in json.loads(message.payload)["events"]
    )
    while time.monotonic() < until_s:
        try:
            client.connect("127.0.0.1", port)
            break
        except OSError:
            time.sleep(0.02)
    client.loop_start()
    while time.monotonic() < until_s and not _long_enough(heard):
        time.sleep(0.1)
    client.loop_stop()
    return heard


def _long_enough(heard: list[tuple[float, dict]]) -> bool:
    return bool(heard) and time.monotonic() - heard[0][0] > SECONDS


def main(arguments: list[str]) -> int:
    """Play; returns 1 when a record came twice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--megabytes", type=float, default=87.0)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="barrelfit-restart-") as name:
        folder, port = Path(name), free_port()
        file, link = folder / "bench.toml", folder / "gauge"
        file.write_text(bench_text(folder, port, gauge_text("micrometer", link)))
        with ending(FarEnd(link, RATE_HZ)):
            first = Daemon(file)
            path = Path(first.ready()["journal"])
            first.told("gauge_changed", state="answering")
            time.sleep(1.0)
            first.kill()
            last = fill(path, chosen.megabytes)
            say(f"journal of {path.stat().st_size / 1e6:.0f} MB, {last} records")
            login = ("barrelfit", (folder / "sessions" / "broker-password").read_text().strip())
            begin_s = time.monotonic()
            with ending(Daemon(file)):
                heard = listen(port, login, begin_s + WAIT_S)
    return _told(heard, begin_s, last)


def _told(heard: list[tuple[float, dict]], begin_s: float, last: int) -> int:
    readings = [(at, e) for at, e in heard if e["kind"] == "reading_taken" and e["seq"] > last]
    first_s = readings[0][0]
    then = [(at, event["t"] / 1e9) for at, event in readings if event["t"] / 1e9 > first_s]
    delays_ms = sorted((at - taken_s) * 1e3 for at, taken_s in then)
    seqs = [event["seq"] for _, event in heard]
    doubled = len(seqs) - len(set(seqs))
    old = sum(event["seq"] <= last for _, event in heard)
    say(f"first fresh reading on the bus {first_s - begin_s:.2f} s after the start")
    say(
        f"{len(then)} readings taken since, delay median {statistics.median(delays_ms):.1f} ms, "
        f"most {delays_ms[-1]:.1f} ms; {doubled} doubled, {old} old records"
    )
    return 1 if doubled else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
