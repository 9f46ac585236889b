"""Prints how soon a published reading is seen on open boards, and what the board's server costs.

    python tests/bench/board_latency.py [--boards 1,4] [--seconds 20] [--rate 10] [--soak 0]
        [--opens 20]

Starts mosquitto, the board and chromium. "Seen" is when the figure's text has changed in the
page. CPU is the server's share of one core and the browser's; memory its resident set. `--soak`
adds seconds with one board at the same rate, memory told each minute. `--opens` opens and closes
the page so often and counts the bus clients and pages that are left.
"""

import argparse
import contextlib
import json
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.dashboard.scripted import ScriptedBench, place
from tests.system.board_rig import BoardProcess, Broker, Publisher, Repeater, browser, wait_for

WATCH = """() => {
  const seek = root => {
    for (const e of root.querySelectorAll('*')) {
      if (e.matches('[data-id=digits]')) return e;
      if (e.shadowRoot) { const deep = seek(e.shadowRoot); if (deep) return deep } }
    return null };
  const digits = seek(document); window.seen = {};
  new MutationObserver(() => {
    const text = digits.textContent;
    if (!(text in window.seen)) window.seen[text] = performance.timeOrigin + performance.now();
  }).observe(digits, { childList: true, characterData: true, subtree: true }) }"""


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def process_ticks(pid: int) -> float:
    """CPU seconds a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def browser_ticks() -> float:
    """CPU seconds that chromium's processes have used, whoever started them of ours."""
    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            head, tail = stat.read_text().rsplit(")", 1)
            parents[int(stat.parent.name)] = (int(tail.split()[1]), head.split("(", 1)[1])

    def is_ours(pid: int) -> bool:
        while pid > 1 and pid != os.getpid():
            pid = parents.get(pid, (0, ""))[0]
        return pid == os.getpid()

    pids = [pid for pid, (_, name) in parents.items() if "chrom" in name and is_ours(pid)]
    return sum(process_ticks(pid) for pid in pids)


def resident_mib(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


class Study:
    def __init__(self, rate: float) -> None:
        folder = Path(tempfile.mkdtemp(prefix="board-latency-"))
        self.broker = Broker(folder)
        self.publisher = Publisher(self.broker.port)
        self.board = BoardProcess(self.broker.port, folder)
        self.bench = ScriptedBench(clock=time.monotonic_ns)
        self.publisher.say(self.bench.state())
        self.publisher.say(self.bench.batch(self.bench.event("session_opened", {"job": "1"})))
        at = place("P1", "skirt")  # a sweep under way: what is drawn most often
        swept = self.bench.event("contact", {"at": at, "t_ns": time.monotonic_ns()})
        self.publisher.say(self.bench.snapshot())
        self.publisher.say(self.bench.batch(self.bench.asked(0), swept))
        self.beat = Repeater(self.publisher, self.bench.heartbeat, 0.5)
        self.pause_s = 1 / rate
        self.value = 10_000_000

    def close(self) -> None:
        self.beat.stop()
        self.board.stop()
        self.publisher.close()
        self.broker.stop()

    def publish(self, seconds: float) -> dict[str, float]:
        """Publish readings that never repeat; gives when each was sent, by its text, in ms."""
        sent, due = {}, time.monotonic()
        for _ in range(int(seconds / self.pause_s)):
            due += self.pause_s
            time.sleep(max(due - time.monotonic(), 0))
            self.value += 1_000
            sent[f"{self.value / 1e6:.3f}"] = time.time_ns() / 1e6
            self.publisher.say(self.bench.batch(self.bench.reading("outside-1", self.value)))
        return sent

    def latency(self, opened, boards: int, seconds: float) -> None:
        pages = []
        for _ in range(boards):
            page = opened.new_context(viewport={"width": 1920, "height": 1080}).new_page()
            page.goto(f"{self.board.url}/bench?id={self.bench.bench}")
            pages.append(page)
        self.publish(3)
        for page in pages:
            page.evaluate(WATCH)
        pid = self.board.child.pid
        before, drawn, began = process_ticks(pid), browser_ticks(), time.monotonic()
        sent = self.publish(seconds)
        took = time.monotonic() - began
        cpu, drawing = (process_ticks(pid) - before) / took, (browser_ticks() - drawn) / took
        pages[0].wait_for_timeout(500)
        delays = []
        for page in pages:
            seen = page.evaluate("() => window.seen")
            delays += [seen[text] - at for text, at in sent.items() if text in seen]
        shown = len(delays) / (len(sent) * boards)
        cuts = statistics.quantiles(delays, n=100)
        tell(
            f"{boards} boards: p50 {cuts[49]:.1f} ms, p95 {cuts[94]:.1f} ms, p99 {cuts[98]:.1f} ms,"
            f" most {max(delays):.1f} ms; {shown:.1%} of the readings were seen;"
            f" server {cpu:.1%} of a core, {resident_mib(pid):.0f} MiB;"
            f" browser {drawing:.1%} of a core",
        )
        for page in pages:
            page.context.close()

    def soak(self, opened, seconds: float) -> None:
        page = opened.new_context().new_page()
        page.goto(f"{self.board.url}/bench?id={self.bench.bench}")
        pid = self.board.child.pid
        for minute in range(int(seconds // 60)):
            before = process_ticks(pid)
            self.publish(60)
            cpu = (process_ticks(pid) - before) / 60
            heap = page.evaluate("() => performance.memory?.usedJSHeapSize / 2**20")
            tell(
                f"minute {minute + 1}: server {cpu:.1%} of a core, {resident_mib(pid):.1f} MiB;"
                f" page's heap {heap:.1f} MiB",
            )
        page.context.close()

    def opens(self, opened, count: int) -> None:
        counted = []
        topic = "$SYS/broker/clients/connected"
        client = self.publisher.client
        client.message_callback_add(topic, lambda *a: counted.append(int(a[2].payload)))
        client.subscribe(topic)
        pid, sizes = self.board.child.pid, []
        for _ in range(count):
            page = opened.new_context().new_page()
            page.goto(f"{self.board.url}/bench?id={self.bench.bench}")
            self.publish(0.5)
            page.context.close()
            sizes.append(resident_mib(pid))
        page = opened.new_context().new_page()
        page.goto(self.board.url)

        def left() -> int:
            text = page.evaluate("async () => await (await fetch('/health')).text()")
            return int(json.loads(text)["pages"])

        wait_for(lambda: left() <= 1, "the closed pages' end")
        wait_for(lambda: counted[-1:] == [2], "a count of two clients")
        tell(
            f"{count} opens and closes: {counted[-1] - 1} bus client of the board is left, {left()}"
            f" page open; {sizes[0]:.0f} MiB after the first, {sizes[-1]:.0f} MiB after the last",
        )
        page.context.close()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", default="1,4")
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--rate", type=float, default=10)
    parser.add_argument("--soak", type=float, default=0)
    parser.add_argument("--opens", type=int, default=20)
    chosen = parser.parse_args()
    study = Study(chosen.rate)
    try:
        with browser() as opened:
            for boards in chosen.boards.split(","):
                study.latency(opened, int(boards), chosen.seconds)
            if chosen.opens:
                study.opens(opened, chosen.opens)
            if chosen.soak:
                study.soak(opened, chosen.soak)
    finally:
        study.close()
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))
    sys.exit(main())
