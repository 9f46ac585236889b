"""Faults planted in the program or in the house around it, each of which the world must find."""

from collections.abc import Callable
from dataclasses import replace
from itertools import count
from typing import Any

import pytest

from barrelfit.acquire.bench import findings_queue, results_gate
from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.redo.redo import Redo
from barrelfit.rules.bench import asking, hand, step, sweeping, taking, two_parts
from barrelfit.rules.bench.departure import Departure
from barrelfit.rules.bench.phases import Armed, ByHand, Leaving, Waiting, Watch
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.events import Asked, GaugeChanged, Interrupted, Refused, WentOn
from barrelfit.rules.judge import pair, twice
from barrelfit.rules.telling import BoardAwaited
from tests.world import bench as house
from tests.world.trouble import KINDS

Patch = pytest.MonkeyPatch


def armed_before_its_ask_is_recorded(patch: Patch) -> None:
    def phase_of(_bench: Any, wanted: Any) -> Any:
        return ByHand(wanted) if wanted.gauge is None else Armed.fresh(wanted, wanted.gauge)

    patch.setattr(asking, "_phase_of", phase_of)


def armed_while_the_last_part_is_still_there(patch: Patch) -> None:
    patch.setattr(Bench, "hold", property(lambda _self: None))


def what_was_swept_before_the_ask_may_stay(patch: Patch) -> None:
    was = Watch.hold.fget

    def hold(self: Any) -> Any:
        return None if self.swept else was(self)  # type: ignore[misc]

    patch.setattr(Watch, "hold", property(hold))


def any_ask_arms(patch: Patch) -> None:
    was = asking.heard

    def heard(bench: Any, waiting: Any, event: Any) -> Any:
        return was(bench, waiting, replace(event, at=waiting.ask.at, ask=0))

    for cells in step.TABLE.values():
        if cells.get(Asked) is was:
            patch.setitem(cells, Asked, heard)  # type: ignore[arg-type]


def away_at_once(patch: Patch) -> None:
    patch.setattr(Departure, "gone", lambda *_: True)


def put_down_is_a_size(patch: Patch) -> None:
    patch.setattr(sweeping, "_passes_of", lambda *_: 0)


def interruption_is_forgotten(patch: Patch) -> None:
    was = sweeping._left

    def left(bench: Any, armed: Any) -> Any:
        said = was(bench, armed)
        if any(isinstance(one, Interrupted) for one in said):
            armed.since = None
        return said

    patch.setattr(sweeping, "_left", left)


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
        bench.history.sort(key=str)
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


def findings_given_up_too_early(patch: Patch) -> None:
    def came_back(self: Any, _because: int) -> None:
        self.first += 1
        self._waiting.clear()

    patch.setattr(findings_queue.FindingsQueue, "_came_back", came_back)


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


def no_new_ask_after_a_restart(patch: Patch) -> None:
    patch.setitem(step.TABLE[Waiting], WentOn, step.nothing)  # type: ignore[index]


def other_gauges_are_forgotten(patch: Patch) -> None:
    patch.setattr(Bench, "put_aside", lambda _self: None)


def what_no_board_shows_counts(patch: Patch) -> None:
    for cells in step.TABLE.values():
        patch.setitem(cells, BoardAwaited, step.nothing)  # type: ignore[arg-type]


def pairs_rest_on_any_size(patch: Patch) -> None:
    patch.setattr(pair, "size_doubts", lambda *_: ())


def any_press_is_an_answer(patch: Patch) -> None:
    patch.setattr(hand, "_was_read", lambda *_: True)


MUTANTS: dict[str, tuple[Callable[[Patch], None], frozenset[str]]] = {
    plant.__name__: (plant, frozenset(kinds))
    for plant, kinds in (
        (armed_before_its_ask_is_recorded, {"cut-rules", "stop-rules"}),
        (armed_while_the_last_part_is_still_there, set(KINDS)),
        (what_was_swept_before_the_ask_may_stay, {"cut-rules", "stop-rules", "back"}),
        (any_ask_arms, {"slow-disk"}),
        (away_at_once, set(KINDS)),
        (put_down_is_a_size, {"put-down", "wrong-first"}),
        (interruption_is_forgotten, {"wrong-first"}),
        (merged_parts, {"repeat"}),
        (no_is_taken_for_yes, {"repeat"}),
        (discarded_by_one_sweep, set(KINDS)),
        (any_number_is_a_size, {"zero", "inch", "wrong-part"}),
        (lost_gauge_is_not_missed, {"unplug"}),
        (undo_takes_the_first_size, {"undo"}),
        (refused_sweep_goes_on, {"swap"}),
        (finding_recorded_twice, {"doubled"}),
        (lost_ask, set(KINDS)),
        (findings_given_up_too_early, {"cut-rules", "kill-rules"}),
        (told_before_it_is_on_disk, {"kill-daemon"}),
        (stall_is_not_noticed, {"stop-daemon"}),
        (redo_hears_no_asks, set(KINDS)),
        (no_new_ask_after_a_restart, {"kill-daemon"}),
        (other_gauges_are_forgotten, {"back", "undo", "kill-daemon"}),
        (what_no_board_shows_counts, {"cut-board", "stop-board"}),
        (pairs_rest_on_any_size, {"repeat"}),
        (any_press_is_an_answer, {"repeat", "next"}),
    )
}
"""What is planted, and the troubles that may bring it to light: sessions with one of them."""
