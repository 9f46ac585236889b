"""What a viewer that comes late is told of a session: its state, as a message. Pure.

Readings are not part of it: a retained message never makes a reading.
"""

from collections.abc import Callable, Hashable
from dataclasses import replace
from typing import Any, Final

import msgspec

from barrelfit.acquire.bus.jobs_told import JobsTold
from barrelfit.acquire.bus.payloads import ENCODE
from barrelfit.acquire.bus.plan_told import FactAsked, Planned, SetTold
from barrelfit.acquire.bus.set_told import PartKnown
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.noted import Noted
from barrelfit.acquire.fold.state import (
    NoSize,
    Opened,
    SessionState,
    Stood,
    Sweeping,
    Undone,
)
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked
from barrelfit.rules.events import (
    Asked,
    Contact,
    EntryMade,
    FarOff,
    GaugeChanged,
    Judged,
    Matched,
    NotCounted,
    Passed,
    PassLost,
    SetDone,
    Sized,
    StillDoubtful,
)
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said
from barrelfit.rules.told import FactHeld, FactTaken


class Snapshot(msgspec.Struct, frozen=True, omit_defaults=True):
    """`snapshot`: what has happened in a session as of record `seq`, and its plan.

    Beside session, bench, plan and set the fields are those of `acquire.fold.state.SessionState`,
    what is kept there by a key as a list. A size's budget is in the journal and not in here.
    """

    session: str
    seq: int
    utc: str
    bench: str
    features: list[Planned]
    parts: list[PartKnown] = []
    choices: dict[str, list[str]] = {}
    jobs: JobsTold | None = None
    facts_asked: list[FactAsked] = []
    cautions: dict[str, Said] = {}
    pedal: dict[str, str] = {}
    opened: Opened | None = None
    asked: Stood[Asked] | None = None
    sizes: list[Stood[Sized]] = []
    firsts: list[Stood[Sized]] = []
    history: list[FeatureId] = []
    undos: list[int] = []
    undone: list[Undone] = []
    entries: list[Stood[EntryMade]] = []
    held: list[Stood[EntryMade]] = []
    refused: list[NoSize] = []
    judged: list[Stood[Judged]] = []
    overridden: list[Stood[Overridden]] = []
    outdated: list[Stood[Overridden]] = []
    override_asked: list[Stood[OverrideAsked]] = []
    gauges: list[GaugeChanged] = []
    milli_celsius: dict[str, int] = {}
    sweep: Sweeping | None = None
    not_counted: bool = False
    away: PartAway | None = None
    coached: Said | None = None
    far_off: FarOff | None = None
    matched: Stood[Matched] | None = None
    done: Stood[SetDone] | None = None
    closed: str = ""
    signed_by: str = ""
    facts: list[Stood[FactTaken]] = []
    facts_held: list[Stood[FactHeld]] = []
    fact_refused: Stood[FactHeld] | None = None
    people: list[str] = []
    proven: str = ""
    by_proven: list[int] = []


SNAPSHOTS: Final = msgspec.json.Decoder(Snapshot)

_KEY_OF: Final[dict[str, Callable[[Any], Hashable]]] = {
    "sizes": lambda stood: stood.event.at,
    "firsts": lambda stood: stood.event.at,
    "held": lambda stood: (stood.event.at, stood.event.who),
    "refused": lambda refused: refused.event.at,
    "judged": lambda stood: stood.event.about,
    "overridden": lambda stood: stood.event.about,
    "override_asked": lambda stood: stood.event.about,
    "gauges": lambda changed: changed.gauge,
    "facts_held": lambda stood: stood.event.at,
}
"""What the state keeps by a key, and how to tell the key from what is kept."""

FRAME: Final = frozenset(
    {
        *("session", "utc", "bench", "features", "parts", "choices", "jobs"),
        *("facts_asked", "cautions", "pedal"),
    }
)
_STATE_FIELDS: Final = tuple(f for f in Snapshot.__struct_fields__ if f not in FRAME)

_SOON_OVER: Final = (Contact, Passed, PassLost, StillDoubtful, Coached, PartAway, NotCounted)
"""What a sweep says on its way: told with the next snapshot, and no reason for one."""


def state_of(snapshot: Snapshot) -> SessionState:
    """The state that a snapshot tells: later records are folded on top of it."""
    state = SessionState()
    for name in _STATE_FIELDS:
        told = getattr(snapshot, name)
        key_of = _KEY_OF.get(name)
        if key_of is not None:
            told = {key_of(item): item for item in told}
        setattr(state, name, told.copy() if isinstance(told, list | dict) else told)
    return state


class Telling:
    """The state of one session as far as its record reaches, and how a viewer is told of it."""

    def __init__(self, bench: str, session: str, told: Callable[[SessionState], SetTold]) -> None:
        """Begin with nothing known but the plan.

        Args:
            bench: the bench's name.
            session: the session's id.
            told: plan and set at a state, as `acquire.bus.plan_told` tells them; what is told of a
                part changes them.
        """
        self._bench = bench
        self._session = session
        self._told_at = told
        self.state = SessionState()
        self._told = told(self.state)
        self._stale = False

    @property
    def finished(self) -> bool:
        """Whether every feature has a size and every part a verdict."""
        return self.state.finished

    def take(self, noted: Noted) -> bool:
        """Fold the next record; True when a viewer should be told."""
        bears = take(self.state, noted)
        self._stale = self._stale or isinstance(noted.event, FactTaken | Sized)
        return bears and not isinstance(noted.event, _SOON_OVER)

    def snapshot(self, seq: int, utc: str) -> Snapshot:
        """All that is known, as of record `seq`."""
        if self._stale:
            self._told, self._stale = self._told_at(self.state), False
        told: dict[str, Any] = {name: getattr(self.state, name) for name in _STATE_FIELDS}
        for name in _KEY_OF:
            told[name] = list(told[name].values())
        for name in ("sizes", "firsts"):
            told[name] = [Stood(s.seq, replace(s.event, budget=())) for s in told[name]]
        told["seq"] = seq
        return Snapshot(
            session=self._session,
            utc=utc,
            bench=self._bench,
            features=list(self._told.features),
            parts=list(self._told.parts),
            choices=dict(self._told.choices),
            jobs=self._told.jobs,
            facts_asked=list(self._told.facts),
            cautions=dict(self._told.cautions),
            pedal=dict(self._told.pedal),
            **told,
        )

    def payload(self, seq: int, utc: str) -> bytes:
        """The message as of record `seq`."""
        return ENCODE(self.snapshot(seq, utc))
