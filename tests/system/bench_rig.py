"""Starts what a test of a whole bench needs: far ends of cables, a daemon, an independent listener.

Everything speaks through pseudo-terminals, standard streams and MQTT alone, as in a shop.
"""

import contextlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.system.board_rig import need
from tests.system.patience import PATIENCE_S

Message = dict[str, Any]

PYTHON = sys.executable
PROFILE = "signed-decimal-streaming-crlf"


class Lines:
    """A child's lines as they come, each with the moment it was seen; none is taken away."""

    def __init__(self, stream, beside: "Lines | None" = None) -> None:
        self._beside = beside
        self.seen: list[tuple[float, str]] = []
        self._news = threading.Condition()
        self._ended = False
        self._thread = threading.Thread(target=self._read, args=(stream,), daemon=True)
        self._thread.start()

    def _read(self, stream) -> None:
        for raw in stream:
            with self._news:
                self.seen.append((time.monotonic(), raw.decode("utf-8", "replace").rstrip("\n")))
                self._news.notify_all()
        with self._news:
            self._ended = True
            self._news.notify_all()

    def find(
        self, wanted: Callable[[str], bool], seconds: float = PATIENCE_S, start: int = 0
    ) -> tuple[int, float, str]:
        """Number, moment and text of the first wanted line from number `start` on."""
        end = time.monotonic() + seconds
        number = start
        with self._news:
            while True:
                while number < len(self.seen):
                    moment, text = self.seen[number]
                    if wanted(text):
                        return number, moment, text
                    number += 1
                left = end - time.monotonic()
                if left <= 0 or self._ended:
                    what = "ended" if self._ended else f"said nothing of it in {seconds} s"
                    also = self._beside.texts() if self._beside else []
                    pytest.fail(f"the child {what}; last: {self.texts()[-5:]}, errors: {also}")
                self._news.wait(left)

    def texts(self) -> list[str]:
        with self._news:
            return [text for _, text in self.seen]

    def count(self) -> int:
        """How many have come: the number of the next."""
        with self._news:
            return len(self.seen)

    def join(self) -> bool:
        """Wait for the stream's end; False when some process still holds it open."""
        self._thread.join(PATIENCE_S)
        return not self._thread.is_alive()


class Child:
    """A process of ours whose standard output is read line by line."""

    def __init__(self, *command: str, **options: Any) -> None:
        self.process = subprocess.Popen(  # noqa: S603
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            start_new_session=True,
            **options,
        )
        self.errors = Lines(self.process.stderr)
        self.lines = Lines(self.process.stdout, self.errors)

    @property
    def pid(self) -> int:
        return self.process.pid

    def say(self, message: Message) -> None:
        assert self.process.stdin is not None
        with contextlib.suppress(BrokenPipeError):
            self.process.stdin.write(json.dumps(message).encode() + b"\n")
            self.process.stdin.flush()

    def told(
        self, kind: str, seconds: float = PATIENCE_S, start: int = 0, **data: Any
    ) -> tuple[int, Message]:
        """Number and text of the first message of a kind whose data hold `data`."""
        number, _, text = self.lines.find(lambda line: _fits(line, kind, data), seconds, start)
        return number, json.loads(text)

    def messages(self, kind: str) -> list[Message]:
        found = [json.loads(text) for text in self.lines.texts()]
        return [message for message in found if message.get("kind") == kind]

    def signal(self, number: int) -> None:
        self.process.send_signal(number)

    def kill(self) -> None:
        """End it at once, as a power cut would, and wait for the end."""
        self.process.kill()
        self.wait()

    def wait(self, seconds: float = PATIENCE_S) -> int:
        try:
            code = self.process.wait(seconds)
        except subprocess.TimeoutExpired as error:
            error.add_note("\n".join(["It said last:", *self.lines.texts()[-5:]]))
            raise
        if self.process.stdin is not None:
            with contextlib.suppress(BrokenPipeError):
                self.process.stdin.close()
        for lines, pipe in ((self.lines, self.process.stdout), (self.errors, self.process.stderr)):
            if not lines.join():
                pytest.fail(f"process {self.pid} ended, but a child of its own lives on")
            if pipe is not None:
                pipe.close()
        return code

    def end(self) -> int:
        """Stop it the way a user does, with Ctrl-C."""
        if self.process.poll() is None:
            self.signal(signal.SIGINT)
        try:
            return self.wait()
        except subprocess.TimeoutExpired:
            self.kill()
            raise


def _fits(line: str, kind: str, data: Message) -> bool:
    try:
        message = json.loads(line)
    except ValueError:
        return False
    if not isinstance(message, dict) or message.get("kind") != kind:
        return False
    said = {**message, **message.get("data", {})}
    return all(said.get(key) == value for key, value in data.items())


class FarEnd(Child):
    """A gauge's end of a cable: numbered readings on a pseudo-terminal with a name that stays."""

    def __init__(self, link: Path, rate_hz: float = 20.0, *more: str) -> None:
        super().__init__(
            *(
                PYTHON,
                "-m",
                "barrelfit.simulators",
                "line",
                "--profile",
                PROFILE,
                "--link",
                str(link),
            ),
            *("--rate", f"{rate_hz:g}", "--count", "1000000", "--settle", "0.1", *more),
        )
        self.lines.find(lambda line: '"port"' in line)


class Machinist(Child):
    """A simulated bench whose machinist is shown what the daemon says."""

    def __init__(self, folder: Path, speed: float) -> None:
        super().__init__(
            *(PYTHON, "-m", "barrelfit.simulators", "serve", "--link-dir", str(folder)),
            *("--speed", f"{speed:g}"),
        )
        self.lines.find(lambda line: '"truth"' in line)
        self._shown = threading.Thread(target=lambda: None)

    def watch(self, daemon: "Child") -> None:
        """Show the machinist what `daemon` says until it ends."""
        self._shown = threading.Thread(target=self._show, args=(daemon,), daemon=True)
        self._shown.start()

    def _show(self, daemon: "Child") -> None:
        number = 0
        with contextlib.suppress(BaseException):  # a failing `find`: the daemon has ended
            while True:
                number, _, text = daemon.lines.find(lambda _: True, 60.0, number)
                number += 1
                message = json.loads(text)
                if message.get("kind") in {"asked", "sized", "refused"}:
                    self._look(message["kind"], message["data"])

    def _look(self, kind: str, data: Message) -> None:
        look = {"look": kind, **data["at"]} if data.get("at") else {"look": "done"}
        if kind == "asked":
            look["gauge"] = data["gauge"]
        self.say(look)


class Daemon(Child):
    """`barrelfit run FILE --json`; `inside` are words that put a command into a network."""

    def __init__(self, bench_file: Path, *options: str, inside: tuple[str, ...] = ()) -> None:
        command = (PYTHON, "-m", "barrelfit.acquire", "run", str(bench_file), "--json", *options)
        super().__init__(*inside, *command)

    def ready(self) -> Message:
        return self.told("ready")[1]

    def children(self) -> dict[int, str]:
        """Pids and command lines of the processes it started."""
        return children_of(self.pid)

    def child(self, word: str) -> int:
        """The child whose command line has `word`, waited for."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            for pid, command in self.children().items():
                if word in command:
                    return pid
            time.sleep(0.02)
        return pytest.fail(f"no child with '{word}'; there are {self.children()}")


class Listener(Child):
    """An independent MQTT client, Debian's mosquitto_sub, that hears everything."""

    def __init__(self, port: int, user: str, password: str) -> None:
        super().__init__(
            *(need("mosquitto_sub"), "-h", "127.0.0.1", "-p", str(port), "-u", user),
            *("-P", password, "-q", "1", "-v", "-t", "barrelfit/#"),
        )

    def heard(self, leaf: str) -> list[tuple[float, Message]]:
        """All messages of a topic so far, with the moment each came."""
        found = []
        for moment, line in list(self.lines.seen):
            topic, _, text = line.partition(" ")
            if topic.endswith("/" + leaf):
                found.append((moment, json.loads(text)))
        return found

    def events(self) -> list[tuple[float, Message]]:
        """All journal records heard, each once, by seq."""
        by_seq: dict[int, tuple[float, Message]] = {}
        for moment, batch in self.heard("journal"):
            for event in batch["events"]:
                by_seq.setdefault(event["seq"], (moment, event))
        return [by_seq[seq] for seq in sorted(by_seq)]

    def event(
        self, kind: str, seconds: float = PATIENCE_S, since: int = 0, **data: Any
    ) -> tuple[float, Message]:
        """Moment and record of the first event of a kind behind record `since` that has `data`.

        What came before is told by the record's number: an event is often heard before whoever
        caused it has come back to look at a clock.
        """
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for moment, event in self.events():
                said = {**event, **event["data"]}
                fits = all(said.get(key) == value for key, value in data.items())
                if event["kind"] == kind and event["seq"] > since and fits:
                    return moment, event
            time.sleep(0.02)
        heard = [(event["seq"], event["kind"]) for _, event in self.events()[-5:]]
        return pytest.fail(f"no {kind} with {data} since {since} in {seconds} s; last: {heard}")

    def last_seq(self) -> int:
        """Number of the last record heard."""
        return max((event["seq"] for _, event in self.events()), default=0)


def children_of(pid: int) -> dict[int, str]:
    """Children of a process, by pid, with their command lines."""
    found = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):
                parent = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
                if parent == pid:
                    command = (entry / "cmdline").read_bytes().replace(b"\0", b" ")
                    found[int(entry.name)] = command.decode("utf-8", "replace").strip()
    return found


def family_of(pid: int) -> set[int]:
    """A process's children, their children, and so on."""
    found: set[int] = set()
    for child in children_of(pid):
        found |= {child} | family_of(child)
    return found


def alive(pid: int) -> bool:
    """Whether a process still runs; one that only waits to be reaped does not."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state not in {"Z", "X"}


def wait_for_end(pids: set[int], seconds: float = PATIENCE_S) -> None:
    """Wait until none of these processes runs any more."""
    end = time.monotonic() + seconds
    while left := {pid for pid in pids if alive(pid)}:
        if time.monotonic() > end:
            for pid in left:  # ours: started by the process under test
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            pytest.fail(f"still running after {seconds} s: {left}")
        time.sleep(0.02)


@contextlib.contextmanager
def ending(*children: Child) -> Iterator[None]:
    """Whatever happens in the test, none of these children outlives it."""
    try:
        yield
    finally:
        for child in children:
            if child.process.poll() is None:
                child.process.kill()
            with contextlib.suppress(ValueError):
                child.wait()


def bench_text(folder: Path, port: int, gauges: str, more: str = "") -> str:
    """A bench file as one would write it by hand."""
    return f"""schema = 1
bench = "stand"
sheet = "flat-four-85"
who = "a test"
sessions = "{folder}/sessions"

[set]
job = "job-1"
variant = "early"
group = "II"
barrel_kind = "iron-liner"

[broker]
port = {port}

{more}

{gauges}"""


def profile_for(measures: str) -> str:
    """The profile of the rig's gauges."""
    return "implied-decimals-stx" if measures == "bore" else PROFILE


def gauge_text(name: str, port: Path | str, measures: str = "outside") -> str:
    movement = "bore" if measures == "bore" else "following"
    profile = profile_for(measures)
    return f"""[[gauge]]
id = "{name}"
profile = "{profile}"
port = "{port}"
measures = "{measures}"
movement = "{movement}"
setting = {{ standard = "ring-85", u_um = 0.8 }}
"""
