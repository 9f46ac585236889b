"""Bores at the edge of what boring cleans up, and sets in which not every barrel is known.

Original 85.000, oversizes 0.250 and 0.500, boring takes 0.060: what is to go to 85.250 may be worn
to 85.190. Sizes are good to 1 µm, a guard band of 1.65 µm.
"""

from decimal import Decimal

import pytest

from barrelfit.rules.judge import Outcome
from barrelfit.rules.judge.rework import ReworkPlan
from barrelfit.rules.manner import told, told_all
from tests.rules.whole_set import Whole

D = Decimal


def worn(**bores: str) -> Whole:
    """All barrels are worn to 85.115, and some as said."""
    whole = Whole()
    for number in range(1, 5):
        whole.barrel(f"B{number}", bores.get(f"B{number}", "85.115"))
    return whole


@pytest.mark.parametrize(
    ("bore", "work", "oversize_mm"),
    [
        ("85.188", ReworkPlan.OVERSIZE, "0.25"),  # 0.062 for boring, 0.002 more than it takes
        ("85.189", ReworkPlan.MEASURE_BORE, None),
        ("85.190", ReworkPlan.MEASURE_BORE, None),  # 0.060 on the nanometre, known to 1.65 µm
        ("85.191", ReworkPlan.MEASURE_BORE, None),
        ("85.192", ReworkPlan.OVERSIZE, "0.5"),
        ("85.438", ReworkPlan.OVERSIZE, "0.5"),
        ("85.440", ReworkPlan.MEASURE_BORE, None),
        ("85.442", ReworkPlan.REPLACE, "0.25"),  # the others go to the first oversize
    ],
)
def test_a_bore_at_the_edge_of_an_oversize_is_measured_again(bore, work, oversize_mm):
    judged = worn(B2=bore).judge()
    (own,) = [r for r in judged.rework.remedies if r.part == "B2"]
    assert own.work is work
    oversize_nm = judged.rework.oversize_nm
    assert oversize_nm == (None if oversize_mm is None else int(D(oversize_mm) * 1_000_000))
    if work is ReworkPlan.MEASURE_BORE:
        assert judged.pairing.outcome is Outcome.WAITING
        assert "B2/bore/top/thrust" in {str(p.at) for p in judged.to_measure}
        ours = next(j for j in judged.parts if j.about == "B2")
        assert "Q105" in {f.code for f in ours.findings}
        assert "whether boring to oversize" in told(ours.todo)


def test_a_bore_known_exactly_is_cleaned_up_at_the_edge():
    whole = worn(B2="85.190")
    whole.table["measuring"]["bore_u"] = D(0)
    assert whole.judge().rework.oversize_nm == 250_000


def test_nothing_is_bored_while_a_barrel_of_the_engine_is_not_known():
    """B4 may be good, or be bored with the others: no barrel is bought yet."""
    whole = worn()
    whole.barrel("B4", None)
    judged = whole.judge()
    assert judged.pairing.outcome is Outcome.WAITING
    assert judged.rework.oversize_nm is None
    assert "buy" not in " ".join(told_all(judged.pairing.sentences))


def test_a_spare_that_nobody_has_measured_is_not_waited_for():
    whole = worn()
    assert whole.judge().rework.oversize_nm == 250_000
    assert whole.barrel("B5", None).judge().rework.oversize_nm == 250_000
