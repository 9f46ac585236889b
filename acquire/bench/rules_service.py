"""The rules service: a process that is shown the session's records and says what it finds.

It starts from the session's journal and goes on with what its parent shows it through its standard
input, record by record in the journal's order; it answers on its standard output
(`acquire.bench.rules_pipe`). It hears and says nothing on the bus. It ends when its parent does.

Started by the daemon as `python -m barrelfit.acquire.bench.rules_service`.
"""

import contextlib
import logging
import os
import select
import threading
from importlib.metadata import version
from pathlib import Path
from typing import Final

from barrelfit.acquire.bench.findings_queue import FindingsQueue
from barrelfit.acquire.bench.rules_pipe import ENCODE, ORDERS, PING, CaughtUp, Read
from barrelfit.acquire.inputs.bench_changes import with_bench
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.job_events import BenchChanged
from barrelfit.acquire.journal.lines import Head, Scanner
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.sweep.outcome import prepare

STDIN: Final = 0
CHUNK_BYTES: Final = 262_144


class RulesService:
    """One session's rules, between two pipes and the pure step.

    Args:
        journal: the session's journal.
        to_daemon: file descriptor that the findings are written to.
    """

    def __init__(self, journal: Path, to_daemon: int) -> None:
        self._journal = journal
        self._to_daemon = to_daemon
        self._queue: FindingsQueue | None = None
        self._opened: SessionOpened | None = None
        self._sent = 0
        self._scanner = Scanner()
        self._rest = b""

    def catch_up(self) -> None:
        """Take what the journal holds, then say how far that is."""
        reader = JournalReader(self._journal, RealDisk())
        for records in reader.blocks():
            self._take(records)
            self._say(ENCODE(Read(records[-1].seq)))
        self._scanner = Scanner(Head(reader.head.seq, reader.head.hash))
        self._say(ENCODE(CaughtUp(reader.head.seq)))
        self._send()

    def feed(self, data: bytes) -> None:
        """Take what the daemon shows: whole lines of the journal, and pings between them."""
        lines = (self._rest + data).splitlines(keepends=True)
        self._rest = lines.pop() if lines and not lines[-1].endswith(b"\n") else b""
        pinged = PING in lines
        shown = [line for line in lines if line != PING] if pinged else lines
        self._take(self._scanner.feed(b"".join(shown)))
        self._send()
        if pinged:
            self._say(ENCODE(Read(self._scanner.head.seq)))

    def _take(self, records: list[Record]) -> None:
        for record in records:
            if isinstance(record.event, SessionOpened):
                self._open(record.event)
            if self._queue is not None:
                self._queue.take(record.seq, record.event, record.t_ns, record.because)
                if isinstance(record.event, BenchChanged) and self._opened is not None:
                    self._opened = with_bench(self._opened, record.event)
                    self._queue.set_anew(record.seq, self._setup_of(self._opened))

    def _open(self, opened: SessionOpened) -> None:
        self._opened = opened
        setup = self._setup_of(opened)
        self._queue = FindingsQueue(opened.session, setup, version("barrelfit"))

    def _setup_of(self, opened: SessionOpened) -> Setup:
        setup = setup_of(opened)
        for traits in {gauge.traits for gauge in setup.gauges.values()}:
            prepare(traits)
        return setup

    def _send(self) -> None:
        """Say what was found and has not been said."""
        while self._queue is not None and (found := self._queue.unsent(self._sent)) is not None:
            payload, self._sent = found
            self._say(payload)

    def _say(self, line: bytes) -> None:
        line += b"\n"
        while line:
            line = line[os.write(self._to_daemon, line) :]


def main() -> None:
    """Read the order from standard input and serve it until that closes."""
    logging.basicConfig(level=logging.WARNING, format="barrelfit rules: %(message)s")
    to_daemon = os.dup(1)
    os.dup2(2, 1)  # whatever else is printed goes to standard error
    if hasattr(select, "poll"):
        threading.Thread(target=_end_with_parent, daemon=True).start()
    first, _, rest = _until_newline().partition(b"\n")
    with contextlib.suppress(BrokenPipeError, KeyboardInterrupt):  # the parent has gone
        service = RulesService(Path(ORDERS.decode(first).journal), to_daemon)
        service.catch_up()
        service.feed(rest)
        while data := os.read(STDIN, CHUNK_BYTES):
            service.feed(data)


def _end_with_parent() -> None:
    """When the parent's end of our standard input closes, we end, whatever we are at.

    Where a system can't tell of that alone, we end once we are through with what was read.
    """
    hung_up = select.poll()
    hung_up.register(STDIN, 0)  # nothing but its end
    hung_up.poll()
    os._exit(0)  # nothing here needs saving


def _until_newline() -> bytes:
    """The order, and what came in behind it."""
    data = b""
    while b"\n" not in data:
        if not (more := os.read(STDIN, CHUNK_BYTES)):
            raise SystemExit
        data += more
    return data


if __name__ == "__main__":
    main()
