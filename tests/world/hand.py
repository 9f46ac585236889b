"""A hand before the board: takes what is asked for, sweeps it, looks up late, and errs as told.

It knows the bench by the board alone. Every moment is one sample of the gauge in use: which gauge,
what it truly stands at, and whose feature is between its contacts (None: nobody's). Lengths are mm.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Protocol

from barrelfit.rules.model import FeatureId
from tests.world.parts import Parts
from tests.world.trouble import Trouble

OUTSIDE, BORE = "micrometer", "bore"
ANVIL_MM, TIP_MM = 3.25, 2.0
STOP_MM, FREE_MM = 83.4, 85.9  # where the gauges stand with nothing in them
OTHER_ENGINE_MM = 92.0
PASSES_MAX = 16
DEEP = 1.5  # a gauge is zeroed on its part, or only a little off
EARLY = (
    0.4  # of what it is beyond `DEEP`, in s: so long before it is back the hand looks at the board
)
DEAF = 2.2  # whoever errs so much does not look at what the board says of it
ANSWERS = 0.7  # how often a question is answered at all
TOLD = frozenset({"looked", "height_marked"})  # what the pedal says is seen or done
OUT_DEG = 14.0


@dataclass(frozen=True)
class Sample:
    """One moment: the gauge in use, what it stands at, whose feature it holds."""

    gauge: str
    mm: float
    of: FeatureId | None


class Board(Protocol):
    """What the hand sees, and the pedal it has."""

    asked: FeatureId | None
    gauge: str
    done: bool

    def answers(self) -> int:
        """How many answers (sizes, refusals, new asks …) have been shown so far."""
        ...

    def told_wrong(self) -> bool:
        """Whether the board says, since the part was taken, that the gauge reads far off."""
        ...

    def question(self) -> frozenset[str]:
        """The parts of which it is asked whether they are two each; none: no question."""
        ...

    def times_asked(self) -> int:
        """How often such a question was put so far."""
        ...

    def is_sure(self) -> bool:
        """Whether the board asks for one more press that says that they are two each."""
        ...

    def press(self, action: str) -> None:
        """Use the pedal."""
        ...


@dataclass
class Habits:
    """How this hand moves; drawn once a session."""

    stroke_s: float
    reach_mm: float
    tilt_rad: float
    lean: tuple[float, float, float]
    extra: float
    rock_deg: float


def habits_of(chance: random.Random) -> Habits:
    return Habits(
        stroke_s=chance.uniform(1.0, 1.5),
        reach_mm=chance.uniform(8.0, 11.0),
        tilt_rad=math.radians(chance.uniform(0.02, 0.05)),
        lean=(chance.uniform(0.6, 1.8), chance.uniform(0.6, 1.8), chance.uniform(0.6, 1.8)),
        extra=chance.uniform(0.0, 0.6),
        rock_deg=chance.uniform(4.0, 6.0),
    )


@dataclass
class Hand:
    """One session's hand; `mistaken` says that what it holds is not what it believes."""

    parts: Parts
    board: Board
    chance: random.Random
    rate_hz: float
    troubles: dict[int, list[Trouble]]
    now_s: Callable[[], float]
    habits: Habits = field(init=False)
    offset_mm: dict[str, float] = field(default_factory=lambda: {OUTSIDE: 0.0, BORE: 0.0})
    inch: dict[str, bool] = field(default_factory=lambda: {OUTSIDE: False, BORE: False})
    attempts: int = 0
    mistaken: bool = False
    heeds: bool = True  # what the board says of a gauge that reads far off
    struck: list[str] = field(default_factory=list)
    last: dict[str, FeatureId] = field(default_factory=dict)
    handled: set[str] = field(default_factory=set)
    instead: dict[FeatureId, FeatureId] = field(default_factory=dict)  # until asked about
    answered: int = 0  # the last question that was thought about
    tilt_deg: float = -OUT_DEG
    looked: tuple[FeatureId | None, str] | None = None  # what stood on the board, on the way back

    def __post_init__(self) -> None:
        self.habits = habits_of(self.chance)

    def life(self, attempts_max: int) -> Iterator[Sample]:
        """Work until the board says that the set is done."""
        yield from self._air(OUTSIDE, 2.0)
        while not self.board.done and self.attempts < attempts_max:
            before = self.answered
            yield from self._answers(self.board.question())
            if self.answered != before:
                self.looked = None
            at, gauge = self.looked or (self.board.asked, self.board.gauge)
            if at is None or at.feature in TOLD:
                self.looked = None
                yield from self._air(OUTSIDE, 0.5) if at is None else self._tells(at)
            else:
                yield from self._attempt(at, gauge or OUTSIDE)
                self.attempts += 1
        yield from self._air(OUTSIDE, 4.0)

    def _tells(self, at: FeatureId) -> Iterator[Sample]:
        """What is seen or done is said by the pedal; now and then before anybody can have read."""
        yield from self._air(OUTSIDE, self.chance.uniform(0.2, 4.0))
        if self.board.asked == at:
            self.board.press("next")
            yield from self._air(OUTSIDE, self.chance.uniform(0.2, 1.0))

    def _answers(self, parts: frozenset[str]) -> Iterator[Sample]:
        """A question of the board is answered truly (did I have all of them?), or not at all."""
        if parts and self.answered != self.board.times_asked():
            self.answered = self.board.times_asked()
            self.instead = {at: by for at, by in self.instead.items() if at.part not in parts}
            if self.chance.random() < ANSWERS:
                had_all = parts <= self.handled
                self.board.press("next" if had_all else "again")
                yield from self._air(OUTSIDE, 2.0)
                if had_all and self.board.question() == parts and self.board.is_sure():
                    self.board.press("next")
                    yield from self._air(OUTSIDE, 2.0)
                self.handled -= parts

    def _attempt(self, at: FeatureId, gauge: str) -> Iterator[Sample]:
        kinds = {one.kind: one for one in self.troubles.get(self.attempts, [])}
        self.struck += kinds
        held, size_mm = self._taken(at, gauge, kinds)
        if "zero" in kinds:
            self.offset_mm[gauge] = -size_mm if kinds["zero"].amount > DEEP else 0.6
        self.inch[gauge] = "inch" in kinds
        told = [kinds[kind].amount for kind in ("zero", "inch", "wrong-part") if kind in kinds]
        self.heeds = not told or max(told) < DEAF
        if self.looked is None:
            yield from self._slips(gauge, held, size_mm, kinds)
            if self.board.asked != at:  # it had been enough
                self._handled(at, held)
                return
        short = kinds["turn-short"].amount if "turn-short" in kinds and gauge == OUTSIDE else None
        self.mistaken = self.mistaken or short is not None
        yield from self._until_answered(gauge, held, size_mm, short)
        self._handled(at, held)
        yield from self._presses(gauge, held, size_mm, kinds)
        rest_s = self.chance.uniform(*((0.4, 2.0) if "back-soon" in kinds else (4.0, 6.5)))
        yield from self._back_again(gauge, held, size_mm, rest_s, kinds)
        self.mistaken = False
        self.offset_mm[gauge], self.inch[gauge] = 0.0, False  # seen on the way back

    def _handled(self, at: FeatureId, held: FeatureId | None) -> None:
        """Know a part again that was in hand: of a barrel, once its first place was swept."""
        self.last[at.feature] = at if held is None else held
        self.handled |= set() if held is None else {held.part}

    def _presses(
        self, gauge: str, held: FeatureId | None, size_mm: float, kinds: dict[str, Trouble]
    ) -> Iterator[Sample]:
        """The pedal, after the sweep."""
        for action in ("undo", "again", "next"):
            if action in kinds:
                self.board.press(action)
                if action == "next" and kinds[action].amount > DEEP:  # a foot may slip twice
                    yield from self._passes(gauge, held, size_mm, 1)
                    self.board.press(action)
        if "back" in kinds:
            for _ in range(1 + (kinds["back"].amount > DEEP)):
                self.board.press("back")
            yield from self._passes(gauge, held, size_mm, 4)

    def _back_again(
        self,
        gauge: str,
        held: FeatureId | None,
        size_mm: float,
        rest_s: float,
        kinds: dict[str, Trouble],
    ) -> Iterator[Sample]:
        """Away and back; a hand in haste has looked at the board before it is."""
        in_haste = "back-soon" in kinds and kinds["back-soon"].amount > DEEP
        early_s = rest_s * EARLY * (kinds["back-soon"].amount - DEEP) if in_haste else 0.0
        yield from self._away(gauge, held, size_mm, rest_s - early_s)
        self.looked = (self.board.asked, self.board.gauge) if in_haste else None
        if in_haste:
            yield from self._air(gauge, early_s)

    def _taken(
        self, at: FeatureId, gauge: str, kinds: dict[str, Trouble]
    ) -> tuple[FeatureId | None, float]:
        """The part that is taken in hand: the one asked for, or another by mistake."""
        self.mistaken = False
        last = self.last.get(at.feature)
        if "wrong-part" in kinds and gauge == OUTSIDE:
            self.mistaken = True
            return None, OTHER_ENGINE_MM
        if "repeat" in kinds and last is not None and at.part not in self.handled:
            self.instead |= {replace(place, part=at.part): replace(place, part=last.part)
                             for place in self.parts.places(at)}  # fmt: skip
        held = self.instead.get(at, at)
        self.mistaken = held != at
        return held, self.parts.size_mm(held)

    def _slips(
        self, gauge: str, held: FeatureId | None, size_mm: float, kinds: dict[str, Trouble]
    ) -> Iterator[Sample]:
        """A sweep that comes to nothing, before the one that is meant."""
        if "put-down" in kinds:
            yield from self._passes(gauge, held, size_mm, 1 + math.ceil(kinds["put-down"].amount))
            yield from self._away(gauge, held, size_mm, self.chance.uniform(4.5, 7.0))
        elif "wrong-first" in kinds and held is not None:
            other = self._another(held)
            was, self.mistaken = self.mistaken, True
            passes = 2 + (kinds["wrong-first"].amount > DEEP)  # one more is made on the way out
            yield from self._passes(gauge, other, self.parts.size_mm(other), passes)
            rest_s = self.chance.uniform(4.5, 7.0)
            yield from self._away(gauge, other, self.parts.size_mm(other), rest_s)
            self.mistaken = was
        elif "swap" in kinds:
            yield from self._passes(gauge, held, size_mm, self.chance.randint(2, 3))
            yield from self._away(gauge, held, size_mm, 0.4)
            sign = self.chance.choice((-1, 1))
            other_mm = size_mm + sign * self.chance.uniform(0.03, 0.08)
            yield from self._passes(gauge, None, other_mm, 2)
            yield from self._away(gauge, None, other_mm, self.chance.uniform(4.5, 7.0))

    def _another(self, at: FeatureId) -> FeatureId:
        """The same place of another part."""
        places = (p for p in self.parts.sizes_mm if replace(p, part=at.part) == at)
        return self.chance.choice([p for p in places if p != at])

    def _until_answered(
        self, gauge: str, held: FeatureId | None, size_mm: float, short: float | None
    ) -> Iterator[Sample]:
        before = self.board.answers()
        for _ in range(PASSES_MAX):
            yield from self._one_pass(gauge, held, size_mm, short)
            if self.board.answers() > before or (self.board.told_wrong() and self.heeds):
                break
        while self.chance.random() < self.habits.extra:
            yield from self._one_pass(gauge, held, size_mm, short)

    def _passes(
        self, gauge: str, held: FeatureId | None, size_mm: float, number: int
    ) -> Iterator[Sample]:
        for _ in range(number):
            yield from self._one_pass(gauge, held, size_mm, None)

    # ------------------------------------------------------------ movements

    def _one_pass(
        self, gauge: str, held: FeatureId | None, size_mm: float, short: float | None
    ) -> Iterator[Sample]:
        if gauge == BORE:
            to_deg = math.copysign(self.habits.rock_deg, -self.tilt_deg)
            yield from self._rock(held, size_mm, to_deg * self.chance.uniform(0.85, 1.15))
            return
        reach_mm, nearest_mm = self.habits.reach_mm, -self.habits.reach_mm
        if short is not None:
            nearest_mm = ANVIL_MM + short  # comes this near, and goes back the same way
        side = self.chance.choice((-1, 1))
        seconds = self.habits.stroke_s * self.chance.uniform(0.9, 1.15)
        ways = (reach_mm, nearest_mm, reach_mm) if short is not None else (reach_mm, nearest_mm)
        for here, there in pairwise(ways):
            for share in self._shares(seconds):
                x_mm = here + (there - here) * (1 - math.cos(math.pi * share)) / 2
                yield self._shown(gauge, self._outside_mm(size_mm, side * x_mm), held)

    def _rock(self, held: FeatureId | None, size_mm: float, to_deg: float) -> Iterator[Sample]:
        from_deg = self.tilt_deg
        seconds = abs(to_deg - from_deg) / 8.0
        for share in self._shares(seconds):
            self.tilt_deg = from_deg + (to_deg - from_deg) * (1 - math.cos(math.pi * share)) / 2
            tilt = math.radians(self.tilt_deg)
            mm = (size_mm - 2 * TIP_MM) / math.cos(tilt) + 2 * TIP_MM
            yield self._shown(BORE, min(FREE_MM, mm), held)
        self.tilt_deg = to_deg

    def _away(
        self, gauge: str, held: FeatureId | None, size_mm: float, seconds: float
    ) -> Iterator[Sample]:
        if gauge == BORE:
            yield from self._rock(held, size_mm, math.copysign(OUT_DEG, -self.tilt_deg))
        yield from self._air(gauge, seconds)

    def _air(self, gauge: str, seconds: float) -> Iterator[Sample]:
        for _ in self._shares(seconds):
            yield self._shown(gauge, FREE_MM if gauge == BORE else STOP_MM, None)

    def _shares(self, seconds: float) -> Iterator[float]:
        """Shares of a movement that are done, as time goes by."""
        begin_s = self.now_s()
        while (share := (self.now_s() - begin_s) / seconds) < 1:
            yield share

    def _outside_mm(self, size_mm: float, x_mm: float) -> float:
        waves = sum(math.sin(2 * math.pi * f * self.now_s() + 9 * f) for f in self.habits.lean)
        tilt = abs(self.habits.tilt_rad * waves)
        radius = size_mm / 2
        off = max(abs(x_mm) - ANVIL_MM, 0.0)
        chord = 2 * math.sqrt(radius * radius - off * off)
        return max(STOP_MM, (chord + 2 * ANVIL_MM * math.sin(tilt)) / math.cos(tilt))

    def _shown(self, gauge: str, mm: float, of: FeatureId | None) -> Sample:
        mm += self.chance.gauss(0.0, 0.0005) + self.offset_mm[gauge]
        return Sample(gauge, mm / 25.4 if self.inch[gauge] else mm, of)
