"""Gauges: from the distance a part leaves between two contacts to the number on the display.

Three mechanisms, each with its own idea of where the contacts stand:

- *following*: spring-loaded faces ride on the part, and rest on a stop where there is none;
- *screw*: a spindle with a friction thimble is wound down; it closes until the part holds it,
  slips, follows the part only to smaller widths, and goes up only when wound up;
- *bore*: tips pressed outwards by a spring; in the air they stand at their free width.

The display adds its zero error, its own expansion, noise, single-sample contact bounces, missed
samples, and rounds to its last digit. All chance comes from the `random.Random` given.
"""

import random
from dataclasses import dataclass

from barrelfit.simulators.part import NM_PER_MM


@dataclass(frozen=True, slots=True)
class GaugeTraits:
    """What a gauge is like. Units are in the names, shares are per sample, 0 to 1."""

    movement: str  # following, screw or bore
    digit_nm: int = 1_000
    rate_hz: float = 20.0
    jitter: float = 0.05  # standard deviation of the time between samples, as a share of it
    face_mm: float = 3.25  # radius of the flat faces
    tip_mm: float = 2.0  # radius of a bore gauge's tips
    rest_mm: float = 0.0  # following: the stop; bore: the free width; screw: where it starts
    noise_um: float = 0.5
    bounce_share: float = 0.0
    bounce_um: tuple[float, float] = (5.0, 120.0)
    missed_share: float = 0.0
    zero_um: float = 0.0
    expansion_per_k: float = 0.0
    gauge_c: float = 20.0


class Gauge:
    """One gauge in use: where its contacts stand now, and what it shows."""

    def __init__(self, traits: GaugeTraits, chance: random.Random) -> None:
        self.traits = traits
        self._chance = chance
        self.opening_mm = traits.rest_mm

    def step(self, seconds: float, width_mm: float | None, winding_mm_s: float = 0.0) -> float:
        """Move the contacts for `seconds` and return where they stand, in mm.

        Args:
            seconds: time since the last step.
            width_mm: what the part leaves between the contacts now; None in the air.
            winding_mm_s: speed of the screw's thimble, negative closes; others ignore it.
        """
        rest = self.traits.rest_mm
        if self.traits.movement == "following":
            self.opening_mm = rest if width_mm is None else max(width_mm, rest)
        elif self.traits.movement == "bore":
            self.opening_mm = rest if width_mm is None else min(width_mm, rest)
        else:
            self._wind(seconds * winding_mm_s, width_mm)
        return self.opening_mm

    def _wind(self, travel_mm: float, width_mm: float | None) -> None:
        """Wind the spindle by `travel_mm`; the part stops it from closing, never from opening."""
        if travel_mm >= 0.0 or width_mm is None:
            self.opening_mm += travel_mm
        elif width_mm < self.opening_mm:
            self.opening_mm = max(self.opening_mm + travel_mm, width_mm)

    def show(self, squeeze_um: float = 0.0) -> int | None:
        """What the display sends now, in whole nm; None for a sample that got lost.

        `squeeze_um` is how much a clenched hand forces the contacts closer than the part allows.
        """
        traits, chance = self.traits, self._chance
        length_mm = self.opening_mm - squeeze_um / 1e3
        length_mm /= 1.0 + traits.expansion_per_k * (traits.gauge_c - 20.0)
        length_mm += (traits.zero_um + chance.gauss(0.0, traits.noise_um)) / 1e3
        if chance.random() < traits.bounce_share:
            size_um = chance.uniform(*traits.bounce_um)
            length_mm += chance.choice((-1.0, -1.0, 1.0)) * size_um / 1e3
        if chance.random() < traits.missed_share:
            return None
        return round(length_mm * NM_PER_MM / traits.digit_nm) * traits.digit_nm

    def pause_s(self) -> float:
        """Seconds until the next sample."""
        spread = max(-0.6, min(0.6, self._chance.gauss(0.0, self.traits.jitter)))
        return (1.0 + spread) / self.traits.rate_hz
