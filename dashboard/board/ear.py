"""Listens to one bench on its own bus, and takes nothing that the bench did not say itself."""

from collections.abc import Callable, Mapping
from typing import Any, Final

import msgspec

from barrelfit.acquire.bus.link_file import BenchLink
from barrelfit.acquire.bus.mqtt_bus import BusLink, BusMessage
from barrelfit.acquire.bus.proof import opened, seal
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.topics import (
    ANSWER,
    COMMAND,
    HEARTBEAT,
    JOURNAL,
    SNAPSHOT,
    STATE,
    topic,
)

HEARD: Final = (JOURNAL, SNAPSHOT, STATE, HEARTBEAT, ANSWER)

Take = Callable[[BusMessage], None]
Refuse = Callable[[BusMessage], None]


class BenchEar:
    """One bench's bus, heard with the key that proves the bench's words.

    Args:
        link: where the bus is, and the keys.
        clock: this machine's.
        take: hears of each message that the bench said, without its proof.
        refuse: hears of each that it did not say, or not now.
        changed: hears that the bus came or went.
    """

    def __init__(
        self,
        link: BenchLink,
        clock: Clock,
        take: Take,
        refuse: Refuse,
        changed: Callable[[], None],
    ) -> None:
        self.link = link
        self.up = False
        self._clock = clock
        self._take = take
        self._refuse = refuse
        self._on_change = changed
        self._numbers: dict[str, int] = {}
        wanted = tuple(topic(link.bench, leaf) for leaf in HEARD)
        self.bus = BusLink(lambda: link.address, "board", wanted, self._receive, self._changed)

    async def send(self, command: Mapping[str, Any]) -> None:
        """Send a command, with the proof of the device that this board is; raises BusDownError."""
        where = topic(self.link.bench, COMMAND)
        payload = msgspec.json.encode(command)
        number = self._clock.monotonic_ns()
        await self.bus.publish(where, seal(self.link.device_key, where, payload, number))

    def _changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        self.up = up
        self._on_change()

    def _receive(self, message: BusMessage) -> None:
        found = opened(self.link.key, message.topic, message.payload)
        if found is None:
            self._refuse(message)
            return
        latest = self._numbers.get(message.topic, 0)
        if message.retained and found.number == latest:
            return  # the broker gives what it keeps at each connection
        # A will was numbered when the bench's daemon connected: it may come after later words.
        if found.number <= latest and not message.topic.endswith(STATE):
            self._refuse(message)
            return
        self._numbers[message.topic] = max(latest, found.number)
        self._take(BusMessage(message.topic, found.payload, message.retained))
