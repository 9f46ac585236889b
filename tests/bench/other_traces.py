"""A third model of sweeps, of other physics than the simulators' and tests/rules/sweep_physics.py.

- Tilt has inertia: a hand is a lightly damped spring with a mass, pushed by slow random forces. A
  part may also stick: its tilt stays until the hand has gone a threshold further, then follows.
- A screw's spindle only goes in: its reading is the running minimum of the width that the rocking
  part offers, taken in small clicks of the ratchet. A riding one gives way again.
- A display converts at an even pace, shows the mean of the last few conversions, and may send
  oftener than it converts.
- A bore gauge is rocked by a hand that goes to its turns by a minimum-jerk path and halts there.

The geometry is worked out by contact: under a face that leans, a plain cylinder touches at the
edge, a barrelled one where its outline runs along the face. Lengths in µm, angles in rad, times
in s.
"""

import bisect
import math
import random
from collections.abc import Callable
from dataclasses import dataclass

TICK_S = 0.0025
Samples = list[tuple[int, int]]  # ns, nm


@dataclass(frozen=True)
class Hand:
    """How a hand moves: tilt (rms, rad), its own frequency (Hz), pace of a pass (s), reach (mm)."""

    tilt: float = math.radians(0.12)
    tilt_hz: float = 1.2
    damping: float = 0.35
    sticks: float = 0.0  # of the tilt's rms
    pass_s: float = 1.2
    reach_mm: float = 11.0
    passes: int = 5
    leant: int | None = None  # this pass leans by an extra 30 µm at the anvil's edge


@dataclass(frozen=True)
class Gauge:
    """What a gauge sends a second, how often each conversion, and how many of these it averages.

    Noise, digit and bounces are µm, the anvil's diameter mm.
    """

    rate_hz: float = 20.0
    sends: int = 1
    averages: int = 1
    damps_s: float = 0.0  # a low pass of first order before each conversion: its time constant
    noise: float = 0.7
    digit: float = 1.0
    anvil_mm: float = 6.5
    bounces: int = 0  # single readings thrown 20 to 150 µm off
    gaps: int = 0  # of 0.3 to 0.8 s


@dataclass(frozen=True)
class Part:
    """Diameter (µm) and radius of its barrel along the axis (mm, 0: none)."""

    diameter: float = 85_000.0
    barrel_mm: float = 0.0


@dataclass(frozen=True)
class Moved:
    """What is measured: moved on by a tick, its length (µm) at a time where that is asked, for how
    long (s)."""

    tick: Callable[[float], object]
    true: Callable[[float], float]
    length_s: float


class Tilt:
    """A tilt with inertia, and with friction where the part sticks; asked tick by tick."""

    def __init__(self, hand: Hand, chance: random.Random) -> None:
        self._hand, self._chance = hand, chance
        omega = 2 * math.pi * hand.tilt_hz
        self._omega2, self._drag = omega**2, 2 * hand.damping * omega
        # White force whose power makes the stationary spread `tilt`.
        self._push = hand.tilt * math.sqrt(4 * hand.damping * omega**3 * TICK_S)
        self._at = chance.gauss(0, hand.tilt)
        self._speed = chance.gauss(0, hand.tilt * omega)
        self._stuck = self.rad = self._at

    def tick(self, _now: float = 0.0) -> float:
        """The tilt after another tick (rad), which stays in `rad`."""
        pull = -self._omega2 * self._at - self._drag * self._speed
        self._speed += pull * TICK_S + self._push * self._chance.gauss(0, 1)
        self._at += self._speed * TICK_S
        hand = self._hand
        self.rad = self._at
        if hand.sticks:
            slack = hand.sticks * hand.tilt
            self.rad = self._stuck = min(max(self._stuck, self._at - slack), self._at + slack)
        return self.rad


def width_um(part: Part, beside_mm: float, tilt: float, anvil_mm: float) -> float:
    """What flat anvils read: the outline's furthest point under each face, both faces alike."""
    half, radius = anvil_mm / 2, part.diameter / 2_000.0
    past = max(abs(beside_mm) - half, 0.0)
    sagitta = radius - math.sqrt(max(radius * radius - past * past, 0.0))
    # Along the axis the face tilts by `tilt`; the outline falls away by its barrel.
    lean, barrel = abs(tilt), part.barrel_mm
    touch = half if not barrel else min(half, barrel * lean)
    lift = touch * lean - (touch * touch / (2 * barrel) if barrel else 0.0)
    return 2_000.0 * (radius - sagitta + lift)


def jerk(share: float) -> float:
    """A minimum-jerk path from 0 to 1."""
    s = min(max(share, 0.0), 1.0)
    return s * s * s * (10 + s * (6 * s - 15))


def stops(hand: Hand, goals: list[float], chance: random.Random) -> tuple[Callable, float]:
    """Minimum-jerk strokes from goal to goal with short halts."""
    legs, t = [], 0.0
    for n in range(len(goals) - 1):
        span = hand.pass_s * chance.uniform(0.85, 1.2)
        legs.append((t, span, goals[n], goals[n + 1], n))
        t += span + chance.uniform(0.05, 0.15)

    begins = [leg[0] for leg in legs]

    def at(now: float) -> tuple[float, int]:
        reached = bisect.bisect_right(begins, now) - 1
        if reached < 0:
            return goals[0], 0
        begin, span, start, goal, number = legs[reached]
        return start + (goal - start) * jerk((now - begin) / span), number

    return at, t


def following(part: Part, hand: Hand, gauge: Gauge, seed: int) -> Samples:
    """An outside sweep, to and fro over the crest."""
    chance = random.Random(f"follow {seed}")  # noqa: S311  a simulated hand
    centre = chance.uniform(-0.8, 0.8)
    goals = [
        centre + (-1) ** (n + 1) * hand.reach_mm * chance.uniform(0.85, 1.15)
        for n in range(hand.passes + 1)
    ]
    at, length_s = stops(hand, goals, chance)
    tilt = Tilt(hand, chance)

    def true(now: float) -> float:
        beside, number = at(now)
        lean = 30.0 / 1_000.0 / gauge.anvil_mm if number == hand.leant else 0.0
        return width_um(part, beside, tilt.rad + lean, gauge.anvil_mm)

    return shown(Moved(tilt.tick, true, length_s), gauge, part, chance)


def screw(part: Part, hand: Hand, gauge: Gauge, seed: int, *, rides: bool = False) -> Samples:
    """Closings of a screw gauge: in by clicks onto a rocking part, held, and opened again."""
    chance = random.Random(f"screw {seed}")  # noqa: S311  a simulated hand
    tilt = Tilt(hand, chance)
    plan, t = [], 0.3
    for _ in range(hand.passes):
        way, speed = chance.uniform(300, 900), chance.uniform(800, 2_000)
        hold = hand.pass_s * chance.uniform(0.9, 1.5)
        plan.append((t, way, speed, t + way / speed + hold))
        t = plan[-1][3] + way / speed + chance.uniform(0.2, 0.6)
    state = {"at": part.diameter + plan[0][1], "clicked": 0.0}

    def turn(now: float) -> None:
        offered = width_um(part, 0.0, tilt.tick(), gauge.anvil_mm)
        current = next(((b, w, v, e) for b, w, v, e in plan if now < e), None)
        if current is None or now < current[0]:  # opening to the next one's height
            goal = part.diameter + (current or plan[-1])[1]
            state["at"] = min(goal, state["at"] + 2_500 * TICK_S)
            return
        step = current[2] * TICK_S
        if rides:
            state["at"] = max(offered, state["at"] - step)
            return
        # A ratchet turns the spindle in by what room there is, in clicks.
        room = state["at"] - offered
        if room > 0 and now - state["clicked"] > 0.01:
            state["at"] -= min(room, step * 4)
            state["clicked"] = now

    length_s = plan[-1][3] + 0.8
    return shown(Moved(turn, lambda _: state["at"], length_s), gauge, part, chance, near=30.0)


def bore(part: Part, hand: Hand, gauge: Gauge, seed: int) -> Samples:
    """Rocks of a two-point gauge through the upright."""
    chance = random.Random(f"bore {seed}")  # noqa: S311  a simulated hand
    reach = math.radians(chance.uniform(3, 6))
    goals = [(-1) ** (n + 1) * reach * chance.uniform(0.75, 1.25) for n in range(hand.passes + 1)]
    at, length_s = stops(hand, goals, chance)
    tip_um = chance.uniform(1_500, 3_000)
    wander = Tilt(Hand(tilt=math.radians(0.05), tilt_hz=1.5), chance)

    def true(now: float) -> float:
        swing, _ = at(now)
        angle = swing + wander.rad
        return (part.diameter - 2 * tip_um) / math.cos(angle) + 2 * tip_um

    return shown(Moved(wander.tick, true, length_s), gauge, part, chance)


def shown(
    moved: Moved, gauge: Gauge, part: Part, chance: random.Random, near: float = 60.0
) -> Samples:
    """What the display sends: means of the last conversions, rounded; gaps, bounces."""
    converted: list[float] = []
    samples: list[tuple[float, float]] = []
    follows = 1.0 - math.exp(-TICK_S / gauge.damps_s) if gauge.damps_s else 1.0
    passed = None
    due, sent = chance.uniform(0, 1 / gauge.rate_hz), 0
    for k in range(round(moved.length_s / TICK_S)):
        moved.tick(k * TICK_S)
        if k * TICK_S < due and not gauge.damps_s:
            continue
        now = moved.true(k * TICK_S)
        passed = now if passed is None else passed + follows * (now - passed)
        if k * TICK_S < due:
            continue
        due += 1 / gauge.rate_hz
        if sent % gauge.sends == 0:
            converted = [*converted, passed + chance.gauss(0, gauge.noise)][-gauge.averages :]
        sent += 1
        samples.append((k * TICK_S, sum(converted) / len(converted)))
    return spoiled(samples, gauge, part, chance, near)


def spoiled(
    samples: list[tuple[float, float]],
    gauge: Gauge,
    part: Part,
    chance: random.Random,
    near: float,
) -> Samples:
    """Rounded to the digit, with the gauge's bounces and gaps, these near the size."""
    there = [n for n, (_, y) in enumerate(samples) if abs(y - part.diameter) < near]
    for n in chance.sample(there, gauge.bounces):
        off = chance.choice((-1, 1)) * chance.uniform(20, 150)
        samples[n] = samples[n][0], samples[n][1] + off
    for begin in [samples[n][0] for n in chance.sample(there, gauge.gaps)]:
        end = begin + chance.uniform(0.3, 0.8)
        samples = [s for s in samples if not begin < s[0] < end]
    pace = chance.uniform(-1e-3, 1e-3)
    digit = gauge.digit
    return [
        (round((t + pace * chance.uniform(-1, 1)) * 1e9), round(round(y / digit) * digit * 1e3))
        for t, y in samples
    ]
