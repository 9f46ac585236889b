"""One bus subscriber per board process: folds every bench, wakes open pages, sends commands.

Everything but `look` and `send` runs on the server's event loop. Streamlit's script threads read
through `look` (under the lock) and never keep what they were shown.
"""

import asyncio
import json
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink, BusMessage
from barrelfit.acquire.bus.payloads import ANSWERS, Answer, RefusedError, decoded
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.topics import (
    ANSWER,
    COMMAND,
    HEARTBEAT,
    JOURNAL,
    ROOT,
    SNAPSHOT,
    STATE,
    parse_topic,
    topic,
)
from barrelfit.dashboard.board.fold import fold_message
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.board.tabs import Tabs

if TYPE_CHECKING:
    from barrelfit.dashboard.board.provider import Provider

BENCHES_MAX: Final = 256
ANSWERS_KEPT: Final = 256
HEARD: Final = (JOURNAL, SNAPSHOT, STATE, HEARTBEAT, ANSWER)
SUBSCRIPTIONS: Final = tuple(f"{ROOT}/+/{leaf}" for leaf in HEARD)
SEND_S: Final = 4.0
ANSWER_S: Final = 4.0

T = TypeVar("T")


class Hub:
    """All benches on the bus, as one board process knows them.

    Args:
        clock: what time it is for the board.
        sessions: the folder of recorded sessions.
    """

    def __init__(self, clock: Clock, sessions: Path) -> None:
        self._clock = clock
        self.sessions = sessions
        self.provider: Provider | None = None
        self.tabs = Tabs()
        self._lock = threading.Lock()
        self._answered = threading.Condition(self._lock)
        self._boards: dict[str, Board] = {}
        self._up = False
        self._pages: dict[str, set[asyncio.Event]] = {}
        self._answers: OrderedDict[str, Answer] = OrderedDict()
        self._bus: BusLink | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self.bad_topics = 0

    async def run(self, address: BrokerAddress) -> None:
        """Stay subscribed until cancelled; the connection comes back by itself."""
        self._loop = asyncio.get_running_loop()
        self._bus = BusLink(address, "board", SUBSCRIPTIONS, self.receive, self.changed)
        await self._bus.run()

    # ------------------------------------------------------------ from the bus

    def changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        """The bus came or went."""
        with self._lock:
            self._up = up
        for bench in list(self._pages):
            self._wake(bench)

    def receive(self, message: BusMessage) -> None:
        """Fold one message; a bad one is counted on its bench and changes nothing else."""
        parsed = parse_topic(message.topic)
        if parsed is None:
            self.bad_topics += 1
            return
        bench, leaf = parsed
        now_ns = self._clock.monotonic_ns()
        with self._lock:
            if bench not in self._boards and len(self._boards) >= BENCHES_MAX:
                self.bad_topics += 1
                return
            board = self._boards.setdefault(bench, Board(bench))
            try:
                self._fold(board, leaf, message, now_ns)
            except RefusedError:
                board.bad += 1
                board.slow += 1
        self._wake(bench)

    def _fold(self, board: Board, leaf: str, message: BusMessage, now_ns: int) -> None:
        if not message.payload:
            return  # a retained message was cleared
        if message.retained and leaf not in {SNAPSHOT, STATE}:
            return  # only a live message may tell this
        if leaf == ANSWER:
            self._hear_answer(decoded(message.payload, ANSWERS))
        else:
            fold_message(board, leaf, message.payload, now_ns)

    def _hear_answer(self, answer: Answer) -> None:
        self._answers[answer.id] = answer
        while len(self._answers) > ANSWERS_KEPT:
            self._answers.popitem(last=False)
        self._answered.notify_all()

    def _wake(self, bench: str) -> None:
        for page in self._pages.get(bench, ()):
            page.set()
        for page in self._pages.get("", ()):
            page.set()

    # ------------------------------------------------------------ to the pages

    def open_page(self, bench: str) -> asyncio.Event:
        """An event that is set at each change of this bench; `""` listens to every bench."""
        page = asyncio.Event()
        self._pages.setdefault(bench, set()).add(page)
        return page

    def close_page(self, bench: str, page: asyncio.Event) -> None:
        """Forget a page."""
        pages = self._pages.get(bench, set())
        pages.discard(page)
        if not pages:
            self._pages.pop(bench, None)

    @property
    def pages_open(self) -> int:
        """How many pages listen now."""
        return sum(len(pages) for pages in self._pages.values())

    def look(self, see: Callable[[Mapping[str, Board], int, Link], T]) -> T:
        """Call `see(boards, now_ns, link)` while nothing changes; it returns what it made of it."""
        with self._lock:
            return see(self._boards, self._clock.monotonic_ns(), Link(self._up))

    def look_at(self, bench: str, see: Callable[[Board, int, Link], T]) -> T:
        """As `look`, for one bench; an unheard bench is an empty board."""
        return self.look(
            lambda boards, now, link: see(boards.get(bench) or Board(bench), now, link)
        )

    # ------------------------------------------------------------ to the bench

    def send(self, bench: str, command: Mapping[str, Any]) -> None:
        """Send a command to a bench from a script thread; raises BusDownError."""
        if self._bus is None or self._loop is None:
            msg = "not connected"
            raise BusDownError(msg)
        payload = json.dumps(command, allow_nan=False).encode()
        sending = asyncio.run_coroutine_threadsafe(
            self._bus.publish(topic(bench, COMMAND), payload), self._loop
        )
        try:
            sending.result(SEND_S)
        except TimeoutError:
            raise BusDownError(str(SEND_S)) from None

    def ask(self, bench: str, command: Mapping[str, Any]) -> Answer | None:
        """Send a command and wait for its answer; None when none comes, or the bus is down."""
        request = str(command["id"])
        try:
            self.send(bench, command)
        except BusDownError:
            return None
        with self._answered:
            self._answered.wait_for(lambda: request in self._answers, ANSWER_S)
            return self._answers.get(request)


_installed: Hub | None = None


def install(hub: Hub) -> None:
    """Make this the process's hub; the pages find it by `installed`."""
    global _installed  # noqa: PLW0603  one subscriber per process, whoever asks
    _installed = hub


def installed() -> Hub:
    """The process's hub; RuntimeError when a page runs without the launcher."""
    if _installed is None:
        msg = "the board's pages run under `python -m barrelfit.dashboard`"
        raise RuntimeError(msg)
    return _installed
