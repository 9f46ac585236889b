"""A port that never stops sending is read with rests; a gauge never is."""

import pytest

from barrelfit.acquire.wires.pace import BYTES_MAX, READS_MAX, REST_S, WINDOW_NS, Pace


@pytest.mark.parametrize(("every_us", "size"), [(20_000, 12), (2_083, 1), (500_000, 4096)])
def test_a_gauge_is_read_whenever_it_sends(every_us, size):
    pace = Pace()
    assert {pace.took(n * every_us * 1000, size) for n in range(10_000)} == {0.0}


@pytest.mark.parametrize(("every_us", "size"), [(2, 2), (100, 512)])
def test_a_flood_rests_between_some_reads(every_us, size):
    pace = Pace()
    rests = [pace.took(n * every_us * 1000, size) for n in range(1000)]
    assert rests.count(REST_S) == 1000 // min(READS_MAX + 1, BYTES_MAX // size + 1)
    assert 1000 * every_us * 1000 <= WINDOW_NS
