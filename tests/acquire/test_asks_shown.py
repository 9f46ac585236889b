"""An ask that the bus does not take in time: the bus is away before anything new is begun."""

from barrelfit.acquire.bench.asks_shown import LOOKS, AsksShown
from barrelfit.acquire.bench.supervisor import Supervisor
from barrelfit.acquire.journal.record_events import ServiceChanged
from barrelfit.rules.events import Asked
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said, written
from barrelfit.rules.telling import AskShown, BoardAwaited

ASKED = Asked(FeatureId("P1", "skirt"), "micrometer", written("P1 skirt"), 0, 3, 1)
AWAY = ServiceChanged("bus", "away", said("does_not_answer"))
BACK = ServiceChanged("bus", "running")


class Bus:
    """How far a bus has taken the record, and what is journaled of it."""

    def __init__(self) -> None:
        self.taken = 0
        self.said: list = []
        self.supervisor = Supervisor(self.said.append)
        self.shown = AsksShown(
            "s1", lambda: self.taken, self.supervisor, self.said.append, lambda: 17
        )

    def ask(self, seq: int) -> None:
        self.shown.on_disk(seq, ASKED)

    def look(self, times: int) -> None:
        for _ in range(times):
            self.shown.look()


def test_an_ask_that_is_taken_in_time_is_nothing_to_tell():
    bus = Bus()
    for seq in (7, 9):
        bus.ask(seq)
        bus.look(LOOKS - 1)
        bus.taken = seq
        bus.look(LOOKS + 1)
    assert bus.said == []


def test_an_ask_that_is_not_taken_is_told_once_and_so_is_its_end():
    bus = Bus()
    bus.ask(7)
    bus.look(LOOKS - 1)
    assert bus.said == []
    bus.look(50)
    assert bus.said == [AWAY]
    bus.taken = 7
    bus.look(5)
    assert bus.said == [AWAY, BACK]


def test_a_bus_that_its_keeper_has_said_to_be_away_is_there_when_the_keeper_says_so():
    bus = Bus()
    bus.supervisor.say_away("bus", "it ended (-9)")
    bus.ask(7)
    bus.look(50)
    assert len(bus.said) == 1
    bus.taken = 7  # whoever came to an end, its word for this came before
    bus.look(5)
    assert len(bus.said) == 1
    bus.supervisor.say_up("bus")
    bus.look(5)
    assert bus.said[1:] == [BACK]


def test_records_that_ask_nothing_may_take_their_time():
    bus = Bus()
    bus.shown.on_disk(7, AWAY)
    bus.look(50)
    assert bus.said == []


def test_what_the_benchs_own_board_shows_goes_into_the_record_once():
    bus = Bus()
    bus.shown.await_board()
    for session, ask in (("s1", 1), ("s1", 1), ("s0", 2), ("s1", 2), ("s1", 1)):
        bus.shown.shown(session, ask)
    assert bus.said == [BoardAwaited(17), AskShown(17, 1), AskShown(17, 2)]
