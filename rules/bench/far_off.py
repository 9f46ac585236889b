"""A gauge that reads far from what it is on, told within two seconds of the contact, by a code.

    zeroed           it stands near 0: set to zero on a part or a ring
    inches           what it reads would be right in inches
    another-feature  it reads like something else of this set: on another part?
    far              it reads far away, and nothing explains it
    another-gauge    another gauge than the one that is asked for is being swept

What comes of the sweep is no size where it is as far away (see `rules.judge.entry`).
"""

from typing import Final

from barrelfit.rules.bench.phases import Armed
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.engine.expectation import FAR_NM, Expected
from barrelfit.rules.events import FarOff, Reading
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.model import FeatureId
from barrelfit.rules.sweep import PassFound
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.stream import sweep_of

TELL_NS: Final = 1_500_000_000  # after the contact: by then a hand has been over the crest
FLANK_NM: Final = 5_000_000  # a hand that rests on the flank reads no further away
ALIKE_NM: Final = 500_000
ZERO_SHARE: Final = 20  # of the length expected; nearer to 0 is zeroed
INCH_SHARE: Final = 16
STRAY_PASSES: Final = 2


def far_reading(bench: Bench, armed: Armed, event: Reading) -> tuple[FarOff, ...]:
    """Tell when every reading since the contact is far from what is asked for."""
    contact_ns = armed.contact_ns
    if armed.told or contact_ns is None:
        return ()
    expected = _expected(bench, armed)
    if expected is None:
        return ()
    away_nm = int(expected.away_nm(event.length_nm))
    if armed.nearest is None or away_nm < armed.nearest[0]:
        armed.nearest = (away_nm, event.length_nm)
    if event.t_ns - contact_ns < TELL_NS:
        return ()
    nearest_nm, read_nm = armed.nearest
    return _told(bench, armed, read_nm) if nearest_nm > FLANK_NM else ()


def far_pass(bench: Bench, armed: Armed, note: PassFound) -> tuple[FarOff, ...]:
    """Tell when a pass over the crest is far from what is asked for."""
    expected = None if armed.told else _expected(bench, armed)
    if expected is None or expected.away_nm(note.size_nm) <= FAR_NM:
        return ()
    return _told(bench, armed, note.size_nm)


def far_press(bench: Bench, armed: Armed, event: Reading) -> tuple[FarOff, ...]:
    """Tell that a press is far from what is asked for: it is none of this part's, and counts not.

    Of a gauge that sends only on its button each press stands for itself: one of a gauge that was
    set to zero, or that closed on nothing, says nothing of those before and after it.
    """
    by_press = entry_of(armed.gauge.traits.movement).by_press
    expected = _expected(bench, armed) if by_press else None
    if expected is None or expected.away_nm(event.length_nm) <= FAR_NM:
        return ()
    return _told(bench, armed, event.length_nm)


def stray(bench: Bench, armed: Armed, event: Reading) -> tuple[FarOff, ...]:
    """Tell when another gauge is swept while the one that is asked for is not."""
    gauge = bench.setup.gauges.get(event.gauge)
    if gauge is None or armed.told or armed.touched:
        return ()
    sweep = armed.strays.setdefault(event.gauge, sweep_of(gauge.traits))
    sweep.push(event.t_ns, event.length_nm)
    if sweep.passes < STRAY_PASSES:
        return ()
    armed.told = True
    expected_nm = _about_nm(expected_at(bench.evidence, armed.ask.at))
    return (FarOff(armed.ask.at, event.gauge, "another-gauge", event.length_nm, expected_nm),)


def _expected(bench: Bench, armed: Armed) -> Expected | None:
    """Where the length should lie; None where nothing says, or it may be anything."""
    if armed.expected is None:
        armed.expected = expected_at(bench.evidence, armed.ask.at)
    return armed.expected if _about_nm(armed.expected) else None


def _about_nm(expected: Expected) -> int:
    return expected.near_nm or expected.low_nm or expected.high_nm or 0


def _told(bench: Bench, armed: Armed, read_nm: int) -> tuple[FarOff, ...]:
    armed.told = True
    about_nm, like = _about_nm(expected_at(bench.evidence, armed.ask.at)), None
    if abs(read_nm) * ZERO_SHARE <= about_nm:
        inch_nm = read_nm * NM_PER_UNIT["inch"] // NM_PER_UNIT["mm"]
        is_inch = abs(inch_nm - about_nm) * INCH_SHARE <= about_nm
        code = "inches" if is_inch else "zeroed"
    else:
        like = _like(bench, armed.ask.at, read_nm)
        code = "another-feature" if like else "far"
    return (FarOff(armed.ask.at, armed.gauge.name, code, read_nm, about_nm, like),)


def _like(bench: Bench, at: FeatureId, read_nm: int) -> FeatureId | None:
    """What else of the plan it would be."""
    others = (p.at for p in bench.plan if p.at.feature != at.feature and p.gauge_kind != "hand")
    for other in others:
        about_nm = _about_nm(expected_at(bench.evidence, other))
        if about_nm and abs(about_nm - read_nm) <= ALIKE_NM:
            return other
    return None
