"""Faults planted in the program or in the house around it, each of which the world must find."""

import random
import sys
from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

import pytest

from barrelfit.acquire.bench import results_gate
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.redo.redo import Redo
from barrelfit.rules.bench import asking, hand, step, sweeping, taking, two_parts
from barrelfit.rules.bench.departure import Departure
from barrelfit.rules.bench.phases import Armed, ByHand, Leaving, Watch
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.unseen import Unseen
from barrelfit.rules.events import Asked, GaugeChanged, Refused
from barrelfit.rules.judge import pair, twice
from barrelfit.rules.telling import BoardAwaited
from tests.world import bench as house
from tests.world.play import Session
from tests.world.trouble import KINDS, Trouble

Patch = pytest.MonkeyPatch


def armed_before_its_ask_is_recorded(patch: Patch) -> None:
    def phase_of(_bench: Any, wanted: Any) -> Any:
        return ByHand(wanted) if wanted.gauge is None else Armed.fresh(wanted, wanted.gauge)

    patch.setattr(asking, "_phase_of", phase_of)


def armed_while_the_last_part_is_still_there(patch: Patch) -> None:
    def begin_sweep(bench: Any, waiting: Any) -> Any:
        bench.phase = Armed.fresh(waiting.ask, waiting.gauge)
        return ()

    patch.setattr(asking, "begin_sweep", begin_sweep)


def what_was_swept_before_the_ask_may_stay(patch: Patch) -> None:
    was = Watch.hold.fget

    def hold(self: Any) -> Any:
        return None if self.swept else was(self)  # type: ignore[misc]

    patch.setattr(Watch, "hold", property(hold))


def away_at_once(patch: Patch) -> None:
    patch.setattr(Departure, "gone", lambda *_: True)


def put_down_is_a_size(patch: Patch) -> None:
    patch.setattr(sweeping, "_passes_of", lambda *_: 0)


def merged_parts(patch: Patch) -> None:
    patch.setattr(two_parts, "alike", lambda *_: None)


def no_is_taken_for_yes(patch: Patch) -> None:
    patch.setattr(hand, "deny", lambda b, f: two_parts.settle(b, f, "pressed"))


def discarded_by_one_sweep(patch: Patch) -> None:
    patch.setattr(twice, "_deciding", lambda *_: None)


def any_number_is_a_size(patch: Patch) -> None:
    patch.setattr(taking, "check_gauge_size", lambda *_: None)


def lost_gauge_is_not_missed(patch: Patch) -> None:
    patch.setitem(step.TABLE[Armed], GaugeChanged, step.nothing)  # type: ignore[index]
    patch.setitem(step.TABLE[Leaving], GaugeChanged, step.nothing)  # type: ignore[index]


def undo_takes_the_first_size(patch: Patch) -> None:
    was = hand._undo

    def undo(bench: Any) -> Any:
        bench.done.sort(key=str)
        return was(bench)

    patch.setattr(hand, "_undo", undo)


def refused_sweep_goes_on(patch: Patch) -> None:
    def refuse(bench: Any, armed: Any, result: Any) -> Any:
        bench.phase = Armed.fresh(armed.ask, armed.gauge)
        return [Refused(armed.ask.at, result.reason, result.sentence, result.advice)]

    patch.setattr(sweeping, "refuse", refuse)
    patch.setattr(taking, "refuse", refuse)


def finding_recorded_twice(patch: Patch) -> None:
    def take(self: Any, message: Any) -> str:
        self._next = message.first
        return was(self, message)

    was = results_gate.ResultsGate.take
    patch.setattr(results_gate.ResultsGate, "take", take)


def lost_ask(patch: Patch) -> None:
    was, number = results_gate.ResultsGate.__init__, count()

    def made(self: Any, session: str, journaled: int, record: Callable[..., Any]) -> None:
        def some(event: Any, because: int) -> Any:
            lost = isinstance(event, Asked) and next(number) % 5 == 4
            return 1 if lost else record(event, because)

        was(self, session, journaled, some)

    patch.setattr(results_gate.ResultsGate, "__init__", made)


def told_before_it_is_on_disk(patch: Patch) -> None:
    patch.setattr(house.Journal, "safe", lambda self: len(self.lines))
    patch.setattr(house.Journal, "cut", lambda self: self.lines.__delitem__(slice(-9, None)))


def stall_is_not_noticed(patch: Patch) -> None:
    patch.setattr(BenchGauge, "_look_for_stall", lambda *_: None)
    patch.setattr(BenchGauge, "_times", lambda *_: [])


def redo_hears_no_asks(patch: Patch) -> None:
    was = Redo._hear

    def hear(self: Any, result: Any, record: Any) -> None:
        if not isinstance(record.event, Asked):
            was(self, result, record)

    patch.setattr(Redo, "_hear", hear)


def other_gauges_are_forgotten(patch: Patch) -> None:
    patch.setattr(Bench, "put_aside", lambda _self: None)


def what_no_board_shows_counts(patch: Patch) -> None:
    for cells in step.TABLE.values():
        patch.setitem(cells, BoardAwaited, step.nothing)  # type: ignore[arg-type]


def pairs_rest_on_any_size(patch: Patch) -> None:
    patch.setattr(pair, "size_doubts", lambda *_: ())


def any_press_is_an_answer(patch: Patch) -> None:
    patch.setattr(hand, "_was_read", lambda *_: True)


def one_press_is_a_yes(patch: Patch) -> None:
    was = asking._with_gauge

    def asked(bench: Any, planned: Any, why: Any) -> Any:
        return was(bench, planned, "sure" if why == "alike" else why)

    patch.setattr(asking, "_with_gauge", asked)


def a_second_sweep_is_compared_with_nothing(patch: Patch) -> None:
    was = taking.note_alike

    def note(bench: Any, at: Any, *before: Any) -> None:
        if at not in bench.firsts:
            was(bench, at, *before)

    patch.setattr(taking, "note_alike", note)


def what_comes_in_unseen_counts(patch: Patch) -> None:
    patch.setattr(Unseen, "may_hold", lambda *_: False)


def a_late_board_is_read_at_once(patch: Patch) -> None:
    patch.setattr(asking, "LATE_NS", sys.maxsize)


Aim = Callable[[random.Random], tuple[Trouble, ...]]


def pressed_too_soon(chance: random.Random) -> tuple[Trouble, ...]:
    later, amount = chance.randint(2, 4), chance.uniform(0.4, 3.0)
    return (Trouble("repeat", attempt=1), Trouble("next", attempt=later, amount=amount))


def off_and_put_in_again(chance: random.Random) -> tuple[Trouble, ...]:
    """A part is swept with a gauge that is off, and once more for the next."""
    first = chance.randint(0, 1)
    zero = Trouble("zero", attempt=first, amount=chance.uniform(0.4, 1.5))
    return (zero, Trouble("repeat", attempt=first + 1))


def stopped_and_taken_back(chance: random.Random) -> tuple[Trouble, ...]:
    """The hand works on while the daemon is stopped; the pedal takes back one size on another."""
    first = chance.randint(2, 12)
    when_s, lasts_s = chance.uniform(15.0, 250.0), chance.uniform(8.0, 40.0)
    undone = (Trouble("undo", attempt=attempt) for attempt in range(first, first + 8))
    return (Trouble("stop-daemon", when_s=when_s, lasts_s=lasts_s), *undone)


def hung_while_in_haste(chance: random.Random) -> tuple[Trouble, ...]:
    """The board hangs again and again, and the hand is back in a moment each time."""
    stops = (
        Trouble("stop-board", 60.0 * n + chance.uniform(15.0, 30.0), 20.0, amount=amount)
        for n, amount in enumerate(chance.uniform(1.5, 3.0) for _ in range(5))
    )
    soon = (Trouble("back-soon", attempt=n, amount=chance.uniform(1.5, 3.0)) for n in range(40))
    return (*stops, *soon)


def drawn(*kinds: str) -> frozenset[str]:
    return frozenset(kinds or KINDS)


MUTANTS: dict[str, tuple[Callable[[Patch], None], frozenset[str] | Aim]] = {
    plant.__name__: (plant, aimed)
    for plant, aimed in (
        (armed_before_its_ask_is_recorded, drawn("cut-rules", "stop-rules")),
        (armed_while_the_last_part_is_still_there, drawn()),
        (what_was_swept_before_the_ask_may_stay, drawn("cut-rules", "stop-rules", "back")),
        (away_at_once, drawn()),
        (put_down_is_a_size, drawn("put-down", "wrong-first")),
        (merged_parts, drawn("repeat")),
        (no_is_taken_for_yes, drawn("repeat")),
        (discarded_by_one_sweep, drawn()),
        (any_number_is_a_size, drawn("zero", "inch", "wrong-part")),
        (lost_gauge_is_not_missed, drawn("unplug")),
        (undo_takes_the_first_size, drawn("undo")),
        (refused_sweep_goes_on, drawn("put-down", "turn-short", "wrong-first", "back-soon")),
        (finding_recorded_twice, drawn("doubled")),
        (lost_ask, drawn()),
        (told_before_it_is_on_disk, drawn("kill-daemon")),
        (stall_is_not_noticed, drawn("stop-daemon")),
        (redo_hears_no_asks, drawn()),
        (other_gauges_are_forgotten, drawn("back", "undo", "kill-daemon")),
        (what_no_board_shows_counts, drawn("cut-board", "stop-board")),
        (pairs_rest_on_any_size, drawn("repeat")),
        (any_press_is_an_answer, pressed_too_soon),
        (one_press_is_a_yes, pressed_too_soon),
        (a_second_sweep_is_compared_with_nothing, off_and_put_in_again),
        (what_comes_in_unseen_counts, stopped_and_taken_back),
        (a_late_board_is_read_at_once, hung_while_in_haste),
    )
}
"""What is planted, and what brings it to light: sessions in which one of these troubles was drawn,
or troubles that are aimed at it."""


def sessions(name: str) -> Iterator[tuple[int, tuple[Trouble, ...] | None]]:
    """The seeds, and the troubles of each (None: those drawn), that are to find a planted fault."""
    aimed = MUTANTS[name][1]
    for seed in range(4000):
        if not isinstance(aimed, frozenset):
            yield seed, aimed(random.Random(f"aimed {seed}"))
        elif aimed & {trouble.kind for trouble in Session(seed).troubles}:
            yield seed, None
