"""What viewers are told of the plan: where on the part each feature is measured."""

from barrelfit.acquire.bus.plan_told import planned_features
from barrelfit.acquire.inputs.setup import setup_of
from tests.acquire.recorded import opening


def test_skirts_have_their_height_and_bores_their_depth_from_the_sheet():
    setup = setup_of(opening())
    told = planned_features(setup)
    skirts = {p.from_edge_nm for p in told if p.at.feature == "skirt"}
    assert skirts == {setup.sheet.piston.skirt_height_nm}
    depths = {p.at.depth: p.from_edge_nm for p in told if p.at.feature == "bore"}
    assert depths == {d.id: d.below_top_nm for d in setup.sheet.barrel.depths}
    assert all(isinstance(p.gauge, str) for p in told)


def test_a_gauge_tells_how_many_passes_it_takes_and_how_sure_is_sure():
    told = planned_features(setup_of(opening()))
    skirt = next(p for p in told if p.at.feature == "skirt")
    assert skirt.passes == setup_of(opening()).gauges[skirt.gauge].passes
    assert all(p.aim_nm is None for p in told if not p.gauge)
