"""Prints how long a message, and the answer to some of them, is on the embedded broker's bus.

    python -m tests.bench.bus_latency [--messages 700] [--rates 10,60,200]

Two links of our own on one broker: one sends at a steady rate, the other answers every seventh
message, as the rules service does. Times are ms: median, 95 %, 99 %, most.
"""

import argparse
import asyncio
import statistics
import sys
import tempfile
import time
from pathlib import Path

from barrelfit.acquire.bench.broker_child import BrokerChild
from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.mqtt_bus import BusLink, BusMessage
from tests.system.ports import free_port

ANSWERED = 7  # one message of so many
THERE, BACK = "latency/there", "latency/back"


def told(times_s: list[float]) -> str:
    ordered = sorted(times_s)
    shares = [ordered[int(share * (len(ordered) - 1))] for share in (0.95, 0.99, 1.0)]
    return ", ".join(f"{1e3 * t:.1f}" for t in (statistics.median(ordered), *shares))


class Study:
    """One rate: messages go there, every seventh comes back."""

    def __init__(self, address: BrokerAddress, group: asyncio.TaskGroup) -> None:
        self.group = group
        self.sent: dict[int, float] = {}
        self.there: list[float] = []
        self.back: list[float] = []
        self.up = asyncio.Semaphore(0)
        self.answering = BusLink(lambda: address, "answering", (THERE,), self.hear, self.changed)
        self.sending = BusLink(lambda: address, "sending", (BACK,), self.hear_answer, self.changed)

    def changed(self, connected: bool) -> None:
        if connected:
            self.up.release()

    def hear(self, message: BusMessage) -> None:
        number = int(message.payload)
        self.there.append(time.perf_counter() - self.sent[number])
        if number % ANSWERED == 0:
            self.group.create_task(self.answering.publish(BACK, message.payload))

    def hear_answer(self, message: BusMessage) -> None:
        self.back.append(time.perf_counter() - self.sent[int(message.payload)])

    async def run(self, rate_hz: float, messages: int) -> None:
        links = [self.group.create_task(k.run()) for k in (self.answering, self.sending)]
        for _ in links:
            await self.up.acquire()
        for number in range(messages):
            self.sent[number] = time.perf_counter()
            self.group.create_task(self.sending.publish(THERE, str(number).encode()))
            await asyncio.sleep(1 / rate_hz)
        await asyncio.sleep(0.5)
        for link in links:
            link.cancel()


async def study(address: BrokerAddress, rate_hz: float, messages: int) -> str:
    """Send so many messages, and tell how long they and their answers took."""
    async with asyncio.TaskGroup() as group:
        study = Study(address, group)
        await study.run(rate_hz, messages)
    return f"{rate_hz:4.0f}/s  there {told(study.there)} ms  and back {told(study.back)} ms"


async def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--messages", type=int, default=700)
    parser.add_argument("--rates", default="10,60,200")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        address = BrokerAddress("127.0.0.1", free_port(), "bench", "bench")
        broker = BrokerChild(address, Path(folder), lambda _: None)
        supervisor = Supervisor(lambda _: None)
        keeping = asyncio.create_task(supervisor.keep(broker))
        await supervisor.settled(broker.name)
        try:
            for rate in options.rates.split(","):
                sys.stdout.write(await study(address, float(rate), options.messages) + "\n")
        finally:
            keeping.cancel()
            await asyncio.wait({keeping})


if __name__ == "__main__":
    asyncio.run(main())
