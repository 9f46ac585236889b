"""Follows a session whose records come late, twice or not at all, or begins with a snapshot. Pure.

The state is at any time the fold, in order, of all that has come. While records are missing, the
state before the first of them is kept, with what bears on the state behind it: whatever comes late
is put in its place. A snapshot stands for all records up to its own.
"""

from enum import Enum
from typing import Final

from barrelfit.acquire.fold.handlers import HANDLERS, take
from barrelfit.acquire.fold.noted import Noted
from barrelfit.acquire.fold.state import SessionState

MISSING_MAX: Final = 4_096
KEPT_MAX: Final = 2_000
PATIENCE: Final = 2


class Came(Enum):
    """How a record came: as the next one, late into a gap, or once more (or too late)."""

    NEXT = "next"
    LATE = "late"
    AGAIN = "again"


class Following:
    """One session's state as far as its records have come.

    `seq` is the highest number that was heard of, `state` what has happened, `missed` how many
    records never came (those before the first that was heard are none of them).
    """

    def __init__(self) -> None:
        self.state = SessionState()
        self.seq = 0
        self.missed = 0
        self._base: SessionState | None = None  # before the first gap; None while there is none
        self._sure_to = 0  # up to here nothing is missing from the base
        self._after: dict[int, Noted] = {}
        self._missing: set[int] = set()
        self._lost = 0
        self._lost_to = 0
        self._quiet_to = 0
        self._joins = True
        self._ahead: SessionState | None = None  # a snapshot that came before its records
        self._waited = 0

    @property
    def whole(self) -> bool:
        """Whether every record up to `seq` has come, or stands in the snapshot."""
        return self.seq > 0 and self._base is None

    def take(self, noted: Noted) -> Came:
        """Take one record, in whatever order they come."""
        seq = noted.seq
        if seq in self._missing:
            self._late(noted)
            return Came.LATE
        if seq <= self.seq:
            return Came.AGAIN
        if seq > self.seq + 1:
            self._gap(seq)
        self._joins, self._waited = False, 0
        self.seq = seq
        if take(self.state, noted) and self._base is not None:
            self._keep(self._base, noted)
        if self._base is not None and self._ahead is not None and self._ahead.seq <= seq:
            self._adopt(self._ahead)
        return Came.NEXT

    def take_snapshot(self, told: SessionState) -> bool:
        """Take a session's state as of `told.seq`; False when it tells nothing that is missing.

        One that is ahead of records of which none is missing yet is kept: they may only be on
        their way.
        """
        base = self._base
        if self.whole or (base is not None and told.seq < max(base.seq, self._sure_to + 1)):
            self._ahead = told if told.seq > self.seq else self._ahead
            return False
        self._adopt(told)
        return True

    def wait(self) -> bool:
        """Call now and then: a snapshot whose records do not come is taken; True when it was."""
        if self._ahead is None or (self._ahead.seq <= self.seq and self._base is None):
            self._ahead = None
            return False
        self._waited += 1
        if self._waited < PATIENCE:
            return False
        self._adopt(self._ahead)
        return True

    def _adopt(self, told: SessionState) -> None:
        self._base, self._sure_to, self._ahead, self._waited = told, told.seq, None, 0
        self._after = {seq: noted for seq, noted in self._after.items() if seq > told.seq}
        self._missing = {seq for seq in self._missing if seq > told.seq}
        if told.seq >= self._lost_to:
            self._lost = 0
        self.missed = self._lost + sum(seq > self._quiet_to for seq in self._missing)
        if told.seq > self.seq:
            self.seq, self._joins = told.seq, True
        self._refold(told)

    def _gap(self, seq: int) -> None:
        """Note that records before `seq` are missing; a snapshot at hand fills what it can."""
        if self._ahead is not None and self.seq < self._ahead.seq < seq:
            self._adopt(self._ahead)
        first, number = self.seq + 1, seq - self.seq - 1
        if number == 0:
            return
        if self._base is None:
            self._base, self._sure_to = self.state.copy(), self.seq
        if self._joins:  # what came before it was heard at all, or since the snapshot
            self._quiet_to = seq - 1
        else:
            self.missed += number
        if number + len(self._missing) <= MISSING_MAX:
            self._missing.update(range(first, seq))
            return
        self._lost_to = seq - 1
        if not self._joins:
            self._lost += number

    def _late(self, noted: Noted) -> None:
        self._missing.discard(noted.seq)
        self.missed -= noted.seq > self._quiet_to
        base = self._base
        if base is None:
            return
        if type(noted.event) in HANDLERS:
            self._keep(base, noted)
            self._refold(base)
        elif not self._missing:
            self._refold(base)

    def _keep(self, base: SessionState, noted: Noted) -> None:
        """Keep a record until what is missing before it has come; not without end."""
        self._after[noted.seq] = noted
        if len(self._after) > KEPT_MAX:
            oldest = min(self._after)
            given_up = {seq for seq in self._missing if seq < oldest}
            self._missing -= given_up
            self._lost += sum(seq > self._quiet_to for seq in given_up)
            self._lost_to = max(self._lost_to, oldest - 1)
            take(base, self._after.pop(oldest))

    def _refold(self, base: SessionState) -> None:
        """Work the state out anew from the base and what was kept behind it."""
        self.state = base.copy()
        for seq in sorted(self._after):
            take(self.state, self._after[seq])
        self.state.seq = self.seq
        if not self._missing and self._lost_to <= self._sure_to:
            self._base = None
            self._after = {}
