"""Where a size should lie before it is taken: within the limits that apply to its part.

A value far beside them is another unit, another feature or a slipped decimal, and is held.
"""

from barrelfit.rules.engine.limits import bore_limit, skirt_limit
from barrelfit.rules.judge.by_hand import expected_by_hand
from barrelfit.rules.judge.entry import Expected
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId


def expected_at(evidence: Evidence, at: FeatureId) -> Expected:
    """Where the size of a feature should lie, typed or swept."""
    sheet, engine = evidence.sheet, evidence.engine
    by_hand = expected_by_hand(sheet, at, {})
    if by_hand is not None:
        return by_hand
    part = engine.part(at.part)
    limit = None
    if part.kind == "piston":
        limit = skirt_limit(sheet, engine, part)
    elif part.kind == "barrel":
        limit = bore_limit(sheet, engine, part)
    if limit is None:
        return Expected(None, None, "no limit")
    near_nm = limit.lower_nm if limit.lower_nm is not None else limit.upper_nm
    return Expected(limit.lower_nm, limit.upper_nm, "the limits that apply", near_nm)
