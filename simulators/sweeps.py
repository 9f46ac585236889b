"""What a machinist does with each kind of gauge: lists of motions for a sweep of several passes.

Every function draws its speeds and reaches from the `random.Random` given; no two sweeps are
alike. `OUT_MM` and `OUT_RAD` are far enough for the gauge to stand on its stop.
"""

import math
import random
from dataclasses import dataclass, replace

from barrelfit.simulators.hand import Motion

OUT_MM = 16.0  # sideways, an 84 mm skirt leaves less than any stop here
OUT_RAD = math.radians(14.0)  # tilted, a bore gauge stands at its free width
_DWELL_SHARE = 0.3  # how often the hand waits at the end of a stroke


@dataclass(frozen=True, slots=True)
class Stretch:
    """Which stretch of a sweep: `passes` of `part`, from where the hand stands, in or out after.

    `begin` is the offset in mm or the tilt in radians at which the hand stands; None: outside.
    """

    passes: int
    part: int = 0
    begin: float | None = None
    leave: bool = True


def air(seconds: float) -> list[Motion]:
    """Nothing in the gauge."""
    return [Motion(seconds, part=None)]


def to_and_fro(stretch: Stretch, chance: random.Random, face_mm: float) -> list[Motion]:
    """Following: in from the side, over the crest again and again without resting, and out."""
    part = stretch.part
    here = stretch.begin
    if here is None:
        here = chance.choice((-1.0, 1.0)) * OUT_MM
    there = -math.copysign(face_mm + chance.uniform(1.6, 4.5), here)
    motions: list[Motion] = []
    for number in range(stretch.passes):
        last = stretch.leave and number == stretch.passes - 1
        if last:
            there = math.copysign(OUT_MM, there)
        reach = abs(here) + abs(there)
        seconds = reach / chance.uniform(6.5, 11.0)
        motions.append(Motion(seconds, part, (here, there)))
        if chance.random() < _DWELL_SHARE and not last:
            motions.append(Motion(chance.uniform(0.1, 0.5), part, (there, there)))
        here, there = there, -math.copysign(face_mm + chance.uniform(1.6, 4.5), there)
    return motions


def chords(stretch: Stretch, chance: random.Random, face_mm: float) -> list[Motion]:
    """Following, done badly: towards the crest and back on the same side, never over it."""
    here = chance.choice((-1.0, 1.0)) * OUT_MM
    motions: list[Motion] = []
    for _ in range(stretch.passes):
        near = face_mm + chance.uniform(0.7, 3.0)
        for reach in (near, near + chance.uniform(2.0, 5.0)):
            there = math.copysign(reach, here)
            motions.append(Motion(chance.uniform(0.5, 1.2), stretch.part, (here, there)))
            here = there
    motions.append(Motion(0.8, stretch.part, (here, math.copysign(OUT_MM, here))))
    return motions


def one_sided_rocks(stretch: Stretch, chance: random.Random) -> list[Motion]:
    """Bore, done badly: rocked on one side only, turned back before the upright."""
    here = chance.choice((-1.0, 1.0)) * OUT_RAD
    motions: list[Motion] = []
    for _ in range(stretch.passes):
        for low_deg, high_deg in ((1.5, 3.0), (5.0, 7.0)):
            there = math.copysign(math.radians(chance.uniform(low_deg, high_deg)), here)
            seconds = chance.uniform(0.5, 1.0)
            motions.append(Motion(seconds, stretch.part, (0.0, 0.0), (here, there)))
            here = there
    out = (here, math.copysign(OUT_RAD, here))
    motions.append(Motion(0.8, stretch.part, (0.0, 0.0), out))
    return motions


def beside(motions: list[Motion], chance: random.Random, face_mm: float) -> list[Motion]:
    """Screw, done badly: every closing beside the crest, each somewhere else."""
    shift, shifted = chance.uniform(2.4, 5.0) * face_mm, []
    for motion in motions:
        begin, end = motion.offset_mm
        shifted.append(replace(motion, offset_mm=(begin + shift, end + shift)))
        if motion.winding_mm_s > 0.0:
            shift = chance.uniform(2.4, 5.0) * face_mm
    return shifted


def in_and_out(stretch: Stretch, chance: random.Random, face_mm: float) -> list[Motion]:
    """Following: in to the crest, felt for there, out on the same side to the rest stop."""
    side = chance.choice((-1.0, 1.0))
    part = stretch.part
    motions: list[Motion] = []
    for _ in range(stretch.passes):
        far = side * OUT_MM
        first = side * chance.uniform(-0.3, 0.6) * face_mm
        second = first - side * chance.uniform(0.0, 0.5) * face_mm
        motions += [
            Motion(chance.uniform(0.5, 0.9), part, (far, first)),
            Motion(chance.uniform(0.4, 0.9), part, (first, second)),
            Motion(chance.uniform(0.4, 0.8), part, (second, far)),
            Motion(chance.uniform(0.3, 0.8), part, (far, far)),
        ]
    return motions


def screw(
    stretch: Stretch, chance: random.Random, face_mm: float, gap_mm: float = 1.2
) -> list[Motion]:
    """Screw: wound down by `gap_mm` onto the rocking part, held while it slips, wound up again."""
    part = stretch.part
    motions: list[Motion] = []
    for _ in range(stretch.passes):
        speed = chance.uniform(0.8, 1.6)
        here = chance.uniform(-0.3, 0.3) * face_mm
        motions.append(Motion(gap_mm / speed + 0.1, part, (here, here), (0.0, 0.0), -speed))
        motions += _rocks(chance, part, here, face_mm)
        motions.append(Motion(chance.uniform(0.2, 0.5), part, (here, here)))
        lift = chance.uniform(0.35, 0.8)
        speed = chance.uniform(0.8, 1.6)
        motions.append(Motion(lift / speed, part, (here, here), (0.0, 0.0), speed))
        gap_mm = lift
    return motions


def _rocks(chance: random.Random, part: int, here_mm: float, face_mm: float) -> list[Motion]:
    """The part rocked in the faces while the thimble slips."""
    tilt = 0.0
    motions = []
    for _ in range(chance.randint(3, 5)):
        to_tilt = -math.copysign(math.radians(chance.uniform(0.1, 0.3)), tilt or -1.0)
        to_mm = here_mm + chance.uniform(-0.2, 0.2) * face_mm
        seconds = chance.uniform(0.25, 0.5)
        motions.append(Motion(seconds, part, (here_mm, to_mm), (tilt, to_tilt), -0.4))
        tilt, here_mm = to_tilt, to_mm
    return motions


def bore(stretch: Stretch, chance: random.Random) -> list[Motion]:
    """Bore: tipped in, rocked through the upright again and again, tipped out."""
    here = stretch.begin
    if here is None:
        here = chance.choice((-1.0, 1.0)) * OUT_RAD
    there = -math.copysign(math.radians(chance.uniform(3.5, 6.5)), here)
    motions: list[Motion] = []
    for number in range(stretch.passes):
        if stretch.leave and number == stretch.passes - 1:
            there = math.copysign(OUT_RAD, there)
        speed = math.radians(chance.uniform(8.0, 13.0))
        seconds = (abs(here) + abs(there)) / speed
        motions.append(Motion(seconds, stretch.part, (0.0, 0.0), (here, there)))
        here, there = there, -math.copysign(math.radians(chance.uniform(3.5, 6.5)), there)
    return motions
