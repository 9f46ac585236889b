"""A bench file as the set-up page writes it: whole, readable, and what else it said stays."""

import tomllib

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.bench_writer import (
    ChosenGauge,
    GaugePlace,
    set_up_text,
    write_bench,
)
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.recognise import ProfileFit

READING = WireReading(b"", 0, "25.400", "mm", 25_400_000)


def chosen(name="micrometer", port="/dev/p", profile="signed-decimal-cr", **more):
    fit = ProfileFit(load_profile(profile), 8, "none", 2, READING)
    return ChosenGauge(GaugePlace(name, port, "outside", "held"), fit, 9600, **more)


def test_a_bench_is_written_whole():
    gauge = chosen(unit="in", range_mm=("75", "100"))
    bench = bench_file(set_up_text("bench-1", "A. Person", "flat-four-85", [gauge]), "b.toml")
    (table,) = bench.gauge
    assert (bench.who, bench.set, table.unit, table.range_mm) == (
        "A. Person",
        None,
        "in",
        (75, 100),
    )


def test_the_gauge_behind_a_box_is_named_by_its_channel():
    text = set_up_text("b", "A", "flat-four-85", [chosen(channel="01")])
    (table,) = bench_file(text, "b.toml").gauge
    assert table.channel == "01"
    other = set_up_text("b", "A", "flat-four-85", [chosen()], text)
    assert bench_file(other, "b.toml").gauge[0].channel == ""


def test_each_gauge_of_a_box_keeps_what_the_page_does_not_ask_for():
    two = [chosen("m", channel="00"), chosen("n", channel="01")]
    text = set_up_text("b", "A", "flat-four-85", two).replace('id = "n"', 'id = "n"\npasses = 9')
    again = bench_file(set_up_text("b", "A", "flat-four-85", two, text), "b.toml")
    assert [g.passes for g in again.gauge] == [5, 9]
    stays = bench_file(set_up_text("b", "A", "flat-four-85", ["/dev/p"], text), "b.toml")
    assert [g.id for g in stays.gauge] == ["m", "n"]


def test_a_taught_profile_is_named_by_its_file():
    text = set_up_text("b", "A", "flat-four-85", [chosen(own="taught-x.toml")])
    assert tomllib.loads(text)["gauge"][0]["profile"] == "taught-x.toml"


BEFORE = """
schema = 1
bench = "old"
sheet = "flat-six-92"
leads = "leads.toml"
[temperature]
part_c = 21.5
[[gauge]]
id = "m"
profile = "signed-decimal-cr"
port = "/dev/p"
measures = "outside"
movement = "held"
unit = "mm"
setting = { standard = "ring-85", u_um = 0.8 }
"""


def test_what_the_page_does_not_ask_stays_as_it_was():
    table = tomllib.loads(set_up_text("new", "A", "flat-four-85", [chosen()], BEFORE))
    assert (table["bench"], table["sheet"], table["leads"]) == ("new", "flat-four-85", "leads.toml")
    assert table["temperature"] == {"part_c": 21.5}
    (gauge,) = table["gauge"]
    assert gauge["setting"] == {"standard": "ring-85", "u_um": 0.8}
    assert (gauge["id"], "unit" in gauge) == ("micrometer", False)


def test_a_file_that_is_there_is_replaced_only_where_that_is_meant(tmp_path):
    path = tmp_path / "bench.toml"
    write_bench(path, "a", may_replace=False)
    write_bench(path, "a", may_replace=False)
    with pytest.raises(UserError):
        write_bench(path, "b", may_replace=False)
    assert path.read_text() == "a"
    write_bench(path, "b", may_replace=True)
    assert path.read_text() == "b"


def test_two_gauges_of_one_name_are_refused():
    with pytest.raises(UserError):
        set_up_text("b", "A", "flat-four-85", [chosen(), chosen(port="/dev/q")])


def test_a_gauge_that_is_not_heard_stays_as_the_file_has_it():
    second = chosen("bore-gauge", "/dev/q")
    table = tomllib.loads(set_up_text("b", "A", "flat-four-85", ["/dev/p", second], BEFORE))
    assert table["gauge"][0] == tomllib.loads(BEFORE)["gauge"][0]
    assert table["gauge"][1]["port"] == "/dev/q"
