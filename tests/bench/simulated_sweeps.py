"""Prints how well sweeps of both simulators are sized, and which bad ones become a size.

    python tests/bench/simulated_sweeps.py [TRACES A ROW] [--rates 10,20,50] [--model first|second]

For good kinds: traces sized and refused, root mean square, mean and worst error in µm, and the
share of 95 % intervals that hold the truth. For bad kinds: how many became a size (none may), with
their seeds. For kinds of which either is right: the sized ones' errors.
"""

import argparse
import math
import sys
import time
from collections import Counter
from dataclasses import dataclass, field

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits, SweepSized
from barrelfit.rules.sweep.stream import size_trace
from barrelfit.simulators.second_trace import make_second_trace, second_kinds
from barrelfit.simulators.trace import kinds, make_trace

DIGITS_NM = (1_000, 500, 1_270)


@dataclass
class Row:
    """What came of the traces of one kind at one rate."""

    errors_nm: list[int] = field(default_factory=list)
    held: int = 0
    refused: Counter = field(default_factory=Counter)
    wrongly_sized: list[int] = field(default_factory=list)

    def text(self) -> str:
        parts = []
        if self.errors_nm:
            count = len(self.errors_nm)
            rms = math.sqrt(sum(e * e for e in self.errors_nm) / count) / 1e3
            mean = sum(self.errors_nm) / count / 1e3
            worst = max(map(abs, self.errors_nm)) / 1e3
            parts.append(f"sized {count:4d}  rms {rms:5.2f}  mean {mean:+5.2f}  worst {worst:5.2f}")
            parts.append(f"held {100.0 * self.held / count:5.1f} %")
        if self.wrongly_sized:
            seeds = ", ".join(map(str, self.wrongly_sized[:6]))
            parts.append(f"BECAME A SIZE {len(self.wrongly_sized)} (seeds {seeds})")
        if self.refused:
            said = ", ".join(f"{reason} {n}" for reason, n in self.refused.most_common(4))
            parts.append(f"refused {self.refused.total()}: {said}")
        return "  ".join(parts)


def study(model: str, kind: str, rate_hz: float, seeds: range) -> Row:
    """Size the traces of one kind at one rate; digits take turns."""
    row = Row()
    for seed in seeds:
        digit_nm = DIGITS_NM[seed % len(DIGITS_NM)]
        if model == "first":
            trace = make_trace(kind, rate_hz, seed, digit_nm=digit_nm)
            low, high = trace.range_nm or (None, None)
        else:
            trace = make_second_trace(kind, rate_hz, seed, digit_nm)
            low, high = None, None
        traits = GaugeTraits(Movement(trace.movement), digit_nm, low_nm=low, high_nm=high)
        outcome = size_trace(trace.samples_ns, traits)
        if not isinstance(outcome, SweepSized):
            row.refused[outcome.reason] += 1
        elif trace.truth_nm is None:
            row.wrongly_sized.append(seed)
        else:
            row.errors_nm.append(outcome.size_nm - trace.truth_nm)
            row.held += outcome.low_nm <= trace.truth_nm <= outcome.high_nm
    return row


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("traces", nargs="?", type=int, default=100)
    parser.add_argument("--rates", default="10,20,50")
    parser.add_argument("--model", choices=("first", "second"), action="append")
    parser.add_argument("--kind", action="append", help="a kind, or a movement for all its kinds")
    options = parser.parse_args()
    begin = time.perf_counter()
    for model in options.model or ("first", "second"):
        for kind in kinds() if model == "first" else second_kinds():
            if options.kind and not {kind, kind.partition("/")[0]} & set(options.kind):
                continue
            for rate in map(float, options.rates.split(",")):
                row = study(model, kind, rate, range(options.traces))
                say(f"{model:6s} {kind:27s} {rate:4.0f}/s  {row.text()}")
    say(f"{time.perf_counter() - begin:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
