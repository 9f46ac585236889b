"""Clearances drawn: everything stands where its number is, and nothing in something else."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.report.blocks import FAINT, INK, TONES, Box, Dot, Label, Path
from barrelfit.acquire.report.clearance_drawing import (
    EDGE,
    ROWS_MOST,
    WIDTH,
    ClearanceDrawn,
    PairDrawn,
    clearance_drawings,
    scale_of,
    ticks_of,
)
from barrelfit.rules.manner import Manner

MM, INCH = Manner(), Manner("inch", comma=True)
LOW, HIGH = 45_000, 180_000


def pair(tight=70_000, loose=82_000, name="1: P1 in B1", verdict="serviceable", **more):
    half, guard = more.get("half", 3_000), more.get("guard", 2_500)
    ends = (
        ClearanceDrawn(tight, half, more.get("low", LOW), guard),
        ClearanceDrawn(loose, half, more.get("high", HIGH), guard),
    )
    figures = f"{tight / 1e6:.4f} … {loose / 1e6:.4f} mm"
    return PairDrawn(name, figures, ends, verdict, verdict.upper())


MISSING = PairDrawn("2: P2 in B2", "no clearance yet", None, "undecided", "UNDECIDED")


def strokes(pairs, kind, manner=MM):
    return [s for one in clearance_drawings(pairs, manner) for s in one.strokes if type(s) is kind]


def dot_squares(pairs):
    """The places of smallest clearances, and of the largest."""
    dots = [s.at[0] for s in strokes(pairs, Dot) if s.fill == INK]
    squares = [s.at[0] + s.width / 2 for s in strokes(pairs, Box) if s.width == s.height]
    return dots, squares


def limits(pairs):
    return [s.points[0][0] for s in strokes(pairs, Path) if s.dashed]


def read_off(x, pairs):
    """What a ruler would read there, by the two limits of the first row."""
    low, high, *_ = limits(pairs)
    return LOW + (x - low) / (high - low) * (HIGH - LOW)


def test_points_stand_where_their_numbers_are_between_the_limits():
    pairs = [pair(), pair(50_000, 175_500, "2: P2 in B2", "undecided")]
    dots, squares = dot_squares(pairs)
    assert [read_off(x, pairs) for x in dots] == pytest.approx([70_000, 50_000])
    assert [read_off(x, pairs) for x in squares] == pytest.approx([82_000, 175_500])


def test_whiskers_reach_as_far_as_the_interval():
    pairs = [pair(half=7_000)]
    flat = [s for s in strokes(pairs, Path) if s.width == 1.4 and s.points[0][1] == s.points[1][1]]
    reach = [[read_off(x, pairs) for x, _ in s.points] for s in flat]
    assert reach[0] == pytest.approx([63_000, 77_000])
    assert reach[1] == pytest.approx([75_000, 89_000])


def test_the_guard_band_is_hatched_at_both_sides_of_each_limit_and_no_further():
    pairs = [pair(guard=4_000)]
    faint = [s for s in strokes(pairs, Path) if s.stroke == FAINT]
    places = sorted(read_off(x, pairs) for s in faint for x, _ in s.points)
    near_low = [nm for nm in places if nm < 100_000]
    near_high = [nm for nm in places if nm > 100_000]
    assert (near_low[0], near_low[-1]) == pytest.approx((41_000, 49_000))
    assert (near_high[0], near_high[-1]) == pytest.approx((176_000, 184_000))


def test_an_undecided_clearance_stands_in_the_hatched_band():
    """ISO 14253-1, as the README tells it: within 1.65 u of a limit nothing is decided."""
    u_nm = 1_000
    pairs = [pair(tight=LOW + 1_600, half=1_960, guard=1_650, verdict="undecided")]
    faint = [x for s in strokes(pairs, Path) if s.stroke == FAINT for x, _ in s.points]
    [dot], _ = dot_squares(pairs)
    band = [x for x in faint if read_off(x, pairs) < 100_000]
    assert min(band) < dot < max(band)
    outside = [pair(tight=LOW + round(1.7 * u_nm), half=1_960, guard=1_650)]
    [dot], _ = dot_squares(outside)
    assert dot > max(x for x in band)


def test_a_pair_without_a_clearance_has_a_row_and_no_point():
    pairs = [pair(), MISSING]
    dots, squares = dot_squares(pairs)
    assert (len(dots), len(squares)) == (1, 1)
    words = [s.text for s in strokes(pairs, Label)]
    assert {"2: P2 in B2", "no clearance yet", "UNDECIDED"} <= set(words)
    [only] = clearance_drawings([MISSING], MM)
    assert only.height > 0


def test_a_pair_without_a_limit_has_none_drawn():
    assert len(limits([pair(low=None)])) == 1
    assert limits([pair(low=None, high=None)]) == []


def test_a_limit_of_its_own_is_told_where_it_begins():
    """A stamp on a piston may allow another smallest clearance than the sheet."""
    pairs = [pair(), pair(name="2: P2 in B2"), pair(low=60_000, name="3: P3 in B3")]
    words = [s.text for s in strokes(pairs, Label) if "allowed" in s.text]
    assert words == [
        "smallest allowed 45 µm",
        "largest allowed 180 µm",
        "smallest allowed 60 µm",
        "largest allowed 180 µm",
    ]


def test_a_verdict_is_told_by_word_and_shape():
    for verdict, tone in TONES.items():
        drawn = [pair(verdict=verdict)]
        assert verdict.upper() in [s.text for s in strokes(drawn, Label)]
        fills = [getattr(s, "fill", "") or getattr(s, "stroke", "") for s in
                 (*strokes(drawn, Dot), *strokes(drawn, Path))]  # fmt: skip
        assert tone in fills


@pytest.mark.parametrize("manner", [MM, INCH], ids=["mm", "inch"])
def test_the_axis_has_round_lengths_at_their_places(manner):
    pairs = [pair()]
    scale = scale_of(pairs)
    unit = 1_000 if manner is MM else 2_540  # a ten-thousandth of an inch is 2.54 µm
    ticks = ticks_of(scale, manner)
    assert 2 <= len(ticks) <= 6
    assert all(nm % unit == 0 for nm in ticks)
    assert 0 in ticks
    drawn = strokes(pairs, Label, manner)
    sign = "µm" if manner is MM else "ten-thou"
    texts = [s.text for s in drawn if s.text.endswith(sign) and "allowed" not in s.text]
    assert len(texts) == len(ticks)
    assert all("." not in text for text in texts if manner is INCH)


def apart(drawing):
    """No word stands in another, by how wide letters may be, nor outside of the drawing."""
    lines = {}
    for label in (s for s in drawing.strokes if isinstance(s, Label)):
        wide = len(label.text) * label.size * 0.7
        left = label.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[label.anchor]
        assert left >= -0.01, label
        assert left + wide <= drawing.width + 0.01, label
        assert 0 < label.at[1] <= drawing.height
        lines.setdefault(label.at[1], []).append((left, left + wide))
    for spans in lines.values():
        assert all(a[1] <= b[0] + 0.01 for a, b in pairwise(sorted(spans)))


LENGTHS = st.integers(-400_000, 2_000_000)
NAMES = st.text("PB0123456789-+ in", min_size=1, max_size=64)


@given(
    st.lists(st.tuples(LENGTHS, LENGTHS, NAMES, st.sampled_from([LOW, 60_000, None])), max_size=25)
)
def test_nothing_is_cut_or_written_over_something_else(rows):
    pairs = [pair(min(a, b), max(a, b), name, low=low) for a, b, name, low in rows]
    for manner in (MM, INCH):
        drawings = clearance_drawings([*pairs, MISSING], manner)
        assert len(drawings) == -(-(len(pairs) + 1) // ROWS_MOST)
        for drawing in drawings:
            assert drawing.width == WIDTH
            assert drawing.height < 660  # a letter page without its margins has about 680 points
            apart(drawing)
            for s in drawing.strokes:
                for x, y in s.points if isinstance(s, Path) else (s.at,):
                    assert EDGE - 7 <= x <= WIDTH
                    assert -0.01 <= y <= drawing.height
