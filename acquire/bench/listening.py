"""What the daemon hears: commands, other benches' heads, and messages that nobody may send it.

On the bench's own bus a command must prove the device it comes from (`acquire.bus.proof`), or be a
lead's override, which proves itself. From the shop's bus nothing but such an override is taken.
Findings come through the rules service's pipe alone: on a bus they are forged. Whatever is refused
is counted by what was wrong with it. Whoever shouts what counts for nothing keeps nobody waiting:
what a device proves is taken first.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from barrelfit.acquire.bench.bus_copy import BusCopy
from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.override_desk import COMMAND_BYTES_MAX
from barrelfit.acquire.bus.mqtt_bus import BusMessage
from barrelfit.acquire.bus.payloads import ENCODE, HEARTBEATS, Door, Refusal
from barrelfit.acquire.bus.proof import PROOF_BYTES_MAX
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.journal.head_watch import HeadWatch
from barrelfit.acquire.journal.record_events import MessageRefused
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.acquire.topics import COMMAND, HEARTBEAT, RESULTS, parse_topic, topic
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from barrelfit.acquire.journal.events import Event

COMMANDS_MAX: Final = 64

log = logging.getLogger("barrelfit")

Wanted = tuple[tuple[str, ...], Callable[[BusMessage], None]]
"""Topics to hear, and who hears them."""


class Listening:
    """One session's ears on its buses.

    Args:
        bench: the bench's name.
        desk: takes commands.
        recorder: the session's.
        clock: the session's.
    """

    def __init__(self, bench: str, desk: CommandDesk, recorder: Recorder, clock: Clock) -> None:
        self._bench = bench
        self._desk = desk
        self._recorder = recorder
        self._clock = clock
        self._proved: deque[tuple[bytes, bool]] = deque()
        self._others: deque[tuple[bytes, bool]] = deque()
        self._waiting = asyncio.Event()
        self._heads = HeadWatch(bench)
        self._door = Door(self._refused)
        self.answered: Callable[[Event], None] = lambda _: None
        """Hears of what a command led to, once it is on disk and answered."""

    def on_own_bus(self) -> Wanted:
        """What is heard on the bench's own bus."""
        return tuple(topic(self._bench, leaf) for leaf in (RESULTS, COMMAND)), self._hear_own

    def on_shops_bus(self) -> Wanted:
        """What is heard on the shop's bus: benches there are each other's witnesses."""
        return (topic(self._bench, COMMAND), topic("+", HEARTBEAT)), self._hear_shop

    @property
    def refused(self) -> dict[str, int]:
        """How many messages were refused, by what they claimed to be."""
        return dict(self._door.refused)

    def look_for_silence(self) -> None:
        """Call now and then: the last heads of benches that have fallen silent are recorded."""
        for event in self._heads.tick(_life_ns()):
            self._recorder.record(event)

    def look_at(self, others: list[tuple[str, tuple[str, int, str]]]) -> None:
        """Call now and then with the heads of other benches (`acquire.bench.neighbours`)."""
        for bench, head in others:
            for event in self._heads.heard(bench, head, _life_ns()):
                self._recorder.record(event)

    async def answer(self, copies: Sequence[BusCopy]) -> None:
        """Take commands one by one; what they lead to is on disk before they are answered.

        Args:
            copies: the buses that hear the answers.
        """
        while True:
            payload, is_own = await self._next()
            utc_s = self._clock.utc().timestamp()
            now = Moment(self._clock.monotonic_ns(), _life_ns(), utc_s)
            taken = self._desk.take(payload, now, is_own=is_own)
            if taken.refused:
                self._door.refuse(topic(self._bench, COMMAND), payload, taken.refused)
            answer = taken.answer
            if taken.event is not None:
                seq = self._recorder.record(taken.event)
                if seq is None:
                    answer = {**answer, "ok": False, "sentence": said("nothing_is_recorded")}
                else:
                    await self._recorder.until_durable(seq)
            if answer:
                for copy in copies:
                    await copy.answer(ENCODE(answer))
            if taken.event is not None and answer.get("ok"):
                self.answered(taken.event)

    async def _next(self) -> tuple[bytes, bool]:
        """The next command, and whether it came on the bench's own bus."""
        while not (waiting := self._proved or self._others):
            self._waiting.clear()
            await self._waiting.wait()
        return waiting.popleft()

    def _hear_own(self, message: BusMessage) -> None:
        if message.topic.endswith(RESULTS):
            self._door.refuse(message.topic, message.payload, "findings come through no bus")
        else:
            self._hear_command(message, is_own=True)

    def _hear_shop(self, message: BusMessage) -> None:
        if message.topic.endswith(HEARTBEAT):
            self._heard_beat(message)
        else:
            self._hear_command(message, is_own=False)

    def _hear_command(self, message: BusMessage, *, is_own: bool) -> None:
        payload = message.payload
        if message.retained:
            self._door.refuse(message.topic, payload, "a command that the broker has kept")
            return
        if len(payload) > COMMAND_BYTES_MAX + PROOF_BYTES_MAX:
            problem = f"{len(payload)} bytes are too long for a command"
            self._door.refuse(message.topic, payload, problem)
            return
        proved = is_own and self._desk.comes_from_a_device(payload, _life_ns())
        queue = self._proved if proved else self._others
        if len(queue) >= COMMANDS_MAX:
            self._door.refuse(message.topic, payload, "more commands than can be taken")
            return
        queue.append((payload, is_own))
        self._waiting.set()

    def _heard_beat(self, message: BusMessage) -> None:
        """Record another bench's head hash when it is time to."""
        parsed = parse_topic(message.topic)
        beat = self._door.take(message.topic, message.payload, HEARTBEATS)
        if parsed is not None and beat is not None:
            self.look_at([(parsed[0], (beat.session, beat.seq, beat.head))])

    def _refused(self, refusal: Refusal) -> None:
        if refusal.worth_telling:
            place, problem, count = refusal.place, refusal.problem, refusal.count
            log.warning("%s: refused (%d): %s", place, count, problem)
            self._recorder.record(MessageRefused(place, problem, refusal.start, count))


def _life_ns() -> int:
    """Time as it passes here, however fast a simulated session runs, in ns."""
    return round(asyncio.get_running_loop().time() * 1e9)
