"""The sizes that stand in a session, as the rules judge by them. Pure."""

from barrelfit.acquire.fold.state import SessionState
from barrelfit.rules.events import Sized
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.uncertainty.size_budget import budget_from_lines


def size_of(sized: Sized) -> Size:
    """A size with its budget, as it stands in the record."""
    budget = budget_from_lines(sized.budget)
    return Size(sized.at, sized.size_nm, sized.read_nm, budget, sized.source)


def standing_sizes(state: SessionState) -> dict[FeatureId, Size]:
    """The sizes that stand, by feature."""
    return {at: size_of(stood.event) for at, stood in state.sizes.items()}


def first_sizes(state: SessionState) -> dict[FeatureId, Size]:
    """The first sizes of what was measured twice for a verdict's sake, by feature."""
    return {at: size_of(stood.event) for at, stood in state.firsts.items()}
