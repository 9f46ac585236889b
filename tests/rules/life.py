"""Hands as they are in life: slow or quick, wide or narrow, with pauses, and late to look up.

Each goes over its part until the bench says something, then some passes more, takes the part away
and hands over what is asked for next. Every part has a size of its own, so that a size shows whose
it is. Lengths are mm; every hand is drawn from its seed.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from barrelfit.rules.events import EntryMade, Output, Reading, Refused, Sized
from barrelfit.rules.model import FeatureId, Movement
from tests.rules.step_rig import BORE, GOOD_MM, OUTSIDE, WHO, Hand, outside_mm
from tests.rules.sweep_physics import World, bore_mm

STOP_MM = GOOD_MM - 1.5  # where a following gauge stands without a part
FREE_MM = 85.9  # where a bore gauge stands without a barrel
TIP_MM = 2.0
BORE_MM = 85.0


@dataclass
class Life:
    """One session's hand: the bench, chance, and what was said since the last part was taken."""

    hand: Hand
    gauge: str
    chance: random.Random
    rate_hz: float
    noise_mm: float
    said: list[Output] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    sized: int = 0
    refused: int = 0

    def show(self, mm: float) -> float:
        """One reading; gives the seconds until the next."""
        nm = round((mm + self.chance.gauss(0, self.noise_mm)) * 1000) * 1000
        self.said += self.hand.feed(Reading(self.gauge, self.hand.now_ns(), nm))
        step_s = (1 + self.chance.uniform(-0.1, 0.1)) / self.rate_hz
        self.hand.t_s += step_s
        return step_s

    def stay(self, seconds: float, mm: float) -> None:
        """The gauge stands at one length."""
        end_s = self.hand.t_s + seconds
        while self.hand.t_s < end_s:
            self.show(mm)

    def stroke(self, seconds: float, read: Callable[[float], float]) -> None:
        """One movement: `read` gives the length by the share of it that is done, 0 to 1."""
        begin_s = self.hand.t_s
        while (share := (self.hand.t_s - begin_s) / seconds) < 1:
            self.show(read(share))

    def over(self, one_pass: Callable[[], None], away: Callable[[], None], size_mm: float) -> None:
        """Over the asked feature until the bench has heard enough, some more, and away."""
        asked = self.hand.bench.asked
        assert asked is not None
        self.said.clear()
        for _ in range(40):
            one_pass()
            if any(isinstance(one, Sized | Refused) for one in self.said):
                break
        for _ in range(self.chance.randint(0, 4)):
            one_pass()
        away()
        for one in self.said:
            if isinstance(one, Sized):
                self.sized += 1
                off_um = (one.read_nm - size_mm * 1e6) / 1e3
                if one.at != asked.at or abs(off_um) > 15:
                    self.wrong.append(f"{one.at} while {asked.at} was swept, {off_um:+.1f} µm")
            self.refused += isinstance(one, Refused)


def begun(seed: int, movement: Movement, noise_um: tuple[float, float]) -> Life:
    """A bench with well set gauges, its outside gauge of the movement asked for."""
    chance = random.Random(f"{movement} {seed}")  # noqa: S311  a simulated hand
    hand = Hand(seed, set_to_nm=300.0)
    if movement is Movement.SCREW:
        setup = hand.bench.setup
        gauge = setup.gauges[OUTSIDE]
        screw = replace(gauge, traits=replace(gauge.traits, movement=movement))
        hand.begin(replace(setup, gauges={**setup.gauges, OUTSIDE: screw}))
    if movement is Movement.BORE:  # the pistons were typed in
        for number in range(1, 5):
            at = FeatureId(f"P{number}", "skirt")
            hand.feed(EntryMade(number, at, "84.920", "mm", WHO))
    name = BORE if movement is Movement.BORE else OUTSIDE
    noise_mm = chance.uniform(*noise_um) / 1e3
    return Life(hand, name, chance, chance.choice((10.0, 20.0, 50.0)), noise_mm)


def pistons(life: Life, one_pass: Callable[[float], None], away: Callable[[], None]) -> Life:
    """Sweep what is asked for, some attempts long, as far as it is a piston."""
    sizes = [GOOD_MM + life.chance.uniform(-0.05, 0.05) for _ in range(4)]
    away()
    for _ in range(10):
        asked = life.hand.bench.asked
        if asked is None or asked.at.feature != "skirt":
            break
        size_mm = sizes[int(asked.at.part[1:]) - 1]
        life.over(lambda mm=size_mm: one_pass(mm), away, size_mm)  # type: ignore[misc]
    return life


def following(seed: int) -> Life:
    """To and fro, or in and out with rests; strokes of 1 to 3 s, 7 to 16 mm wide."""
    life = begun(seed, Movement.FOLLOWING, (0.3, 1.2))
    chance = life.chance
    to_and_fro, stroke_s = chance.random() < 0.5, chance.uniform(1.0, 3.0)
    reach_mm, rest_s = chance.uniform(7, 16), chance.uniform(0.2, 1.8)
    tilt, lean = math.radians(chance.uniform(0.05, 0.1)), [chance.uniform(0.5, 2) for _ in "abc"]

    def read(size_mm: float, x_mm: float) -> float:
        waves = sum(math.sin(2 * math.pi * f * life.hand.t_s + 9 * f) for f in lean)
        return max(STOP_MM, outside_mm(size_mm, x_mm, tilt * waves))

    def one_pass(size_mm: float) -> None:
        def place_mm(share: float) -> float:
            if to_and_fro:
                return reach_mm * math.cos(math.pi * share)
            return reach_mm * (1 - 1.05 * math.sin(math.pi * share))

        life.stroke(stroke_s * chance.uniform(0.85, 1.2), lambda u: read(size_mm, place_mm(u)))
        if not to_and_fro:
            life.stay(rest_s * chance.uniform(0.6, 1.2), read(size_mm, reach_mm))

    return pistons(life, one_pass, lambda: life.stay(chance.uniform(4, 6), STOP_MM))


def screw(seed: int) -> Life:
    """Wound down, held, and up again; open for up to some seconds between two closings."""
    life = begun(seed, Movement.SCREW, (0.1, 0.6))
    chance = life.chance
    speed, up_mm = chance.uniform(0.5, 2), chance.uniform(0.25, 1.2)
    pause_s, hold_s = chance.uniform(0.1, 2.0), chance.uniform(0.6, 1.5)
    open_mm = [GOOD_MM + 1.0]

    def one_pass(size_mm: float) -> None:
        while open_mm[0] > size_mm + 0.012:
            open_mm[0] = max(size_mm, open_mm[0] - speed * life.show(open_mm[0]))
        life.stay(hold_s * chance.uniform(0.8, 1.3), size_mm)
        while open_mm[0] < size_mm + up_mm:
            open_mm[0] += 1.3 * speed * life.show(open_mm[0])
        life.stay(pause_s * chance.uniform(0.5, 1.2), open_mm[0])

    return pistons(life, one_pass, lambda: life.stay(chance.uniform(6.5, 8), open_mm[0]))


def bore(seed: int) -> Life:
    """Rocked at 4 to 14 degrees a second; it stays in the bore between two depths, or comes out."""
    life = begun(seed, Movement.BORE, (0.3, 1.2))
    chance = life.chance
    speed, reach_deg = chance.uniform(4, 14), chance.uniform(3, 7)
    stays_in, tilt, side = chance.random() < 0.5, [-14.0], [1]

    def read(size_mm: float, deg: float) -> float:
        world = World(diameter_mm=size_mm, tip_mm=TIP_MM)
        return min(FREE_MM, bore_mm(world, math.radians(deg)))

    def rock(size_mm: float, to_deg: float) -> None:
        from_deg, tilt[0] = tilt[0], to_deg
        seconds = abs(to_deg - from_deg) / (speed * chance.uniform(0.8, 1.2))

        def deg(share: float) -> float:
            return from_deg + (to_deg - from_deg) * (1 - math.cos(math.pi * share)) / 2

        life.stroke(seconds, lambda u: read(size_mm, deg(u)))

    def one_pass(size_mm: float) -> None:
        side[0] = -side[0]
        rock(size_mm, side[0] * reach_deg * chance.uniform(0.8, 1.2))

    def away(size_mm: float) -> None:
        if stays_in:
            life.stay(chance.uniform(1.7, 3), read(size_mm, tilt[0]))
        else:
            rock(size_mm, math.copysign(14.0, -tilt[0]))
            life.stay(chance.uniform(6.2, 7), FREE_MM)

    life.stay(2.0, FREE_MM)
    for _ in range(8):
        size_mm = BORE_MM + chance.uniform(0, 0.05)
        life.over(lambda mm=size_mm: one_pass(mm), lambda mm=size_mm: away(mm), size_mm)  # type: ignore[misc]
    return life
