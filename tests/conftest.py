"""What holds for every test."""

import asyncio
import gc
import os
import pty
import signal
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from barrelfit.acquire.loading import load_quickly

# A busy machine is no fault of the code; how long a thing takes is measured in tests/bench.
settings.register_profile("barrelfit", deadline=None)
settings.load_profile("barrelfit")

# Small matrices: a second thread of linear algebra would only crowd the other worker, as it would
# the daemon (`acquire.bench.rules_child`). Read when NumPy is loaded, by each process by itself.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Says that no loop is wanted outside asynchronous tests: else pytest-asyncio makes one to restore
# later, never closes it, and the run ends with a warning that is an error here.
asyncio.set_event_loop(None)

# Whoever runs the tests in the background has Ctrl-C ignored, and so would all that they start.
signal.signal(signal.SIGINT, signal.default_int_handler)

load_quickly()  # as our processes do; Python's own way cost a tenth of a run

WORKERS = 3
"""A test of processes waits half of its time; more than three only crowd two cores."""


@pytest.hookimpl(tryfirst=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """A whole run goes side by side; whoever names tests, or asks for long ones, has them here."""
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    is_long = "long" in config.option.markexpr.replace("not long", "")
    return WORKERS if whole and not is_long and config.option.capture != "no" else 0


def pytest_collection_finish() -> None:
    """What was loaded and collected stays: it is not searched for garbage again and again."""
    gc.collect()
    gc.freeze()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Say what stays together when tests run side by side, and in which order they are given out.

    The tests of one file share its fixtures, so a file stays in one worker; what takes longer than
    a moment is given out one by one, last, so that all workers end together. Tests that start
    processes come first: they wait, and the others fill the gaps.
    """
    if "PYTEST_XDIST_WORKER" not in os.environ:
        return
    for item in items:
        if _is_system(item) or not item.get_closest_marker("slow"):
            item.add_marker(pytest.mark.xdist_group(Path(item.path).stem))
    items.sort(key=lambda item: (not _is_system(item), bool(item.get_closest_marker("slow"))))


def _is_system(item: pytest.Item) -> bool:
    return item.get_closest_marker("system") is not None


@pytest.fixture
def terminal() -> Iterator[str]:
    """A pseudo-terminal whose far side we hold."""
    near, far = pty.openpty()
    tty.setraw(far)
    yield os.ttyname(far)
    os.close(near)
    os.close(far)
