"""Decides when another bench's head hash is worth a record: benches are each other's witnesses.

Whoever rewrites one bench's journal from end to end would have to rewrite every other bench's
too. A head is recorded when a session is first heard of, every few minutes, and once more when
its bench falls silent, so that a session's end has a witness. Pure.
"""

from dataclasses import dataclass
from typing import Final

from barrelfit.acquire.journal.events import HeadSeen

EVERY_NS: Final = 300_000_000_000
SILENT_NS: Final = 3_000_000_000
BENCHES_MAX: Final = 256
CHANGE_NS: Final = 1_000_000_000


@dataclass(slots=True)
class _Seen:
    """The last head heard of a bench, and what of it was recorded."""

    latest: HeadSeen
    heard_ns: int
    recorded: HeadSeen | None = None
    recorded_ns: int = 0


class HeadWatch:
    """Hears other benches' heartbeats. `own` is the bench whose own beats are passed over."""

    def __init__(self, own: str) -> None:
        self._own = own
        self._seen: dict[str, _Seen] = {}

    def heard(self, bench: str, head: tuple[str, int, str], now_ns: int) -> list[HeadSeen]:
        """Take a bench's heartbeat; gives what is to be recorded.

        Args:
            bench: its name.
            head: session, seq of its last record on disk, and that record's hash.
            now_ns: monotonic time.
        """
        session, seq, head_hash = head
        known = self._seen.get(bench)
        if bench == self._own or seq < 1 or (known is None and len(self._seen) >= BENCHES_MAX):
            return []
        found: list[HeadSeen] = []
        changed = known is not None and known.latest.session != session
        if known is not None and changed and now_ns - known.recorded_ns < CHANGE_NS:
            return []  # no bench begins sessions so quickly: somebody speaks in its name
        if known is not None and changed:
            found += self._record(known, now_ns)  # the old session's last word
            known = None
        if known is None:
            known = self._seen[bench] = _Seen(HeadSeen(bench, session, seq, head_hash), now_ns)
        known.latest = HeadSeen(bench, session, seq, head_hash)
        known.heard_ns = now_ns
        if known.recorded is None or now_ns - known.recorded_ns >= EVERY_NS:
            found += self._record(known, now_ns)
        return found

    def tick(self, now_ns: int) -> list[HeadSeen]:
        """Call now and then; gives the last heads of benches that have fallen silent."""
        silent = [s for s in self._seen.values() if now_ns - s.heard_ns >= SILENT_NS]
        return [event for seen in silent for event in self._record(seen, now_ns)]

    def _record(self, seen: _Seen, now_ns: int) -> list[HeadSeen]:
        if seen.recorded == seen.latest:
            return []
        seen.recorded, seen.recorded_ns = seen.latest, now_ns
        return [seen.latest]
