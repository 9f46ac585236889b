"""Notices when the wall clock is set, or was never set; order never depends on it. Pure."""

from datetime import UTC, datetime
from typing import Final

from barrelfit.acquire.clock import utc_text
from barrelfit.acquire.journal.record_events import ClockNotSet, ClockStepped

STEP_US: Final = 500_000
WRITTEN: Final = datetime(2026, 1, 1, tzinfo=UTC)


class ClockWatch:
    """Compares UTC with monotonic time, since the beginning or the last step."""

    def __init__(self) -> None:
        self._offset_us: int | None = None
        self._unset_said = False

    def look(self, monotonic_ns: int, utc: datetime) -> list[ClockStepped | ClockNotSet]:
        """What is to be journaled of the two clocks' present readings.

        Args:
            monotonic_ns: monotonic time in ns.
            utc: wall time, aware.
        """
        since_epoch = utc - datetime(1970, 1, 1, tzinfo=UTC)
        offset_us = round(since_epoch.total_seconds() * 1e6) - monotonic_ns // 1000
        found: list[ClockStepped | ClockNotSet] = []
        if self._offset_us is None:
            self._offset_us = offset_us
        if abs(offset_us - self._offset_us) > STEP_US:  # a slow drift counts when it adds up
            found.append(ClockStepped(offset_us - self._offset_us))
            self._offset_us, self._unset_said = offset_us, False
        if utc < WRITTEN and not self._unset_said:
            found.append(ClockNotSet(utc_text(utc)))
            self._unset_said = True
        return found
