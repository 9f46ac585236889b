"""Tabs opened and closed all day: the board's descriptors and memory stay what they were."""

import asyncio
import contextlib
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
import websockets

from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

# What a browser's tab says and hears is Streamlit's own wire.
from streamlit.proto.BackMsg_pb2 import BackMsg  # isort: skip
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg  # isort: skip

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

TABS = 200
PAGES = ("floor", "set", "gauges", "sessions")


@pytest.fixture
def board(tmp_path):
    """A board without a bus: it serves its pages and says that there is none."""
    port = free_port()
    command = [sys.executable, "-m", "barrelfit.dashboard", "--port", str(port), "--watch-stdin"]
    command += ["--broker-port", str(free_port()), "--sessions", str(tmp_path)]
    pipe = subprocess.PIPE
    child = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)  # noqa: S603
    with child:
        json.loads(child.stdout.readline())
        yield child.pid, port
        child.stdin.close()


def descriptors(pid: int) -> int:
    return len(os.listdir(f"/proc/{pid}/fd"))  # noqa: PTH208


def memory_kb(pid: int) -> int:
    return int(re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())[1])


async def open_and_close(port: int, page: str) -> None:
    """A browser's tab that loads a page, waits until it is drawn, and is closed."""
    url, origin = f"ws://127.0.0.1:{port}/_stcore/stream", f"http://127.0.0.1:{port}"
    async with websockets.connect(url, origin=origin, subprotocols=["streamlit"]) as tab:
        load = BackMsg()
        load.rerun_script.page_name = page
        await tab.send(load.SerializeToString())
        async with asyncio.timeout(PATIENCE_S):
            while ForwardMsg.FromString(await tab.recv()).WhichOneof("type") != "script_finished":
                pass


async def test_two_hundred_tabs_leave_nothing_behind(board):
    pid, port = board
    for page in PAGES:
        await open_and_close(port, page)
    before_kb = memory_kb(pid)
    for number in range(TABS):
        await open_and_close(port, PAGES[number % len(PAGES)])
    deadline = time.monotonic() + PATIENCE_S
    while descriptors(pid) > 20 and time.monotonic() < deadline:  # noqa: ASYNC110  of another process
        await asyncio.sleep(0.5)
    left, grown_kb = descriptors(pid), memory_kb(pid) - before_kb
    with contextlib.suppress(OSError):
        sys.stdout.write(f"{TABS} tabs: {left} descriptors left, {grown_kb:+d} kB\n")
    assert left <= 20
    assert grown_kb < 10_000
