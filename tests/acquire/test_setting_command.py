"""`barrelfit setting`: readings on standards in, the bench file's lines out."""

import json
import tomllib
from decimal import Decimal

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import SettingTable
from barrelfit.acquire.inputs.standard_file import StandardReading, rounds_of, standard_readings
from tests.spoken import problems_of

HEADER = "standard_mm,round,reading_mm\n"
ROUNDS = HEADER + "".join(
    f"84.0003,{number},{reading}\n"
    for number, readings in enumerate(
        [("84.001", "84.001"), ("84.000", "84.000"), ("84.002", "84.001"), ("84.000", "84.001")]
    )
    for reading in readings
)


def run(tmp_path, text, *options):
    path = tmp_path / "ring.csv"
    path.write_text(text, encoding="utf-8")
    return run_cli(["setting", str(path), "--standard", "ring-84", "--u-um", "0.4", *options])


def test_rounds_on_a_ring(tmp_path, capsys):
    assert run(tmp_path, ROUNDS, "--json") == 0
    result = json.loads(capsys.readouterr().out)
    # Round means 84.0010, 84.0000, 84.0015, 84.0005: mean 84.00075, deviation 0.6455 µm by hand.
    assert result["error_um"] == 0.45
    assert (result["repeat_um"], result["repeat_dof"]) == (0.645, 3)
    assert result["within_um"] == 0.5  # pooled: two rounds of 0 and two of 0.7071 µm
    assert result["agrees"] is True


def test_the_text_has_the_bench_files_lines(tmp_path, capsys):
    assert run(tmp_path, ROUNDS) == 0
    text = capsys.readouterr().out
    assert "the gauge shows +0.45 µm" in text
    assert '[gauge.setting]\nstandard = "ring-84"\nu_um = 0.4\nrepeat_um = 0.645\n' in text


def test_a_gauge_far_from_its_standard_is_a_finding(tmp_path, capsys):
    text = ROUNDS.replace("84.0003", "84.0053")
    assert run(tmp_path, text) == 1
    assert "disagrees: set it anew" in capsys.readouterr().out


def test_single_readings_that_never_move_still_have_a_digit(tmp_path, capsys):
    text = HEADER + "84,1,84.000\n84,2,84.000\n84,3,84.000\n"
    assert run(tmp_path, text, "--json") == 0
    result = json.loads(capsys.readouterr().out)
    assert result["repeat_um"] == 0.289
    assert result["within_um"] is None


def test_a_line_through_several_standards(tmp_path, capsys):
    text = HEADER + "75,1,75.001\n80,1,80.002\n90,1,90.004\n100,1,100.006\n"
    assert run(tmp_path, text, "--json", "--at-mm", "85") == 1
    assert json.loads(capsys.readouterr().out)["error_um"] == 3.0


@pytest.mark.parametrize(
    ("text", "options", "sentence"),
    [
        ("", (), ":1: the header"),
        ("a,b,c\n", (), ":1: the header"),
        (HEADER, (), "no reading in it"),
        (HEADER + "84,1\n", (), ":2: 3 columns"),
        (HEADER + "84,1,84.0\n84,2,NaN\n", (), ":3: reading_mm: a length above 0"),
        (HEADER + "84,1,84,000\n", (), ":2: 3 columns"),
        (HEADER + "-84,1,84.0\n", (), ":2: standard_mm"),
        (HEADER + "84,1,84.0000001\n", (), ":2: reading_mm"),
        (HEADER + "84,1,84.0\n", (), "two or more rounds"),
        (HEADER + "84,1,84.0\n84,1,84.0\n84,2,84.0\n", (), "same number of readings"),
        (HEADER + "84,1,84.0\n85,1,85.0\n86,1,86.0\n", (), "give --at-mm"),
        (HEADER + "84,1,84.0\n85,1,85.0\n", ("--at-mm", "84"), "three or more"),
        (ROUNDS, ("--digit-mm", "x"), "--digit-mm: a length above 0"),
        (ROUNDS, ("--u-um", "nan"), "--u-um: a number from 0"),
        (ROUNDS, ("--standard", "the ring"), "--standard: letters"),
    ],
)
def test_what_is_not_right_is_said_in_one_sentence(tmp_path, capsys, text, options, sentence):
    assert run(tmp_path, text, *options) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert sentence in out.err


def test_every_bad_line_is_named(tmp_path):
    path = tmp_path / "ring.csv"
    path.write_text(HEADER + "x,1,84\n84,1,y\n84,1,84\n84\n", encoding="utf-8")
    with pytest.raises(UserError) as refused:
        standard_readings(path)
    assert [p.split(":")[1] for p in problems_of(refused.value)] == ["2", "3", "5"]


def test_rounds_keep_their_order():
    readings = [StandardReading(84, name, n) for n, name in enumerate(("b", "a", "b"))]
    assert rounds_of(readings) == [[0, 2], [1]]


def test_the_lines_are_what_the_bench_file_takes(tmp_path, capsys):
    run(tmp_path, ROUNDS)
    lines = capsys.readouterr().out.split("[gauge.setting]\n")[1]
    table = SettingTable(**tomllib.loads(lines, parse_float=Decimal))
    assert table.repeat_um == Decimal("0.645")
    assert table.repeat_dof == 3
