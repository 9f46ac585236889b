"""How right sweep sizes are: many simulated sweeps of every kind, truth known; prints a table.

    python -m tests.bench.sweep_study [--sweeps 200] [--seed 0] [--bench] [--bad 200]

Sweeps come from the simulators' room and from this room's own quick model of the geometry
(tests/rules/sweep_physics.py); the estimators were written without either's constants. Every row
is a kind of sweep at a rate: error root mean square and worst (µm), the share of sweeps whose
95 % interval holds the truth, the mean of u over the root mean square, and the share of good sweeps
that were refused, with why. With --bench, the
hand sweeps until the rules call it enough (`rules.bench.enough`), and how many passes that took is
told, too. With --bad, that many spoiled sweeps of every trouble follow, and how many became a size.
"""

import argparse
import math
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from barrelfit.rules.bench.enough import Looks
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, Lesson, PassFound, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import Sweep, size_trace
from barrelfit.simulators.trace import make_trace
from tests.rules.sweep_bad import TROUBLES, bad_sweep
from tests.rules.sweep_physics import World, make, varied

RATES_HZ = (10.0, 20.0, 50.0)
DIGITS_NM = (1_000, 500, 1_270)
PASSES_ASKED, PASSES_LONG = 5, 14
SIMULATED = ("to-and-fro", "in-and-out", "screw", "bore")
OWN = {
    "quick to-and-fro": ("following", {}),
    "slow to-and-fro": ("following", {"stroke_s": 3.0, "reach_mm": 8.0}),
    "slow in-and-out": ("following", {"stroke_s": 3.0, "reach_mm": 8.0, "rest_mm": 1.2}),
    "screw": ("screw", {}),
    "screw that rides": ("screw", {"rides": True}),
    "bore": ("bore", {}),
}

Sizer = Callable[[list[tuple[int, int]], GaugeTraits], SweepSized | SweepRefused]


@dataclass
class Row:
    """One kind of sweep at one rate."""

    errors_um: list[float] = field(default_factory=list)
    doubts_um: list[float] = field(default_factory=list)
    held: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    passes: list[int] = field(default_factory=list)

    def take(self, result: SweepSized | SweepRefused, truth_nm: float) -> None:
        if isinstance(result, SweepRefused):
            self.refused[result.reason] += 1
            return
        self.doubts_um.append(result.u_nm / 1e3)
        self.passes.append(len(result.pass_sizes_nm))
        self.errors_um.append((result.size_nm - truth_nm) / 1e3)
        self.held += result.low_nm <= truth_nm <= result.high_nm

    def text(self, name: str, rate_hz: float) -> str:
        count = len(self.errors_um)
        refused = self.refused.total()
        ratio = sum(self.doubts_um) / max(count, 1)
        why = ", ".join(f"{reason} {n}" for reason, n in self.refused.most_common(3))
        if count == 0:
            return f"{name:28} {rate_hz:4.0f}/s  no size, {why}"
        rms = math.sqrt(sum(e * e for e in self.errors_um) / count)
        worst = max(map(abs, self.errors_um))
        return (
            f"{name:28} {rate_hz:4.0f}/s  rms {rms:5.2f}  worst {worst:5.2f}  "
            f"held {100 * self.held / count:5.1f} %  u/rms {ratio / rms:4.2f}  "
            f"refused {100 * refused / (count + refused):4.1f} %  "
            f"passes {sum(self.passes) / count:4.1f}  {why}"
        )


def at_the_bench(
    samples: list[tuple[int, int]], traits: GaugeTraits, lessons: Sequence[Lesson] = ()
) -> SweepSized | SweepRefused:
    """What a bench makes of a hand that goes on until it is told that it is enough.

    `lessons` are what other sweeps taught.
    """
    sweep, looks, passes = Sweep(traits), Looks(PASSES_ASKED, traits), 0
    for t_ns, length_nm in samples:
        passed = sum(isinstance(note, PassFound) for note in sweep.push(t_ns, length_nm))
        passes += passed
        if not passed or passes < PASSES_ASKED:
            continue
        found = sweep.estimate(lessons)
        if isinstance(found, SweepRefused):
            ends = looks.is_refused(found, passes)
        else:
            ends = looks.is_enough(found, passes, found.u_nm)
        if ends:
            return found
    return sweep.estimate(lessons)


def simulated_rows(sweeps: int, seed: int, size: Sizer, passes: int | None) -> Iterator[str]:
    for kind in SIMULATED:
        for rate_hz in RATES_HZ:
            row = Row()
            for number in range(seed, seed + sweeps):
                digit_nm = DIGITS_NM[number % len(DIGITS_NM)]
                trace = make_trace(kind, rate_hz, number, digit_nm=digit_nm, passes=passes)
                traits = GaugeTraits(Movement(trace.movement), digit_nm)
                row.take(size(trace.samples_ns, traits), trace.truth_nm or 0)
            yield row.text(f"simulators: {kind}", rate_hz)


def own_rows(sweeps: int, seed: int, size: Sizer, passes: int | None) -> Iterator[str]:
    for name, (movement, fixed) in OWN.items():
        for rate_hz in RATES_HZ:
            row = Row()
            for number in range(seed, seed + sweeps):
                world = replace(varied(number, World(rate_hz=rate_hz)), **fixed)
                world = world if passes is None else replace(world, passes=passes)
                traits = GaugeTraits(Movement(movement), round(world.digit_mm * 1e6))
                samples = make(movement, world, number)
                row.take(size(samples, traits), world.diameter_mm * 1e6)
            yield row.text(f"quick model: {name}", rate_hz)


def bad_rows(count: int, seed: int) -> Iterator[str]:
    for trouble in TROUBLES:
        for movement in ("following", "screw", "bore"):
            outcomes: Counter[str] = Counter()
            for number in range(seed, seed + count):
                bad = bad_sweep(trouble, movement, number)
                result = size_trace(bad.samples, bad.traits)
                outcomes["refused" if isinstance(result, SweepRefused) else "sized"] += 1
            yield f"{trouble:16} {movement:10} became a size: {outcomes['sized']} of {count}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sweeps", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--bench", action="store_true")
    parser.add_argument("--bad", type=int, default=0)
    options = parser.parse_args()
    say(f"seeds {options.seed} to {options.seed + options.sweeps - 1}")
    size, passes = (at_the_bench, PASSES_LONG) if options.bench else (size_trace, None)
    for rows in (simulated_rows, own_rows):
        for line in rows(options.sweeps, options.seed, size, passes):
            say(line)
    for line in bad_rows(options.bad, options.seed) if options.bad else ():
        say(line)


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
