"""Rings at the bench: what no gauge measures is asked for, typed in, guarded, and judged."""

from dataclasses import replace

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.events import Asked, EntryMade, Judged, Refused, SetDone, Sized
from barrelfit.rules.judge import judge_pair
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId, Size, Verdict
from tests.acquire.recorded import opening
from tests.rules.set_bench import size

GAP = FeatureId("P1", "gap", "top")
WHO = "A. Smith"


def ringed():
    """A bench whose gauge features are all measured: only the rings are left to type in."""
    setup = setup_of(opening())
    left_out = tuple(t for t in setup.engine.left_out if t != "rings")
    setup = replace(setup, engine=replace(setup.engine, left_out=left_out))
    bench, _ = begin(setup)
    for planned in bench.plan:
        if planned.gauge_kind != "hand":
            mm = "84.93" if planned.at.feature == "skirt" else "85.005"
            bench.sizes[planned.at] = size(planned.at, mm)
    bench, found = step(bench, EntryMade(1, FeatureId("P9", "gap", "top"), "0.4", "mm", WHO))
    assert isinstance(found[0], Refused)
    return bench


def typed(bench, at, text, **more):
    return step(bench, EntryMade(2, at, text, "mm", WHO, **more))


def kinds(found, kind):
    return [f for f in found if isinstance(f, kind)]


def test_a_gap_typed_in_is_a_size_by_hand_and_judged():
    bench, found = typed(ringed(), GAP, "0.45")
    sized = kinds(found, Sized)[0]
    assert (sized.at, sized.size_nm, sized.source) == (GAP, 450_000, "hand")
    assert sized.low_nm < 450_000 < sized.high_nm
    assert kinds(found, Judged)[0].about == "P1"
    asked = kinds(found, Asked)[0]
    assert asked.at == FeatureId("P1", "side", "top")
    assert "type it in" in told(asked.sentence)
    assert isinstance(bench.sizes[GAP], Size)


def test_a_ten_fold_slip_is_held_and_counts_only_when_explained():
    bench, found = typed(ringed(), GAP, "4.5")
    assert found[0].reason == "entry-held"
    assert "decimal slip?" in told(found[0].sentence)
    assert GAP not in bench.sizes
    bench, found = typed(bench, GAP, "4.5", confirms=True)
    assert kinds(found, Sized)[0].size_nm == 4_500_000
    assert kinds(found, Judged)[0].verdict is Verdict.REWORK


def test_the_largest_leaf_that_goes_in_discards_the_piston():
    _, found = typed(ringed(), FeatureId("P1", "side", "top"), "0.12")
    judged = kinds(found, Judged)[0]
    assert judged.verdict is Verdict.DISCARD
    assert "R101" in {f.code for f in judged.findings}


def test_a_size_of_a_gauge_that_is_not_on_the_bench_is_typed_in_with_wider_doubt():
    """The bench has no bore gauge: its budget says so, and the last digit typed counts."""
    setup = setup_of(opening())
    gauges = {n: g for n, g in setup.gauges.items() if g.measures == "outside"}
    at = FeatureId("B1", "bore", "top", "thrust")
    u_nm = {}
    for text in ("85.02", "85.020"):
        bench, _ = begin(replace(setup, gauges=gauges))
        _, found = typed(bench, at, text)
        sized = kinds(found, Sized)[0]
        assert sized.size_nm == 85_020_000
        assert any(
            "how gauge off the bench (bore) was set is not given" in n
            for n in told_all(sized.notes)
        )
        u_nm[text] = sized.u_nm
    assert u_nm["85.02"] > 2 * u_nm["85.020"] > 2 * 2_000


def test_a_pin_is_not_asked_of_a_gauge_that_does_not_reach_it():
    setup = setup_of(opening())
    outside = setup.gauges["micrometer"]
    traits = replace(outside.traits, low_nm=75_000_000, high_nm=100_000_000)
    setup = replace(setup, gauges={"micrometer": replace(outside, traits=traits)})
    assert setup.gauge_for("outside", 84_930_000) is not None
    assert setup.gauge_for("outside", 23_000_000) is None
    assert setup.gauge_for("bore") is None


def test_the_set_is_done_when_the_last_ring_is_typed_in():
    bench, found = ringed(), ()
    for planned in bench.plan:
        if planned.gauge_kind == "hand":
            bench, found = typed(
                bench, planned.at, "0.5" if planned.at.feature == "gap" else "0.06"
            )
    assert kinds(found, SetDone)[0].undecided == 0


def test_the_bore_of_a_gap_is_asked_for_and_may_be_typed_in():
    """P1 runs in B1, 85.005 all over: 0.45 in 85.000 is 0.45 + pi x 0.005 = 0.466 there."""
    bench = ringed()
    at = FeatureId("P1", "gap-bore", "top")
    planned = next(p for p in bench.plan if p.at == at)
    assert planned.gauge_kind == "bore"
    assert "the bore its gap was measured in" in told(planned.sentence)
    bench, found = typed(bench, at, "85.000", why="read with a lever gauge")
    assert kinds(found, Sized)[0].at == at
    bench, _ = typed(bench, GAP, "0.45")
    judged = judge_pair(bench.evidence, "P1", "B1")
    narrowest = next(
        f for f in judged.findings if told(f.sentence).startswith("top ring: narrowest")
    )
    assert abs(narrowest.value_nm - 465_708) < 2_000  # off the bench, at 20 °C as assumed
