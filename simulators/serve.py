"""Plays a whole bench in real time: one pseudo-terminal a gauge, one machinist for all of them.

Lines out (JSON, one object a line): `seed`, one `gauge` with its `port` for each gauge, the
temperatures a thermometer would show, the `truth` of every feature; `served` at the end.
Lines in: what the machinist sees on the board, `{"look": "asked", "part": …}`.

Samples go out on an absolute schedule (start + simulated time / speed), so that nothing drifts. A
sample is taken when it is sent: when the machine is late, the gauge shows what is there by then, as
a real one would, and a sample more than a period late is left out.
"""

import asyncio
import contextlib
import json
import os
import random
import sys
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from barrelfit.simulators.line import Encoder
from barrelfit.simulators.machinist import Machinist, Station
from barrelfit.simulators.port import Port
from barrelfit.simulators.scenario import Scenario

SETTLE_S = 0.3  # a reader may drop what comes at once after it has opened the port

Say = Callable[[dict[str, Any]], None]


def say_json(message: dict[str, Any]) -> None:
    """Print one JSON object on standard output at once; nobody listening is no fault."""
    with contextlib.suppress(BrokenPipeError):
        sys.stdout.write(json.dumps(message, allow_nan=False) + "\n")
        sys.stdout.flush()


@dataclass(slots=True)
class Line:
    """A gauge's end of the cable: its station, its port and how it writes its readings."""

    station: Station
    port: Port
    encoder: Encoder
    last_nm: int | None = None


class Bench:
    """A scenario being played: the machinist, the lines, and the clock they share."""

    def __init__(self, scenario: Scenario, speed: float, link_dir: Path | None) -> None:
        chance = random.Random(scenario.seed)
        self._scenario, self._speed = scenario, speed
        self._machinist = Machinist(scenario, chance)
        self._lines = [
            _line(name, station, link_dir) for name, station in self._machinist.stations.items()
        ]
        self._start = 0.0
        self._playing = asyncio.Event()

    def introduce(self, say: Say) -> None:
        """Say the seed, the ports, the temperatures and the truth."""
        say({"seed": self._scenario.seed, "scenario": self._scenario.title})
        for line in self._lines:
            plan = line.station.plan
            port, movement = line.port.shown_name, plan.movement
            says = {"gauge": plan.name, "port": port, "profile": plan.profile}
            say({**says, "movement": movement})
        room = self._scenario.room
        for what, celsius in (("part", room.part_c), ("gauge", room.gauge_c)):
            say({"temperature": {"of": what, "milli_celsius": round(celsius * 1000)}})
        for place in self._scenario.places():
            size20_nm = self._scenario.truth_nm(place, now=False)
            size_now_nm = self._scenario.truth_nm(place, now=True)
            sizes = {"size20_nm": size20_nm, "size_now_nm": size_now_nm}
            say({"truth": {**asdict(place), **sizes}})

    async def play(self) -> None:
        """Switch the gauges on once every port is read, and play them until cancelled."""
        for line in self._lines:
            await line.port.wait_for_reader()
        await asyncio.sleep(SETTLE_S)
        self._start = asyncio.get_running_loop().time()
        self._playing.set()
        async with asyncio.TaskGroup() as group:
            for line in self._lines:
                group.create_task(self._play_line(line))

    def see(self, text: str) -> None:
        """Show the machinist one line from the board; what is no JSON object is no news."""
        try:
            seen = json.loads(text)
        except ValueError:
            return
        if isinstance(seen, dict):
            self._machinist.look(seen, self._now_s())

    async def follow(self, looks: list[str]) -> None:
        """Show the machinist one line after another, each for its time."""
        await self._playing.wait()
        for text in looks:
            self.see(text)
            await asyncio.sleep(float(json.loads(text).get("for_s", 20.0)) / self._speed)

    def close(self) -> None:
        """Take the ports away."""
        for line in self._lines:
            line.port.unplug()

    def _now_s(self) -> float:
        """Simulated time: never behind a sample already shown."""
        shown = max(line.station.player.t_s for line in self._lines)
        if not self._playing.is_set():
            return shown
        clock = (asyncio.get_running_loop().time() - self._start) * self._speed
        return max(shown, clock)

    async def _play_line(self, line: Line) -> None:
        loop, player = asyncio.get_running_loop(), line.station.player
        period_s, due_s = 1.0 / line.station.plan.rate_hz, 0.0
        while True:
            self._machinist.act(player.t_s)
            due_s += player.gauge.pause_s()
            await asyncio.sleep(self._start + due_s / self._speed - loop.time())
            now_s = max((loop.time() - self._start) * self._speed, due_s)
            if now_s - due_s > period_s:
                due_s = now_s
            shown = player.sample(now_s)
            if shown.reading_nm is not None:
                line.last_nm = shown.reading_nm
            self._send(line, shown.reading_nm)

    def _send(self, line: Line, reading_nm: int | None) -> None:
        """Send a reading by itself, or the latest one to whoever asked for it."""
        asked = line.port.read()
        if not line.encoder.polled:
            if reading_nm is not None:
                line.port.write(line.encoder.encode(reading_nm))
            return
        if line.encoder.asks(asked) and line.last_nm is not None:
            line.port.write(line.encoder.encode(line.last_nm))


def _line(name: str, station: Station, link_dir: Path | None) -> Line:
    link = link_dir / name if link_dir else None
    return Line(station, Port(link), Encoder.for_profile(station.plan.profile))


async def serve(bench: Bench, say: Say, plan: str | None) -> None:
    """Introduce and play a bench until it is over or the task is cancelled.

    Args:
        bench: what to play.
        say: where to.
        plan: lines of the board to play by, each for its `for_s` simulated seconds; None: they
            come on standard input, and its end is the end.
    """
    bench.introduce(say)
    player = asyncio.create_task(bench.play())
    try:
        if plan is None:
            await _read_looks(bench, player)
        else:
            await bench.follow(plan.splitlines())
    finally:
        player.cancel()
        await asyncio.gather(player, return_exceptions=True)
        bench.close()
        say({"served": True})


async def _read_looks(bench: Bench, player: asyncio.Task[None]) -> None:
    """Pass standard input's lines on to the bench until it ends or the player fails."""
    lines = standard_input()
    while True:
        next_line = asyncio.create_task(lines.get())
        await asyncio.wait({next_line, player}, return_when=asyncio.FIRST_COMPLETED)
        if player.done():
            next_line.cancel()
            await player
            return
        text = next_line.result()
        if not text:
            return
        bench.see(text)


def standard_input() -> asyncio.Queue[str]:
    """Standard input's lines as they come, an empty text at its end.

    Read in a thread of its own: a file or the null device can't be watched by the loop. The
    thread is a daemon and reads the descriptor itself, so that a reader which still waits for a
    line holds no lock and keeps nobody from ending.
    """
    loop, lines = asyncio.get_running_loop(), asyncio.Queue[str]()

    def read() -> None:
        rest = b""
        with contextlib.suppress(RuntimeError):  # the loop is closed: nobody wants more
            while data := os.read(sys.stdin.fileno(), 65_536):
                *whole, rest = (rest + data).split(b"\n")
                for raw in whole:
                    text = raw.decode("utf-8", "replace") + "\n"
                    loop.call_soon_threadsafe(lines.put_nowait, text)
            loop.call_soon_threadsafe(lines.put_nowait, "")

    threading.Thread(target=read, daemon=True, name="standard input").start()
    return lines
