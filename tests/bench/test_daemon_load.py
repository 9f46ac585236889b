"""64 gauges at ten readings a second on ttys into one daemon: no reading lost or doubled.

Run with `pytest -m long tests/bench/test_daemon_load.py -s`; LOAD_SECONDS (600) and LOAD_GAUGES
(64) change it.
"""

import os

import pytest

from tests.bench.daemon_load import study

SECONDS = float(os.environ.get("LOAD_SECONDS", "600"))
GAUGES = int(os.environ.get("LOAD_GAUGES", "64"))


@pytest.mark.system
@pytest.mark.long
@pytest.mark.timeout(SECONDS + 300)
def test_a_bench_full_of_gauges_loses_and_doubles_nothing():
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    assert study(GAUGES, rate_hz=10.0, seconds=SECONDS) == []
