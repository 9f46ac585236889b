"""What a sweep comes to, worked out once a session: the redo at its end asks for all of it again.

That the same readings give the same size is other tests' business, and some sessions of the world
forget it all.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from barrelfit.rules.sweep import stream
from barrelfit.rules.sweep.finder import Sample
from barrelfit.rules.sweep.nouns import GaugeTraits, Lesson, SweepRefused, SweepSized
from barrelfit.rules.sweep.outcome import StreamEvidence

Found = SweepSized | SweepRefused


@contextmanager
def sweeps_remembered() -> Iterator[None]:
    """Work out each sweep once for as long as this holds."""
    was, known = stream.judge, {}

    def judge(
        hills: Sequence[Sequence[Sample]],
        evidence: StreamEvidence,
        traits: GaugeTraits,
        lessons: Sequence[Lesson] = (),
    ) -> Found:
        key = tuple(map(tuple, hills)), evidence, traits, tuple(lessons)
        found = known.get(key)
        if found is None:
            found = known[key] = was(hills, evidence, traits, lessons)
        return found

    stream.judge = judge
    try:
        yield
    finally:
        stream.judge = was
