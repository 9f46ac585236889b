"""Plays a hand, a gauge and the parts in it together, one displayed sample after another."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from barrelfit.simulators.gauge import Gauge
from barrelfit.simulators.hand import Pose
from barrelfit.simulators.part import Bore, Skirt

# A part in the gauge, as it is at a time in seconds (it may be cooling).
PartNow = Callable[[float], Skirt | Bore]

STEP_S = 0.004  # the screw's spindle has a memory: move it in small steps


class Work(Protocol):
    """What a player asks of a hand: a pose at a time that never goes back."""

    def pose(self, t_s: float) -> Pose:
        """Where the part is at `t_s`."""
        ...


@dataclass(frozen=True, slots=True)
class Shown:
    """One sample: when, what the display sent in nm (None: missed), and the truth behind it."""

    t_s: float
    reading_nm: int | None
    pose: Pose
    opening_mm: float


def still(part: Skirt | Bore) -> PartNow:
    """A part that stays as it is."""
    return lambda _t_s: part


def width_mm(part: Skirt | Bore, pose: Pose, gauge: Gauge) -> float | None:
    """What the part leaves between the gauge's contacts in this pose, in mm; None for nothing."""
    if isinstance(part, Bore):
        return part.width_mm(pose.tilt_rad, gauge.traits.tip_mm)
    width = part.width_mm(pose.offset_mm, pose.tilt_rad, pose.turn_rad, gauge.traits.face_mm)
    return width or None


class Player:
    """A gauge, the hand that uses it, and the parts it takes in turn."""

    def __init__(self, gauge: Gauge, hand: Work, parts: Sequence[PartNow]) -> None:
        self.gauge, self.hand, self.parts = gauge, hand, parts
        self.t_s = 0.0

    def next(self) -> Shown:
        """Play on to the next sample."""
        return self.sample(self.t_s + self.gauge.pause_s())

    def sample(self, until: float) -> Shown:
        """Play on to a time, which must not go back, and take the sample there."""
        fine = self.gauge.traits.movement == "screw"
        steps = max(1, round((until - self.t_s) / STEP_S)) if fine else 1
        step_s = (until - self.t_s) / steps
        pose = Pose(None)
        for index in range(1, steps + 1):
            now = self.t_s + index * step_s
            pose = self.hand.pose(now)
            self.gauge.step(step_s, self._width(pose, now), pose.winding_mm_s)
        self.t_s = until
        reading_nm = self.gauge.show(pose.squeeze_um)
        return Shown(until, reading_nm, pose, self.gauge.opening_mm)

    def _width(self, pose: Pose, t_s: float) -> float | None:
        if pose.part is None:
            return None
        return width_mm(self.parts[pose.part](t_s), pose, self.gauge)
