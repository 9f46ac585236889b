"""Sweeps: from a gauge's moving reading to a two-point size (ISO 14405-1), or a refusal.

Four movements, four estimators, one shape: readings are pushed one by one, every pass over the
crest is noted, and `estimate` answers with a size and its uncertainty or says why there is none.

The nouns are here; what works sizes out (`stream`, `outcome`) loads NumPy, and is asked for by who
needs it.
"""

from barrelfit.rules.sweep.nouns import (
    GaugeTraits,
    Left,
    Lesson,
    PassFound,
    PassLost,
    SweepContact,
    SweepNote,
    SweepRefused,
    SweepSized,
)

__all__ = [
    "GaugeTraits",
    "Left",
    "Lesson",
    "PassFound",
    "PassLost",
    "SweepContact",
    "SweepNote",
    "SweepRefused",
    "SweepSized",
]
