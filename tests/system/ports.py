"""Ports for what a test starts, while other tests run beside it."""

import itertools
import random
import socket
import time

_FIRST, _LAST = 10_000, 32_000
"""Below the ports that the system gives out by itself: between asking and listening, seconds may
pass, in which a port of those is somebody else's."""
_START = random.SystemRandom().randrange(_FIRST, _LAST)
_NEXT = itertools.count()


def free_port() -> int:
    """A port of this machine at which nobody listens; never the same one twice in a run."""
    while True:
        port = _FIRST + (_START - _FIRST + next(_NEXT)) % (_LAST - _FIRST)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port


def until_open(port: int) -> None:
    """Wait until somebody listens at a port of this machine."""
    for _ in range(500):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.02)
