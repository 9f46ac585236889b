"""How long a test waits, on a machine that may be slow or busy meanwhile.

What must come is waited for, generously: nothing rests on how long it takes. A time that is
promised for a bench ("lost within a second") is promised for a machine that keeps up with it. While
a test waits for that, small pieces of work are done beside it, and how much longer they take than
the processor's own time for them says how crowded the machine is: that much longer it may take. On
a quiet machine the promise is asked as it stands.
"""

import contextlib
import threading
import time
from collections.abc import Iterator

PATIENCE_S = 60.0
"""How long anything is waited for that comes soon on a quiet machine; only a failure takes it."""

_WORK_S = 0.005
_REST_S = 0.05


class _Crowd:
    """Does small pieces of work in a thread; `worst` is the slowest one's part of a free core."""

    def __init__(self) -> None:
        self.worst = 1.0
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def __enter__(self) -> "_Crowd":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.is_set():
            began, end = time.monotonic(), time.thread_time() + _WORK_S
            while time.thread_time() < end:
                pass
            self.worst = max(self.worst, (time.monotonic() - began) / _WORK_S)
            due = time.monotonic() + _REST_S
            self._over.wait(_REST_S)
            # A sleeper that is woken late tells of a machine that stood still as a whole.
            if not self._over.is_set():
                self.worst = max(self.worst, 1 + (time.monotonic() - due) / _REST_S)


@contextlib.contextmanager
def promptly(seconds: float, what: str) -> Iterator[None]:
    """What happens in here takes no longer than `seconds` on a machine that keeps up."""
    began = time.monotonic()
    with _Crowd() as crowd:
        yield
        took = time.monotonic() - began
    assert took <= seconds * crowd.worst, f"{what}: {took:.2f} s, machine {crowd.worst:.1f} times"
