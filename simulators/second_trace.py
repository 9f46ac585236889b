"""Labelled traces of the second physical model (`simulators.second`)."""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from barrelfit.simulators.part import to_nm
from barrelfit.simulators.second import (
    SecondDisplay,
    Strokes,
    disc_width_mm,
    displayed,
    settled,
    trembling,
)
from barrelfit.simulators.trace import csv_text

GOOD = {"to-and-fro": "following", "in-and-out": "following", "screw": "screw", "bore": "bore"}
BAD = ("no-contact", "chords-only", "one-pass", "two-passes", "part-exchanged", "drift")
OUT_MM = 18.0
OUT_RAD = math.radians(15.0)
EXCHANGED_AFTER = 2  # passes
FACE_MM = 3.25


@dataclass(frozen=True, slots=True)
class SecondTrace:
    """A trace of the second model; the names are those of `simulators.trace.Trace`."""

    kind: str
    movement: str
    expect: str
    seed: int
    rate_hz: float
    truth_nm: int | None
    samples_ns: tuple[tuple[int, int], ...]

    def csv(self) -> str:
        """The samples as text with the header `t_s,reading_mm`."""
        return csv_text(self.samples_ns)

    @property
    def samples(self) -> list[tuple[float, float]]:
        """Samples as (seconds, mm)."""
        return [(t / 1e9, nm / 1e6) for t, nm in self.samples_ns]


@dataclass(slots=True)
class _Story:
    """What happens in one trace: where the part is, which size it has, and when all is over.

    `closings` are the times in which a screw is wound down.
    """

    path: Strokes
    closings: list[tuple[float, float]]
    size_mm: Callable[[float], float]
    end_s: float


def second_kinds() -> tuple[str, ...]:
    """Every kind the second model has, good ones first."""
    return (*GOOD, *(f"{good}/{bad}" for good in GOOD for bad in BAD))


def make_second_trace(
    kind: str, rate_hz: float = 20.0, seed: int = 1, digit_nm: int = 1_000
) -> SecondTrace:
    """Make one labelled trace of the second model.

    Args:
        kind: one of `second_kinds()`.
        rate_hz: readings a second, 5 to 50.
        seed: the same seed gives the same trace.
        digit_nm: the display's last digit.

    Raises:
        ValueError: no such kind.
    """
    if kind not in second_kinds():
        message = f"no kind is called '{kind}'; there are: {', '.join(second_kinds())}"
        raise ValueError(message)
    movement_name, _, trouble = kind.partition("/")
    chance = random.Random(f"second {kind} {rate_hz} {seed}")
    size_mm = round(chance.uniform(83.8, 84.2), 6)
    story = _story(movement_name, trouble, size_mm, chance)
    opening = _opening(movement_name, story, size_mm, chance)
    display = SecondDisplay(
        rate_hz=rate_hz,
        digit_nm=digit_nm,
        noise_um=chance.uniform(0.3, 1.5),
        slow_share=chance.uniform(0.0, 0.15),
        window=chance.uniform(0.0, 0.3),
        jitter=chance.uniform(0.01, 0.1),
        bounce_share=chance.choice((0.0, 0.005, 0.02)),
        missed_share=chance.choice((0.0, 0.005, 0.02)),
    )
    samples = displayed(opening, story.end_s, display, chance)
    return SecondTrace(
        kind=kind,
        movement=GOOD[movement_name],
        expect="refuse" if trouble else "size",
        seed=seed,
        rate_hz=rate_hz,
        truth_nm=None if trouble else to_nm(size_mm),
        samples_ns=tuple(samples),
    )


def _story(name: str, trouble: str, size_mm: float, chance: random.Random) -> _Story:
    few = {"one-pass": 1, "two-passes": 2, "no-contact": 0}.get(trouble)
    passes = chance.randint(7, 11) if name == "bore" else chance.randint(5, 8)
    path = Strokes(OUT_MM if name != "bore" else OUT_RAD, chance.uniform(0.5, 1.5))
    closings: list[tuple[float, float]] = []
    change_s = math.inf
    for number in range(passes if few is None else few):
        if trouble == "part-exchanged" and number == EXCHANGED_AFTER:
            _leave(name, path, chance)
            change_s = path.end_s
        begin_s = path.end_s
        _pass(name, path, chance, chords=trouble == "chords-only")
        closings.append((begin_s + 0.7, path.end_s - 0.9))
    _leave(name, path, chance)
    end_s = path.end_s + chance.uniform(0.5, 6.0)
    sign = chance.choice((-1.0, 1.0))
    step_mm, drift_mm = sign * chance.uniform(0.02, 0.12), sign * chance.uniform(0.02, 0.05)
    if trouble == "drift":
        return _Story(path, closings, lambda t: size_mm + drift_mm * t / end_s, end_s)
    return _Story(path, closings, lambda t: size_mm + (step_mm if t >= change_s else 0.0), end_s)


def _dwell(chance: random.Random) -> float:
    return min(chance.lognormvariate(-1.2, 0.5), 1.5)


def _pass(name: str, path: Strokes, chance: random.Random, *, chords: bool) -> None:
    """One pass: over the crest, in to it and out, one closing, or one rock."""
    here = path(path.end_s)
    side = math.copysign(1.0, here)
    if name == "bore":
        _rock(path, here, chance, chords=chords)
        return
    if name == "to-and-fro":
        far = chance.uniform(5.0, 9.0)
        if chords:
            path.to(side * (FACE_MM + chance.uniform(0.8, 3.0)), chance.uniform(0.5, 1.0))
            path.to(side * (FACE_MM + chance.uniform(4.0, 6.0)), chance.uniform(0.5, 1.0))
        else:
            path.to(-side * far, (abs(here) + far) / chance.uniform(5.5, 10.0))
            path.to(-side * far, _dwell(chance))
        return
    inner = side * (FACE_MM + chance.uniform(0.8, 4.0)) if chords else chance.uniform(-2.0, 2.0)
    path.to(inner, chance.uniform(0.5, 0.7))
    held_s = _dwell(chance) + (3.6 if name == "screw" else 0.5)
    path.to(inner + chance.uniform(-0.5, 0.5), held_s)
    if name == "in-and-out":
        path.to(side * OUT_MM, chance.uniform(0.5, 1.0))
        path.to(side * OUT_MM, _dwell(chance))


def _rock(path: Strokes, here: float, chance: random.Random, *, chords: bool) -> None:
    side = math.copysign(1.0, here)
    if chords:
        path.to(side * math.radians(chance.uniform(1.5, 3.5)), chance.uniform(0.5, 1.0))
        path.to(side * math.radians(chance.uniform(5.0, 7.0)), chance.uniform(0.5, 1.0))
        return
    there = -side * math.radians(chance.uniform(3.0, 6.5))
    path.to(there, abs(there - here) / math.radians(chance.uniform(7.0, 12.0)))


def _leave(name: str, path: Strokes, chance: random.Random) -> None:
    out = OUT_RAD if name == "bore" else OUT_MM
    path.to(math.copysign(out, path(path.end_s)), chance.uniform(0.6, 1.1))
    path.to(path(path.end_s), chance.uniform(0.3, 1.5))


def _opening(
    name: str, story: _Story, size_mm: float, chance: random.Random
) -> Callable[[float], float]:
    """What stands between the gauge's contacts at a time."""
    if name == "bore":
        return _bore_opening(story, size_mm, chance)
    tilt = trembling(math.radians(chance.uniform(0.1, 0.2)) / math.sqrt(2.0), chance)
    aside = trembling(0.08, chance)
    profile_mm = chance.choice((math.inf, chance.uniform(1_500.0, 15_000.0)))

    def touch(t_s: float) -> float | None:
        size, offset = story.size_mm(t_s), story.path(t_s) + aside(t_s)
        return disc_width_mm(size, profile_mm, offset, tilt(t_s), FACE_MM)

    if name == "screw":
        return _screw_opening(story, touch, size_mm, chance)
    rest_mm = size_mm - chance.uniform(0.5, 2.0)
    return lambda t: max(touch(t) or 0.0, rest_mm)


def _bore_opening(story: _Story, size_mm: float, chance: random.Random) -> Callable[[float], float]:
    wobble = trembling(math.radians(0.05), chance)
    aside = trembling(0.04, chance)
    free_mm, tip_mm = size_mm + chance.uniform(0.5, 1.2), chance.uniform(1.0, 3.0)

    def opening(t_s: float) -> float:
        half = math.sqrt((story.size_mm(t_s) / 2.0) ** 2 - aside(t_s) ** 2)
        tilt = story.path(t_s) + wobble(t_s)
        return min((2.0 * half - 2.0 * tip_mm) / math.cos(tilt) + 2.0 * tip_mm, free_mm)

    return opening


def _screw_opening(
    story: _Story,
    touch: Callable[[float], float | None],
    size_mm: float,
    chance: random.Random,
) -> Callable[[float], float]:
    """Wound down more and more slowly while the part is in the faces, wound up when it leaves."""
    begin_speed, lift = chance.uniform(1.2, 2.0), chance.uniform(0.5, 0.8)

    def winding(t_s: float) -> float:
        for begin_s, end_s in story.closings:
            if begin_s <= t_s <= end_s:
                return -max(begin_speed * math.exp(-1.6 * (t_s - begin_s)), 0.15)
            if end_s < t_s < end_s + 0.8:
                return lift
        return 0.0

    return settled(touch, winding, size_mm + chance.uniform(0.3, 0.6), story.end_s)
