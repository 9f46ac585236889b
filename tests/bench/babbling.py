"""What a babbling gauge costs its neighbours: `python -m tests.bench.babbling`.

Gauges on pseudo-terminals send numbered readings ten times a second to a real daemon, while one
more sends garbage at a megabyte a second, two seconds in every four. Printed for each kind of
garbage: how late the others' readings are stamped while it babbles and while it does not, side by
side so that a busy machine shows in both, and how much of the babble was recorded or left out.
"""

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
import time
import tty
from pathlib import Path

from barrelfit.acquire.journal.events import ReadingTaken
from barrelfit.acquire.journal.port_events import BytesLeftOut
from barrelfit.acquire.journal.session import Session
from tests.system.bench_rig import Daemon, bench_text, ending, gauge_text
from tests.system.ports import free_port

GAUGES = 16
EVERY_S = 0.1
SLOTS = 12
SLOT_S = 2.0
KINDS = {
    "short lines": b"x\r",
    "no line ends": b"\xa5",
    "good readings": b"+12.345\r\n",
}
BABBLE = """import os, sys, time
data = bytes.fromhex(sys.argv[2]) * 64
end = int(sys.argv[1])
began, sent = time.monotonic(), 0
while True:
    sent += os.write(end, data)
    time.sleep(max(0, sent / 1e6 - (time.monotonic() - began)))
"""


Spans = list[tuple[int, int]]
"""From when to when, in monotonic ns."""


class Neighbours:
    """Gauges that send numbered readings; remembers when each was sent."""

    def __init__(self, folder: Path) -> None:
        self.sent_ns: dict[tuple[str, int], int] = {}
        self._ends: list[tuple[int, int]] = []
        self._stop = threading.Event()
        for number in range(GAUGES):
            self._ends.append(terminal(folder / f"g{number}"))
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        number = 0
        while True:
            number += 1
            for place, (near, _) in enumerate(self._ends):
                if self._stop.wait(EVERY_S / GAUGES):
                    return
                with contextlib.suppress(BlockingIOError):
                    self.sent_ns[f"g{place}", number] = time.monotonic_ns()
                    os.write(near, b"+%07.3f\r\n" % (number / 1000))

    def end(self) -> None:
        self._stop.set()
        self._thread.join(5)
        for near, far in self._ends:
            os.close(near)
            os.close(far)


def terminal(link: Path) -> tuple[int, int]:
    near, far = os.openpty()
    tty.setraw(near)
    tty.setraw(far)
    os.set_blocking(near, False)
    link.symlink_to(os.ttyname(far))
    return near, far


def played(kind: str, folder: Path) -> str:
    """Run a bench beside a babbler; gives a line of figures."""
    names = [f"g{n}" for n in range(GAUGES)]
    texts = [gauge_text(name, folder / name) for name in [*names, "babbler"]]
    file = folder / "bench.toml"
    file.write_text(bench_text(folder, free_port(), "".join(texts)))
    neighbours, (near, far) = Neighbours(folder), terminal(folder / "babbler")
    os.set_blocking(near, True)
    daemon = Daemon(file)
    command = [sys.executable, "-c", BABBLE, str(near), KINDS[kind].hex()]
    babbling_ns: Spans = []
    with ending(daemon):
        daemon.ready()
        time.sleep(3.0)
        began_ns = time.monotonic_ns()
        for _ in range(SLOTS):
            from_ns = time.monotonic_ns()
            babbler = subprocess.Popen(command, pass_fds=[near])  # noqa: S603  our own
            time.sleep(SLOT_S)
            babbler.kill()
            babbler.wait()
            babbling_ns.append((from_ns, time.monotonic_ns()))
            time.sleep(SLOT_S)
        daemon.end()
    neighbours.end()
    os.close(near)
    os.close(far)
    return figures(kind, folder, neighbours, began_ns, babbling_ns)


def figures(
    kind: str,
    folder: Path,
    neighbours: Neighbours,
    began_ns: int,
    babbling_ns: list[tuple[int, int]],
) -> str:
    (path,) = list((folder / "sessions").glob("*.jsonl"))
    late_ms: dict[bool, list[float]] = {True: [], False: []}
    recorded, left_out = 0, 0
    for record in Session.open(path).records():
        event = record.event
        if getattr(event, "gauge", "") == "babbler":
            recorded += len(getattr(event, "raw", "")) // 2
            left_out += event.count if isinstance(event, BytesLeftOut) else 0
        elif isinstance(event, ReadingTaken) and record.t_ns > began_ns:
            sent_ns = neighbours.sent_ns[event.gauge, event.length_nm // 1000]
            beside = any(start < sent_ns < end for start, end in babbling_ns)
            late_ms[beside].append((record.t_ns - sent_ns) / 1e6)
    beside, alone = (shown(late_ms[babbles]) for babbles in (True, False))
    return (
        f"{kind:14} beside it {beside}; without {alone}; babble recorded {recorded}, left out "
        f"{left_out} bytes"
    )


def shown(late_ms: list[float]) -> str:
    late_ms.sort()
    p50, p99 = (late_ms[int(len(late_ms) * part)] for part in (0.5, 0.99))
    return f"p50 {p50:.2f} p99 {p99:.2f} worst {late_ms[-1]:.2f} ms of {len(late_ms)}"


def main() -> int:
    for kind in KINDS:
        with tempfile.TemporaryDirectory() as name:
            sys.stdout.write(played(kind, Path(name)) + "\n")
            sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
