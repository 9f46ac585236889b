"""What one sweep teaches the next: whole sets of pistons, truth known, sized one after the other.

    python -m tests.bench.set_study [--sets 40] [--seed 0] [--only TEXT]

Each set has five pistons and one gauge; their barrels differ by up to 15 % from piston to piston,
and in the sets with an odd one, one piston is barrelled quite otherwise. Every piston is swept
until the bench calls it enough, ten passes at the most, and sized twice: by its own sweep alone,
and with what those before it told. A row is a model of sweeps at a rate and the piston's turn:
error root mean square, mean and worst in µm, the share of 95 % intervals that hold the truth, the
mean of u over the root mean square, passes, and how many were refused.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, Lesson, SweepRefused
from tests.bench.other_study import CALM
from tests.bench.other_study import Row as OtherRow
from tests.bench.other_traces import Gauge, Hand, Part, Samples, following, screw
from tests.bench.study_line import study_asked, tell
from tests.bench.sweep_study import at_the_bench
from tests.rules.sweep_physics import World, make, varied

RATES_HZ = (10.0, 20.0, 50.0)
PISTONS = 5
PASSES = 10
BARRELS_MM = (0.0, 2_000.0, 3_000.0, 6_000.0)  # radius along the axis; 0: a cylinder
VARIES = 0.15


@dataclass(frozen=True)
class Piston:
    """A trace of a piston, its truth (µm), and whether it is the odd one."""

    samples: Samples
    truth_um: float
    is_odd: bool


@dataclass(frozen=True)
class Engine:
    """The pistons of one engine, and the gauge that they were swept with."""

    traits: GaugeTraits
    pistons: list[Piston]


@dataclass(frozen=True)
class Kind:
    """Which model, whether a screw's reading rides, and whether one piston is an odd one."""

    model: str
    rides: bool = False
    odd: bool = False


KINDS = {
    "other traces": Kind("other"),
    "other traces, an odd one": Kind("other", odd=True),
    "other traces, screw that rides": Kind("other", rides=True),
    "quick model": Kind("quick"),
    "quick model, an odd one": Kind("quick", odd=True),
    "quick model, screw that rides": Kind("quick", rides=True),
}


@dataclass
class Row(OtherRow):
    """What came of the pistons of one turn."""

    passes: list[int] = field(default_factory=list)

    def text(self) -> str:
        return f"passes {sum(self.passes) / max(len(self.passes), 1):4.1f}  {super().text()}"


def barrels(kind: Kind, chance: random.Random) -> list[tuple[float, bool]]:
    """Each piston's barrel (mm), and whether it is the odd one."""
    usual = chance.choice(BARRELS_MM)
    odd = chance.randrange(PISTONS) if kind.odd else None
    other = chance.choice([barrel for barrel in BARRELS_MM if barrel != usual])
    return [
        ((other if n == odd else usual) * chance.uniform(1 - VARIES, 1 + VARIES), n == odd)
        for n in range(PISTONS)
    ]


def engine_of(kind: Kind, rate_hz: float, seed: int) -> Engine:
    """One engine's pistons, each in another trace of one hand and one gauge."""
    make_pistons = other_pistons if kind.model == "other" else quick_pistons
    digit_nm, pistons = make_pistons(kind, rate_hz, seed)
    movement = Movement.SCREW if kind.rides else Movement.FOLLOWING
    return Engine(GaugeTraits(movement, digit_nm), pistons)


def other_pistons(kind: Kind, rate_hz: float, seed: int) -> tuple[int, list[Piston]]:
    """In traces of `other_traces`."""
    chance = random.Random(f"set {seed}")  # noqa: S311  a simulated world
    digit_um = chance.choice((1.0, 1.0, 0.5))
    gauge = Gauge(rate_hz, noise=chance.uniform(0.4, 1.3), digit=digit_um)
    tilt = CALM.tilt * chance.uniform(0.8, 1.25)
    hand = replace(CALM, passes=PASSES, tilt_hz=chance.uniform(0.7, 1.8))
    found = []
    for n, (barrel_mm, is_odd) in enumerate(barrels(kind, chance)):
        part = Part(chance.uniform(72_000, 97_000), barrel_mm)
        own = replace(hand, tilt=tilt * chance.uniform(0.9, 1.1))
        samples = _other_samples(kind, part, own, gauge, PISTONS * seed + n)
        found.append(Piston(samples, part.diameter, is_odd))
    return round(digit_um * 1_000), found


def _other_samples(kind: Kind, part: Part, hand: Hand, gauge: Gauge, seed: int) -> Samples:
    if kind.rides:
        return screw(part, hand, gauge, seed, rides=True)
    return following(part, hand, gauge, seed)


def quick_pistons(kind: Kind, rate_hz: float, seed: int) -> tuple[int, list[Piston]]:
    """In traces of this room's quick model of the geometry."""
    chance = random.Random(f"quick set {seed}")  # noqa: S311  a simulated world
    world = replace(varied(seed, World(rate_hz=rate_hz)), passes=PASSES, rides=kind.rides)
    movement = "screw" if kind.rides else "following"
    found = []
    for n, (barrel_mm, is_odd) in enumerate(barrels(kind, chance)):
        diameter_mm = chance.uniform(76, 96)
        one = replace(world, diameter_mm=diameter_mm, barrel_mm=barrel_mm)
        samples = make(movement, one, PISTONS * seed + n)
        found.append(Piston(samples, diameter_mm * 1e3, is_odd))
    return round(world.digit_mm * 1e6), found


def rows_of(kind: Kind, rate_hz: float, seeds: range) -> Iterator[tuple[str, Row]]:
    """The rows of a kind of set at a rate: alone and taught, by the piston's turn."""
    rows: dict[str, Row] = {}
    for seed in seeds:
        engine = engine_of(kind, rate_hz, seed)
        for is_taught in (False, True):
            lessons: list[Lesson] = []
            for turn, piston in enumerate(engine.pistons):
                found = at_the_bench(piston.samples, engine.traits, lessons if is_taught else ())
                for name in _names(turn, piston, is_taught=is_taught):
                    row = rows.setdefault(name, Row())
                    row.take(found, piston.truth_um)
                    if not isinstance(found, SweepRefused):
                        row.passes.append(len(found.pass_sizes_nm))
                if not isinstance(found, SweepRefused) and found.lesson is not None:
                    lessons.append(found.lesson)
    yield from sorted(rows.items())


def _names(turn: int, piston: Piston, *, is_taught: bool) -> list[str]:
    if turn == 0:  # nothing was taught yet
        return [] if is_taught else ["alone, first"]
    how = "taught" if is_taught else "alone"
    name = f"{how}, {'second' if turn == 1 else 'third to fifth'}"
    return [name, f"{how}, the odd one"] if piston.is_odd else [name]


def main() -> None:
    seeds, only = study_asked(__doc__, "sets", 40)
    for name, kind in KINDS.items():
        for rate_hz in RATES_HZ if only in name else ():
            for what, row in rows_of(kind, rate_hz, seeds):
                tell(f"{name:31} {rate_hz:3.0f}/s  {what:22} {row.text()}")


if __name__ == "__main__":
    main()
