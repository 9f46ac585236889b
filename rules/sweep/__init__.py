"""Sweeps: from a gauge's moving reading to a two-point size (ISO 14405-1), or a refusal.

Four movements, four estimators, one shape: readings are pushed one by one, every pass over the
crest is noted, and `estimate` answers with a size and its uncertainty or says why there is none.
"""

from barrelfit.rules.sweep.nouns import (
    GaugeTraits,
    Left,
    PassFound,
    PassLost,
    SweepContact,
    SweepNote,
    SweepRefused,
    SweepSized,
)
from barrelfit.rules.sweep.outcome import prepare
from barrelfit.rules.sweep.stream import AnySweep, Sweep, size_trace, sweep_of

__all__ = [
    "AnySweep",
    "GaugeTraits",
    "Left",
    "PassFound",
    "PassLost",
    "Sweep",
    "SweepContact",
    "SweepNote",
    "SweepRefused",
    "SweepSized",
    "prepare",
    "size_trace",
    "sweep_of",
]
