"""A lesson: readings one after another, until a proposal has been proven or there can be none."""

from dataclasses import dataclass, field
from typing import Final

from barrelfit.drivers.coded import NOTHING, Coded
from barrelfit.drivers.shapes import Layout
from barrelfit.drivers.teaching.propose import NEEDED, RIGHT, WRONG, Proposal, outcome, propose
from barrelfit.drivers.teaching.samples import Sample, TeachError

READINGS_MAX: Final = 24


@dataclass(slots=True)
class Lesson:
    """What was sent so far, the proposal that came of it, and how often it has been right since.

    The first three make a proposal, the next three prove it: each is read with the proposal made
    before it. One that it refuses teaches it more; one that it reads wrongly begins the proof anew.
    `why` says why there is no proposal, empty where there is one or too few were sent.
    """

    baud: int = 9600
    samples: list[Sample] = field(default_factory=list)
    proposal: Proposal | None = None
    right: int = 0
    last: str = ""
    why: Coded = NOTHING

    @property
    def proven(self) -> bool:
        """Whether the proposal may be saved."""
        return self.proposal is not None and self.right >= NEEDED

    @property
    def full(self) -> bool:
        """Whether more readings will not help."""
        return len(self.samples) >= READINGS_MAX

    def take(self, sample: Sample) -> None:
        """One more reading with what was shown for it; `last` is what the proposal made of it."""
        self.last = outcome(self.proposal.profile, sample) if self.proposal else ""
        if self.last == RIGHT:
            self.right += 1
        elif self.last == WRONG:
            self.right = 0
        self.samples.append(sample)
        if len(self.samples) < NEEDED:
            return
        before = self.proposal
        try:
            self.proposal, self.why = propose(self.samples, baud=self.baud), NOTHING
            if before and _way(before) != _way(self.proposal):
                self.right = 0
        except TeachError as error:
            self.proposal, self.why, self.right = None, error.problems[0], 0

    def forget_last(self) -> None:
        """What was typed for the last reading was a slip: as if it had not been sent."""
        kept = self.samples[:-1]
        self.samples, self.proposal, self.right, self.last, self.why = [], None, 0, "", NOTHING
        for sample in kept:
            self.take(sample)


def _way(proposal: Proposal) -> tuple[object, ...]:
    """How a proposal reads the number: another way has to be proven anew."""
    profile = proposal.profile
    layout = profile.layout
    if not isinstance(layout, Layout):
        return ()
    return profile.frame, layout.backwards, layout.number, layout.places, profile.checksum
