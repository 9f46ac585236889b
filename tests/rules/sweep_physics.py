"""A quick physical model of sweeps for trying the estimators: truth is known, chance is seeded.

Written from the geometry alone: flat anvils of radius a on a cylinder of radius R read
(2·sqrt(R² - max(|x|-a, 0)²) + 2a·|sin θ|)/cos θ; a two-point bore gauge of tip radius r reads
(D - 2r)/cos θ + 2r. The hand differs from sweep to sweep: speed, reach, tilt process, noise.
Lengths are mm here, because this is the world and not the program.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

STEP_S = 0.002  # the world's own time step
TURN = 2.0 * math.pi


@dataclass(frozen=True)
class World:
    """One gauge, one part and one hand."""

    diameter_mm: float = 84.0123
    rate_hz: float = 20.0
    passes: int = 6
    tilt_deg: float = 0.15  # root mean square
    tilt_kind: str = "pull"  # pull, walk, sine, or offset: each pass has a lean of its own
    tilt_tau_s: float = 0.3
    noise_um: float = 0.8
    digit_mm: float = 0.001
    reach_mm: float = 14.0
    stroke_s: float = 1.2
    centre_mm: float = 0.0
    barrel_mm: float = 0.0  # radius of the barrelled skirt along the axis, 0 = cylinder
    anvil_mm: float = 6.5
    bounce_share: float = 0.01
    bounce_um: float = 30.0
    drop_share: float = 0.02
    jitter: float = 0.1
    rest_mm: float = 0.0  # 0 = to-and-fro; else depth of the rest stop below the size
    rock_deg: float = 5.0
    rock_short: bool = False  # rocks that turn back before the upright
    tip_mm: float = 2.0
    drift_um_s: float = 0.0
    rides: bool = False  # a screw's held value rides up with the tilt
    beside_mm: float = 0.0  # a screw closed beside the crest


Trace = list[tuple[int, int]]
Path = Callable[[float], float]
Seen = Callable[[float, bool], float]
"""The reading at a time; where nobody looks, only chance goes on, and what is given is nothing."""


def outside_mm(world: World, x_mm: float, tilt: float) -> float:
    """Reading between flat anvils at offset x and tilt (rad)."""
    a = world.anvil_mm / 2
    r = world.diameter_mm / 2
    off = min(max(abs(x_mm) - a, 0.0), r * 0.999)
    chord = 2 * math.sqrt(r * r - off * off)
    t = abs(tilt)
    barrel = world.barrel_mm
    rise = math.sin(t)
    if barrel and rise * barrel < a:  # contact on the face
        return 2 * barrel - (2 * barrel - chord) * math.cos(t)
    slack = a * a / barrel if barrel else 0.0  # the edge stands on the barrel
    return (chord + 2 * a * rise - slack) / math.cos(t)


def bore_mm(world: World, tilt: float) -> float:
    """Reading of a two-point gauge tilted by `tilt` (rad) in the axial plane."""
    tips = 2 * world.tip_mm
    return (world.diameter_mm - tips) / math.cos(tilt) + tips


def tilt_path(world: World, chance: random.Random) -> Path:
    """A tilt in rad that wanders in time; asked for times that never go back."""
    rms = math.radians(world.tilt_deg)
    if world.tilt_kind == "sine":
        waves = [
            (chance.uniform(0.4, 1.8), chance.uniform(0, TURN), chance.uniform(0.5, 1))
            for _ in range(2)
        ]
        scale = rms / math.sqrt(sum(w[2] ** 2 for w in waves) / 2)
        return lambda t: scale * sum(a * math.sin(TURN * f * t + p) for f, p, a in waves)
    if world.tilt_kind == "walk":
        return _walking(rms, chance)
    return _pulled(world, rms, chance)


def _walking(rms: float, chance: random.Random) -> Path:
    """Between walls at ±1.7 rms, from wall to wall in about half a second."""
    at, before = chance.uniform(-1.7, 1.7) * rms, 0.0

    def walk(t: float) -> float:
        nonlocal at, before
        at += chance.gauss(0, rms * math.sqrt(t - before) * 4.5)
        if abs(at) > 1.7 * rms:
            at = math.copysign(3.4 * rms, at) - at
        before = t
        return at

    return walk


def _pulled(world: World, rms: float, chance: random.Random) -> Path:
    """Pushed at random and pulled back to the upright, or to each pass's own lean."""
    leans = world.tilt_kind == "offset"
    own = rms * (0.87 if leans else 1.0)
    at, before, lean, one = chance.gauss(0, own), 0.0, 0.0, -1.0
    over: dict[float, tuple[float, float]] = {}  # the steps of time are always the same few

    def pulled(t: float) -> float:
        nonlocal at, before, lean, one
        if leans and (number := t // world.stroke_s) != one:
            one, lean = number, chance.gauss(0, rms / 2)
        step = t - before
        if step not in over:
            keep = math.exp(-step / world.tilt_tau_s)
            over[step] = keep, own * math.sqrt(1 - keep * keep)
        keep, push = over[step]
        at = keep * at + chance.gauss(0, push)
        before = t
        return at + lean

    return pulled


def strokes_path(
    goals: list[float], world: World, chance: random.Random, pause: float
) -> tuple[Path, float]:
    """Eased strokes through `goals`, each of its own length, and how long they take (s)."""
    strokes = []
    t = 0.0
    for start, goal in pairwise(goals):
        span = world.stroke_s * chance.uniform(0.8, 1.25)
        strokes.append((t, span, start, goal))
        t += span + (chance.uniform(0.2, 0.6) if pause else 0.0)

    def at(now: float) -> float:
        place = goals[-1]
        for begin, span, start, goal in strokes:
            if now < begin:
                return start
            if now < begin + span:
                return start + (goal - start) * (1 - math.cos(math.pi * (now - begin) / span)) / 2
        return place

    return at, t


def _following(world: World, chance: random.Random) -> tuple[Seen, float]:
    goals = [world.centre_mm - world.reach_mm]
    for number in range(world.passes):
        side = 1 if number % 2 == 0 else -1
        goals.append(world.centre_mm + side * world.reach_mm * chance.uniform(0.85, 1.15))
    path, length_s = strokes_path(goals, world, chance, world.rest_mm)
    return _swept(path, world, chance), length_s


def _swept(path: Path, world: World, chance: random.Random) -> Seen:
    """The reading of a part whose offset follows `path`, with a tremor and a wandering tilt."""
    tilt = tilt_path(world, chance)
    tremor = [
        (chance.uniform(1, 3), chance.uniform(0, TURN), chance.uniform(0, 0.15)) for _ in range(2)
    ]
    rest = world.diameter_mm - world.rest_mm if world.rest_mm else 0.0

    def reading(t: float, is_seen: bool) -> float:
        lean = tilt(t)
        if not is_seen:
            return math.nan
        x = path(t) + sum(a * math.sin(TURN * f * t + p) for f, p, a in tremor)
        return max(rest, outside_mm(world, x, lean))

    return reading


def _chords(world: World, chance: random.Random) -> tuple[Seen, float]:
    """To and fro on one side of the crest."""
    edge = world.anvil_mm / 2
    goals = [edge + 8.0]
    for number in range(2 * world.passes):
        near = edge + chance.uniform(0.8, 3.0)
        goals.append(near if number % 2 == 0 else near + chance.uniform(2.5, 6.0))
    path, length_s = strokes_path(goals, world, chance, pause=0.0)
    return _swept(path, world, chance), length_s


@dataclass(frozen=True)
class Closing:
    """One closing of a screw: from when to when, how fast (mm/s), from how high, where (mm)."""

    begin_s: float
    end_s: float
    speed: float
    high_mm: float
    beside_mm: float


def _closings(world: World, chance: random.Random) -> list[Closing]:
    closings: list[Closing] = []
    t = chance.uniform(0.2, 0.5)
    for _ in range(world.passes):
        speed, high = chance.uniform(0.8, 2.5), chance.uniform(0.4, 1.5)
        beside = world.beside_mm * chance.uniform(0.8, 1.2)
        end = t + high / speed + world.stroke_s * chance.uniform(0.8, 1.6)
        closings.append(Closing(t, end, speed, high, beside))
        t = end + high / (2 * speed) + chance.uniform(0.3, 0.8)
    return closings


def _screw(world: World, chance: random.Random) -> tuple[Seen, float]:
    tilt = tilt_path(world, chance)
    closings = _closings(world, chance)
    spindle = math.inf

    def closing(now: float, plan: Closing) -> float:
        beside, lean = plan.beside_mm + chance.gauss(0, 0.05), tilt(now)
        coming = world.diameter_mm + plan.high_mm - plan.speed * (now - plan.begin_s)
        if coming > world.diameter_mm + 0.1:
            return coming
        width = outside_mm(world, beside, lean)
        return max(width, coming) if world.rides else min(spindle, max(coming, width))

    def reading(now: float, _: bool) -> float:
        nonlocal spindle
        ended = 0.0
        for plan in closings:
            if now < plan.begin_s:
                open_mm = world.diameter_mm + plan.high_mm + 0.2
                return min(open_mm, spindle + (now - ended) * 2 * plan.speed)
            if now < plan.end_s:
                spindle = closing(now, plan)
                return spindle
            ended = plan.end_s
        return spindle + (now - ended) * 2

    return reading, closings[-1].end_s + 0.9


def _bore(world: World, chance: random.Random) -> tuple[Seen, float]:
    reach = math.radians(world.rock_deg)
    goals = [-reach]
    for number in range(world.passes * (2 if world.rock_short else 1)):
        side = 1 if number % 2 == 0 else -1
        if world.rock_short:
            side = -1 if number % 2 else -chance.uniform(0.25, 0.5)
        goals.append(side * reach * chance.uniform(0.7, 1.3))
    path, length_s = strokes_path(goals, world, chance, pause=0.0)
    return lambda now, is_seen: bore_mm(world, path(now)) if is_seen else math.nan, length_s


MOVES = {"following": _following, "screw": _screw, "bore": _bore, "chords": _chords}


def make(movement: str, world: World, seed: int) -> Trace:
    """Samples (t_ns, length_nm) of one sweep, as the gauge shows them."""
    chance = random.Random(seed)  # noqa: S311  a simulated hand
    reading, length_s = MOVES[movement](world, chance)
    samples: Trace = []
    due, t = 0.0, 0.0
    while t < length_s:
        now = reading(t, t >= due)
        if t >= due:
            due += (1 + chance.uniform(-1, 1) * world.jitter) / world.rate_hz
            shown = now + chance.gauss(0, world.noise_um) / 1000 + world.drift_um_s * t / 1000
            if chance.random() < world.bounce_share:
                shown += chance.choice((-1, 1)) * chance.uniform(0.1, 1) * world.bounce_um / 1000
            if chance.random() >= world.drop_share:
                digits = round(shown / world.digit_mm) * world.digit_mm
                samples.append((round(t * 1e9), round(digits * 1e6)))
        t += STEP_S
    return samples


def varied(seed: int, base: World) -> World:
    """The same world with another part and another hand."""
    chance = random.Random(seed * 7919 + 13)  # noqa: S311  a simulated hand
    return replace(
        base,
        diameter_mm=chance.uniform(76, 96),
        tilt_deg=chance.uniform(0.1, 0.2),
        tilt_kind=chance.choice(("pull", "pull", "sine", "walk", "offset")),
        tilt_tau_s=chance.choice((0.1, 0.3)),
        noise_um=chance.uniform(0.3, 1.5),
        digit_mm=chance.choice((0.001, 0.001, 0.0005, 0.00127)),
        reach_mm=chance.uniform(6, 14),
        stroke_s=chance.uniform(1.5, 2.5),
        centre_mm=chance.uniform(-1.0, 1.0),
        barrel_mm=chance.choice((0.0, 0.0, 2000.0, 6000.0)),
        passes=chance.choice((5, 6, 8)),
        rock_deg=chance.uniform(3, 6),
        tip_mm=chance.uniform(1.5, 3.0),
    )
