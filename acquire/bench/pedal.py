"""The bench's foot pedal: a USB keyboard whose keys become journaled presses, never text."""

import logging
from typing import Final

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.journal.recorder import Recorder
from barrelfit.drivers.hid import REPORT_BYTES
from barrelfit.drivers.pedal import Pedal
from barrelfit.rules.events import PedalPressed
from barrelfit.rules.manner import told
from barrelfit.rules.said import Said

log = logging.getLogger("barrelfit")

LOST: Final = "the foot pedal: %s"


class BenchPedal:
    """Stands between the pedal's source and the journal."""

    def __init__(self, pedal: Pedal, port: str, recorder: Recorder, clock: Clock) -> None:
        """Put a pedal together.

        Args:
            pedal: makes presses of its keys.
            port: where it is, for the journal.
            recorder: takes the presses.
            clock: the session's.
        """
        self._port = port
        self._pedal = pedal
        self._recorder = recorder
        self._clock = clock

    def received(self, t_ns: int, data: bytes) -> None:
        """Take keyboard reports that arrived at `t_ns`."""
        for at in range(0, len(data) - len(data) % REPORT_BYTES, REPORT_BYTES):
            self._record(self._pedal.report(data[at : at + REPORT_BYTES], t_ns), t_ns)

    def changed(self, t_ns: int, present: bool, reason: Said) -> None:  # noqa: FBT001  a source's callback
        """Hear that the pedal came or went; a press that was half done is none."""
        self._pedal.lost()
        if not present:
            log.warning(LOST, told(reason))

    def tick(self) -> None:
        """Call now and then: single and long presses show only when time has passed."""
        t_ns = self._clock.monotonic_ns()
        self._record(self._pedal.idle(t_ns), t_ns)

    def _record(self, actions: list[str], t_ns: int) -> None:
        for action in actions:
            self._recorder.record(PedalPressed(t_ns, action, device=self._port), t_ns=t_ns)
