"""Where a length should lie before it is taken, typed or swept: by the limits that apply to it.

A value far beside them is another unit, another feature or a slipped decimal, and is held (see
`rules.judge.entry`). Where nothing limits a side, what the length is about closes it. What each
feature expects stands with it in `rules.engine.catalogue`.
"""

from dataclasses import replace

from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.expectation import ANYTHING, Expected
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId


def expected_at(evidence: Evidence, at: FeatureId) -> Expected:
    """Where the length of a feature should lie, typed or swept.

    Args:
        evidence: the engine, its sheet, and what was measured beside: a groove's width follows from
            its ring's, and the places of one bore are not far apart.
        at: the feature.
    """
    entry = feature(at.feature)
    part = evidence.engine.part(at.part)
    expected = ANYTHING if entry is None else entry.expected(evidence, at, part)
    return replace(expected, least_nm=max(0, expected.least_nm or 0))
