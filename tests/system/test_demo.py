"""The demonstration from outside: one command, everything real but the cables' far ends."""

import json
import os
import signal
import subprocess
import tempfile
from pathlib import Path

import pytest

from tests.system.bench_rig import PYTHON, Child, ending, family_of, wait_for_end
from tests.system.patience import PATIENCE_S

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow]

ERROR_UM_MAX = 5.0
"""Generous: on a machine that does much else readings come late, and a bore's rocks blur."""
FEATURES = 28
"""Four skirts that are swept (one is lost by eye, one comes from the shelf), and every bore."""


class Demo(Child):
    """`barrelfit demo --headless --json`, its session files in a folder of the test's."""

    def __init__(self, folder: Path, *options: str) -> None:
        environment = {**os.environ, "TMPDIR": str(folder)}
        command = (PYTHON, "-m", "barrelfit.acquire", "demo", "--headless", "--json", *options)
        super().__init__(*command, env=environment)


@pytest.fixture
def folder():
    with tempfile.TemporaryDirectory(prefix="demo-") as name:
        yield Path(name)


@pytest.mark.timeout(300)
def test_a_whole_set_from_the_first_piston_to_the_last_barrel(folder):
    demo = Demo(folder, "--speed", "10")
    with ending(demo):
        assert demo.wait(270) == 0
        said = [json.loads(text) for text in demo.lines.texts()]
    assert demo.errors.texts() == []
    swept = [m for m in said if m["kind"] == "size" and m["truth_mm"] is not None]
    sizes = [m for m in swept if m["at"].split("/")[1] in {"skirt", "bore"}]
    assert len({size["at"] for size in sizes}) == FEATURES
    for size in sizes:
        assert abs(size["error_um"]) <= ERROR_UM_MAX, size
        low, high = map(float, size["interval95_mm"])
        assert low < float(size["size_mm"]) < high
    first_of = {message["at"]: said.index(message) for message in reversed(sizes)}
    assert "P3/skirt" not in first_of  # it failed by eye
    facts = {(m["at"], m["value"]): m for m in said if m["kind"] == "fact"}
    assert facts["P3/looked", "scored-skirt"]["by"] == "board"
    assert facts["P5/looked", "good"]["by"] == "pedal"
    assert said.index(facts["P5/group_stamp", "I"]) < said.index(facts["P5/group_stamp", "II"])
    assert ("P5/id", "piston replaces P3") in facts
    assert facts["P5/feeler/top/0.12 new", "out, out, out, out"]["by"] == "pedal"
    assert ("P5/mass_g", "512.4") in facts
    pairing = [m for m in said if m["kind"] == "pairing"][-1]
    assert "P5" in {pair["piston"] for pair in pairing["pairs"]}
    assert said.index(sizes[0]) < next(
        n for n, m in enumerate(said) if m["kind"] in {"refused", "interrupted"}
    )
    for at in ("P2/skirt", "P4/skirt"):  # left early; another part came into the gauge
        told = [m for m in said if m["kind"] in {"refused", "interrupted"} and m["at"] == at]
        assert said.index(told[0]) < first_of[at]
        assert all(m.get("advice") or m["passes"] < m["least"] for m in told)
    verdicts = {m["about"]: m for m in said if m["kind"] == "verdict"}
    assert {"P1", "P2", "P3", "P4", "B1", "B2", "B3", "B4"} <= set(verdicts)
    assert all(verdict["reasons"] for verdict in verdicts.values())
    session = next(message for message in said if message["kind"] == "session")
    assert said[-1]["kind"] == "set_done"
    verified = subprocess.run(  # noqa: S603
        [PYTHON, "-m", "barrelfit.acquire", "verify", session["file"]],
        capture_output=True,
        text=True,
        check=False,
    )
    assert verified.returncode == 0, verified.stdout


@pytest.mark.timeout(300)
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_two_benches_work_side_by_side_and_ctrl_c_ends_all_of_it(folder, number):
    demo = Demo(folder, "--speed", "10", "--benches", "2")
    with ending(demo):
        for bench in ("bench-1", "bench-2"):
            demo.told("session", bench=bench)
            demo.told("gauge_changed", bench=bench, state="answering")
            if number == signal.SIGINT:  # one way to end is tried in the middle of the work
                demo.told("size", bench=bench)
        family = family_of(demo.pid)
        assert len(family) >= 7  # a broker; and a daemon, its rules and a simulator a bench
        demo.signal(number)
        assert demo.wait() == 0
        wait_for_end(family)
    assert demo.errors.texts() == []


@pytest.mark.timeout(300)
def test_kill_9_of_the_demonstration_leaves_no_process(folder):
    demo = Demo(folder, "--speed", "10")
    with ending(demo):
        demo.told("gauge_changed", state="answering")
        family = family_of(demo.pid)
        demo.kill()
        wait_for_end(family)


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (("--benches", "0"), "--benches 0: 1 to 8 can be played"),
        (("--speed", "0"), "--speed 0: a number above 0"),
        (("--speed", "inf"), "--speed inf: a number above 0"),
    ],
)
def test_what_can_not_be_played_is_refused_in_a_sentence(options, wanted):
    found = subprocess.run(  # noqa: S603
        [PYTHON, "-m", "barrelfit.acquire", "demo", "--headless", *options],
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )
    assert found.returncode == 2
    assert wanted in found.stderr
    assert "Traceback" not in found.stderr
