"""Scenarios: the shipped one holds together, further benches differ, bad files say everything."""

import json

import pytest

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.line import profile_ids
from barrelfit.simulators.scenario import Place, load_scenario, scenario_from

GAUGE = {"name": "m", "profile": "signed-decimal-cr", "movement": "to-and-fro"}


def test_demo_has_a_set_to_be_interesting():
    demo = load_scenario("demo")
    places = demo.places()
    assert len(places) == 5 + 4 * 3 * 2  # one piston is on the shelf
    sizes = {place: demo.truth_nm(place, now=False) for place in places}
    skirts = sorted(sizes[p] for p in places if p.feature == "skirt")
    bores = sorted(sizes[p] for p in places if p.feature == "bore")
    assert skirts[-1] < bores[0]  # every piston goes into every barrel
    assert all(demo.truth_nm(p, now=True) > sizes[p] for p in places)  # they are warm
    assert {gauge.profile for gauge in demo.gauges} <= set(profile_ids())
    assert {slip.how for slip in demo.fumbles} == {"left-early", "two-parts"}


def test_every_bench_has_its_own_parts_near_the_first():
    first, second, again = (load_scenario("demo", bench) for bench in (1, 2, 2))
    assert second == again
    assert first.seed != second.seed
    for place in first.places():
        apart = abs(first.truth_nm(place, now=False) - second.truth_nm(place, now=False))
        assert 0 < apart < 3_500


def test_oval_barrel_is_oval_in_its_directions():
    demo = load_scenario("demo")
    thrust, pin = (
        demo.truth_nm(Place("B3", "bore", "middle", direction), now=False)
        for direction in ("thrust", "pin")
    )
    assert thrust - pin == 43_300


def test_json_is_read_as_well(tmp_path):
    file = tmp_path / "own.json"
    data = {"schema": 1, "gauge": [GAUGE], "piston": [{"name": "P", "skirt_mm": 84.0}]}
    file.write_text(json.dumps(data), encoding="utf-8")
    own = load_scenario(str(file), profiles={"m": "signed-decimal-streaming-crlf"}, seed=11)
    assert own.places() == [Place("P", "skirt")]
    assert own.truth_nm(Place("P", "skirt"), now=True) == 84_000_000
    assert own.gauges[0].profile == "signed-decimal-streaming-crlf"
    assert own.seed == 11
    with pytest.raises(SimulatorError, match="no gauge is called 'x'"):
        load_scenario(str(file), profiles={"x": "signed-decimal-cr"})


def test_every_problem_of_a_file_is_named():
    bad = {
        "schema": 2,
        "colour": "red",
        "gauge": [{**GAUGE, "movement": "wobble", "rate_hz": "fast"}, {"name": "n"}],
        "piston": [{"name": "P", "skirt_mm": 84.0}, {"name": "P", "skirt_mm": 84, "shine": 1}],
        "barrel": {"name": "B"},
        "room": {"part_c": True},
        "fumble": [{"part": "Q", "feature": "skirt", "how": "drop"}],
    }
    with pytest.raises(SimulatorError) as error:
        scenario_from(bad, "bad.toml")
    text = "\n".join(error.value.problems)
    for said in (
        "schema must be 1",
        "no key is called 'colour'",
        "gauge[1].rate_hz must be a number",
        "gauge[2].profile is missing",
        "gauge[2].movement is missing",
        "piston[2]: no key is called 'shine'",
        "barrel must be an array of tables",
        "room.part_c must be a number",
        "fumble at 'Q': how must be one of",
        "there is no part 'Q'",
    ):
        assert said in text
    with pytest.raises(SimulatorError, match="no-such"):
        load_scenario("no-such")


def test_contradictions_are_named():
    parts = [{"name": "P", "skirt_mm": 84.0, "material": "wood"}, {"name": "P", "skirt_mm": 84.0}]
    gauges = [{**GAUGE, "movement": "wobble"}, GAUGE]
    with pytest.raises(SimulatorError) as error:
        scenario_from({"schema": 1, "gauge": gauges, "piston": parts}, "own")
    text = "\n".join(error.value.problems)
    assert "part 'P' stands there twice" in text
    assert "gauge 'm' stands there twice" in text
    assert "movement must be one of to-and-fro" in text
    assert "material must be one of" in text
