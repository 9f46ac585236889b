"""Something goes away while the hand sweeps on: no pass counts for what nobody had been asked for.

The hand sees what a board shows, over the bus: during an outage it is told nothing, puts the part
down after a while and sweeps the same one again.
"""

import os
import signal
import time

import pytest

from tests.system.played_bench import played, stopped_for

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

SLOWER = 3.0
"""A board is back two or three seconds after a hung bus: at ten times life long enough for a hand
to sweep a whole part blindly, which no hand does in life."""


def test_the_broker_is_killed(tmp_path):
    with played(tmp_path, 1) as bench:
        bench.until_passes("P1", 3)
        os.kill(bench.daemon.child("iotcore"), signal.SIGKILL)
        bench.until_sized(2)
        bench.check()


def test_the_rules_service_is_stopped(tmp_path):
    with played(tmp_path, 2) as bench:
        bench.until_passes("P1", 3)
        stopped_for(bench.daemon.child("bench.rules_service"), 3.0)  # 30 s of the session
        bench.until_sized(2)
        bench.check()


def test_the_daemon_is_killed(tmp_path):
    with played(tmp_path, 3) as bench:
        bench.until_passes("P1", 3)
        bench.daemon.kill()
        bench.start().ready()
        bench.until_sized(2)
        bench.check()


@pytest.mark.long
def test_the_broker_is_stopped(tmp_path):
    with played(tmp_path, 4, speed=SLOWER) as bench:
        bench.until_passes("P1", 3)
        stopped_for(bench.daemon.child("iotcore"), 12.0)
        bench.until_sized(2)
        bench.check()


@pytest.mark.long
def test_the_link_is_cut(tmp_path):
    with played(tmp_path, 5, alone=True, speed=SLOWER) as bench:
        bench.until_passes("P1", 3)
        bench.link("down")
        time.sleep(10.0)
        bench.link("up")
        bench.until_sized(2)
        bench.check()


@pytest.mark.long
def test_the_rules_service_is_stopped_for_long(tmp_path):
    with played(tmp_path, 6) as bench:
        bench.until_passes("P1", 3)
        stopped_for(bench.daemon.child("bench.rules_service"), 30.0)
        bench.until_sized(2)
        bench.check()


@pytest.mark.long
def test_the_daemon_is_killed_again_and_again(tmp_path):
    with played(tmp_path, 7) as bench:
        bench.until_passes("P1", 2)
        bench.daemon.kill()
        bench.start().ready()
        bench.until_sized(1)  # what follows is asked for, and may have been seen by nobody
        bench.daemon.kill()
        bench.start().ready()
        bench.until_passes("P2", 2)
        bench.daemon.kill()
        bench.start().ready()
        bench.until_sized(2)
        bench.check()


@pytest.mark.long
def test_the_broker_is_killed_again_and_again(tmp_path):
    with played(tmp_path, 8) as bench:
        bench.until_passes("P1", 3)
        for _ in range(6):
            os.kill(bench.daemon.child("iotcore"), signal.SIGKILL)
            time.sleep(1.5)  # of fifteen seconds some are blind
        bench.until_sized(2)
        bench.check()
