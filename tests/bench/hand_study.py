"""How hands fare at a bench: seconds to a size, sized in one try, parts swept for nothing.

    python -m tests.bench.hand_study [--sessions 20] [--seed 0] [--only TEXT]

Hands and parts are `other_traces`'; the bench is the rules' own step. A hand goes over its part
until it hears that there is a size or none, takes it away for some seconds and brings the next one.
One that obeys goes half as fast between the anvils once it hears that this would help, and tilts
half as much.
A row is a hand at a rate: how many sweeps, the median of the seconds from the first contact to the
size, the share of parts that were sized in one try, of sweeps that ended in no size and why, of
parts whose passes were told not to count, and the sizes' root mean square error in µm.
"""

import math
import random
from collections import Counter
from dataclasses import dataclass, field
from statistics import median

from barrelfit.rules.events import (
    Contact,
    NotCounted,
    Output,
    Passed,
    Reading,
    Refused,
    Sized,
)
from barrelfit.rules.hints import Coached
from tests.bench.other_traces import TICK_S, Part, Tilt, jerk, width_um
from tests.bench.other_traces import Hand as Moves
from tests.bench.study_line import study_asked, tell
from tests.rules.step_rig import GOOD_MM, OUTSIDE
from tests.rules.step_rig import Hand as AtBench

RATES_HZ = (10.0, 20.0, 50.0)
STOP_UM = GOOD_MM * 1e3 - 1_500
PARTS = 4
ANVIL_MM = 6.5
TRIES_MOST = 6


@dataclass(frozen=True)
class Kind:
    """A hand: its strokes, its rest between two passes (in and out), how long a part is away."""

    moves: Moves
    rest_s: float = 0.0
    away_s: tuple[float, float] = (3.0, 5.0)
    obeys: bool = False


KINDS = {
    "quick": Kind(Moves(pass_s=1.5, reach_mm=9.0)),
    "slow": Kind(Moves(pass_s=2.8, reach_mm=8.0)),
    "in and out": Kind(Moves(pass_s=1.4, reach_mm=8.5), rest_s=1.2),
    "quick, obeys": Kind(Moves(pass_s=1.5, reach_mm=9.0), obeys=True),
    "slow, obeys": Kind(Moves(pass_s=2.8, reach_mm=8.0), obeys=True),
    "in and out, obeys": Kind(Moves(pass_s=1.4, reach_mm=8.5), rest_s=1.2, obeys=True),
    "quick, next part in 2.2 s": Kind(Moves(pass_s=1.5, reach_mm=9.0), away_s=(2.1, 2.3)),
    "slow, next part in 2.2 s": Kind(Moves(pass_s=2.8, reach_mm=8.0), away_s=(2.1, 2.3)),
    "quick, next part in 1.5 s": Kind(Moves(pass_s=1.5, reach_mm=9.0), away_s=(1.4, 1.6)),
}


@dataclass
class Row:
    """What came of one kind at one rate."""

    seconds: list[float] = field(default_factory=list)
    passes: list[int] = field(default_factory=list)
    errors_um: list[float] = field(default_factory=list)
    tries: list[int] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)
    for_nothing: int = 0

    def text(self) -> str:
        sized, parts = len(self.errors_um), max(len(self.tries), 1)
        sweeps = sized + self.refused.total()
        why = ", ".join(f"{reason} {n}" for reason, n in self.refused.most_common(4))
        rms = math.sqrt(sum(e * e for e in self.errors_um) / max(sized, 1))
        return (
            f"sweeps {sweeps:4d}  to a size {median(self.seconds or [0]):4.1f} s,"
            f" {median(self.passes or [0]):4.1f} passes"
            f"  one try {100 * self.tries.count(1) / parts:5.1f} %"
            f"  for nothing {100 * self.for_nothing / parts:4.1f} %  rms {rms:4.2f}"
            f"  no size {100 * self.refused.total() / max(sweeps, 1):4.1f} %: {why}"
        )


class AtWork:
    """One hand at one bench."""

    def __init__(self, kind: Kind, rate_hz: float, seed: int, row: Row) -> None:
        self._chance = random.Random(f"hand {seed}")  # noqa: S311  a simulated hand
        self.bench = AtBench(seed, set_to_nm=300.0)
        self._kind, self._rate_hz, self._row = kind, rate_hz, row
        self._tilt = Tilt(kind.moves, self._chance)
        self._due_s = self.bench.t_s
        self._noise_um = self._chance.uniform(0.5, 0.9)
        self._said: list[Output] = []
        self._side = 1
        self._slows = self._flatter = False
        self._nothing = False

    def _tick(self, beside_mm: float | None, size_um: float) -> None:
        """A moment of time; a reading where one is due."""
        lean = self._tilt.tick() * (0.5 if self._flatter else 1.0)
        self.bench.t_s += TICK_S
        if self.bench.t_s < self._due_s:
            return
        self._due_s += 1 / self._rate_hz
        um = STOP_UM
        if beside_mm is not None:
            um = max(um, width_um(Part(size_um), beside_mm, lean, ANVIL_MM))
        nm = round(um + self._chance.gauss(0, self._noise_um)) * 1_000
        self._said += self.bench.feed(Reading(OUTSIDE, self.bench.now_ns(), nm))

    def _stay(self, seconds: float, beside_mm: float | None, size_um: float) -> None:
        for _ in range(round(seconds / TICK_S)):
            self._tick(beside_mm, size_um)

    def _stroke(self, start_mm: float, goal_mm: float, size_um: float) -> None:
        span_s = self._kind.moves.pass_s * self._chance.uniform(0.85, 1.2)
        done_s = 0.0
        while done_s < span_s:
            beside = start_mm + (goal_mm - start_mm) * jerk(done_s / span_s)
            self._tick(beside, size_um)
            slow = self._slows and abs(beside) < ANVIL_MM / 2
            done_s += TICK_S * (0.5 if slow else 1.0)

    def _pass(self, size_um: float) -> None:
        reach = self._kind.moves.reach_mm * self._chance.uniform(0.9, 1.1)
        if self._kind.rest_s:
            self._stroke(reach, -0.2 * reach, size_um)
            self._stroke(-0.2 * reach, reach, size_um)
            self._stay(self._kind.rest_s * self._chance.uniform(0.7, 1.3), reach, size_um)
            return
        self._stroke(self._side * reach, -self._side * reach, size_um)
        self._side = -self._side
        self._stay(self._chance.uniform(0.05, 0.15), self._side * reach, size_um)

    def _sweep(self, size_um: float) -> bool:
        """Over the part until it is heard that it is over; whether there is a size."""
        asked = self.bench.bench.asked
        self._said.clear()
        for _ in range(30):
            self._pass(size_um)
            self._hear()
            if any(isinstance(one, Sized | Refused) for one in self._said):
                break
        contact = next((one.t_ns for one in self._said if isinstance(one, Contact)), None)
        size = None
        for one in self._said:
            if isinstance(one, Refused):
                self._row.refused[one.reason] += 1
            if isinstance(one, Sized):
                size = one
        self._nothing = self._nothing or any(isinstance(one, NotCounted) for one in self._said)
        if size is not None and contact is not None and asked is not None and size.at == asked.at:
            end_ns = next(o.end_ns for o in reversed(self._said) if isinstance(o, Passed))
            self._row.seconds.append((end_ns - contact) / 1e9)
            self._row.passes.append(sum(isinstance(o, Passed) for o in self._said))
            self._row.errors_um.append(size.read_nm / 1e3 - size_um)
        self._stay(self._chance.uniform(*self._kind.away_s), None, size_um)
        return size is not None

    def _hear(self) -> None:
        """Do what would help, if this hand does."""
        for one in self._said if self._kind.obeys else ():
            if isinstance(one, Coached):
                self._slows = self._slows or one.sentence.key == "do_slower_over_top"
                self._flatter = self._flatter or one.sentence.key == "do_rest_flatter"

    def work(self) -> None:
        """All pistons that are asked for."""
        sizes = [GOOD_MM * 1e3 + self._chance.uniform(-50, 50) for _ in range(PARTS)]
        self._stay(4.0, None, 0.0)
        for _ in range(2 * PARTS):
            asked = self.bench.bench.asked
            if asked is None or asked.at.feature != "skirt":
                return
            self._nothing = False
            for number in range(1, TRIES_MOST + 1):
                if self._sweep(sizes[int(asked.at.part[1:]) - 1]):
                    self._row.tries.append(number)
                    break
            else:
                self._row.tries.append(TRIES_MOST + 1)
            self._row.for_nothing += self._nothing


def row_of(kind: Kind, rate_hz: float, seeds: range) -> Row:
    """Let hands of a kind work."""
    row = Row()
    for seed in seeds:
        AtWork(kind, rate_hz, seed, row).work()
    return row


def main() -> None:
    seeds, only = study_asked(__doc__, "sessions", 20)
    tell(f"{PARTS} parts or more each")
    for name, kind in KINDS.items():
        for rate_hz in RATES_HZ if only in name else ():
            tell(f"{name:26} {rate_hz:3.0f}/s  {row_of(kind, rate_hz, seeds).text()}")


if __name__ == "__main__":
    main()
