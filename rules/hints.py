"""What helps a hand while it sweeps, and decides nothing; see `rules.events`."""

from dataclasses import dataclass

from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said


@dataclass(frozen=True, slots=True)
class Coached:
    """After `passes` passes over `at`: `sentence` is what would make its size sure sooner."""

    at: FeatureId
    passes: int
    sentence: Said


@dataclass(frozen=True, slots=True)
class PartAway:
    """What was measured last is off its gauge since `since_ns`, and gone after `gone_ns` of that.

    `gone_ns` is 0 where it came back sooner; `at` is the feature that is asked for.
    """

    at: FeatureId
    since_ns: int
    gone_ns: int
