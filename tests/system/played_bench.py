"""A whole bench whose hand sweeps on whatever happens: simulator, daemon, and eyes on the bus.

The parts are invented and far enough apart that no size of one could be taken for another's.
"""

import contextlib
import json
import os
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.system.bench_rig import PYTHON, Child, Daemon, ending
from tests.system.board_rig import need, wait_for
from tests.system.patience import PATIENCE_S
from tests.world.parts import set_text, sheet_text

SPEED = 10.0
ERROR_UM_MAX = 5.0
WORN = "P2"
SIZES_MM = {"P1": 84.9216, WORN: 84.8447, "P3": 84.8950, "B1": 85.0040, "B2": 85.0160, "B3": 85.028}
ENTER = ("nsenter", "--net=/proc/{pid}/ns/net")

GAUGE = """[[gauge]]
name = "{name}"
profile = "{profile}"
movement = "{movement}"

"""
BENCH_GAUGE = """[[gauge]]
id = "{name}"
profile = "{profile}"
port = "{port}"
measures = "{measures}"
movement = "{movement}"
setting = {{ standard = "ring-85", u_um = 0.8 }}

"""
GAUGES = (
    ("micrometer", "signed-decimal-streaming-crlf", "to-and-fro", "outside", "following"),
    ("bore-gauge", "implied-decimals-stx", "bore", "bore", "bore"),
)


def scenario_text(seed: int) -> str:
    """The parts and gauges as the simulator reads them."""
    gauges = "".join(GAUGE.format(name=g[0], profile=g[1], movement=g[2]) for g in GAUGES)
    pistons = "".join(
        f'[[piston]]\nname = "{name}"\nskirt_mm = {mm}\nprofile_mm = 3000.0\noval_mm = 0.3\n'
        for name, mm in SIZES_MM.items()
        if name.startswith("P")
    )
    barrels = "".join(
        f'[[barrel]]\nname = "{name}"\nsize_mm = {mm}\noval_mm = 0.004\n'
        for name, mm in SIZES_MM.items()
        if name.startswith("B")
    )
    places = "[depths]\nmiddle = 55.0\n[directions]\nthrust = 0.0\npin = 90.0\n"
    return f"schema = 1\nseed = {seed}\n\n{gauges}{places}{pistons}{barrels}"


def bench_text(folder: Path, speed: float) -> str:
    """The bench file."""
    gauges = "".join(
        BENCH_GAUGE.format(
            name=name, profile=profile, port=folder / name, measures=measures, movement=movement
        )
        for name, profile, _, measures, movement in GAUGES
    )
    return (
        f'schema = 1\nbench = "stand"\nsheet = "{folder}/sheet.toml"\nwho = "a test"\n'
        f'sessions = "{folder}/sessions"\n[set]\njob = "W-1"\nfile = "{folder}/set.toml"\n'
        f"[temperature]\npart_c = 20.0\ngauge_c = 20.0\n[simulation]\nspeed = {speed:g}\n{gauges}"
    )


class PlayedBench:
    """Everything that plays; what the eyes see goes on to the hand.

    Args:
        folder: for its files.
        seed: of the simulated hand.
        alone: whether the bench gets a network of its own, whose cable can be drawn.
        speed: times as fast as life.
    """

    def __init__(
        self, folder: Path, seed: int, *, alone: bool = False, speed: float = SPEED
    ) -> None:
        self._file = folder / "bench.toml"
        self._file.write_text(bench_text(folder, speed))
        (folder / "sheet.toml").write_text(sheet_text())
        (folder / "set.toml").write_text(set_text())
        scenario = folder / "scenario.toml"
        scenario.write_text(scenario_text(seed))
        (folder / "sessions").mkdir()
        serve = (PYTHON, "-m", "barrelfit.simulators", "serve", "--scenario", str(scenario))
        self._hand = Child(*serve, "--link-dir", str(folder), "--speed", f"{speed:g}")
        self._net = own_network() if alone else None
        self.link("up")
        self.hand_told: list[dict[str, Any]] = []
        watch = (PYTHON, "-m", "tests.system.board_eyes", str(folder / "sessions"))
        self._eyes = Child(*self._inside(), *watch)
        self._showing = threading.Thread(target=self._show, daemon=True)
        self._showing.start()
        self.daemons: list[Daemon] = []
        self.daemon = self.start()
        self.journal = Path(self.daemon.ready()["journal"])

    def start(self) -> Daemon:
        """Start a daemon with the bench's file."""
        self.daemon = Daemon(self._file, inside=self._inside())
        self.daemons.append(self.daemon)
        return self.daemon

    def link(self, state: str) -> None:
        """Set the only network link of the bench up or down, where it has one of its own."""
        if self._net is not None:
            subprocess.run(  # noqa: S603
                [*self._inside(), "ip", "link", "set", "lo", state], check=True, timeout=PATIENCE_S
            )

    def _inside(self) -> tuple[str, ...]:
        return tuple(w.format(pid=self._net.pid) for w in ENTER) if self._net is not None else ()

    def _show(self) -> None:
        number = 0
        with contextlib.suppress(BaseException):  # a failing `find`: the eyes have ended
            while True:
                number, _, text = self._eyes.lines.find(lambda _: True, 120.0, number)
                number += 1
                self.hand_told.append(json.loads(text))
                self._hand.say(json.loads(text))

    def records(self, *kinds: str) -> list[dict[str, Any]]:
        """The journal's records of some kinds, as they stand on disk now."""
        wanted = tuple(f'"kind":"{kind}"'.encode() for kind in kinds)
        lines = self.journal.read_bytes().splitlines(keepends=True)
        whole = [ln for ln in lines if ln.endswith(b"\n") and any(w in ln for w in wanted)]
        return [json.loads(line) for line in whole]

    def wait(self, seen: Callable[[], object], what: str) -> None:
        """Wait until something is seen in the journal."""
        end = time.monotonic() + PATIENCE_S
        while not seen():
            if time.monotonic() > end:
                said = self.records("asked", "refused", "sized", "service_changed")
                told = [r["data"] for r in said[-4:]]
                pytest.fail(f"no {what} in {PATIENCE_S} s; last: {told}, {self.hand_told[-3:]}")
            time.sleep(0.05)

    def until_passes(self, part: str, passes: int) -> None:
        """Wait until a part is being swept."""

        def swept() -> bool:
            found = [r for r in self.records("passed") if r["data"]["at"]["part"] == part]
            return len(found) >= passes

        self.wait(swept, f"{passes} passes of {part}")

    def until_sized(self, parts: int) -> None:
        """Wait until so many parts have a size."""

        def sized() -> bool:
            return len({r["data"]["at"]["part"] for r in self.records("sized")}) >= parts

        self.wait(sized, f"{parts} sizes")

    def until_pistons_are_done(self) -> None:
        """Wait until a bore is asked for."""
        self.wait(lambda: any(_is_bore(r) for r in self.records("asked")), "bore asked")

    def children(self) -> tuple[Child, ...]:
        """Everything that was started, what others need last."""
        last = () if self._net is None else (self._net,)
        return (*self.daemons, self._eyes, self._hand, *last)

    def truth_nm(self) -> dict[tuple[str, str, str], int]:
        """What the parts truly measure, as the simulator has said."""
        said = [json.loads(text) for text in self._hand.lines.texts()]
        truths = [message["truth"] for message in said if "truth" in message]
        return {(t["part"], t["depth"], t["direction"]): t["size20_nm"] for t in truths}

    def check(self) -> list[dict[str, Any]]:
        """End the bench; nothing wrong was said all along. Gives the sizes."""
        assert self.daemon.end() == 0, self.daemon.errors.texts()
        truth = self.truth_nm()
        sizes = [r["data"] for r in self.records("sized")]
        for size in sizes:
            at = size["at"]
            true_nm = truth[(at["part"], at.get("depth", ""), at.get("direction", ""))]
            assert abs(size["size_nm"] - true_nm) <= ERROR_UM_MAX * 1000, (at, size, true_nm)
        verdicts = [r["data"] for r in self.records("judged") if r["data"]["about"] == WORN]
        assert "serviceable" not in [verdict["verdict"] for verdict in verdicts]
        self._command("verify", str(self.journal))
        self._command("replay", str(self.journal), "--redo")
        return sizes

    @staticmethod
    def _command(*words: str) -> None:
        done = subprocess.run(  # noqa: S603
            [PYTHON, "-m", "barrelfit.acquire", *words],
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE_S,
        )
        assert done.returncode == 0, done.stdout + done.stderr


def _is_bore(record: dict[str, Any]) -> bool:
    return (record["data"]["at"] or {}).get("feature") == "bore"


def own_network() -> Child:
    """A process in a network of its own, that has nothing but a loopback link; else skips."""
    program = need("unshare")
    if subprocess.run([program, "--net", "true"], check=False, capture_output=True).returncode:  # noqa: S603
        pytest.skip("no network namespace may be made here")
    child, ours = Child(program, "--net", "cat"), Path("/proc/self/ns/net").readlink()
    wait_for(lambda: Path(f"/proc/{child.pid}/ns/net").readlink() != ours, "a network of its own")
    return child


@contextlib.contextmanager
def played(
    folder: Path, seed: int, *, alone: bool = False, speed: float = SPEED
) -> Iterator[PlayedBench]:
    """A bench at play; nothing of it outlives the test."""
    bench = PlayedBench(folder, seed, alone=alone, speed=speed)
    try:
        yield bench
    finally:
        with ending(*bench.children()):
            pass


def stopped_for(pid: int, seconds: float) -> None:
    """Stop a process for a while of real time."""
    os.kill(pid, signal.SIGSTOP)
    try:
        time.sleep(seconds)
    finally:
        with contextlib.suppress(ProcessLookupError):  # it was ended and started anew
            os.kill(pid, signal.SIGCONT)
