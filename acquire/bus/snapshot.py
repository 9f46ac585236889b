"""What a viewer that comes late is told of a session: its state, as a message. Pure.

Readings are not part of it: a retained message never makes a reading.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.bus.plan_told import Planned
from barrelfit.acquire.fold.handlers import Noted, take
from barrelfit.acquire.fold.state import NoSize, SessionState
from barrelfit.rules.events import Contact, NotCounted, Passed, StillDoubtful

_SOON_OVER: Final = (Contact, Passed, StillDoubtful, NotCounted)
"""What a sweep says on its way: told with the next snapshot, and no reason for one."""


class Telling:
    """The state of one session as far as its record reaches, and how a viewer is told of it."""

    def __init__(self, bench: str, session: str, features: Sequence[Planned]) -> None:
        """Begin with nothing known but the plan.

        Args:
            bench: the bench's name.
            session: the session's id.
            features: every feature of the plan, as `acquire.bus.plan_told` tells it.
        """
        self._bench = bench
        self._session = session
        self._features = list(features)
        self.state = SessionState()

    @property
    def finished(self) -> bool:
        """Whether every feature has a size and every part a verdict."""
        return self.state.finished

    def take(self, noted: Noted) -> bool:
        """Fold the next record; True when a viewer should be told."""
        return take(self.state, noted) and not isinstance(noted.event, _SOON_OVER)

    def payload(self, seq: int, utc: str) -> bytes:
        """The message as of record `seq`."""
        state = self.state
        latest = state.latest
        return ENCODE(
            {
                "session": self._session,
                "seq": seq,
                "utc": utc,
                "bench": self._bench,
                "job": state.opened.job if state.opened else "",
                "asked": state.asked and state.asked.event,
                # The budget is in the journal; a retained message stays small.
                "sizes": [replace(s.event, budget=()) for s in state.sizes.values()],
                "judged": [stood.event for stood in state.judged.values()],
                "overridden": [stood.event for stood in state.overridden.values()],
                "override_asked": [stood.event for stood in state.override_asked.values()],
                "gauges": {
                    name: {"state": changed.state, "reason": changed.reason}
                    for name, changed in state.gauges.items()
                },
                "refused": latest.event if isinstance(latest, NoSize) else None,
                "matched": state.matched and state.matched.event,
                "set_done": state.done and state.done.event,
                "features": self._features,
            }
        )
