"""A short round of the kill study: see `kill_study` for the promises it checks."""

import pytest

from tests.system.kill_study import study


@pytest.mark.system
@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_killed_daemon_loses_nothing_it_confirmed():
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    found = study(kills=6, seed=20261125, per_session=6)
    assert found.faults == []
    assert found.kills == 6
    assert found.heard_on_bus > 100
    assert found.journaled_numbers > 100


@pytest.mark.system
@pytest.mark.long
@pytest.mark.timeout(7200)
def test_a_thousand_kills_lose_nothing():
    pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")
    assert study(kills=1000, seed=7, per_session=50).faults == []
