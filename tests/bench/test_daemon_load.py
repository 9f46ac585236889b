"""64 gauges at ten readings a second into one daemon: no reading lost or doubled."""

import pytest

from tests.bench.daemon_load import study


@pytest.mark.system
@pytest.mark.long
@pytest.mark.timeout(300)
def test_sixty_four_gauges_lose_and_double_nothing():
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    assert study(gauges=64, rate_hz=10.0, seconds=60.0) == []
