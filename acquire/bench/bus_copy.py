"""Tells one bus of a session: records, snapshot, state, heartbeats, answers. The bus is a copy.

A bench has its own bus, and may have the shop's besides; each is told by itself, so that one that
is away or slow holds up neither the other nor the recording.
"""

import asyncio
import contextlib
from collections.abc import Callable
from typing import Final, Protocol

from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink, BusMessage, Testament, Where
from barrelfit.acquire.bus.publisher import Publisher, Sealed
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.topics import ANSWER, HEARTBEAT, SNAPSHOT, STATE, topic

SNAPSHOT_S: Final = 0.1
AGAIN_S: Final = 5.0
"""A retained message that somebody else put there is put right after this time."""
GOODBYE_S: Final = 2.0


class Told(Protocol):
    """What there is to tell of a session beside its records."""

    def state(self, state: str) -> bytes:
        """The state message: `online` or `offline`."""
        ...

    def snapshot(self) -> tuple[int, bytes]:
        """The snapshot message, and the seq of the last record it shows."""
        ...


def _nobody_waits(_why_not: str) -> None:
    """The next heartbeat comes in any case."""


class BusCopy:
    """One bus that a session is told on.

    Args:
        bench: the bench's name, and the session's id.
        recorder: the session's.
        sealed: adds the proof of where a message comes from.
        told: what there is to tell beside the records.
        where: where the bus's broker is now.
        wanted: topics to hear, and who hears them.
        keeps_order: as of `Publisher`: the bench's own broker does, of others it is not known.
    """

    def __init__(  # noqa: PLR0913
        self,
        bench: tuple[str, str],
        recorder: Recorder,
        sealed: Sealed,
        told: Told,
        where: Where,
        wanted: tuple[tuple[str, ...], Callable[[BusMessage], None]],
        *,
        keeps_order: bool = False,
    ) -> None:
        self._bench, session = bench
        self._recorder = recorder
        self._sealed = sealed
        self._told = told
        subscriptions, hear = wanted
        self.link = BusLink(where, self._bench, subscriptions, hear, self._changed, self._will)
        self._publisher = Publisher(
            recorder, self.link, self._bench, session, sealed, keeps_order=keeps_order
        )
        self._snapshot_due = asyncio.Event()

    @property
    def taken_seq(self) -> int:
        """The record up to which the bus has taken what it was to be told."""
        return self._publisher.taken_seq

    async def run(self) -> None:
        """Tell until cancelled."""
        async with asyncio.TaskGroup() as group:
            group.create_task(self.link.run())
            group.create_task(self._tell_snapshot())

    def changed(self) -> None:
        """The snapshot is another than before."""
        self._snapshot_due.set()

    def beat(self, payload: bytes) -> None:
        """Tell a heartbeat, if somebody can hear it; so what was sent along is confirmed, too."""
        where = topic(self._bench, HEARTBEAT)
        with contextlib.suppress(BusDownError):
            self.link.send(where, self._sealed(where, payload), _nobody_waits)

    async def answer(self, payload: bytes) -> None:
        """Answer a command; whoever asked hears nothing while the bus is away, and asks again."""
        where = topic(self._bench, ANSWER)
        with contextlib.suppress(BusDownError):
            await self.link.publish(where, self._sealed(where, payload))

    async def say_goodbye(self) -> None:
        """Say that the bench's daemon goes."""
        with contextlib.suppress(BusDownError, TimeoutError):
            async with asyncio.timeout(GOODBYE_S):
                await self._tell_state("offline")

    def _will(self) -> Testament:
        where = topic(self._bench, STATE)
        return Testament(where, self._sealed(where, self._told.state("offline")))

    async def _tell_state(self, state: str) -> None:
        where = topic(self._bench, STATE)
        await self.link.publish(where, self._sealed(where, self._told.state(state)), retain=True)

    def _changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        self._publisher.connected(up)
        if up:
            self._snapshot_due.set()

    async def _tell_snapshot(self) -> None:
        """Publish the retained state and snapshot whenever they changed, and now and then."""
        where = topic(self._bench, SNAPSHOT)
        while True:
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(AGAIN_S):
                    await self._snapshot_due.wait()
            self._snapshot_due.clear()
            if not self.link.connected:
                continue  # the next connect asks for it again
            # What the snapshot shows must be on disk before anyone sees it.
            seq, payload = self._told.snapshot()
            await self._recorder.until_durable(seq)
            with contextlib.suppress(BusDownError):
                await self._tell_state("online")
                await self.link.publish(where, self._sealed(where, payload), retain=True)
            await asyncio.sleep(SNAPSHOT_S)
