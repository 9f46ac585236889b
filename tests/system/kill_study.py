"""Kills the daemon at seeded moments, again and again, and counts what was lost.

    python -m tests.system.kill_study --kills 1000 --seed 7

Two gauges on pseudo-terminals speak all the time: one numbers its readings (an oracle: every
number is sent once), one plays sweeps, so that sizes and verdicts are under way too. The broker
outlives the daemon, and an independent MQTT client notes every record that the bus confirmed.
Each life of the daemon ends with SIGKILL at a random moment, start-up included; the next life
goes on with the session. At the end of every session the promises are checked:

- every record heard on the bus is in the journal, byte for byte, and so is every line printed;
- no number of the oracle stands in the journal twice, none out of order, none that was not sent;
- the chain verifies, and a redo gives the same sizes and verdicts.
"""

import argparse
import contextlib
import itertools
import json
import os
import pty
import random
import secrets
import signal
import subprocess
import sys
import tempfile
import threading
import time
import tty
from dataclasses import asdict, dataclass, field
from pathlib import Path

import paho.mqtt.client as mqtt

from barrelfit.acquire.bus.broker import BrokerAddress, config_text
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import ReadingTaken, SessionResumed
from barrelfit.acquire.journal.lines import bus_copy
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.verify import WHOLE, verify_journal
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.acquire.said_json import said_in, with_parts
from barrelfit.rules.manner import told
from barrelfit.simulators.line import Encoder
from barrelfit.simulators.trace import make_trace
from tests.system.ports import free_port, until_open

BENCH = """\
schema = 1
bench = "kill"
sheet = "flat-four-85"
sessions = "{folder}"
[simulation]
speed = {speed}
[set]
job = "study"
variant = "early"
group = "II"
barrel_kind = "iron-liner"
[broker]
embedded = false
port = {port}
user = "study"
password_file = "{folder}/password"
[[gauge]]
id = "sweeps"
profile = "signed-decimal-streaming-crlf"
port = "{folder}/sweeps"
measures = "outside"
movement = "following"
setting = {{ standard = "ring-85", u_um = 0.3 }}
[[gauge]]
id = "numbers"
profile = "signed-decimal-streaming-crlf"
port = "{folder}/numbers"
measures = "bore"
movement = "bore"
[temperature]
part_c = 20.0
gauge_c = 20.0
"""
LIFE_S = 1.5
BLANK_S = 0.5
CLEAN_S = 2.0
READY_SHARE = (
    0.75  # of the lives are timed from when the daemon is ready, the others from its start
)
NUMBERS_PER_S = 200
SPEED = 10


@dataclass
class Figures:
    """What the study counted."""

    kills: int = 0
    sessions: int = 0
    sent: int = 0
    journaled_numbers: int = 0
    records: int = 0
    heard_on_bus: int = 0
    printed: int = 0
    with_board: int = 0
    blank_lives: int = 0
    resumed: int = 0
    torn: int = 0
    sizes: int = 0
    boards: int = 0
    faults: list[str] = field(default_factory=list)


class Gauge:
    """The far end of a cable: a pseudo-terminal under a name that stays."""

    def __init__(self, link: Path) -> None:
        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        link.symlink_to(os.ttyname(self._slave))

    def send(self, data: bytes) -> None:
        """Send; when nobody has read for long, the bytes go nowhere, as on a real wire."""
        with contextlib.suppress(BlockingIOError):
            os.write(self._master, data)

    def close(self) -> None:
        os.close(self._master)
        os.close(self._slave)


class Talking:
    """Both gauges, speaking in a thread of their own until told to stop."""

    def __init__(self, folder: Path) -> None:
        self.sent: list[int] = []
        self._numbers = Gauge(folder / "numbers")
        self._sweeps = Gauge(folder / "sweeps")
        self._encoder = Encoder.for_profile("signed-decimal-streaming-crlf")
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()
        self._numbers.close()
        self._sweeps.close()

    def _run(self) -> None:
        sweeps = self._sweep_frames()
        start, number = time.monotonic(), 0
        while not self._stop.is_set():
            due = int((time.monotonic() - start) * NUMBERS_PER_S)
            while number < due:
                number += 1
                self.sent.append(number * 1000)
                self._numbers.send(self._encoder.encode(number * 1000))
                if number % (NUMBERS_PER_S // (20 * SPEED)) == 0:
                    self._sweeps.send(next(sweeps))
            self._stop.wait(0.005)

    def _sweep_frames(self):
        seed = 0
        while True:
            seed += 1
            trace = make_trace("to-and-fro", 20.0, seed, size_mm=84.938)
            yield from (self._encoder.encode(nm) for _, nm in trace.samples_ns)
            yield from [self._encoder.encode(84_000_000)] * 20


class Listener:
    """An MQTT client that owes nothing to the daemon: notes every record it hears."""

    def __init__(self, address: BrokerAddress) -> None:
        self.heard: dict[str, dict[int, bytes]] = {}
        self.different: list[str] = []
        self._client = mqtt.Client(
            mqtt.CallbackAPIVersion.VERSION2, client_id=f"study-{secrets.token_hex(4)}"
        )
        self._client.username_pw_set(address.user, address.password)
        self._client.on_message = self._message
        self._client.connect(address.host, address.port)
        self._client.subscribe("barrelfit/kill/journal", qos=1)
        self._client.loop_start()

    def stop(self) -> None:
        time.sleep(0.3)  # what the broker still has in hand
        self._client.loop_stop()
        self._client.disconnect()

    def _message(self, _client: object, _data: object, message: mqtt.MQTTMessage) -> None:
        batch = json.loads(message.payload)
        known = self.heard.setdefault(batch["session"], {})
        for event in batch["events"]:
            text = as_text(event)
            if known.setdefault(event["seq"], text) != text:
                self.different.append(f"{batch['session']} record {event['seq']} came in two ways")


def live_once(
    bench: Path, life_s: float, *, kill: bool, ready: bool, board: bool = False
) -> tuple[str, dict[int, str]]:
    """One life of the daemon; gives its journal's path and the findings it printed.

    Args:
        bench: its bench file.
        life_s: how long it lives.
        kill: whether it ends with SIGKILL; cleanly otherwise.
        ready: whether its time counts from when it says that it is ready; from its start otherwise.
        board: whether the board is started with it.
    """
    options = ["--board", "--board-port", str(free_port())] if board else []
    said = bench.with_name("said.jsonl")
    with said.open("wb") as out:
        daemon = subprocess.Popen(  # noqa: S603  our own program
            [sys.executable, "-m", "barrelfit.acquire", "run", str(bench), "--json", *options],
            stdout=out,
            stderr=subprocess.DEVNULL,
        )
        while ready and b"\n" not in said.read_bytes() and daemon.poll() is None:
            time.sleep(0.005)
        time.sleep(life_s)
        daemon.send_signal(signal.SIGKILL if kill else signal.SIGINT)
        daemon.wait()
    journal, printed = "", {}
    for line in said.read_bytes().splitlines(keepends=True):
        if not line.endswith(b"\n"):
            continue
        message = json.loads(line)
        if message["kind"] == "ready":
            journal = message["journal"]
        elif "data" in message:
            printed[message["seq"]] = as_text(message["data"])
    return journal, printed


def as_printed(data: object) -> str:
    """A record's data as the daemon prints it: texts in mm beside what is said in parts."""
    return as_text(with_parts(said_in(data), ""))


def check(
    journal: Path, heard: dict[int, str], printed: dict[int, str], sent: list[int]
) -> Figures:
    """Hold a session against what the world was told and what was sent."""
    found = Figures(sessions=1, heard_on_bus=len(heard), printed=len(printed))
    if (verified := verify_journal(journal, RealDisk())).outcome != WHOLE:
        found.faults.append(f"verify: {verified.line} {told(verified.problem)}")
        return found
    reader = JournalReader(journal, RealDisk())
    records = [record for block in reader.blocks() for record in block]
    lines = journal_lines(reader)
    for seq, text in heard.items():
        if as_text(lines.get(seq)) != text:
            found.faults.append(f"record {seq} was confirmed on the bus and is not in the journal")
    for seq, text in printed.items():
        if as_printed(lines.get(seq, {}).get("data")) != text:
            found.faults.append(f"record {seq} was printed and is not in the journal")
    check_numbers(records, sent, found)
    resumed = [r.event for r in records if isinstance(r.event, SessionResumed)]
    found.records = len(records)
    found.resumed, found.torn = len(resumed), sum(e.torn_bytes > 0 for e in resumed)
    done = redo_session(Session(journal))
    found.sizes = len(done.sizes)
    if done.difference is not None:
        found.faults.append(f"redo: {done.difference}")
    return found


def journal_lines(reader: JournalReader) -> dict[int, dict]:
    """The bus's copy of every line that counts, by seq."""
    lines = {}
    for span in reader.spans:
        stretch = RealDisk().read(span.path, span.start, span.end - span.start)
        for number, line in enumerate(stretch.splitlines(keepends=True), span.first_seq):
            lines[number] = json.loads(bus_copy(line))
    return lines


def check_numbers(records: list[Record], sent: list[int], found: Figures) -> None:
    """The oracle's numbers in the journal: each once, in order, none that was not sent."""
    numbers = [
        r.event.length_nm
        for r in records
        if isinstance(r.event, ReadingTaken) and r.event.gauge == "numbers"
    ]
    found.journaled_numbers = len(numbers)
    if any(after <= before for before, after in itertools.pairwise(numbers)):
        found.faults.append("a number stands twice or out of order in the journal")
    if not set(numbers) <= set(sent):
        found.faults.append("a number is in the journal that was never sent")


def as_text(value: object) -> str:
    return json.dumps(value, sort_keys=True)


def numbers_in(journal: str) -> int:
    """How many of the oracle's numbers a journal holds."""
    return Path(journal).read_bytes().count(b'"gauge":"numbers","raw"') if journal else 0


def study(kills: int, seed: int, per_session: int, boards: int = 0) -> Figures:
    """Kill the daemon `kills` times, `per_session` times in one session.

    In the first `boards` lives the board is started as well.
    """
    chance = random.Random(seed)  # noqa: S311  a study's chance
    total = Figures(boards=boards)
    with tempfile.TemporaryDirectory(prefix="barrelfit-kill-") as name:
        folder = Path(name)
        address = BrokerAddress("127.0.0.1", free_port(), "study", secrets.token_urlsafe(9))
        (folder / "password").write_text(address.password, encoding="ascii")
        bench = folder / "bench.toml"
        bench.write_text(
            BENCH.format(folder=folder, port=address.port, speed=SPEED), encoding="utf-8"
        )
        config = folder / "shop.toml"
        config.write_text(config_text(address), encoding="utf-8")
        broker = subprocess.Popen(  # noqa: S603  the shop's: it outlives every daemon
            [sys.executable, "-m", "barrelfit.acquire.bus.iotcore_child", str(config)],
            stdin=subprocess.PIPE,
        )
        until_open(address.port)
        talking, listener = Talking(folder), None
        try:
            listener = Listener(address)
            while total.kills < kills:
                ends = min(per_session, kills - total.kills)
                one_session(bench, ends, chance, (talking, listener), total)
                sys.stdout.write(json.dumps(asdict(total)) + "\n")
                sys.stdout.flush()
        finally:
            talking.stop()
            if listener is not None:
                listener.stop()
            broker.terminate()
            broker.communicate()  # closes its pipe, too
    return total


def one_session(
    bench: Path,
    kills: int,
    chance: random.Random,
    world: tuple[Talking, Listener],
    total: Figures,
) -> None:
    """One session through `kills` sudden ends and a clean one, then its check."""
    talking, listener = world
    journal, printed = "", {}
    for life in range(kills + 1):
        kill, ready = life < kills, chance.random() < READY_SHARE
        life_s = chance.uniform(0.0, LIFE_S)
        if not kill:
            ready, life_s = True, CLEAN_S
        board, before = total.with_board < total.boards, numbers_in(journal)
        where, said = live_once(bench, life_s, kill=kill, ready=ready, board=board)
        journal = where or journal
        total.with_board += board
        # Ready and alive for long enough, a life has recorded something, board or not.
        total.blank_lives += ready and life_s > BLANK_S and numbers_in(journal) == before
        for seq, text in said.items():
            if printed.setdefault(seq, text) != text:
                total.faults.append(f"record {seq} was printed in two ways")
    total.kills += kills
    time.sleep(0.5)  # the listener takes what the broker still has in hand
    path = Path(journal)
    found = check(path, listener.heard.get(path.stem, {}), printed, list(talking.sent))
    for name in ("sessions", "records", "journaled_numbers", "heard_on_bus", "printed", "resumed",
                 "torn", "sizes"):  # fmt: skip
        setattr(total, name, getattr(total, name) + getattr(found, name))
    total.sent = len(talking.sent)
    total.faults += found.faults + listener.different
    path.rename(path.with_suffix(".checked"))


def main() -> int:
    """Run the study from the command line; exit code 1 when a promise was broken."""
    parser = argparse.ArgumentParser(description="Kill the daemon and count what was lost.")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--per-session", type=int, default=50)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--boards", type=int, default=0, help="so many lives with a board")
    given = parser.parse_args()
    start = time.monotonic()
    found = study(given.kills, given.seed, given.per_session, given.boards)
    if found.blank_lives:
        found.faults.append(f"{found.blank_lives} lives recorded nothing")
    took_s = time.monotonic() - start
    said = [f"{found.kills} kills, seed {given.seed}, {took_s:.0f} s"]
    sys.stdout.write("\n".join(said + [f"BROKEN: {fault}" for fault in found.faults]) + "\n")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
