"""All benches that a board process hears: folds them, wakes open pages, sends commands.

Benches of this machine are found by their links (`acquire.bus.link_file`), each heard on its own
bus; or those of a shop are heard on its broker, where nothing proves who a message comes from.

Everything but `look` and `send` runs on the server's event loop. Streamlit's script threads read
through `look` (under the lock) and never keep what they were shown.
"""

import asyncio
import json
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.link_file import BenchLink, links_in
from barrelfit.acquire.bus.mqtt_bus import BusDownError, BusLink, BusMessage
from barrelfit.acquire.bus.payloads import ANSWERS, Answer, RefusedError, decoded
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.topics import (
    ANSWER,
    COMMAND,
    ROOT,
    SNAPSHOT,
    STATE,
    parse_topic,
    topic,
)
from barrelfit.dashboard.board.ear import HEARD, BenchEar
from barrelfit.dashboard.board.fold import fold_message
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.board.tabs import Tabs

if TYPE_CHECKING:
    from barrelfit.dashboard.board.phones import Phones
    from barrelfit.dashboard.board.provider import Provider
    from barrelfit.dashboard.board.set_up import SetUp

BENCHES_MAX: Final = 256
ANSWERS_KEPT: Final = 256
SUBSCRIPTIONS: Final = tuple(f"{ROOT}/+/{leaf}" for leaf in HEARD)
FIND_S: Final = 0.5
"""How often it is looked which benches there are."""
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
        self._own: dict[str, BenchLink] = {}
        self._ears: dict[str, BenchEar] = {}
        self._shop: BusLink | None = None
        self._shop_up = False
        self._pages: dict[str, set[asyncio.Event]] = {}
        self._answers: OrderedDict[str, Answer] = OrderedDict()
        self._loop: asyncio.AbstractEventLoop | None = None
        self.bad_topics = 0
        self.says: Callable[[str, int], None] = lambda _session, _ask: None
        """Hears which ask of which session is shown of the bench that started this board."""
        self._said: dict[str, tuple[str, int]] = {}
        self.set_up: SetUp | None = None
        """The bench that is set up now; no other is shown meanwhile."""
        self.wants_set_up: Callable[[], None] | None = None
        """Says that the bench is to be set up anew; None where nobody could follow that."""
        self.phones: Phones | None = None
        """The phones beside the bench that started this board; None where none may be paired."""

    def tell(self, link: BenchLink) -> None:
        """Learn of the bench that started this board; from any thread, any time."""
        self._own[link.bench] = link

    async def run(self, shop: BrokerAddress | None) -> None:
        """Hear benches until cancelled; connections come back by themselves.

        Args:
            shop: the shop's broker, None to hear the benches of this machine.
        """
        self._loop = asyncio.get_running_loop()
        if shop is not None:
            self._shop = BusLink(
                lambda: shop, "board", SUBSCRIPTIONS, self.receive, self._shop_changed
            )
            await self._shop.run()
            return
        async with asyncio.TaskGroup() as group:
            heard: dict[str, asyncio.Task[None]] = {}
            while True:
                self._find_benches(group, heard)
                await asyncio.sleep(FIND_S)

    def _find_benches(self, group: asyncio.TaskGroup, heard: dict[str, asyncio.Task[None]]) -> None:
        """Hear each bench that is to be found, where and as it is now."""
        found = {**links_in(self.sessions), **self._own}
        for bench in [name for name, ear in self._ears.items() if found.get(name) != ear.link]:
            heard.pop(bench).cancel()
            del self._ears[bench]
            self._wake(bench)
        for bench, link in found.items():
            if bench not in self._ears:
                wake = partial(self._wake, bench)
                ear = BenchEar(link, self._clock, self.receive, self._refuse, wake)
                self._ears[bench] = ear
                heard[bench] = group.create_task(ear.bus.run())

    # ------------------------------------------------------------ from the bus

    def _shop_changed(self, up: bool) -> None:  # noqa: FBT001  the bus link's callback
        """The shop's bus came or went."""
        with self._lock:
            self._shop_up = up
        for bench in list(self._pages):
            self._wake(bench)

    def _refuse(self, message: BusMessage) -> None:
        """Count what a bench did not say itself."""
        parsed = parse_topic(message.topic)
        if parsed is None:
            self.bad_topics += 1
            return
        bench, leaf = parsed
        with self._lock:
            board = self._boards.setdefault(bench, Board(bench))
            board.refused[leaf] = board.refused.get(leaf, 0) + 1
            board.slow += 1
        self._wake(bench)

    def _is_up(self, bench: str = "") -> bool:
        """Whether the bus of a bench is there, or any where none is named."""
        if self._shop is not None:
            return self._shop_up
        if bench in self._ears:
            return self._ears[bench].up
        return not self._ears or any(ear.up for ear in self._ears.values())

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
        if bench in self._own:
            self._say_asked(board)

    def _say_asked(self, board: Board) -> None:
        """Tell our parent what it is that the pages of its bench ask for now."""
        asked = board.state.asked
        now = None if asked is None else (board.session, asked.event.ask)
        if now is not None and now != self._said.get(board.bench):
            self._said[board.bench] = now
            self.says(*now)

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
        self._answers.setdefault(answer.id, answer)  # the first: no later one is of this ask
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
            return see(self._boards, self._clock.monotonic_ns(), Link(self._is_up()))

    def look_at(self, bench: str, see: Callable[[Board, int, Link], T]) -> T:
        """As `look`, for one bench; an unheard bench is an empty board."""
        return self.look(
            lambda boards, now, _: see(
                boards.get(bench) or Board(bench), now, Link(self._is_up(bench))
            )
        )

    # ------------------------------------------------------------ to the bench

    def send(self, bench: str, command: Mapping[str, Any]) -> None:
        """Send a command to a bench from a script thread; raises BusDownError."""
        ear, shop, loop = self._ears.get(bench), self._shop, self._loop
        if ear is not None and loop is not None:
            sending = asyncio.run_coroutine_threadsafe(ear.send(command), loop)
        elif shop is not None and loop is not None:
            payload = json.dumps(command, allow_nan=False).encode()
            work = shop.publish(topic(bench, COMMAND), payload)
            sending = asyncio.run_coroutine_threadsafe(work, loop)
        else:
            msg = "not connected"
            raise BusDownError(msg)
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
