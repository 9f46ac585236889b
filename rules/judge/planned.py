"""A set as it will be when its iron bores have been honed, for planning the pairing before it."""

from collections.abc import Mapping
from dataclasses import replace

from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence


def with_honed_bores(evidence: Evidence, honed_nm: Mapping[str, int]) -> Evidence:
    """The evidence with every place of the named barrels at the bore that honing aims at.

    Args:
        evidence: the set as measured.
        honed_nm: the aimed bore in nm, by barrel. Its uncertainty is taken as the measured bore's:
            the pairing is a plan, and the bore is measured again after honing.
    """
    sizes = dict(evidence.sizes)
    for barrel, to_nm in honed_nm.items():
        for size in bore_of(evidence, barrel).sizes:
            sizes[size.at] = replace(size, size_nm=to_nm)
    return replace(evidence, sizes=sizes)
