"""Typed lengths that can't be: less than nothing, a bore of another engine, a width slipped."""

from decimal import Decimal

import pytest

from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.judge.entry import Accepted, Typed, check_entry
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.model import FeatureId
from tests.rules.whole_set import FOUR, Whole

D = Decimal


def answer(at: str, text: str, whole: Whole | None = None) -> str:
    whole = whole or Whole([])
    file = set_from(whole.table, FOUR, "set")
    part, feature, *rest = at.split("/")
    expected = expected_at(Evidence(FOUR, file.engine, {}), FeatureId(part, feature, *rest))
    found = check_entry(Typed(text, "mm"), expected)
    return "taken" if isinstance(found, Accepted) else found.reason


@pytest.mark.parametrize("at", ["P1/gap/top", "P1/side/top", "P1/ring/top", "B1/wall", "P1/skirt"])
def test_no_length_is_less_than_nothing(at):
    assert answer(at, "-0.45") == "unlike"


@pytest.mark.parametrize(
    ("text", "expected"),
    [("85.010", "taken"), ("84.985", "taken"), ("85.100", "taken"), ("84.500", "unlike"),
     ("85.252", "unlike"), ("8.501", "decimal-slip"), ("85.601", "digits-swapped"),
     ("85.250", "digits-swapped")],
)  # fmt: skip
def test_a_gap_is_measured_in_a_bore_of_this_engine(text, expected):
    """Bores are 84.990 to 85.010 when new, 0.100 more when worn: no bore is 0.5 less."""
    assert answer("P1/gap-bore/top", text) == expected


@pytest.mark.parametrize("feature", ["ring", "groove"])
@pytest.mark.parametrize(
    ("text", "expected"),
    [("1.490", "taken"), ("14.90", "decimal-slip"), ("0.149", "decimal-slip")],
)  # fmt: skip
def test_the_width_of_a_ring_or_groove_alone_is_asked_about_when_it_slipped(
    feature, text, expected
):
    assert answer(f"P1/{feature}/top", text) == expected
