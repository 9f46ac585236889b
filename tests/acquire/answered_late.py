"""A bench whose rules answer late: what happens is recorded at once, what they find when let."""

from collections import deque

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import to_input
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.events import EntryMade, PedalPressed
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import opening

OPENING = opening()
SETUP = setup_of(OPENING)
SKIRTS = tuple(FeatureId(f"P{number}", "skirt") for number in (1, 2, 3))
BORE = FeatureId("B1", "bore", "top", "thrust")
WHO = "A. Smith"


class AnsweredLate:
    """Records of a session that is worked through by the real step.

    `standing[seq]` are the sizes the rules hold once they have taken record `seq`: the truth that
    every fold of the records is held against.
    """

    def __init__(self):
        self.records = []
        self.bench, found = begin(SETUP)
        self.on_their_way = deque((found, 1) for found in found)
        self.standing = {1: {}}
        self._record(OPENING)
        self.let()

    def happens(self, event, because=None):
        """Record an input, or a finding that the rules hear of; what they find of it waits."""
        seq = self._record(event, because)
        known = to_input(event, seq)
        if known is not None:
            self.bench, found = step(self.bench, known)
            self.on_their_way.extend((output, seq) for output in found)
        self.standing[seq] = {at: size.size_nm for at, size in self.bench.sizes.items()}
        return seq

    def let(self, number=None):
        """Let so many findings into the record, all without a number."""
        for _ in range(len(self.on_their_way) if number is None else number):
            if self.on_their_way:
                self.happens(*self.on_their_way.popleft())

    def typed(self, at, text, who=WHO, **more):
        return self.happens(EntryMade(len(self.records), at, text, "mm", who, **more))

    def pressed(self, action):
        return self.happens(PedalPressed(len(self.records), action))

    def _record(self, event, because=None):
        seq = len(self.records) + 1
        self.records.append(JustRecorded(seq, because, event))
        return seq
