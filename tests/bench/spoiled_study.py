"""Spoiled outside sweeps at the bench: do they pass a worn part, or discard a sound one?

    python -m tests.bench.spoiled_study [--sweeps 200] [--seed 0] [--only TEXT]

Seeds are told apart by `--seed`, so it may run side by side: some 20 sweeps a second and processor.

Hands and parts are `other_traces`'; the bench ends a sweep as the rules do (`sweep_study`). A size
is held against limits 20 µm to both sides of what the part has at some time of its sweep, with a
guard band of 1.65 u: false passes are sizes above the upper one, false discards those below the
lower one, `twice` those where a second sweep with the same trouble discards as well. A row says
also how many became a size and how far these are off, root mean square and worst, in µm.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepSized
from tests.bench.other_traces import Gauge, Hand, Moved, Part, Samples, Tilt, shown, stops, width_um
from tests.bench.study_line import study_asked, tell
from tests.bench.sweep_study import at_the_bench

RATES_HZ = (10.0, 20.0, 50.0)
PASSES = 14
LIMIT_UM, GUARD = 20.0, 1.65
SET_UM = 0.3  # how surely the gauge was set
SECOND = 10_000_000  # seeds on: the second sweep

SizeAt = Callable[[float, int], float]
"""What is added to the part's size at a time (s) and in a pass, in µm."""


@dataclass(frozen=True)
class Trouble:
    """What spoils a sweep: the hand, what becomes of the size, and passes that turn short (mm)."""

    hand: Hand
    size_at: SizeAt
    short_mm: tuple[float, ...] = ()


def _nothing(_: float, __: int) -> float:
    return 0.0


def swapped(chance: random.Random, hand: Hand) -> Trouble:
    """Another part, 10 to 60 µm larger or smaller, from some pass on."""
    from_pass = chance.randint(1, 8)
    step = chance.choice((-1, 1)) * chance.uniform(10, 60)
    return Trouble(hand, lambda _, number: step if number >= from_pass else 0.0)


def drifting(chance: random.Random, hand: Hand) -> Trouble:
    """20 to 40 µm in the time of eight passes, evenly."""
    speed = chance.choice((-1, 1)) * chance.uniform(20, 40) / (8 * hand.pass_s)
    return Trouble(hand, lambda now, _: speed * now)


def cooling(chance: random.Random, hand: Hand) -> Trouble:
    """From the washer: 10 to 30 µm too large, less by half in 5 to 20 s."""
    warm, half_s = chance.uniform(10, 30), chance.uniform(5, 20)
    return Trouble(hand, lambda now, _: warm * 0.5 ** (now / half_s))


def squeezed(chance: random.Random, hand: Hand) -> Trouble:
    """A thumb presses a thin skirt by up to 30 µm, in each pass otherwise."""
    presses = [chance.uniform(0, 30) for _ in range(PASSES)]
    return Trouble(hand, lambda _, number: -presses[min(number, PASSES - 1)])


def sticking(chance: random.Random, hand: Hand) -> Trouble:
    """The part follows the hand's tilt only from a threshold on."""
    return Trouble(replace(hand, sticks=chance.uniform(0.7, 1.6)), _nothing)


def short(chance: random.Random, hand: Hand) -> Trouble:
    """It turns before the crest: in some passes or in all, alike or not."""
    share, usual = chance.choice((0.4, 0.7, 1.0)), chance.uniform(0.2, 1.6)
    ends = [
        (usual if chance.random() < 0.5 else chance.uniform(0.2, 1.6))
        if chance.random() < share
        else math.nan
        for _ in range(PASSES)
    ]
    return Trouble(hand, _nothing, tuple(ends))


TROUBLES = {
    "swapped by 10 to 60": swapped,
    "drifts by 20 to 40": drifting,
    "cooling": cooling,
    "squeezing thumb": squeezed,
    "sticking": sticking,
    "turns short": short,
}


def trace(name: str, rate_hz: float, seed: int) -> tuple[Samples, GaugeTraits, float, float]:
    """Readings, the gauge, and the least and the largest size that the part has meanwhile (µm)."""
    chance = random.Random(f"spoiled {name} {seed}")  # noqa: S311  a simulated hand
    hand = Hand(
        tilt=math.radians(chance.uniform(0.06, 0.15)),
        tilt_hz=chance.uniform(0.7, 1.8),
        pass_s=chance.uniform(1.3, 2.8),
        reach_mm=chance.uniform(7.5, 11.0),
    )
    trouble = TROUBLES[name](chance, hand)
    gauge = Gauge(rate_hz, noise=chance.uniform(0.4, 0.9), digit=chance.choice((1.0, 0.5)))
    part = Part(chance.uniform(72_000, 97_000), chance.choice((0.0, 0.0, 2_000.0, 6_000.0)))
    edge_mm, side, goals = gauge.anvil_mm / 2, -1.0, [-hand.reach_mm]
    for number in range(PASSES):
        ends = trouble.short_mm[number] if trouble.short_mm else math.nan
        if math.isnan(ends):
            side = -side
            goals.append(side * hand.reach_mm * chance.uniform(0.85, 1.15))
        else:  # in as far as a chord, and out again
            goals += [side * (edge_mm + ends), side * hand.reach_mm * chance.uniform(0.85, 1.15)]
    at, length_s = stops(trouble.hand, goals, chance)
    tilt, sizes = Tilt(trouble.hand, chance), [part.diameter]

    def true(now: float) -> float:
        beside, number = at(now)
        sizes.append(part.diameter + trouble.size_at(now, number))
        return width_um(Part(sizes[-1], part.barrel_mm), beside, tilt.rad, gauge.anvil_mm)

    samples = shown(Moved(tilt.tick, true, length_s), gauge, part, chance)
    traits = GaugeTraits(Movement.FOLLOWING, round(gauge.digit * 1_000))
    return samples, traits, min(sizes[1:]), max(sizes[1:])


@dataclass
class Row:
    """What came of one trouble."""

    sweeps: int = 0
    errors_um: list[float] = field(default_factory=list)
    passes: int = 0
    discards: int = 0
    twice: int = 0

    def text(self) -> str:
        sized = len(self.errors_um)
        rms = math.sqrt(sum(e * e for e in self.errors_um) / max(sized, 1))
        worst = max(map(abs, self.errors_um), default=0.0)
        return (
            f"{self.sweeps} sweeps, {sized} became a size (off by {rms:.1f}, at worst {worst:.1f}):"
            f" false passes {self.passes}, false discards {self.discards}, twice {self.twice}"
        )


def sized(name: str, rate_hz: float, seed: int) -> tuple[float, float] | None:
    """How far off a size is (µm), and its standard uncertainty; None for no size."""
    samples, traits, least_um, most_um = trace(name, rate_hz, seed)
    found = at_the_bench(samples, traits)
    if not isinstance(found, SweepSized):
        return None
    um = found.size_nm / 1e3
    off = min(um - least_um, 0.0) + max(um - most_um, 0.0)
    return off, math.hypot(found.u_nm / 1e3, SET_UM)


def row_of(name: str, seeds: range) -> Row:
    """Sweep parts with a trouble, at every rate in turn."""
    row = Row()
    for seed in seeds:
        row.sweeps += 1
        rate_hz = RATES_HZ[seed % len(RATES_HZ)]
        found = sized(name, rate_hz, seed)
        if found is None:
            continue
        off, u_um = found
        row.errors_um.append(off)
        row.passes += off - GUARD * u_um >= LIMIT_UM
        if off + GUARD * u_um < -LIMIT_UM:
            row.discards += 1
            second = sized(name, rate_hz, seed + SECOND)
            row.twice += second is not None and second[0] + GUARD * second[1] < -LIMIT_UM
    return row


def main() -> None:
    seeds, only = study_asked(__doc__, "sweeps", 200)
    for name in TROUBLES:
        if only in name:
            tell(f"{name:20} {row_of(name, seeds).text()}")


if __name__ == "__main__":
    main()
