"""What a gauge holds while nothing counts is known by what it read last."""

import math

from barrelfit.rules.bench.phases import RecentCrest, Watch
from tests.rules.step_rig import BORE, Hand

MS, MM = 1_000_000, 1_000_000
CREST_MM, RISE_MM = 85.03, 0.45
INCH_MM = 25.4


def rocked(watch: Watch, begin_s: float, end_s: float, scale: float = 1.0) -> None:
    """The gauge is rocked once in three seconds, twice over the crest."""
    for step in range(round(begin_s * 20), round(end_s * 20)):
        mm = CREST_MM + RISE_MM * abs(math.sin(math.pi * step / 30))
        watch.push(step * 50 * MS, round(mm / scale * MM))


def test_a_gauge_that_read_inches_a_while_ago_holds_what_it_reads_now():
    watch = Watch(Hand(3).bench.setup.gauges[BORE])
    rocked(watch, 0.0, 6.0, INCH_MM)
    rocked(watch, 6.0, 20.0)
    hold = watch.hold
    assert hold is not None
    assert abs(hold.stays.about_nm - CREST_MM * MM) < 0.02 * MM


def test_what_is_nearest_is_of_five_seconds_at_least_and_ten_at_most():
    crest = RecentCrest(Hand(3).bench.setup.gauges[BORE])
    assert crest.nm == 0
    near = dict.fromkeys((0, 1), 80 * MM)  # two readings: one alone may be a bounce
    seen = []
    for second in range(20):
        crest.push(second * 1_000 * MS, near.get(second, 85 * MM))
        seen.append(crest.nm == 80 * MM)
    assert seen[2:6] == [True] * 4
    assert seen[11:] == [False] * 9
