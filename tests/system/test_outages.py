"""Whatever helps a bench goes away, at any moment: recording goes on, all is told and made good."""

import contextlib
import json
import os
import random
import signal
import time
from pathlib import Path

import pytest

from tests.system.bench_rig import (
    PYTHON,
    Child,
    Daemon,
    FarEnd,
    bench_text,
    ending,
    family_of,
    gauge_text,
    wait_for_end,
)
from tests.system.board_rig import wait_for
from tests.system.ports import free_port

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow]

MOMENTS = 6


def stand(folder: Path, more: str = "") -> Path:
    file = folder / "bench.toml"
    text = bench_text(folder, free_port(), gauge_text("micrometer", folder / "gauge"), more)
    file.write_text(text)
    return file


def lengths(journal: str) -> list[int]:
    found = (json.loads(line) for line in Path(journal).read_text().splitlines())
    return [r["data"]["length_nm"] for r in found if r["kind"] == "reading_taken"]


def kinds(journal: str) -> list[tuple[str, str, str]]:
    found = [json.loads(line) for line in Path(journal).read_text().splitlines()]
    return [
        (r["kind"], r["data"]["service"], r["data"]["state"])
        for r in found
        if r["kind"] == "service_changed"
    ]


@pytest.mark.timeout(120)
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_told_to_end_at_any_moment_it_ends_without_an_error(tmp_path, number):
    chance = random.Random(int(number))  # noqa: S311
    file = stand(tmp_path)
    far = FarEnd(tmp_path / "gauge")
    with ending(far):
        for _ in range(MOMENTS):
            daemon = Daemon(file)
            with ending(daemon):
                time.sleep(chance.uniform(0.1, 3.0))
                family = family_of(daemon.pid)
                daemon.signal(number)
                code = daemon.wait(20.0)
                wait_for_end(family)
            assert code in {0, -number, 130}, daemon.errors.texts()
            assert daemon.errors.texts() == []


@pytest.mark.timeout(120)
@pytest.mark.parametrize("service", ["bus", "rules"])
def test_a_stopped_helper_is_told_and_made_good_and_no_reading_waits(tmp_path, service):
    file = stand(tmp_path)
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    with ending(far, daemon):
        ready = daemon.ready()
        daemon.told("asked")
        daemon.told("gauge_changed", state="answering")
        child = daemon.child({"bus": "iotcore", "rules": "bench.rules_service"}[service])
        os.kill(child, signal.SIGSTOP)
        before = len(lengths(ready["journal"]))
        try:
            daemon.told("service_changed", 30.0, service=service, state="away")
        finally:
            with contextlib.suppress(ProcessLookupError):  # it was ended and started anew
                os.kill(child, signal.SIGCONT)
        assert len(lengths(ready["journal"])) > before + 20
        daemon.told("service_changed", 30.0, service=service, state="running")
        assert daemon.end() == 0
    numbers = lengths(ready["journal"])
    assert numbers == list(range(numbers[0], numbers[-1] + 1000, 1000))
    assert kinds(ready["journal"]) == [
        ("service_changed", service, "away"),
        ("service_changed", service, "running"),
    ]


@pytest.mark.timeout(120)
def test_with_a_board_recording_comes_first_and_a_killed_board_comes_back(tmp_path):
    file = stand(tmp_path)
    far = FarEnd(tmp_path / "gauge")
    daemon = Daemon(file, "--board", "--board-port", str(free_port()))
    with ending(far, daemon):
        ready = daemon.ready()
        wait_for(lambda: lengths(ready["journal"]), "a reading before the board is there")
        board = daemon.child("barrelfit.dashboard")
        daemon.told("board", 60.0)
        os.kill(board, signal.SIGKILL)
        daemon.told("service_changed", 30.0, service="board", state="away")
        daemon.told("service_changed", 60.0, service="board", state="running")
        family = family_of(daemon.pid)
        assert daemon.end() == 0
        wait_for_end(family)


@pytest.mark.timeout(90)
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGKILL])
def test_the_board_on_its_own_leaves_no_child_behind(tmp_path, number):
    options = ("--sessions", str(tmp_path), "--port", str(free_port()))
    board = Child(PYTHON, "-m", "barrelfit.acquire", "board", *options)
    with ending(board):
        board.lines.find(lambda line: '"board"' in line, 60.0)
        family = family_of(board.pid)
        assert family
        board.signal(number)
        assert board.wait(20.0) == (0 if number == signal.SIGTERM else -signal.SIGKILL)
        wait_for_end(family)
