"""A newcomer's path: an unknown gauge at 4800 7E2, identified, a bench file, a run, a verdict.

The gauge is only understood at its own rate, and its parity arrives in bit 7. The limit is two
minutes of commands; the machinist's sweep alone takes some fifteen seconds of it.
"""

import json
import os
import signal
import subprocess
import sys
import termios
import threading
import time

import pytest

from barrelfit.simulators.trace import make_trace
from tests.acquire.rated_gauge import RatedGauge, seven_even

LIMIT_S = 120
DOWN = 70  # for so many readings the gauge stands at its stop, without a part


def sweeps():
    """Lines of a skirt swept, put down and swept again, as a gauge of fixed width writes them."""
    for seed in (1, 3, 5, 7):
        trace = make_trace("to-and-fro", 20.0, seed, size_mm=84.0, bounce_share=0.0)
        for length_nm in (*trace.readings_nm, *[min(trace.readings_nm)] * DOWN):
            yield seven_even(b"RNM  %7.3f\r\n" % (length_nm / 1e6))


def barrelfit(*arguments):
    return [sys.executable, "-m", "barrelfit.acquire", *arguments]


@pytest.mark.system
@pytest.mark.slow
@pytest.mark.timeout(300)
def test_from_an_unknown_gauge_to_a_verdict_in_two_minutes(tmp_path):
    bench = tmp_path / "bench.toml"
    begun = time.monotonic()
    with RatedGauge(list(sweeps()), termios.B4800, every_s=0.05) as gauge:
        command = barrelfit("identify", gauge.port, "--bench", str(bench))
        said = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
        assert said.returncode == 0, said.stdout + said.stderr
        assert "fits: header-unit-letter-padded at 4800 7E" in said.stdout
        assert gauge.requests == b""
        text = bench.read_text().replace("sheet =", f'sessions = "{tmp_path}/kept"\nsheet =', 1)
        bench.write_text(text)
        verdict = run_until_verdict(bench, LIMIT_S - (time.monotonic() - begun))
    assert verdict == "discard"  # a skirt of 84.0 mm in an engine of 85 mm


def run_until_verdict(bench, seconds):
    """The first verdict on P1 that rests on a size."""
    command = barrelfit("run", str(bench), "--json")
    process = subprocess.Popen(command, stdout=subprocess.PIPE, start_new_session=True)  # noqa: S603
    timer = threading.Timer(seconds, os.killpg, (process.pid, signal.SIGTERM))
    timer.start()
    try:
        for line in process.stdout:
            message = json.loads(line)
            data = message.get("data", {})
            judged = message.get("kind") == "judged" and data["about"] == "P1"
            if judged and data["verdict"] != "undecided":
                return data["verdict"]
        return "none in time"
    finally:
        timer.cancel()
        process.terminate()
        process.stdout.close()
        process.wait(20)
