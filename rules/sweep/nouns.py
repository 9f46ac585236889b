"""What a sweep is told and what it answers. Times are ns of one clock, lengths whole nm."""

from dataclasses import dataclass

from barrelfit.rules.model import Movement
from barrelfit.rules.said import Said


@dataclass(frozen=True, slots=True)
class GaugeTraits:
    """What the sweep must know of its gauge.

    `digit_nm` is the last digit of the display, `anvil_nm` the diameter of the outside gauge's
    anvil faces, `low_nm` and `high_nm` the measuring range where it is known. `passes_min` is the
    smallest number of passes that may become a size. `averages_ms` is for how long the display
    averages (ms, 0: not at all; None: nobody said, the readings must tell).
    """

    movement: Movement
    digit_nm: int
    anvil_nm: int = 6_500_000
    low_nm: int | None = None
    high_nm: int | None = None
    passes_min: int = 3
    averages_ms: int | None = None


@dataclass(frozen=True, slots=True)
class SweepContact:
    """The part touched the gauge."""

    t_ns: int


@dataclass(frozen=True, slots=True)
class PassFound:
    """One pass over the crest: what it alone says of the size, and the readings it rests on.

    `start_ns` and `end_ns` bound the readings used (the crest zone, both flanks cut away), whose
    middle one stands `lift_nm` over `size_nm`.
    """

    number: int
    size_nm: int
    start_ns: int
    end_ns: int
    lift_nm: int = 0


@dataclass(frozen=True, slots=True)
class PassLost:
    """A pass whose readings don't tell the size: some are missing there. It does not count."""

    t_ns: int


@dataclass(frozen=True, slots=True)
class Left:
    """The part left the gauge, or the gauge was silent for so long that it may have."""

    t_ns: int


SweepNote = SweepContact | PassFound | PassLost | Left


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one sweep told of its gauge's noise and its part's barrel (`rules.sweep.lessons`).

    `logs` is l(S, c) by barrel (rows) and noise, 0 at the pair that explains the readings best, to
    a thousandth: another machine's last bits are to make no other size of the next sweep.
    """

    logs: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class SweepSized:
    """A size as read (not at 20 °C), with the uncertainty of the sweep itself.

    `u_nm` joins `u_sweep_nm` (scatter, tilt, bounces) and `u_digit_nm` (what the last digit leaves
    open after all readings) in quadrature; `u_passes_nm` is what of it more passes would lessen;
    [`low_nm`, `high_nm`] holds the true size in 95 % of sweeps; `rank` is the ISO 14405-1 name of
    the number. `lesson` is what the next sweep may learn of this one, None where that is nothing.
    """

    size_nm: int
    u_nm: float
    dof: float
    low_nm: int
    high_nm: int
    pass_sizes_nm: tuple[int, ...]
    estimator: str
    rank: str
    passes: tuple[PassFound, ...]
    u_sweep_nm: float
    u_digit_nm: float
    u_passes_nm: float
    lesson: Lesson | None = None


@dataclass(frozen=True, slots=True)
class SweepRefused:
    """No size comes of this sweep: the reason's code, what is said of it, and what to do."""

    reason: str
    sentence: Said
    advice: Said
