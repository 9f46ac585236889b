"""Whether a part may be the one that was measured before it, put in once more.

Nothing on the wire tells one piston from the next. Two sizes in a row that agree within what both
sweeps leave open may be one part measured twice, or two parts that are alike. That is no reason to
stop a hand in its work: one question is put when all of the kind are measured. Two presses say that
they are two parts; the pedal's `again` says no; no answer at all measures them once more, and asks
again where they still agree. Until then nothing of them is decided.
"""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from barrelfit.rules.events import AlikeParts
from barrelfit.rules.judge.evidence import Question
from barrelfit.rules.judge.twice import SWEPT, doubt_nm, own_u_nm
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import Said, length, said

Z_99 = 2.326  # standard normal, one-sided 99 %
WENT_ON_NM: Final = 2_000.0
"""By so much (one standard deviation) a size may be another part's, too, whose sweep went on after
an interruption: passes of two parts that differ by less agree."""
APART_NM: Final = 100_000  # parts of one engine that are both in order wear hardly further apart


@dataclass(frozen=True, slots=True)
class Alike:
    """Two parts measured one after the other whose sizes agree, of one kind of feature."""

    feature: str
    parts: AlikeParts

    @property
    def names(self) -> tuple[str, str]:
        """The parts, in the order in which they were measured."""
        return self.parts.earlier, self.parts.later

    @property
    def said(self) -> Said:
        """What is asked: `P3 and P4 agree to 0.001 mm`."""
        return said("agree_to", parts=self.names, apart=length(self.parts.apart_nm))

    def questions(self, places: list[FeatureId]) -> list[Question]:
        """What is open of both parts until somebody answers; `places` are theirs."""
        firsts = {at.part: at for at in reversed(places) if at.feature == self.feature}
        asked = said("two_or_twice", what=self.said)
        return [Question(firsts[part], asked) for part in self.names if part in firsts]


def alike(
    feature: str,
    earlier: list[Size],
    later: list[Size],
    went_on: Collection[FeatureId] = (),
) -> Alike | None:
    """Compare two parts by all their places together; None where they are two parts for sure.

    Args:
        feature: the kind of feature.
        earlier: the sizes of the part before, place by place.
        later: the sizes of the part after it, in the same order.
        went_on: places whose sweep went on after an interruption.
    """
    both = list(zip(earlier, later, strict=True))
    if not both or any(s.source != SWEPT for pair in both for s in pair):
        return None
    square = sum(
        (b.size_nm - a.size_nm) ** 2 / (_square_nm2(a, went_on) + _square_nm2(b, went_on))
        for a, b in both
    )
    if square > chi_square_99(len(both)):
        return None
    a, b = max(both, key=lambda pair: abs(pair[1].size_nm - pair[0].size_nm))
    apart_nm = abs(b.size_nm - a.size_nm)
    return Alike(feature, AlikeParts(a.at.part, b.at.part, apart_nm, doubt_nm(a, b)))


def _square_nm2(size: Size, went_on: Collection[FeatureId]) -> float:
    """The square of what a size leaves open by itself (nm²)."""
    more_nm = WENT_ON_NM if size.at in went_on else 0.0
    return own_u_nm(size) ** 2 + more_nm**2


def chi_square_99(dof: int) -> float:
    """The 99 % quantile of chi-square, to 1 %, after Wilson and Hilferty (PNAS 17, 1931)."""
    ninth = 2.0 / (9.0 * dof)
    return float(dof * (1.0 - ninth + Z_99 * math.sqrt(ninth)) ** 3)


def put_off(
    places: Iterable[FeatureId], sizes: Mapping[FeatureId, Size], measured: Sequence[FeatureId]
) -> Iterator[Question]:
    """What is open of a part that was measured right after one whose second sweep was put off.

    The gauge may have been set otherwise then, by as much as they are apart: nothing but that sweep
    tells whether they are one part, put in twice.

    Args:
        places: whose second sweeps were put off.
        sizes: all sizes that stand.
        measured: their places, in the order in which they were measured.
    """
    for at in places:
        parts = dict.fromkeys(other.part for other in measured if other.feature == at.feature)
        after = next((b for a, b in pairwise(parts) if a == at.part), None)
        later = sizes.get(replace(at, part=after)) if after is not None else None
        if later is None or later.source != SWEPT or sizes[at].source != SWEPT:
            continue
        if abs(later.size_nm - sizes[at].size_nm) > APART_NM:
            asked = said("second_put_off", before=at.part, part=later.at.part)
            yield Question(later.at, asked)
