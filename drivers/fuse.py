"""A fuse for each gauge: one that babbles is cut off for a while, so that it harms no other. Pure.

It blows at more than `FRAMES_MAX` frames or `BYTES_MAX` bytes within a second, which no gauge
sends, or at `GARBAGE_MIN` frames of garbage within ten seconds when they are `GARBAGE_SHARE` of
all. From then on bytes are left out: they are counted, the first `SAMPLE_BYTES` are kept, and after
a wait (5 s, twice as long each time it blows again, 60 s at most) the gauge is tried again.
"""

from collections.abc import Sequence
from typing import Final

from barrelfit.drivers.coded import NOTHING, Coded, said
from barrelfit.drivers.decode import REST_OF_LINE
from barrelfit.drivers.outcome import Note, Outcome, WireFault

NS_PER_S: Final = 1_000_000_000
FRAMES_MAX: Final = 2000
BYTES_MAX: Final = 100_000
"""More than a system keeps of a port that nobody reads: a backlog is no babble."""

GARBAGE_MIN: Final = 400
GARBAGE_SHARE: Final = 0.8
GARBAGE_S: Final = 10
SAMPLE_BYTES: Final = 64
WAIT_S: Final = (5, 60)
GOOD_S: Final = 60
"""A gauge that was good for so long begins with the short wait again."""


class Fuse:
    """Counts what one gauge's bytes turn out to be; `blown` while it is cut off."""

    def __init__(self) -> None:
        self.blown = False
        self._count = 0
        self._sample = b""
        self._wait_s = WAIT_S[0]
        self._tried_ns = 0
        self._again_ns = 0
        self._second_ns = 0
        self._frames = 0
        self._bytes = 0
        self._span_ns = 0
        self._all = 0
        self._garbage = 0

    def took(self, outcomes: Sequence[Outcome], size: int, t_ns: int) -> Coded:
        """Take what `size` bytes turned out to be; says why when that blows the fuse."""
        if t_ns - self._second_ns >= NS_PER_S:
            self._second_ns, self._frames, self._bytes = t_ns, 0, 0
        if t_ns - self._span_ns >= GARBAGE_S * NS_PER_S:
            self._span_ns, self._all, self._garbage = t_ns, 0, 0
        bad = [outcome for outcome in outcomes if _is_garbage(outcome)]
        self._frames += len(outcomes)
        self._bytes += size
        self._all += len(outcomes)
        self._garbage += len(bad)
        if self._frames > FRAMES_MAX:
            return self._blow(said("too_many_frames", count=self._frames), t_ns)
        if self._bytes > BYTES_MAX:
            return self._blow(said("too_many_bytes", count=self._bytes), t_ns)
        if bad and self._garbage >= max(GARBAGE_MIN, GARBAGE_SHARE * self._all):
            last = bad[-1]
            why = said("garbage", count=self._garbage, all=self._all)
            if isinstance(last, WireFault) and last.hint:
                why = said("in_brackets", what=why, more=last.hint)
            return self._blow(why, t_ns)
        return NOTHING

    def leave_out(self, data: bytes) -> None:
        """Count bytes that go nowhere, and keep the first of them."""
        self._count += len(data)
        self._sample += data[: SAMPLE_BYTES - len(self._sample)]

    def left_out(self) -> tuple[int, bytes]:
        """How many bytes were left out since this was asked last, and the first of them."""
        told = self._count, self._sample
        self._count, self._sample = 0, b""
        return told

    def is_due(self, t_ns: int) -> bool:
        """Whether a gauge that was cut off is to be tried again."""
        return self.blown and t_ns >= self._again_ns

    def mend(self, t_ns: int) -> None:
        """The gauge is tried again."""
        self.blown = False
        self._tried_ns = t_ns
        self._second_ns = self._span_ns = t_ns
        self._frames = self._bytes = self._all = self._garbage = 0

    def _blow(self, why: Coded, t_ns: int) -> Coded:
        again = self._tried_ns and t_ns - self._tried_ns < GOOD_S * NS_PER_S
        self._wait_s = min(2 * self._wait_s, WAIT_S[1]) if again else WAIT_S[0]
        self._again_ns = t_ns + self._wait_s * NS_PER_S
        self.blown = True
        return said("cut_off", why=why, seconds=self._wait_s)


def _is_garbage(outcome: Outcome) -> bool:
    return isinstance(outcome, WireFault) or (
        isinstance(outcome, Note) and outcome.note == REST_OF_LINE
    )
