"""A bench, and a hand that sweeps parts through it: geometry and seeded chance, nothing more.

Flat anvils of radius a over a cylinder of radius R at offset x and tilt θ read
(2·sqrt(R² − max(|x|−a, 0)²) + 2a·|sin θ|)/cos θ. Lengths here are mm: this is the world.
"""

import math
import random
from collections.abc import Callable, Iterable
from copy import deepcopy
from dataclasses import replace
from functools import cache, wraps
from typing import TYPE_CHECKING, ParamSpec

import pytest

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.rules.bench.phases import Armed
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.bench.taken_over import Standing
from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.parts import STEPS
from barrelfit.rules.engine.setfile import set_of_filled
from barrelfit.rules.events import Asked, EntryMade, Input, Output, Reading, Refused, Sized
from barrelfit.rules.model import FeatureId
from barrelfit.rules.uncertainty.size_budget import Setting
from tests.acquire.recorded import opening

if TYPE_CHECKING:
    from barrelfit.rules.bench.state import Bench

P1, P2, P3 = (FeatureId(name, "skirt") for name in ("P1", "P2", "P3"))
GOOD_MM = 84.92
WHO = "A. Smith"
OUTSIDE, BORE = "micrometer", "bore"
ANVIL_MM, REACH_MM, STROKE_S, RATE_HZ, TILT_DEG = 3.25, 9.0, 1.1, 20.0, 0.03
REST_MM = 70.0  # where the gauge stands with nothing in it

Given = ParamSpec("Given")


class Hand:
    """Feeds a bench: sweeps parts, takes them away, and collects what the bench says."""

    def __init__(
        self,
        seed: int = 1,
        *,
        set_to_nm: float | None = None,
        setup: Setup | None = None,
        stroke_s: float = STROKE_S,
        reach_mm: float = REACH_MM,
    ) -> None:
        """A hand; `set_to_nm` is how surely the gauges were set, not given where None.

        `setup` is the bench's, where it is not the one of every test.
        """
        self.stroke_s, self.reach_mm = stroke_s, reach_mm
        setup = setup or setup_of(opening())
        if set_to_nm is not None:
            setting = Setting("ring", set_to_nm)
            gauges = {
                name: replace(gauge, facts=replace(gauge.facts, setting=setting))
                for name, gauge in setup.gauges.items()
            }
            setup = replace(setup, gauges=gauges)
        self.bench: Bench
        self.said: list[Output] = []
        self.fed: list[Input] = []
        self.link = True  # whether what the bench asks for comes into the record at once
        self.lost: list[Asked] = []
        self.begin(setup)
        self.chance = random.Random(seed)  # noqa: S311  a simulated hand
        self.t_s = 10.0

    def begin(self, setup: Setup) -> None:
        """A bench at its session's begin."""
        self.bench, found = begin(setup)
        self._record(found)

    def feed(self, event: Input) -> tuple[Output, ...]:
        self.fed.append(event)
        self.bench, found = step(self.bench, event)
        self._record(found)
        return found

    def _record(self, found: Iterable[Output]) -> None:
        """What was found comes into the record: asks come back, now or when the link does."""
        for one in found:
            self.said.append(one)
            if isinstance(one, Asked):
                self.lost.append(one)
        if self.link:
            asks, self.lost = self.lost, []
            for one in asks:
                self.feed(one)

    def linked(self) -> None:
        """The link is there again: what was said meanwhile comes into the record."""
        self.link = True
        self._record(())

    @property
    def phase(self) -> str:
        """The name of the bench's phase, in small letters."""
        return type(self.bench.phase).__name__.lower()

    @property
    def passes(self) -> int:
        """The passes of the sweep under way."""
        return self.bench.phase.passes if isinstance(self.bench.phase, Armed) else 0

    def now_ns(self) -> int:
        return round(self.t_s * 1e9)

    def show(self, mm: float, gauge: str = OUTSIDE) -> list[Output]:
        """One reading, 1 µm digit, and a moment later."""
        found = self.feed(Reading(gauge, self.now_ns(), round(mm * 1000) * 1000))
        self.t_s += (1 + self.chance.uniform(-0.1, 0.1)) / RATE_HZ
        return list(found)

    def sweep(self, diameter_mm: float, passes: int) -> list[Output]:
        """Rock a piston to and fro over the crest, `passes` times; gives what the bench said."""
        found: list[Output] = []
        lean = [self.chance.uniform(0.6, 1.8) for _ in range(3)]
        begin_s, side = self.t_s, -1.0
        for _ in range(passes):
            start_s = self.t_s
            while (u := (self.t_s - start_s) / self.stroke_s) < 1:
                x = -side * self.reach_mm * math.cos(math.pi * u)
                now = self.t_s - begin_s
                tilt = math.radians(TILT_DEG) * sum(
                    math.sin(2 * math.pi * f * now + f * 9) for f in lean
                )
                noise = self.chance.gauss(0, 0.0006)
                found += self.show(outside_mm(diameter_mm, x, tilt) + noise)
            side = -side
        return found

    def size(self, diameter_mm: float) -> list[Output]:
        """Sweep until there is a size; now and then a good sweep is refused, as in life."""
        for _ in range(4):
            self.rest(3.0)
            found = self.sweep(diameter_mm, 12)
            if any(isinstance(one, Sized) for one in found):
                return found
        return pytest.fail(f"never a size: {self.of(Refused)}")

    def rest(self, seconds: float, mm: float = REST_MM) -> list[Output]:
        """Nothing in the gauge."""
        found: list[Output] = []
        end_s = self.t_s + seconds
        while self.t_s < end_s:
            found += self.show(mm)
        return found

    def of(self, kind: type) -> list:
        return [said for said in self.said if isinstance(said, kind)]


def outside_mm(diameter_mm: float, x_mm: float, tilt: float) -> float:
    radius = diameter_mm / 2
    off = max(abs(x_mm) - ANVIL_MM, 0.0)
    chord = 2 * math.sqrt(radius * radius - off * off)
    return (chord + 2 * ANVIL_MM * math.sin(abs(tilt))) / math.cos(tilt)


def gone_once(way: Callable[Given, Hand]) -> Callable[Given, Hand]:
    """A way to where several tests begin: it is gone once, and each goes on from its own copy."""
    once = cache(way)

    @wraps(way)
    def copied(*given: Given.args, **named: Given.kwargs) -> Hand:
        return deepcopy(once(*given, **named))

    return copied


@gone_once
def measured() -> Hand:
    """A set that was typed in to its end."""
    hand = Hand()
    for number in range(400):
        asked = hand.bench.asked
        if asked is None:
            return hand
        mm = "84.920" if asked.at.feature == "skirt" else "85.010"
        hand.feed(EntryMade(number, asked.at, mm, "mm", WHO))
    return pytest.fail("the set never ends")


def standing_of(hand: Hand) -> Standing:
    """What stands of a session, as another version takes it over."""
    bench = hand.bench
    return Standing(
        sizes=tuple(bench.sizes.values()),
        firsts=dict(bench.firsts),
        asked_again=frozenset(bench.asked_again),
        settled=frozenset(bench.settled),
        judged=dict(bench.judged),
        asks=bench.asks,
        temperatures=bench.temperatures,
    )


def with_steps(setup: Setup, *, steps: tuple[str, ...] = STEPS, **keys: object) -> Setup:
    """The same with a job that asks the whole way, or some steps; `keys` are other keys of its set.

    The rules of the sheet's rings and pins are asked for, too.
    """
    pins = tuple(Filled(("pin", n), {"id": f"W{n + 1}", "piston": f"P{n + 1}"}) for n in range(4))
    values = {**setup.keys.values, "pin": pins, "steps": steps, "left_out": (), **keys}
    filled = Filled((), {k: v for k, v in values.items() if v is not None})
    return replace(setup, engine=set_of_filled(filled).engine, keys=filled)


def replayed(events: Iterable[Input], setup: Setup | None = None) -> list[Output]:
    """Everything a fresh bench says to the same events."""
    bench, first = begin(setup or setup_of(opening()))
    said = list(first)
    for event in events:
        bench, found = step(bench, event)
        said += found
    return said
