"""A gauge on a pseudo-terminal that is only understood at its own rate.

A pseudo-terminal carries bytes at any rate, so the gauge looks at the rate its reader has set and
sends garbage when it is another. Its seven bits with parity arrive with the parity in bit 7.
"""

import contextlib
import os
import random
import termios
import threading
import tty


def seven_even(data):
    return bytes(b | (b.bit_count() % 2) << 7 for b in data)


class RatedGauge:
    """Sends its lines in turn, every `every_s`, from a thread; a context manager."""

    def __init__(self, lines, baud=termios.B4800, every_s=0.4, answers=None):
        self._lines = lines
        self._baud = baud
        self._every_s = every_s
        self._answers = answers
        self._stop = threading.Event()
        self.master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self.master, False)
        self.port = os.ttyname(self._slave)
        self.requests = b""
        self._thread = threading.Thread(target=self._send, daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        self._stop.set()
        self._thread.join(5)
        os.close(self.master)
        os.close(self._slave)

    def _send(self):
        chance = random.Random(1)  # noqa: S311  garbage
        turn = 0
        while not self._stop.wait(self._every_s):
            heard = b""
            with contextlib.suppress(BlockingIOError):
                heard = os.read(self.master, 100)
                self.requests += heard
            if self._answers is not None and self._answers not in heard:
                continue
            line = self._lines[turn % len(self._lines)]
            turn += 1
            if termios.tcgetattr(self.master)[4] != self._baud:
                line = chance.randbytes(len(line) // 2)
            with contextlib.suppress(BlockingIOError):
                os.write(self.master, line)
