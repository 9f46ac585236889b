"""Keeps what a bench is helped by: its bus, its rules service, its board. Recording needs none.

Each is a service that runs a child process. One that ends is started again, sooner or later by how
long it lived; that it is away and that it is back is told and journaled, once each.
"""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Final, Protocol

from barrelfit.acquire.bus.payloads import ServiceHealth
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import Event
from barrelfit.acquire.journal.record_events import ServiceChanged
from barrelfit.rules.said import NOTHING, Said, said, written

AGAIN_S: Final = (0.25, 10.0)
"""How long to wait before another try: at first, and at most."""


class Standing:
    """A service's own word on how it stands.

    Args:
        up: hears that it serves, with a word on it where there is one to say.
        away: hears that it does not, and why.
    """

    def __init__(self, up: Callable[[Said], None], away: Callable[[Said], None]) -> None:
        self._up = up
        self.away = away

    def up(self, word: Said = NOTHING) -> None:
        """It serves."""
        self._up(word)


class Service(Protocol):
    """Something that serves in a process of its own."""

    @property
    def name(self) -> str:
        """What it is called in the record: bus, rules or board."""
        ...

    async def live(self, standing: "Standing") -> Said:
        """Start it, say how it stands all along, and give why it ended.

        Cancelled, it ends its process first.

        Raises:
            OSError: the system did not let it start.
            UserError: it can't start as it is asked for.
        """
        ...


class Supervisor:
    """Runs services for as long as the bench records.

    Args:
        record: takes what is to be journaled of them.
    """

    def __init__(self, record: Callable[[Event], object]) -> None:
        self._record = record
        self.states: dict[str, ServiceHealth] = {}
        self._settled: dict[str, asyncio.Event] = {}

    async def keep(self, service: Service) -> None:
        """Run a service again and again, until cancelled."""
        loop, again_s = asyncio.get_running_loop(), AGAIN_S[0]
        self.states[service.name] = ServiceHealth("starting")
        name = service.name
        standing = Standing(partial(self.say_up, name), partial(self.say_away, name))
        while True:
            began = loop.time()
            try:
                why = await service.live(standing)
            except UserError as error:
                why = said("several", parts=error.problems)
            except OSError as error:
                why = written(str(error))
            self.say_away(service.name, why)
            lived_long = loop.time() - began > AGAIN_S[1]
            again_s = AGAIN_S[0] if lived_long else min(2 * again_s, AGAIN_S[1])
            await asyncio.sleep(again_s)

    async def settled(self, name: str) -> None:
        """Wait until a service has served for the first time, or has failed to."""
        await self._event(name).wait()

    def _event(self, name: str) -> asyncio.Event:
        return self._settled.setdefault(name, asyncio.Event())

    def is_away(self, name: str) -> bool:
        """Whether a service is said to be away."""
        return name in self.states and self.states[name].state == "away"

    def say_up(self, name: str, word: Said = NOTHING) -> None:
        """Tell that a service serves, with a word on it where there is one to say."""
        was_away = self.is_away(name)
        self.states[name] = ServiceHealth("running", word)
        if was_away or word:
            self._record(ServiceChanged(name, "running", word))
        self._event(name).set()

    def say_away(self, name: str, why: Said, *, tried: bool = True) -> None:
        """Tell that a service does not serve, and why.

        Args:
            name: the service.
            why: the reason.
            tried: whether it has failed; False where it may still be starting.
        """
        now = ServiceHealth("away", why)
        if self.states.get(name) != now:
            self._record(ServiceChanged(name, "away", why))
        self.states[name] = now
        if tried:
            self._event(name).set()
