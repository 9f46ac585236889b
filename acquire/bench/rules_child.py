"""The daemon's half of the rules service: starts it, shows it the journal, takes what it finds.

A service that is stopped or slow holds nobody up: it is shown more only when it has taken what it
was shown, and what waits for it waits in the journal. One that does not answer for too long is
ended; the next one begins from the journal.
"""

import asyncio
import os
import sys
from typing import Final

import msgspec

from barrelfit.acquire.bench.child import end_child, first_of, started
from barrelfit.acquire.bench.results_gate import ResultsGate
from barrelfit.acquire.bench.rules_pipe import (
    ENCODE,
    LINE_BYTES_MAX,
    PING,
    SAID,
    CaughtUp,
    Order,
    Results,
)
from barrelfit.acquire.bench.supervisor import Standing
from barrelfit.acquire.gathered import Gathered
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.rules.said import Said, decimal, said

SHOWN_RECORDS: Final = 500
APART_S: Final = 0.01
LATE_S: Final = 0.015
"""Between two showings (`Gathered`): less than a hand or an eye notices, and half of what the
service and showing cost."""
PING_S: Final = 1.0
STALLED_S: Final = 5.0
"""After how long without an answer it is told that the service is away."""
SILENT_S: Final = 60.0
"""How long the service may say nothing although it was asked: no finding takes that long."""


class RulesChild:
    """The rules service under a supervisor.

    Args:
        recorder: the session's; its journal is what is shown.
        gate: takes the findings.
    """

    name = "rules"

    def __init__(self, recorder: Recorder, gate: ResultsGate) -> None:
        self._recorder = recorder
        self._gate = gate
        self.read_seq = 0
        self._heard_at = 0.0

    async def live(self, standing: Standing) -> Said:
        """Run one service until it ends or must be ended; gives why."""
        journal = self._recorder.journal
        await self._recorder.until_durable(1)
        child = await started(
            asyncio.create_subprocess_exec(
                *(sys.executable, "-m", "barrelfit.acquire.bench.rules_service"),
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                limit=LINE_BYTES_MAX,
                # Its matrices are small: more threads would cost memory and win nothing.
                env={"OPENBLAS_NUM_THREADS": "1", **os.environ},
                start_new_session=True,  # Ctrl-C is for us: the child ends with us
            )
        )
        caught_up: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        try:
            self._tell(child, ENCODE(Order(str(journal.path))) + b"\n")
            return await first_of(
                self._hear(child, caught_up, standing),
                self._show(child, caught_up),
                self._watch(child, caught_up, standing),
            )
        finally:
            await end_child(child)

    @staticmethod
    def _tell(child: asyncio.subprocess.Process, data: bytes) -> None:
        if child.stdin is not None and not child.stdin.is_closing():
            child.stdin.write(data)

    async def _hear(
        self,
        child: asyncio.subprocess.Process,
        caught_up: "asyncio.Future[int]",
        standing: Standing,
    ) -> Said:
        """Take what the service says until it ends."""
        stream = child.stdout
        try:
            while stream is not None and (line := await stream.readline()):
                self._heard_at = asyncio.get_running_loop().time()
                heard = SAID.decode(line)
                if isinstance(heard, Results):
                    if problem := self._gate.take(heard):
                        return said("was_ended", why=problem)
                    continue
                self.read_seq = heard.seq
                if isinstance(heard, CaughtUp) and not caught_up.done():
                    caught_up.set_result(heard.seq)
                    standing.up()
        except (ValueError, msgspec.MsgspecError) as error:  # too long a line, or none of ours
            return said("was_ended", why=str(error))
        return said("it_ended", code=str(await child.wait()))

    async def _show(
        self, child: asyncio.subprocess.Process, caught_up: "asyncio.Future[int]"
    ) -> Said:
        """Show the service each record once it is on disk, from where it has read to."""
        shown, stream = await caught_up, child.stdin
        news = asyncio.Event()
        gathered = Gathered(news.set, APART_S, LATE_S)
        self._recorder.on_more(gathered.want)
        try:
            while stream is not None:
                lines = self._recorder.journal.lines_since(shown, SHOWN_RECORDS)
                if not lines:
                    news.clear()
                    await news.wait()
                    continue
                shown += len(lines)
                self._tell(child, b"".join(lines))
                await stream.drain()
        except (BrokenPipeError, ConnectionResetError):
            pass
        finally:
            self._recorder.forget(gathered.want)
            gathered.end()
        return said("it_ended", code=str(await child.wait()))

    async def _watch(
        self,
        child: asyncio.subprocess.Process,
        caught_up: "asyncio.Future[int]",
        standing: Standing,
    ) -> Said:
        """Ask the service now and then how far it is; tell of one that does not answer, end it."""
        loop = asyncio.get_running_loop()
        self._heard_at = loop.time()
        asked_at, stalled = self._heard_at, False
        while loop.time() - self._heard_at < SILENT_S:
            if self._heard_at >= asked_at:
                if stalled:
                    stalled = False
                    standing.up()
                asked_at = loop.time()
                self._tell(child, PING)
            elif caught_up.done() and not stalled and loop.time() - self._heard_at > STALLED_S:
                stalled = True
                standing.away(said("does_not_answer"))
            await asyncio.sleep(PING_S)
        return said("silent_too_long", seconds=decimal(f"{SILENT_S:g}"))
