"""One bench of the demonstration: a simulator and a daemon, and the eyes between them."""

import asyncio
import json
import os
import sys
from pathlib import Path
from typing import Any, Final

from barrelfit.acquire.bench.run import WATCH_STDIN
from barrelfit.acquire.demo.job import set_text
from barrelfit.acquire.demo.person import Person
from barrelfit.acquire.demo.printed import DemoTeller, at_text
from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

STOP_S: Final = 6.0
LINE_BYTES: Final = 1 << 20
MOVEMENTS: Final = {
    "to-and-fro": "following",
    "in-and-out": "following",
    "screw": "screw",
    "bore": "bore",
}
"""What the simulator calls a movement of the hand, and the bench file one of the gauge."""
EYES: Final = ("asked", "sized", "refused")
HEARD: Final = ("asked", "sized", "fact_taken")


class DemoBench:
    """Starts a simulated bench, shows its hand what the daemon says, tells sizes with the truth."""

    def __init__(self, number: int, speed: float, folder: Path, teller: DemoTeller) -> None:
        self.name = f"bench-{number}"
        self._number = number
        self._speed = speed
        self._folder = folder
        self._teller = teller
        self._truth: dict[str, int] = {}
        self._gauges: list[dict[str, str]] = []
        self._temperatures: dict[str, int] = {}
        self._listening: asyncio.Task[None] | None = None
        self._person = Person(self.name, folder, speed, self._lay)

    async def start(self) -> None:
        """Start the simulator, write the bench file, start the daemon."""
        self._simulator = await self._child(
            *(
                "barrelfit.simulators",
                "serve",
                "--bench",
                str(self._number),
                "--speed",
                f"{self._speed:g}",
            ),
            *("--link-dir", str(self._folder / self.name)),
        )
        introduced = asyncio.Event()
        self._listening = asyncio.create_task(self._listen(introduced))
        await introduced.wait()
        self._scale = await self._child(
            *("barrelfit.simulators", "scale", "--speed", f"{self._speed:g}"),
            *("--link", str(self._folder / self.name / "scale")),
        )
        ready = self._scale.stdout
        while ready is not None and (line := await ready.readline()) and b"gauge" not in line:
            continue  # its port is there once it has said so
        own_set = self._folder / f"{self.name}-set.toml"
        own_set.write_text(set_text(f"demo-{self._number}"), encoding="utf-8")
        path = self._folder / f"{self.name}.toml"
        path.write_text(self._bench_file(), encoding="utf-8")
        self._daemon = await self._child("barrelfit.acquire", "run", str(path), "--json")

    async def play(self) -> None:
        """Show the simulated machinist what the daemon says, until the set is done."""
        while True:
            stream = self._daemon.stdout
            line = await stream.readline() if stream is not None else b""
            if not line:
                code = await self._daemon.wait()
                raise UserError([said("daemon_ended", name=self.name, code=code)])
            message = json.loads(line)
            self._tell(message)
            kind = message["kind"]
            if kind == "ready":  # from here on there is a bus
                self._person.start()
            if kind in EYES:
                self._show(kind, message["data"])
            if kind in HEARD:
                self._person.hear(kind, message["data"])
            if kind == "set_done":
                return

    async def stop(self) -> None:
        """End both processes; the daemon first, so that nothing is reported lost at the end."""
        await self._person.stop()
        names = ("_daemon", "_simulator", "_scale")
        for process in (getattr(self, name, None) for name in names):
            if process is None:
                continue
            if process.stdin is not None:
                process.stdin.close()
            if process.returncode is None:
                process.terminate()
            # The simulator's words are taken in by `_listen`; a full pipe would keep a child alive.
            ended = process is self._simulator
            draining = asyncio.create_task(_drain(None if ended else process.stdout))
            try:
                async with asyncio.timeout(STOP_S):
                    await process.wait()
            except TimeoutError:
                process.kill()
                await process.wait()
            await draining
        if self._listening is not None:
            self._listening.cancel()

    async def _child(self, module: str, *arguments: str) -> asyncio.subprocess.Process:
        return await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", module, *arguments),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            limit=LINE_BYTES,
            env={**os.environ, WATCH_STDIN: "1"},
            start_new_session=True,  # Ctrl-C is for us alone; we end our children in order
        )

    async def _listen(self, introduced: asyncio.Event) -> None:
        """Take in what the simulator says of itself."""
        stream = self._simulator.stdout
        while stream is not None and (line := await stream.readline()):
            message = json.loads(line)
            if "gauge" in message:
                self._gauges.append(message)
            elif "temperature" in message:
                said = message["temperature"]
                self._temperatures[said["of"]] = said["milli_celsius"]
            elif "truth" in message:
                self._truth[at_text(message["truth"])] = message["truth"]["size20_nm"]
                introduced.set()
        introduced.set()

    def _lay(self, grams: float) -> None:
        """Lay so many g on the scale, or lift everything off it."""
        if self._scale.stdin is not None and not self._scale.stdin.is_closing():
            self._scale.stdin.write(json.dumps({"lay": grams}).encode() + b"\n")

    def _show(self, kind: str, data: dict[str, Any]) -> None:
        at = data.get("at")
        look = {"look": kind, **at} if at else {"look": "done"}
        if kind == "asked":
            look["gauge"] = data["gauge"]
        if self._simulator.stdin is not None:
            self._simulator.stdin.write(json.dumps(look).encode() + b"\n")

    def _tell(self, message: dict[str, Any]) -> None:
        data = message.get("data", {})
        truth_nm = None
        if message["kind"] == "sized":
            truth_nm = self._truth.get(at_text(data["at"]))
        self._teller.tell(self.name, message, truth_nm)

    def _bench_file(self) -> str:
        """A bench file as a machinist would write it."""
        gauges = "\n".join(_gauge_table(gauge) for gauge in self._gauges)
        celsius = {of: milli / 1000 for of, milli in self._temperatures.items()}
        return f"""schema = 1
bench = "{self.name}"
sheet = "flat-four-85"
who = "simulated machinist"
sessions = "{self._folder}"

[set]
job = "demo-{self._number}"
file = "{self._folder / f"{self.name}-set.toml"}"

[temperature]
part_c = {celsius["part"]:.3f}
gauge_c = {celsius["gauge"]:.3f}

[simulation]
speed = {self._speed:g}

{gauges}
[[gauge]]
id = "scale"
profile = "steady-letter-mass-unit-crlf"
port = "{self._folder / self.name / "scale"}"
measures = "mass"
movement = "settling"
"""


def _gauge_table(gauge: dict[str, str]) -> str:
    movement = MOVEMENTS[gauge["movement"]]
    measures = "bore" if movement == "bore" else "outside"
    return f"""[[gauge]]
id = "{gauge["gauge"]}"
profile = "{gauge["profile"]}"
port = "{gauge["port"]}"
measures = "{measures}"
movement = "{movement}"
setting = {{ standard = "ring-85", u_um = 0.8 }}
"""


async def _drain(stream: asyncio.StreamReader | None) -> None:
    """Read away a child's last words, so that it can end."""
    if stream is not None:
        await stream.read()
