"""What can go wrong with a sweep: in the hand, in the parts, and in the stream of samples.

`TROUBLES` names each trouble and the gauge movements it can happen to. A `Plot` is what the hand
does and which parts it takes; `simulators.spoiled` damages the stream where the trouble is there.
Steps and drifts are 20 µm and more: at ten readings a second the tilt of a single pass hides less.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace

from barrelfit.simulators import sweeps
from barrelfit.simulators.gauge import GaugeTraits
from barrelfit.simulators.hand import Motion
from barrelfit.simulators.part import Bore, Skirt, to_nm
from barrelfit.simulators.player import PartNow, still

_ALL = ("following", "screw", "bore")

TROUBLES: dict[str, tuple[str, ...]] = {
    "no-contact": _ALL,  # the gauge is read in the air
    "chords-only": _ALL,  # the crest, or the upright, is never reached
    "one-pass": _ALL,
    "two-passes": _ALL,
    "left-early": _ALL,  # one or two passes, then a long time in the air
    "part-exchanged": _ALL,  # another part follows after one or two passes
    "two-parts": _ALL,  # two parts in turn, two passes each
    "drift": _ALL,  # the part cools or warms while it is swept
    "passes-disagree": _ALL,  # every pass is held askew, each differently
    "gaps": _ALL,  # the samples of every crest are missing
    "duplicates": _ALL,  # samples come twice, with the same time
    "backwards": _ALL,  # times go back
    "frozen": _ALL,  # the display stands still in the first crest
    "out-of-range": _ALL,  # the part is too large for the gauge
    "squeezed": ("following",),  # one or two passes pressed smaller
}
EXPECT = dict.fromkeys(TROUBLES, "refuse") | {"squeezed": "either"}

Change = Callable[[Skirt | Bore], PartNow]


@dataclass(frozen=True, slots=True)
class Plot:
    """What happens in a trace: the hand's motions and the parts it takes after the first."""

    motions: list[Motion]
    others: tuple[Change, ...] = ()
    creep: Callable[[Skirt | Bore, float], PartNow] | None = None
    wander_share: float = 1.0
    range_nm: tuple[int, int] | None = None


def plot_for(
    movement_name: str, trouble: str, traits: GaugeTraits, passes: int, chance: random.Random
) -> Plot:
    """Write the plot of one trace: lead-in, the sweep with its trouble, lead-out."""
    few = {"one-pass": 1, "two-passes": 2, "left-early": chance.randint(1, 2)}.get(trouble)
    sweep = _sweep(movement_name, few or passes, traits, chance)
    before, after = sweeps.air(chance.uniform(0.4, 1.5)), sweeps.air(chance.uniform(0.4, 1.5))
    whole = Plot(before + sweep + after)
    if trouble in _PLOTS:
        whole = _PLOTS[trouble](whole, movement_name, traits, chance)
    return whole


def _sweep(
    name: str, passes: int, traits: GaugeTraits, chance: random.Random, part: int = 0
) -> list[Motion]:
    stretch = sweeps.Stretch(passes, part)
    if name == "to-and-fro":
        return sweeps.to_and_fro(stretch, chance, traits.face_mm)
    if name == "in-and-out":
        return sweeps.in_and_out(stretch, chance, traits.face_mm)
    if name == "bore":
        return sweeps.bore(stretch, chance)
    return sweeps.screw(stretch, chance, traits.face_mm, gap_mm=2.0)


def _no_contact(plot: Plot, _name: str, traits: GaugeTraits, chance: random.Random) -> Plot:
    motions = sweeps.air(chance.uniform(5.0, 12.0))
    if traits.movement == "screw":  # the thimble is wound about, nothing between the faces
        motions = [
            Motion(chance.uniform(0.5, 1.2), None, winding_mm_s=chance.uniform(-0.8, 0.8))
            for _ in range(10)
        ]
    return replace(plot, motions=motions)


def _chords_only(plot: Plot, name: str, traits: GaugeTraits, chance: random.Random) -> Plot:
    stretch = sweeps.Stretch(chance.randint(4, 7))
    if name == "bore":
        return replace(plot, motions=sweeps.air(0.8) + sweeps.one_sided_rocks(stretch, chance))
    if name == "screw":
        return replace(plot, motions=sweeps.beside(plot.motions, chance, traits.face_mm))
    motions = sweeps.chords(stretch, chance, traits.face_mm)
    return replace(plot, motions=sweeps.air(0.8) + motions)


def _left_early(plot: Plot, _name: str, _traits: GaugeTraits, chance: random.Random) -> Plot:
    return replace(plot, motions=plot.motions + sweeps.air(chance.uniform(4.0, 9.0)))


def _part_exchanged(plot: Plot, name: str, traits: GaugeTraits, chance: random.Random) -> Plot:
    first = _sweep(name, chance.randint(1, 2), traits, chance)
    second = _sweep(name, chance.randint(3, 4), traits, chance, part=1)
    return _two(plot, first, second, chance)


def _two_parts(plot: Plot, name: str, traits: GaugeTraits, chance: random.Random) -> Plot:
    first = _sweep(name, 2, traits, chance)
    return _two(plot, first, _sweep(name, 2, traits, chance, part=1), chance)


def _two(plot: Plot, first: list[Motion], second: list[Motion], chance: random.Random) -> Plot:
    step_um = chance.choice((-1.0, 1.0)) * chance.uniform(20.0, 120.0)
    motions = sweeps.air(0.6) + first + sweeps.air(chance.uniform(0.3, 2.0)) + second
    return replace(plot, motions=motions, others=(lambda part: still(_larger(part, step_um)),))


def _larger(part: Skirt | Bore, step_um: float) -> Skirt | Bore:
    return replace(part, size_mm=part.size_mm + step_um / 1e3)


def _drift(plot: Plot, _name: str, _traits: GaugeTraits, chance: random.Random) -> Plot:
    total_um = chance.choice((-1.0, 1.0)) * chance.uniform(20.0, 50.0)

    def creep(part: Skirt | Bore, end_s: float) -> PartNow:
        return lambda t_s: _larger(part, total_um * t_s / end_s)

    return replace(plot, creep=creep)


def _passes_disagree(plot: Plot, name: str, traits: GaugeTraits, chance: random.Random) -> Plot:
    """Held askew in every pass (a bore gauge: at another depth of a worn bore)."""
    if name == "bore":
        return _bore_slides(plot, chance)
    tilts = [math.radians(chance.uniform(0.25, 0.9)) for _ in range(40)]
    number, motions = 0, []
    for motion in plot.motions:
        if motion.part is not None:
            lean = tilts[number]
            motion = replace(motion, tilt_rad=(lean, lean))  # noqa: PLW2901  the leaning motion
        number += name == "to-and-fro" or motion.winding_mm_s > 0.0 or _turns_out(motion)
        motions.append(motion)
    return replace(plot, motions=motions, wander_share=0.1)


def _turns_out(motion: Motion) -> bool:
    return abs(motion.offset_mm[1]) == sweeps.OUT_MM


def _bore_slides(plot: Plot, chance: random.Random) -> Plot:
    """Every rock at another depth of a worn bore: each one its own part."""
    motions, others = [], []
    for motion in plot.motions:
        if motion.part is None:
            motions.append(motion)
            continue
        step_um = chance.uniform(-40.0, 40.0)
        others.append(lambda part, um=step_um: still(_larger(part, um)))
        motions.append(replace(motion, part=len(others)))
    return replace(plot, motions=motions, others=tuple(others))


def _out_of_range(plot: Plot, _name: str, _traits: GaugeTraits, chance: random.Random) -> Plot:
    return replace(plot, range_nm=(to_nm(50.0), to_nm(round(chance.uniform(83.0, 83.6), 3))))


def _squeezed(plot: Plot, _name: str, _traits: GaugeTraits, chance: random.Random) -> Plot:
    crossing = [i for i, m in enumerate(plot.motions) if m.part is not None]
    motions = list(plot.motions)
    for index in chance.sample(crossing, 2):
        motions[index] = replace(motions[index], squeeze_um=chance.uniform(4.0, 20.0))
    return replace(plot, motions=motions)


_PLOTS = {
    "no-contact": _no_contact,
    "chords-only": _chords_only,
    "left-early": _left_early,
    "part-exchanged": _part_exchanged,
    "two-parts": _two_parts,
    "drift": _drift,
    "passes-disagree": _passes_disagree,
    "out-of-range": _out_of_range,
    "squeezed": _squeezed,
}
