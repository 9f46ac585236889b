"""A set as it will be when its iron bores have been honed, for planning the pairing before it."""

from collections.abc import Mapping
from dataclasses import replace

from barrelfit.rules.engine.features import ring_at
from barrelfit.rules.judge.bore import bore_of
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.rings import gap_bore
from barrelfit.rules.model import FeatureId, Size


def with_honed_bores(evidence: Evidence, honed_nm: Mapping[str, int]) -> Evidence:
    """The evidence with every place of the named barrels at the bore that honing aims at.

    Args:
        evidence: the set as measured.
        honed_nm: the aimed bore in nm, by barrel. Its uncertainty is taken as the measured bore's:
            the pairing is a plan, and the bore is measured again after honing.
    """
    sizes = {**evidence.sizes, **_gap_bores(evidence)}
    for barrel, to_nm in honed_nm.items():
        for size in bore_of(evidence, barrel).sizes:
            sizes[size.at] = replace(size, size_nm=to_nm)
    return replace(evidence, sizes=sizes)


def _gap_bores(evidence: Evidence) -> dict[FeatureId, Size]:
    """The bores in which gaps were measured, as they were then: honing comes after."""
    found = {}
    for piston in evidence.engine.of_kind("piston"):
        for ring, _ in piston.gap_depths:
            bore = gap_bore(evidence, piston, ring)
            if bore is not None:
                found[ring_at(piston.id, "gap-bore", ring)] = bore
    return found
