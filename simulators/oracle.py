"""Writes known, numbered readings to a pseudo-terminal and keeps a list of what was sent.

Reading number n is `start_nm + n * step_nm`, so that order and loss can be seen at the far end.
The list (the oracle) has one JSON object a frame: `n`, `length_nm`, `fault` (empty: none),
`frame_hex` (what the gauge meant) and `sent_hex` (what left it).
"""

import asyncio
import json
import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.line import Encoder
from barrelfit.simulators.port import Port
from barrelfit.simulators.trouble import Step, Trouble

READER_WAIT_S = 30.0


@dataclass(frozen=True, slots=True)
class OraclePlan:
    """What to send: `count` readings at `rate_hz`, from `start_nm` on, `step_nm` apart."""

    profile: str
    rate_hz: float
    count: int
    seed: int
    shares: dict[str, float]
    start_nm: int = 12_000_000
    step_nm: int = 1_000
    settle_s: float = 0.5
    linger_s: float = 3.0


async def send_numbered(plan: OraclePlan, port: Port, record: Path | None) -> None:
    """Wait for a reader, send everything on an absolute schedule, keep the oracle."""
    encoder = Encoder.for_profile(plan.profile)
    trouble = Trouble(plan.shares, random.Random(plan.seed))
    await _reader_there(port)
    await asyncio.sleep(plan.settle_s)
    pace = _Pace(plan.rate_hz)
    with _opened(record) as book:
        for number in range(plan.count):
            await pace.next()
            await _question(encoder, port)
            length_nm = plan.start_nm + number * plan.step_nm
            frame = encoder.encode(length_nm)
            fault, steps = trouble.strike(frame, encoder.switched(length_nm))
            sent = b"".join([await _take(step, port, pace) for step in steps])
            if book:
                entry = {"n": number, "length_nm": length_nm, "fault": fault}
                entry |= {"frame_hex": frame.hex(), "sent_hex": sent.hex()}
                book.write(json.dumps(entry) + "\n")
    await port.wait_until_taken(plan.linger_s)


class _Pace:
    """An absolute schedule; a gauge that fell silent sends nothing of the past afterwards."""

    def __init__(self, rate_hz: float) -> None:
        self._step_s = 1.0 / rate_hz
        self._due = asyncio.get_running_loop().time()

    async def next(self) -> None:
        """Wait for the next reading's time."""
        await asyncio.sleep(max(self._due - asyncio.get_running_loop().time(), 0.0))
        self._due += self._step_s

    def restart(self) -> None:
        """Go on from now."""
        self._due = asyncio.get_running_loop().time() + self._step_s


async def _question(encoder: Encoder, port: Port) -> None:
    """Wait for the question when the gauge is one that is asked."""
    while encoder.polled and not encoder.asks(port.read()):  # noqa: ASYNC110  nothing wakes us
        await asyncio.sleep(0.002)


async def _take(step: Step, port: Port, pace: _Pace) -> bytes:
    """Take one step on the wire; returns the bytes that left."""
    if step.unplug:
        await port.wait_until_taken()
        port.unplug()
        await asyncio.sleep(step.wait_s)
        port.plug()
        await _reader_there(port)
        pace.restart()
        return b""
    taken = step.data[: port.write(step.data)] if step.data else b""
    if step.wait_s:
        await asyncio.sleep(step.wait_s)
        pace.restart()
    return taken


async def _reader_there(port: Port) -> None:
    """Wait until somebody has the port open; raises SimulatorError when nobody comes."""
    try:
        async with asyncio.timeout(READER_WAIT_S):
            await port.wait_for_reader()
    except TimeoutError:
        message = f"nobody opened {port.shown_name} within {READER_WAIT_S:.0f} s"
        raise SimulatorError([message]) from None


@contextmanager
def _opened(record: Path | None) -> Iterator[TextIO | None]:
    if record is None:
        yield None
        return
    with record.open("w", encoding="utf-8") as book:
        yield book
