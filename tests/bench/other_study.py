"""How right sizes are on traces of other physics (`other_traces`): truth known, chance seeded.

    python -m tests.bench.other_study [--sweeps 200] [--seed 0] [--only TEXT]

A row is a kind of sweep at a rate: how many were sized, error root mean square, mean and worst in
µm, the share of 95 % intervals that hold the truth, the mean of u over the root mean square, and
why the others were refused.
"""

import math
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import size_trace
from tests.bench.other_traces import Gauge, Hand, Part, Samples, bore, following, screw
from tests.bench.study_line import study_asked, tell

RATES_HZ = (10.0, 20.0, 50.0)
MODELS: dict[str, Callable[..., Samples]] = {"following": following, "screw": screw, "bore": bore}
CALM = Hand(pass_s=2.4, reach_mm=8.0, passes=6)


@dataclass(frozen=True)
class Kind:
    """A movement, the hand, what is set on the gauge, and whether a screw rides."""

    movement: str
    hand: Hand = CALM
    gauge: dict[str, float] = field(default_factory=dict)
    rides: bool = False
    barrel_mm: float = 0.0
    said: bool = False  # the bench file says for how long the display averages


KINDS = {
    "following": Kind("following"),
    "following, barrelled skirt": Kind("following", barrel_mm=3_000.0),
    "following, quick hand": Kind("following", Hand(pass_s=1.5, reach_mm=9.0, passes=6)),
    "following, part sticks": Kind("following", replace(CALM, sticks=0.7)),
    "following, three gaps": Kind("following", replace(CALM, passes=8), {"gaps": 3}),
    "following, a bounce": Kind("following", gauge={"bounces": 1}),
    "following, a leant pass": Kind("following", replace(CALM, leant=2)),
    "following, mean of 2": Kind("following", gauge={"averages": 2}),
    "following, mean of 4": Kind("following", gauge={"averages": 4}),
    "following, mean of 2, said": Kind("following", gauge={"averages": 2}, said=True),
    "following, mean of 3, said": Kind("following", gauge={"averages": 3}, said=True),
    "following, mean of 4, said": Kind("following", gauge={"averages": 4}, said=True),
    "barrelled, mean of 3, said": Kind(
        "following", gauge={"averages": 3}, barrel_mm=3_000.0, said=True
    ),
    "following, shown to 0.01 mm": Kind("following", gauge={"digit": 10.0}),
    "following, to 0.0005 in": Kind("following", gauge={"digit": 12.7}),
    "following, damped for 0.1 s": Kind("following", gauge={"damps_s": 0.1}),
    "following, each sent twice": Kind("following", gauge={"sends": 2}),
    "following, each sent 4 times": Kind("following", gauge={"sends": 4}),
    "screw, each sent 4 times": Kind("screw", gauge={"sends": 4}),
    "bore, damped for 0.1 s": Kind("bore", gauge={"damps_s": 0.1}),
    "bore, each sent twice": Kind("bore", gauge={"sends": 2}),
    "bore, each sent 4 times": Kind("bore", gauge={"sends": 4}),
    "screw": Kind("screw"),
    "screw, part sticks": Kind("screw", replace(CALM, sticks=0.7)),
    "screw that rides": Kind("screw", rides=True),
    "riding, mean of 3": Kind("screw", gauge={"averages": 3}, rides=True),
    "riding, mean of 3, said": Kind("screw", gauge={"averages": 3}, rides=True, said=True),
    "screw, three gaps": Kind("screw", replace(CALM, passes=8), {"gaps": 3}),
    "screw, a bounce": Kind("screw", gauge={"bounces": 1}),
    "bore": Kind("bore"),
    "bore, three gaps": Kind("bore", replace(CALM, passes=8), {"gaps": 3}),
    "bore, a bounce": Kind("bore", gauge={"bounces": 1}),
    "bore, mean of 2": Kind("bore", gauge={"averages": 2}),
    "bore, mean of 3": Kind("bore", gauge={"averages": 3}),
    "bore, mean of 4": Kind("bore", gauge={"averages": 4}),
    "bore, mean of 4, said": Kind("bore", gauge={"averages": 4}, said=True),
}


@dataclass
class Row:
    """What came of one kind at one rate."""

    errors_um: list[float] = field(default_factory=list)
    doubts_um: list[float] = field(default_factory=list)
    held: int = 0
    refused: Counter[str] = field(default_factory=Counter)

    def take(self, found: SweepSized | SweepRefused, truth_um: float) -> None:
        if isinstance(found, SweepRefused):
            self.refused[found.reason] += 1
            return
        self.errors_um.append(found.size_nm / 1e3 - truth_um)
        self.doubts_um.append(found.u_nm / 1e3)
        self.held += found.low_nm <= truth_um * 1e3 <= found.high_nm

    def text(self) -> str:
        count = len(self.errors_um)
        refused = ", ".join(f"{reason} {n}" for reason, n in self.refused.most_common(3))
        if not count:
            return f"sized    0  {refused}"
        rms = math.sqrt(sum(e * e for e in self.errors_um) / count)
        return (
            f"sized {count:4d}  rms {rms:5.2f}  mean {sum(self.errors_um) / count:+5.2f}  "
            f"worst {max(map(abs, self.errors_um)):5.2f}  held {100 * self.held / count:5.1f} %  "
            f"u/rms {sum(self.doubts_um) / count / rms:4.2f}  {refused}"
        )


def one(kind: Kind, rate_hz: float, seed: int) -> tuple[Samples, GaugeTraits, float]:
    """A trace of a kind, the gauge that it was read with, and the truth (µm)."""
    chance = random.Random(f"other {seed}")  # noqa: S311  a simulated world
    part = Part(chance.uniform(72_000, 97_000), kind.barrel_mm)
    hand = replace(
        kind.hand,
        tilt=kind.hand.tilt * chance.uniform(0.8, 1.25),
        tilt_hz=chance.uniform(0.7, 1.8),
    )
    digit_um = chance.choice((1.0, 1.0, 0.5))
    gauge = Gauge(rate_hz, noise=chance.uniform(0.5, 0.9), digit=digit_um)
    gauge = replace(gauge, **kind.gauge)
    rides = {"rides": True} if kind.rides else {}
    samples = MODELS[kind.movement](part, hand, gauge, seed, **rides)
    traits = GaugeTraits(Movement(kind.movement), round(gauge.digit * 1_000))
    if kind.said:
        window_s = math.sqrt(gauge.averages**2 - 1) / rate_hz
        traits = replace(traits, averages_ms=round(1_000 * window_s))
    return samples, traits, part.diameter


def row_of(kind: Kind, rate_hz: float, seeds: range) -> Row:
    """Size the traces of a kind."""
    row = Row()
    for seed in seeds:
        samples, traits, truth_um = one(kind, rate_hz, seed)
        row.take(size_trace(samples, traits), truth_um)
    return row


def main() -> None:
    seeds, only = study_asked(__doc__, "sweeps", 200)
    for name, kind in KINDS.items():
        for rate_hz in RATES_HZ if only in name else ():
            tell(f"{name:28} {rate_hz:3.0f}/s  {row_of(kind, rate_hz, seeds).text()}")


if __name__ == "__main__":
    main()
