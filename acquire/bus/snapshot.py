"""What a viewer that comes late must know of a session: a fold over its journal. Pure.

Readings are not part of it: a retained message never makes a reading.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.bus.plan_told import Planned
from barrelfit.acquire.journal.events import Event, SessionOpened
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked
from barrelfit.rules.events import (
    Asked,
    GaugeChanged,
    Judged,
    Matched,
    PedalPressed,
    Refused,
    SetDone,
    Sized,
)

SHOWN_KINDS: Final = (
    Asked,
    GaugeChanged,
    Judged,
    Matched,
    Overridden,
    OverrideAsked,
    Refused,
    SessionOpened,
    SetDone,
    Sized,
)


class Snapshot:
    """The state of one session as far as its record reaches."""

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
        self._job = ""
        self._latest: dict[type[Event], Event] = {}
        self._sizes: dict[str, Sized] = {}
        self._judged: dict[str, Judged] = {}
        self._overridden: dict[str, Overridden] = {}
        self._asked_for: dict[str, OverrideAsked] = {}
        self._gauges: dict[str, dict[str, str]] = {}
        self._taking_back = False

    @property
    def finished(self) -> bool:
        """Whether every feature has a size and every part a verdict."""
        return SetDone in self._latest

    def take(self, event: Event) -> bool:
        """Fold one event; True when a viewer would see a difference."""
        if not isinstance(event, SHOWN_KINDS):
            if isinstance(event, PedalPressed):
                self._taking_back = event.action == "undo" and bool(self._sizes)
            return False
        if isinstance(event, Sized):
            # The budget is in the journal; a retained message stays small.
            self._sizes[str(event.at)] = replace(event, budget=())
            self._latest.pop(Refused, None)
        elif isinstance(event, Judged | Overridden | OverrideAsked):
            self._take_verdict(event)
        elif isinstance(event, GaugeChanged):
            self._gauges[event.gauge] = {"state": event.state, "reason": event.reason}
        elif isinstance(event, SessionOpened):
            self._job = event.job
        elif isinstance(event, Asked) and event.at is not None:
            self._latest[Asked] = event
            self._latest.pop(SetDone, None)  # a size was taken back: it is not done any more
            self._take_back(str(event.at))
        else:
            self._latest[type(event)] = event
        return True

    def _take_back(self, asked_again: str) -> None:
        """After an undo: which size is taken back the rules say by asking for its feature again."""
        if self._taking_back and asked_again in self._sizes:
            del self._sizes[asked_again]
            self._taking_back = False

    def _take_verdict(self, event: Judged | Overridden | OverrideAsked) -> None:
        about = event.about
        if isinstance(event, OverrideAsked):
            self._asked_for[about] = event
            return
        # An override, or the wish for one, is of one verdict: a new verdict stands alone.
        self._asked_for.pop(about, None)
        self._overridden.pop(about, None)
        if isinstance(event, Overridden):
            self._overridden[about] = event
        else:
            self._judged[about] = event

    def payload(self, seq: int, utc: str) -> bytes:
        """The message as of record `seq`."""
        return ENCODE(
            {
                "session": self._session,
                "seq": seq,
                "utc": utc,
                "bench": self._bench,
                "job": self._job,
                "asked": self._latest.get(Asked),
                "sizes": list(self._sizes.values()),
                "judged": list(self._judged.values()),
                "overridden": list(self._overridden.values()),
                "override_asked": list(self._asked_for.values()),
                "gauges": self._gauges,
                "refused": self._latest.get(Refused),
                "matched": self._latest.get(Matched),
                "set_done": self._latest.get(SetDone),
                "features": self._features,
            }
        )
