"""True parts: pistons' skirts and barrels' bores, known at 20 °C and as warm as they are now.

Lengths are float mm, angles radians, temperatures °C; a part's truth is a whole nm (`*_nm`).

Equations (R = half the skirt's diameter in the measuring plane, a = radius of the gauge's flat
face, x = sideways offset of the measuring axis, t = tilt out of the measuring plane):

- round skirt with straight flanks:  L = (2·sqrt(R² - max(|x| - a, 0)²) + 2·a·|sin t|) / cos t
- barrelled skirt, profile radius Z:  r(z) = R - (z - belly)²/(2·Z); each face touches at the
  height inside its reach where r(z)·cos t + z·sin t is largest; L is the sum of both sides.
- oval skirt, ovality c:  D(turn) = D0 - (c/2)·(1 - cos 2·turn)
- bore, two tips of radius r:  L = (D - 2·r)/cos t + 2·r

So tilt only lengthens, a chord only shortens, and turning an oval skirt only shortens.
"""

import math
from dataclasses import dataclass, field

NM_PER_MM = 1_000_000

# Expansion per kelvin near room temperature: round handbook figures of this room's own choice.
EXPANSION_PER_K = {
    "none": 0.0,
    "aluminium-silicon": 20.5e-6,
    "aluminium": 23.0e-6,
    "grey-iron": 10.6e-6,
    "steel": 11.7e-6,
}


def to_nm(length_mm: float) -> int:
    """Round a float length in mm to whole nm."""
    return round(length_mm * NM_PER_MM)


def grown(length_mm: float, material: str, part_c: float) -> float:
    """Length in mm at `part_c` °C of what is `length_mm` at 20 °C."""
    return length_mm * (1.0 + EXPANSION_PER_K[material] * (part_c - 20.0))


@dataclass(frozen=True, slots=True)
class Skirt:
    """A piston's skirt around its measuring height, at one temperature.

    `size_mm` is the diameter across the thrust axis at the belly; `oval_mm` how much smaller it
    is a quarter turn away; `profile_mm` the radius of its barrelled profile (infinite: straight);
    `belly_mm` how far the belly lies above the measuring height.
    """

    size_mm: float
    oval_mm: float = 0.0
    profile_mm: float = math.inf
    belly_mm: float = 0.0

    def diameter_mm(self, turn_rad: float) -> float:
        """Diameter at the belly, turned by `turn_rad` from the thrust axis."""
        return self.size_mm - self.oval_mm / 2.0 * (1.0 - math.cos(2.0 * turn_rad))

    def width_mm(self, offset_mm: float, tilt_rad: float, turn_rad: float, face_mm: float) -> float:
        """Distance in mm between two flat faces of radius `face_mm` closed onto the skirt.

        0.0 when the measuring axis misses the skirt altogether.
        """
        radius = self.diameter_mm(turn_rad) / 2.0
        beyond = max(abs(offset_mm) - face_mm, 0.0)
        if beyond >= radius:
            return 0.0
        half = math.sqrt(radius * radius - beyond * beyond)
        if math.isinf(self.profile_mm):
            return (2.0 * half + 2.0 * face_mm * abs(math.sin(tilt_rad))) / math.cos(tilt_rad)
        length = 2.0 * half
        for _ in range(3):  # the faces' heights depend on L itself; the shift is tiny
            centre = length / 2.0 * math.sin(tilt_rad)
            length = self._side(half, tilt_rad, centre, face_mm)
            length += self._side(half, -tilt_rad, -centre, face_mm)
        return length

    def _side(self, half_mm: float, tilt_rad: float, centre_mm: float, face_mm: float) -> float:
        """How far out one face is held by the profile within its reach, in mm from the axis."""
        reach = face_mm * math.cos(tilt_rad)
        touch = self.belly_mm + self.profile_mm * math.tan(tilt_rad)
        touch = min(max(touch, centre_mm - reach), centre_mm + reach)
        fall = (touch - self.belly_mm) ** 2 / (2.0 * self.profile_mm)
        return (half_mm - fall) * math.cos(tilt_rad) + touch * math.sin(tilt_rad)

    def truth_mm(self, face_mm: float) -> float:
        """The two-point size flat faces can see: no tilt, no offset, no turn."""
        return self.width_mm(0.0, 0.0, 0.0, face_mm)


@dataclass(frozen=True, slots=True)
class Bore:
    """A bore in one depth and direction, at one temperature: the distance of two facing points."""

    size_mm: float

    def width_mm(self, tilt_rad: float, tip_mm: float) -> float:
        """Distance in mm over two tips of radius `tip_mm`, the gauge tilted in the axial plane."""
        return (self.size_mm - 2.0 * tip_mm) / math.cos(tilt_rad) + 2.0 * tip_mm


@dataclass(frozen=True, slots=True)
class Piston:
    """A piston of a scenario: its skirt's shape at 20 °C, what it is made of, how warm it is."""

    name: str
    skirt: Skirt
    material: str = "aluminium-silicon"
    part_c: float = 20.0

    def skirt_now(self) -> Skirt:
        """The skirt as large as it is at the part's temperature."""
        now = grown(self.skirt.size_mm, self.material, self.part_c)
        return Skirt(now, self.skirt.oval_mm, self.skirt.profile_mm, self.skirt.belly_mm)


@dataclass(frozen=True, slots=True)
class Barrel:
    """A barrel of a scenario: a worn, tapered, oval bore, at 20 °C.

    Depths run from 0 (head end) to `length_mm`. Wear is deepest at `worn_at_mm` and fades with
    distance as a bell of width `worn_over_mm`; `taper_mm` is how much larger the diameter is at
    the head end than at the foot; `oval_mm` how much larger it is across the thrust direction
    than along the pin; `lobes_mm` the height of three lobes, which two facing points never see.
    """

    name: str
    size_mm: float
    length_mm: float = 120.0
    wear_mm: float = 0.0
    worn_at_mm: float = 20.0
    worn_over_mm: float = 18.0
    taper_mm: float = 0.0
    oval_mm: float = 0.0
    lobes_mm: float = 0.0
    material: str = "grey-iron"
    part_c: float = 20.0
    depths_mm: dict[str, float] = field(default_factory=dict)

    def radius_mm(self, depth_mm: float, turn_rad: float) -> float:
        """Radius in mm at 20 °C at a depth; `turn_rad` counts from the thrust direction."""
        worn = self.wear_mm * math.exp(
            -(((depth_mm - self.worn_at_mm) / self.worn_over_mm) ** 2) / 2.0
        )
        taper = self.taper_mm * (1.0 - depth_mm / self.length_mm)
        oval = self.oval_mm / 2.0 * (1.0 + math.cos(2.0 * turn_rad))
        return (self.size_mm + worn + taper + oval) / 2.0 + self.lobes_mm * math.cos(3.0 * turn_rad)

    def bore20(self, depth_mm: float, turn_rad: float) -> Bore:
        """What two facing points see at a depth and direction, at 20 °C."""
        near = self.radius_mm(depth_mm, turn_rad)
        return Bore(near + self.radius_mm(depth_mm, turn_rad + math.pi))

    def bore_now(self, depth_mm: float, turn_rad: float) -> Bore:
        """The same at the part's temperature."""
        size = self.bore20(depth_mm, turn_rad).size_mm
        return Bore(grown(size, self.material, self.part_c))
