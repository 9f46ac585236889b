"""What several files of this room's tests share."""

import fcntl
import os
from pathlib import Path

import pytest

from tests.acquire.recorded import record_set


@pytest.fixture(scope="session")
def whole_set(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The journal of a set with every feature swept, to be read only.

    It is recorded once a run: workers side by side share it, and wait for the one that records.
    """
    root = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent
    kept = root / "whole-set"
    with (root / "whole-set.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            folder = tmp_path_factory.mktemp("recording")
            record_set(folder)
            folder.rename(kept)
    (journal,) = kept.glob("*.jsonl")
    return journal
