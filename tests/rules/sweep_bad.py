"""Sweeps that must never become a size: one function a trouble, seeded.

An outside sweep's hand is deliberate here (some ten readings a crest at 20/s): tilt alone lifts
readings by tens of µm, and what differs by less than that on two or three readings a crest can't
be told from tilt by anyone.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from tests.rules.sweep_physics import Trace, World, make, varied

RATES_HZ = (10.0, 20.0, 50.0)
OUTSIDE_RANGE_MM = 0.2


@dataclass(frozen=True)
class BadSweep:
    """Samples of a spoiled sweep and the gauge that read them."""

    samples: Trace
    traits: GaugeTraits


def bad_sweep(trouble: str, movement: str, seed: int) -> BadSweep:
    """One spoiled sweep of a movement: `following`, `screw` or `bore`."""
    chance = random.Random(f"{trouble} {movement} {seed}")  # noqa: S311  a simulated hand
    world = varied(seed, World(rate_hz=chance.choice(RATES_HZ)))
    if movement == "following":
        world = replace(
            world,
            rest_mm=chance.choice((0.0, 1.0)),
            stroke_s=chance.uniform(2.2, 3.0),
            reach_mm=chance.uniform(7.0, 10.0),
        )
    traits = GaugeTraits(Movement(movement), round(world.digit_mm * 1e6))
    if trouble == "out-of-range":
        high_nm = round((world.diameter_mm - OUTSIDE_RANGE_MM) * 1e6)
        traits = replace(traits, low_nm=0, high_nm=high_nm)
    return BadSweep(TROUBLES[trouble](movement, world, chance), traits)


def joined(traces: list[Trace], pause_s: float) -> Trace:
    """Traces one after another with a pause between."""
    whole: Trace = []
    begin = 0
    for trace in traces:
        whole += [(t + begin, length) for t, length in trace]
        begin = whole[-1][0] + round(pause_s * 1e9)
    return whole


def _no_contact(movement: str, world: World, chance: random.Random) -> Trace:
    """The gauge stands at its stop."""
    count = round(chance.uniform(4, 12) * world.rate_hz)
    at_nm = round((world.diameter_mm + chance.uniform(-3, 3)) * 1e6)
    noise = [round(chance.gauss(0, world.noise_um)) * 1000 for _ in range(count)]
    return [(round(k * 1e9 / world.rate_hz), at_nm + n) for k, n in enumerate(noise)]


def _chords_only(movement: str, world: World, chance: random.Random) -> Trace:
    seed = chance.randrange(10**9)
    if movement == "following":
        return make("chords", world, seed)
    if movement == "bore":
        return make("bore", replace(world, rock_short=True), seed)
    return make("screw", replace(world, beside_mm=chance.uniform(6, 10)), seed)


def _few(movement: str, world: World, chance: random.Random) -> Trace:
    few = replace(world, passes=chance.randint(1, 2))
    return make(movement, few, chance.randrange(10**9))


def _exchanged(movement: str, world: World, chance: random.Random) -> Trace:
    """Another part, 35 to 90 µm larger or smaller, from the third or fourth pass on."""
    step_mm = chance.choice((-1, 1)) * chance.uniform(0.035, 0.09)
    first = replace(world, passes=chance.randint(2, 3))
    second = replace(first, diameter_mm=world.diameter_mm + step_mm, passes=3)
    seeds = [chance.randrange(10**9) for _ in range(2)]
    return joined([make(movement, w, s) for w, s in zip((first, second), seeds, strict=True)], 0.3)


def _drift(movement: str, world: World, chance: random.Random) -> Trace:
    """The part cools or warms by so much that its size moves 45 to 90 µm in the sweep."""
    seed = chance.randrange(10**9)
    seconds = make(movement, world, seed)[-1][0] / 1e9
    total_um = chance.choice((-1, 1)) * chance.uniform(45, 90)
    return make(movement, replace(world, drift_um_s=total_um / seconds), seed)


def _disagree(movement: str, world: World, chance: random.Random) -> Trace:
    """Every pass has a size of its own, 30 to 50 µm from the one before."""
    traces, size = [], world.diameter_mm
    for _ in range(6):
        one = replace(world, diameter_mm=size, passes=1)
        traces.append(make(movement, one, chance.randrange(10**9)))
        size += chance.choice((-1, 1)) * chance.uniform(0.03, 0.05)
    return joined(traces, 1.5 / world.rate_hz)


def _gaps(movement: str, world: World, chance: random.Random) -> Trace:
    """No readings from the middle of each crest but two on, for 0.6 s or more, to its end."""
    samples = make(movement, world, chance.randrange(10**9))
    crests = crests_of(samples, world.diameter_mm * 1e6)
    for crest in chance.sample(crests, max(len(crests) - 2, 0)):
        begin_ns = crest[len(crest) // 2]
        end_ns = max(crest[-1] + 1, begin_ns + round(chance.uniform(0.6, 1.2) * 1e9))
        samples = [(t, y) for t, y in samples if not begin_ns <= t < end_ns]
    return samples


def crests_of(samples: Trace, size_nm: float) -> list[list[int]]:
    """The times (ns) at which readings stand near the size, crest by crest."""
    crests: list[list[int]] = []
    for t, y in samples:
        if abs(y - size_nm) > 40_000:
            continue
        if crests and t - crests[-1][-1] < 450_000_000:
            crests[-1].append(t)
        else:
            crests.append([t])
    return crests


def _stale(movement: str, world: World, chance: random.Random) -> Trace:
    """Some readings twice, or the clock set back."""
    samples = make(movement, world, chance.randrange(10**9))
    if chance.random() < 0.5:
        return [s for sample in samples for s in [sample] * chance.choice((1, 1, 2))]
    k = chance.randrange(10, len(samples))
    back_ns = samples[k][0] - samples[k - 6][0]
    return samples[:k] + [(t - back_ns, y) for t, y in samples[k:]]


def _frozen(movement: str, world: World, chance: random.Random) -> Trace:
    """The display stands still from the first reading near the size on."""
    samples = make(movement, world, chance.randrange(10**9))
    size_nm = world.diameter_mm * 1e6
    first = next(k for k, (_, y) in enumerate(samples) if abs(y - size_nm) < 40_000)
    held = samples[first][1]
    return samples[:first] + [(t, held) for t, _ in samples[first:]]


def _good(movement: str, world: World, chance: random.Random) -> Trace:
    return make(movement, world, chance.randrange(10**9))


Trouble = Callable[[str, World, random.Random], Trace]
TROUBLES: dict[str, Trouble] = {
    "no-contact": _no_contact,
    "chords-only": _chords_only,
    "too-few-passes": _few,
    "part-exchanged": _exchanged,
    "drift": _drift,
    "passes-disagree": _disagree,
    "gap-in-crest": _gaps,
    "stale-times": _stale,
    "frozen": _frozen,
    "out-of-range": _good,  # on a gauge too small for the part
}
