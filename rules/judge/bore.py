"""A barrel's bore as measured: largest, smallest, taper and out-of-round, and where each is."""

from collections.abc import Sequence
from dataclasses import dataclass

from barrelfit.rules.checks import entries
from barrelfit.rules.compare import Found, Value
from barrelfit.rules.engine.features import bore_places
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.model import FeatureId, Size


@dataclass(frozen=True, slots=True)
class BoreForm:
    """A deviation of form as a difference of two diameters, and where it was seen."""

    value: Value
    where: str


@dataclass(frozen=True, slots=True)
class BoreSizes:
    """The measured places of one bore; `missing` are those without a size yet."""

    sizes: tuple[Size, ...]
    missing: tuple[FeatureId, ...]

    @property
    def largest(self) -> Size | None:
        """The place with the largest diameter, the deepest wear."""
        return max(self.sizes, key=lambda s: s.size_nm, default=None)

    @property
    def smallest(self) -> Size | None:
        """The place with the smallest diameter."""
        return min(self.sizes, key=lambda s: s.size_nm, default=None)


def bore_of(evidence: Evidence, barrel_id: str) -> BoreSizes:
    """Gather the measured places of a barrel's bore."""
    places = bore_places(evidence.sheet, barrel_id)
    sizes = tuple(evidence.sizes[p] for p in places if p in evidence.sizes)
    return BoreSizes(sizes, tuple(p for p in places if p not in evidence.sizes))


def place(at: FeatureId) -> str:
    """Write a place of a bore: `top/thrust`."""
    return f"{at.depth}/{at.direction}"


def taper(evidence: Evidence, bore: BoreSizes) -> BoreForm | None:
    """Taper: the largest difference of diameters along the bore in one direction.

    Half of it is the local taper of ISO 12180. None until one direction has two depths.
    """
    directions = evidence.sheet.barrel.directions
    rows = [(d, [s for s in bore.sizes if s.at.direction == d]) for d in directions]
    return _widest(evidence, rows)


def out_of_round(evidence: Evidence, bore: BoreSizes) -> BoreForm | None:
    """Out-of-round: the largest difference of diameters at one depth, over its directions.

    None until one depth has two directions.
    """
    depths = [d.id for d in evidence.sheet.barrel.depths]
    rows = [(d, [s for s in bore.sizes if s.at.depth == d]) for d in depths]
    return _widest(evidence, rows)


def apart(evidence: Evidence, barrel_id: str) -> tuple[Found, ...]:
    """Why nothing may rest on a bore's sizes: a gauge was set otherwise for one of its places."""
    bore = bore_of(evidence, barrel_id)
    largest, smallest = bore.largest, bore.smallest
    if largest is None or smallest is None:
        return ()
    found = entries.places_apart(
        largest.size_nm, place(largest.at), smallest.size_nm, place(smallest.at)
    )
    return () if found is None else (found,)


def _widest(evidence: Evidence, rows: Sequence[tuple[str, Sequence[Size]]]) -> BoreForm | None:
    forms = [_spread(evidence, where, sizes) for where, sizes in rows if len(sizes) > 1]
    return max(forms, key=lambda f: f.value.nm, default=None)


def _spread(evidence: Evidence, where: str, sizes: Sequence[Size]) -> BoreForm:
    large = max(sizes, key=lambda s: s.size_nm)
    small = min(sizes, key=lambda s: s.size_nm)
    return BoreForm(evidence.less(large, small), where)
