"""The nouns every rule speaks of: features, sizes, findings, verdicts.

Lengths are whole nanometres (`size_nm`); a standard uncertainty is a float in nm, because it is
an estimate and never compared for equality. Whatever meets a limit is a whole number.
"""

from dataclasses import dataclass, field
from enum import IntEnum, StrEnum

from barrelfit.rules.said import NOTHING, Said
from barrelfit.rules.uncertainty.budget import Budget


class Movement(StrEnum):
    """How a gauge's reading moves while a part is swept (see `rules.sweep`)."""

    FOLLOWING = "following"  # spring-loaded anvils: rises over the crest on every pass
    SCREW = "screw"  # friction thimble: comes down from above, is held, opens again
    BORE = "bore"  # two-point gauge with a guide, rocked: the minimum of each rock
    HELD = "held"  # any gauge that sends on its button: each press is a reading at the crest


class Verdict(StrEnum):
    """What a part or a pair is good for."""

    SERVICEABLE = "serviceable"
    REWORK = "rework"
    DISCARD = "discard"
    UNDECIDED = "undecided"


class Severity(IntEnum):
    """How much a finding weighs; the worst finding of a part makes its verdict."""

    NOTE = 0
    UNDECIDED = 1
    REWORK = 2
    DISCARD = 3


@dataclass(frozen=True, slots=True)
class FeatureId:
    """One thing to be measured: a part's feature, where it has them at a depth and direction.

    Written `P1/skirt` or `B3/bore/top/thrust`.
    """

    part: str
    feature: str
    depth: str = ""
    direction: str = ""

    def __str__(self) -> str:
        """Write the id as its non-empty parts, joined by slashes."""
        return "/".join(p for p in (self.part, self.feature, self.depth, self.direction) if p)


@dataclass(frozen=True, slots=True)
class Size:
    """A size found for one feature, at 20 °C.

    `size_nm` is a two-point size (ISO 14405-1) at 20 °C in nm; `read_nm` is the same before the
    correction for temperature; `budget` is its uncertainty after the GUM; `source` says where it
    came from (`sweep`, `hand`, `file`).
    """

    at: FeatureId
    size_nm: int
    read_nm: int
    budget: Budget
    source: str = "sweep"


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule saw: its code, weight, and what it says to a machinist.

    `value_nm` and `limit_nm` are in nm, None where the finding is not about a length; `limit_from`
    names the limit's origin (`stamp on P1`, `override by …`, `sheet x rev B, group II`).
    """

    code: str
    severity: Severity
    about: str
    sentence: Said
    value_nm: int | None = None
    limit_nm: int | None = None
    limit_from: Said = NOTHING
    advice: Said = NOTHING


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on a part (`P1`) or a pair (`P1+B1`) with every finding that led to it."""

    about: str
    verdict: Verdict
    findings: tuple[Finding, ...] = field(default=())
    todo: Said = NOTHING
