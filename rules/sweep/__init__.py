"""Sweeps: from a gauge's moving reading to a two-point size (ISO 14405-1), or a refusal.

Three movements, three estimators, one shape: readings are pushed one by one, every pass over the
crest is noted, and `estimate` answers with a size and its uncertainty or says why there is none.
"""

from barrelfit.rules.sweep.nouns import (
    Contact,
    GaugeTraits,
    Left,
    PassFound,
    Refused,
    Sized,
    SweepNote,
)
from barrelfit.rules.sweep.stream import Sweep, size_trace
from barrelfit.rules.sweep.verdict import prepare

__all__ = [
    "Contact",
    "GaugeTraits",
    "Left",
    "PassFound",
    "Refused",
    "Sized",
    "Sweep",
    "SweepNote",
    "prepare",
    "size_trace",
]
