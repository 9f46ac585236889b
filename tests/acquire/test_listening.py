"""What a bench hears while somebody shouts: what its own devices say comes first."""

import asyncio
import json
import time

import pytest

from barrelfit.acquire.bench.command_desk import CommandDesk
from barrelfit.acquire.bench.listening import COMMANDS_MAX, Listening
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.mqtt_bus import BusMessage
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.topics import topic
from tests.acquire.daemon_parts import Ticks, recorder, turns

COMMAND = topic("b", "command")
SHOUTED = 10_000


class Answered:
    """Stands for a bus: keeps the answers, each taking a while to be said."""

    def __init__(self) -> None:
        self.said: list[str] = []

    async def answer(self, payload: bytes) -> None:
        await asyncio.sleep(0)
        self.said.append(json.loads(payload)["id"])


def pedal(key: bytes, name: str) -> bytes:
    said = json.dumps({"kind": "pedal", "id": name, "action": "undo"}).encode()
    return seal(key, COMMAND, said, time.monotonic_ns())


@pytest.mark.parametrize("shouted", ["forged", "said again", "of another key"])
async def test_a_device_is_answered_though_thousands_shout(shouted):
    key = new_key()
    desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), Doorkeeper("b", {"board": key}))
    journal = recorder()
    listening, bus = Listening("b", desk, journal, Ticks()), Answered()
    _, hear = listening.on_own_bus()
    writing = asyncio.create_task(journal.run())
    taking = asyncio.create_task(listening.answer([bus]))  # type: ignore[list-item]
    first = pedal(key, "first")
    hear(BusMessage(COMMAND, first, retained=False))
    async with asyncio.timeout(30):
        while "first" not in bus.said:
            await turns()
    cry = {
        "forged": b'{"kind":"pedal","id":"x","action":"undo"}',
        "said again": first,
        "of another key": pedal(new_key(), "x"),
    }[shouted]
    for _ in range(SHOUTED):
        hear(BusMessage(COMMAND, cry, retained=False))
    hear(BusMessage(COMMAND, pedal(key, "ours"), retained=False))
    async with asyncio.timeout(30):
        while "ours" not in bus.said:
            await turns()
    assert bus.said.index("ours") <= 2  # behind the first, and what was being answered
    async with asyncio.timeout(30):
        while listening.refused["command"] < SHOUTED:
            await turns()
    for task in (taking, writing):
        task.cancel()
    await asyncio.gather(taking, writing, return_exceptions=True)
    assert listening.refused == {"command": SHOUTED}
    journal.close(None)


def test_no_more_than_so_many_wait():
    key = new_key()
    desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), Doorkeeper("b", {"board": key}))

    async def heard() -> dict[str, int]:
        listening = Listening("b", desk, recorder(), Ticks())
        _, hear = listening.on_own_bus()
        for number in range(2 * COMMANDS_MAX):
            hear(BusMessage(COMMAND, pedal(key, str(number)), retained=False))
        return listening.refused

    assert asyncio.run(heard()) == {"command": COMMANDS_MAX}
