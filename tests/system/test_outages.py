"""Whatever helps a bench goes away, at any moment: recording goes on, all is told and made good."""

import contextlib
import json
import os
import random
import signal
import time
from pathlib import Path
from typing import Any

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
MEANWHILE_NM = 20_000
"""A second of readings: the bus and the rules are away for five and more."""


def stand(folder: Path, more: str = "") -> Path:
    file = folder / "bench.toml"
    text = bench_text(folder, free_port(), gauge_text("micrometer", folder / "gauge"), more)
    file.write_text(text)
    return file


def whole_records(journal: str) -> list[dict[str, Any]]:
    lines = Path(journal).read_text().splitlines(keepends=True)
    return [json.loads(line) for line in lines if line.endswith("\n")]


def lengths(journal: str, before: int | None = None) -> list[int]:
    """The lengths on disk, of records before a place; the gauge counts up by a micrometre."""
    found = whole_records(journal)[:before]
    return [r["data"]["length_nm"] for r in found if r["kind"] == "reading_taken"]


def place_of(journal: str, service: str, state: str) -> int:
    """The place of the record that tells of a service."""
    told = [
        place
        for place, r in enumerate(whole_records(journal))
        if r["kind"] == "service_changed" and r["data"]["service"] == service
        if r["data"]["state"] == state
    ]
    return told[-1]


def kinds(journal: str) -> list[tuple[str, str, str]]:
    return [
        (r["kind"], r["data"]["service"], r["data"]["state"])
        for r in whole_records(journal)
        if r["kind"] == "service_changed"
    ]


@pytest.mark.timeout(300)
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
                code = daemon.wait()
                wait_for_end(family)
            assert code in {0, -number, 130}, daemon.errors.texts()
            assert daemon.errors.texts() == []


@pytest.mark.timeout(300)
@pytest.mark.parametrize("service", ["bus", "rules"])
def test_a_stopped_helper_is_told_and_made_good_and_no_reading_waits(tmp_path, service):
    file = stand(tmp_path)
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    with ending(far, daemon):
        ready = daemon.ready()
        daemon.told("asked")
        wait_for(lambda: lengths(ready["journal"]), "a reading")
        child = daemon.child({"bus": "iotcore", "rules": "bench.rules_service"}[service])
        os.kill(child, signal.SIGSTOP)
        before = lengths(ready["journal"])[-1]
        try:
            daemon.told("service_changed", service=service, state="away")
            wait_for(lambda: lengths(ready["journal"])[-1] >= before + MEANWHILE_NM, "readings")
        finally:
            with contextlib.suppress(ProcessLookupError):  # it was ended and started anew
                os.kill(child, signal.SIGCONT)
        daemon.told("service_changed", service=service, state="running")
        assert daemon.end() == 0
    back = place_of(ready["journal"], service, "running")
    assert lengths(ready["journal"], back)[-1] >= before + MEANWHILE_NM
    numbers = lengths(ready["journal"])
    assert numbers == list(range(numbers[0], numbers[-1] + 1000, 1000))
    assert kinds(ready["journal"]) == [
        ("service_changed", service, "away"),
        ("service_changed", service, "running"),
    ]


@pytest.mark.timeout(300)
def test_with_a_board_recording_comes_first_and_a_killed_board_comes_back(tmp_path):
    file = stand(tmp_path)
    far = FarEnd(tmp_path / "gauge")
    daemon = Daemon(file, "--board", "--board-port", str(free_port()))
    with ending(far, daemon):
        ready = daemon.ready()
        wait_for(lambda: lengths(ready["journal"]), "a reading before the board is there")
        board = daemon.child("barrelfit.dashboard")
        daemon.told("board")
        os.kill(board, signal.SIGKILL)
        daemon.told("service_changed", service="board", state="away")
        daemon.told("service_changed", service="board", state="running")
        family = family_of(daemon.pid)
        assert daemon.end() == 0
        wait_for_end(family)


def asks_of(journal: str, kind: str) -> list[int]:
    return [r["data"]["ask"] for r in whole_records(journal) if r["kind"] == kind]


@pytest.mark.timeout(180)
def test_an_ask_counts_only_once_the_benchs_own_board_has_shown_it(tmp_path):
    """After a replaced broker the daemon is back before the board is, which may hang as well."""
    file = stand(tmp_path)
    far = FarEnd(tmp_path / "gauge")
    daemon = Daemon(file, "--board", "--board-port", str(free_port()))
    with ending(far, daemon):
        journal = daemon.ready()["journal"]
        wait_for(lambda: asks_of(journal, "ask_shown") == [1], "the board shows what is asked for")
        kinds_now = [r["kind"] for r in whole_records(journal)]
        assert kinds_now.index("board_awaited") < kinds_now.index("asked")
        board = daemon.child("barrelfit.dashboard")
        os.kill(board, signal.SIGSTOP)
        try:
            os.kill(daemon.child("iotcore"), signal.SIGKILL)
            daemon.told("service_changed", service="bus", state="running")
            wait_for(lambda: asks_of(journal, "asked")[-1] > 1, "it is asked for anew")
            assert asks_of(journal, "ask_shown") == [1]
        finally:
            os.kill(board, signal.SIGCONT)
        wait_for(
            lambda: asks_of(journal, "ask_shown")[-1] == asks_of(journal, "asked")[-1],
            "the board shows what is asked for anew",
        )
        shown = whole_records(journal)
        last = {r["kind"]: r["seq"] for r in shown if r["kind"] in {"asked", "ask_shown"}}
        assert last["asked"] < last["ask_shown"]


@pytest.mark.timeout(300)
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGKILL])
def test_the_board_on_its_own_leaves_no_child_behind(tmp_path, number):
    options = ("--sessions", str(tmp_path), "--port", str(free_port()))
    board = Child(PYTHON, "-m", "barrelfit.acquire", "board", *options)
    with ending(board):
        board.lines.find(lambda line: '"board"' in line)
        family = family_of(board.pid)
        assert family
        board.signal(number)
        assert board.wait() == (0 if number == signal.SIGTERM else -signal.SIGKILL)
        wait_for_end(family)
