"""The simulated machinist's voice and foot: answers what is asked to be told, as a person does.

It knows what the daemon says, and nothing else; its answers go to the bench over its bus, like a
board's. The hand that sweeps is the simulator's.
"""

import asyncio
import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.link_file import links_in
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink
from barrelfit.acquire.bus.proof import seal
from barrelfit.acquire.demo import job
from barrelfit.acquire.topics import COMMAND, topic

WHO: Final = "simulated machinist"
READS_S: Final = 1.7
"""How long one looks before one answers; sooner than 1.5 s nobody is believed."""
PLACE_S: Final = 1.0
LIFTS_S: Final = 2.5
"""How long the scale is bare before the next part is laid on it."""
AGAIN_S: Final = 3.0
"""After how long one answers once more where nothing has come of it."""


class Person:
    """Answers one bench's asks.

    Args:
        bench: its name.
        folder: where its sessions are kept, with the link to its bus.
        speed: times as fast as life.
        lay: lays so many g on the scale, 0 for nothing.
    """

    def __init__(
        self, bench: str, folder: Path, speed: float, lay: Callable[[float], None]
    ) -> None:
        self._bench = bench
        self._folder = folder
        self._speed = speed
        self._lay = lay
        self._link = BusLink(self._address, "demo", (), lambda _: None, lambda _: None)
        self._running: list[asyncio.Task[None]] = []
        self._answering: asyncio.Task[None] | None = None
        self._last_at: dict[str, str] | None = None
        self._misread = self._replaced = False

    def start(self) -> None:
        """Find the bench's bus and keep a connection to it."""
        self._running.append(asyncio.create_task(self._link.run()))

    async def stop(self) -> None:
        """Answer nothing more."""
        tasks = [*self._running, *([self._answering] if self._answering else [])]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def hear(self, kind: str, data: dict[str, Any]) -> None:
        """Take what the daemon says: a new ask ends the answer to the one before."""
        if kind == "asked":
            self._asked(data)
        elif kind == "fact_taken":
            self._taken(data)
        elif kind == "sized" and data["at"]["part"] == "P2" and not self._replaced:
            self._replaced = True
            self._later(self._replace())

    def _asked(self, data: dict[str, Any]) -> None:
        if self._answering is not None:
            self._answering.cancel()
            self._answering = None
        at = data["at"]
        laid = job.LAID.get(at["feature"]) if at else None
        command = _answer(at, data["ask"], again=self._misread) if at and laid is None else None
        if laid is not None:
            self._answering = asyncio.create_task(self._weigh(laid))
        elif command is not None:
            pause_s = PLACE_S if at == self._last_at else READS_S
            self._answering = asyncio.create_task(self._until_heard(command, pause_s))
        self._last_at = at

    def _taken(self, data: dict[str, Any]) -> None:
        """A misread mark is looked at once more."""
        at = data["at"]
        if (at["part"], at["feature"]) == job.MISREAD and not self._misread:
            self._misread = True
            value, unit = job.TOLD[at["feature"]]
            why = "read again under the lens"
            self._later(self._once(_fact(at, value, unit, why=why), 4.0))

    def _later(self, work: Any) -> None:  # noqa: ANN401  a coroutine
        self._running.append(asyncio.create_task(work))

    async def _replace(self) -> None:
        """The lost piston's place is taken by one from the shelf, with a pin of its own."""
        new = ((job.NEW, f"piston replaces {job.LOST}"), (job.NEW_PIN, f"pin of {job.NEW}"))
        for name, told in new:
            at = {"part": name, "feature": "id", "depth": "", "direction": ""}
            await self._once(_fact(at, told, ""), 1.0)

    async def _weigh(self, grams: float) -> None:
        """Lift off what lies on the scale, and lay the part on it."""
        self._lay(0.0)
        await asyncio.sleep(LIFTS_S / self._speed)
        self._lay(grams)

    async def _until_heard(self, command: dict[str, Any], pause_s: float) -> None:
        while True:
            await self._once(command, pause_s)
            pause_s = AGAIN_S

    async def _once(self, command: dict[str, Any], pause_s: float) -> None:
        await asyncio.sleep(pause_s / self._speed)
        link = links_in(self._folder).get(self._bench)
        if link is None:
            return
        named = {"id": f"demo-{time.monotonic_ns()}", "who": WHO, **command}
        where = topic(self._bench, COMMAND)
        payload = seal(link.device_key, where, json.dumps(named).encode(), time.monotonic_ns())
        try:
            await self._link.publish(where, payload)
        except BusDownError:
            return

    def _address(self) -> BrokerAddress | None:
        link = links_in(self._folder).get(self._bench)
        return None if link is None else link.address


def _answer(at: dict[str, str], ask: int, *, again: bool) -> dict[str, Any] | None:
    """What is said to an ask; None to what the hand sweeps."""
    part, key = at["part"], at["feature"]
    if key in job.SWEPT:
        return None
    if key in job.TYPED:
        return {"kind": "entry", "at": at, "text": job.TYPED[key], "unit": "mm"}
    first = {(job.LOST, "looked"): "scored-skirt"} | ({} if again else {job.MISREAD: "I"})
    if (part, key) in first:
        return _fact(at, first[part, key], "", ask=ask)
    goes_in = any(at["direction"].startswith(leaf) for _, leaf in job.LEAVES.values())
    pressed = {**job.PRESSED, "feeler": "again" if goes_in else "next"}
    if key in pressed:
        return {"kind": "pedal", "action": pressed[key]}
    value, unit = job.TOLD.get(key, ("absent", ""))
    return _fact(at, value, unit, ask=ask)


def _fact(at: dict[str, str], value: str, unit: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401  plain JSON
    return {"kind": "fact", "at": at, "value": value, "unit": unit, **more}
