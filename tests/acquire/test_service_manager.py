"""What a service manager is told, over the socket that it names."""

import asyncio
import os
import socket

import pytest

from barrelfit.acquire.bench.service_manager import ServiceManager


@pytest.fixture(params=["file", "abstract"])
def manager(request, tmp_path):
    """A manager's socket and the address it tells of."""
    name = str(tmp_path / "notify")
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    if request.param == "abstract":
        listening.bind("\0" + name)
        name = "@" + name
    else:
        listening.bind(name)
    listening.settimeout(0)
    with listening:
        yield listening, name


def heard(listening):
    found = []
    while True:
        try:
            found.append(listening.recv(4096).decode())
        except BlockingIOError:
            return found


async def test_it_is_told_ready_alive_and_ending(manager):
    listening, name = manager
    told = ServiceManager({"NOTIFY_SOCKET": name, "WATCHDOG_USEC": "20000"})
    assert told.alive_every_s == 0.01
    async with told.watching("recording"):
        assert heard(listening) == ["READY=1\nSTATUS=recording"]
        async with asyncio.timeout(2):
            said = []
            while len(said) < 2:
                await asyncio.sleep(0.01)
                said += heard(listening)
        assert set(said) == {"WATCHDOG=1"}
    assert heard(listening)[-1] == "STOPPING=1"


@pytest.mark.parametrize(
    "environment",
    [
        {},
        {"NOTIFY_SOCKET": ""},
        {"NOTIFY_SOCKET": "/nowhere/at/all", "WATCHDOG_USEC": "10000"},
        {"WATCHDOG_USEC": "soon"},
        {"WATCHDOG_USEC": "0"},
    ],
)
async def test_where_nobody_listens_nothing_is_said(environment):
    async with ServiceManager(environment).watching("recording"):
        await asyncio.sleep(0)


def test_a_manager_that_reads_nothing_is_not_waited_for(manager):
    told = ServiceManager({"NOTIFY_SOCKET": manager[1]})
    for _ in range(2_000):
        told.tell("WATCHDOG=1")
    assert heard(manager[0])


def test_a_watch_over_another_process_is_not_ours():
    watched = {"WATCHDOG_USEC": "1000000", "WATCHDOG_PID": str(os.getpid() + 1)}
    assert ServiceManager(watched).alive_every_s is None
