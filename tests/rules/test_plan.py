"""The plan: fewest gauge changes, nothing asked of parts that failed by eye."""

from dataclasses import replace
from itertools import pairwise

from barrelfit.rules.engine.parts import EngineSet, Feeler, Part
from barrelfit.rules.judge import still_to_measure
from barrelfit.rules.judge.plan import features
from barrelfit.rules.model import FeatureId
from tests.rules.set_bench import bench_sheet, evidence

GOOD = ("good",)
PARTS = (
    Part("P1", "piston", looked=GOOD),
    Part("B1", "barrel", looked=GOOD, barrel_kind="iron-liner"),
    Part("P2", "piston", looked=GOOD),
    Part("B2", "barrel", looked=GOOD, barrel_kind="iron-liner"),
)
GAUGED = ("rings", "pins", "mass", "height-groups", "head-seal")


def plan_of(parts=PARTS, left_out=GAUGED):
    engine = EngineSet("job", "early", "II", parts=tuple(parts), left_out=tuple(left_out))
    return features(bench_sheet(), engine)


def changes(plan):
    kinds = [p.gauge_kind for p in plan]
    return sum(a != b for a, b in pairwise(kinds))


def test_one_gauge_change_for_a_whole_set():
    plan = plan_of()
    assert len(plan) == 2 + 2 * 4
    assert changes(plan) == 1
    assert len({p.at for p in plan}) == len(plan)


def test_the_gauge_is_lowered_once_and_turned_once_a_depth():
    places = [(p.at.depth, p.at.direction) for p in plan_of() if p.at.part == "B1"]
    assert places == [("top", "thrust"), ("top", "pin"), ("bottom", "pin"), ("bottom", "thrust")]


def test_a_part_that_failed_by_eye_is_not_in_the_plan():
    parts = [replace(p, looked=("cracked",)) if p.id in {"P1", "B2"} else p for p in PARTS]
    assert {p.at.part for p in plan_of(parts)} == {"P2", "B1"}


def test_rings_are_tried_by_hand_after_all_gauges():
    plan = plan_of(left_out=("pins",))
    assert changes(plan) == 3  # the bores of the gaps come last, all together
    hand = [str(p.at) for p in plan if p.gauge_kind == "hand" and p.at.part == "P1"]
    assert hand == [
        "P1/side/top",
        "P1/gap/top",
        "P1/side/second",
        "P1/gap/second",
        "P1/side/oil",
        "P1/side-all/oil",
        "P1/gap/oil",
    ]
    feelers = (Feeler("top", 120_000, (False,) * 4),)
    tried = [replace(p, feelers=feelers) if p.id == "P1" else p for p in PARTS]
    assert "P1/side/top" not in {str(p.at) for p in plan_of(tried, ("pins",))}


def test_only_what_is_open_is_asked_again():
    """P1 is clear, P2 is on its limit 84.85 (undecided), B1 has one place left."""
    values = {"P1/skirt": "84.93", "P2/skirt": "84.85", "B1/bore/top/thrust": "85.02"}
    values |= {"B1/bore/top/pin": "85.02", "B1/bore/bottom/pin": "85.02"}
    values |= {f"B2/bore/{d}/{x}": "85.02" for d in ("top", "bottom") for x in ("thrust", "pin")}
    open_now = [p.at for p in still_to_measure(evidence(PARTS, values))]
    assert open_now == [FeatureId("P2", "skirt"), FeatureId("B1", "bore", "bottom", "thrust")]


def test_a_groove_and_ring_with_widths_need_no_leaf():
    values = {"P1/groove/top": "1.55", "P1/ring/top": "1.49"}
    seen = evidence(PARTS[:1], values, left_out=("pins", "mass", "height-groups", "head-seal"))
    assert "P1/side/top" not in {str(p.at) for p in still_to_measure(seen)}


def test_of_a_part_that_is_discarded_nothing_more_is_asked():
    """P1 is worn by 0.16 of 0.10; nothing was tried on its rings. P2 is sound."""
    values = {"P1/skirt": "84.79", "P2/skirt": "84.92"}
    left_out = ("pins", "mass", "height-groups", "head-seal")
    open_now = [p.at.part for p in still_to_measure(evidence(PARTS, values, left_out=left_out))]
    assert "P1" not in open_now
    assert open_now.count("P2") >= 7
    again = evidence(PARTS, {"P2/skirt": "84.92"}, left_out=left_out)
    assert "P1" in [p.at.part for p in still_to_measure(again)]  # its size was taken back
