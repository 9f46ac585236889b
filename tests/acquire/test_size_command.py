"""`barrelfit size`: traces to JSON lines, a table, a picture; files and options that are wrong."""

import json
import re
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.trace_file import samples_of
from tests.rules.sweep_bad import bad_sweep
from tests.rules.sweep_physics import Trace, World, make
from tests.spoken import problems_of

KEYS = [
    "trace",
    "outcome",
    "size_mm",
    "standard_uncertainty_um",
    "interval95_mm",
    "passes",
    "pass_sizes_mm",
    "reason",
    "advice",
    "note",
]
pytestmark = pytest.mark.slow


def written(path: Path, samples: Trace) -> str:
    rows = [f"{t / 1e9:.6f},{length / 1e6:.6f}" for t, length in samples]
    path.write_text("\n".join(["t_s,reading_mm", *rows]) + "\n", encoding="utf-8")
    return str(path)


@pytest.fixture
def screw(tmp_path: Path) -> str:
    return written(tmp_path / "screw.csv", make("screw", World(), 1))


@pytest.fixture
def chords(tmp_path: Path) -> str:
    return written(tmp_path / "chords.csv", bad_sweep("chords-only", "screw", 1).samples)


def said(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_size_as_a_json_line(screw: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_cli(["size", screw, "--gauge", "screw", "--json"]) == 0
    (line,) = said(capsys)
    assert list(line) == KEYS
    assert line["trace"] == screw
    assert line["outcome"] == "sized"
    assert re.fullmatch(r"84\.01\d\d", str(line["size_mm"]))
    low, high = line["interval95_mm"]  # type: ignore[misc]
    assert low <= "84.0123" <= high
    assert line["passes"] == 6
    assert len(line["pass_sizes_mm"]) == 6  # type: ignore[arg-type]
    assert line["reason"] is None
    assert line["advice"] is None
    assert line["note"] == "not corrected to 20 °C: no temperatures were given"


def test_a_refusal_among_sizes_keeps_the_order_and_exits_1(
    screw: str, chords: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_cli(["size", chords, screw, "--gauge", "screw", "--json"]) == 1
    refused, sized = said(capsys)
    assert (refused["outcome"], sized["outcome"]) == ("refused", "sized")
    assert refused["size_mm"] is None
    assert refused["interval95_mm"] is None
    assert refused["reason"]
    assert refused["advice"]


def test_the_table_says_the_same(
    screw: str, chords: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_cli(["size", screw, chords, "--gauge", "screw"]) == 1
    out = capsys.readouterr().out
    head, first, second = out.splitlines()[:3]
    assert head.split()[:3] == ["trace", "outcome", "size"]
    assert "sized" in first
    assert "passes-disagree" in second or "drift" in second
    assert "note: not corrected" in out


def test_the_table_is_told_in_inch_and_with_a_comma(
    screw: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_cli(["size", screw, "--gauge", "screw", "--json"]) == 0
    (fields,) = said(capsys)
    inch = ["size", screw, "--gauge", "screw", "--unit", "inch", "--decimal", "comma"]
    assert run_cli(inch) == 0
    head, row, *_ = capsys.readouterr().out.splitlines()
    assert "size in" in head
    size_in = float(row.split()[2].replace(",", "."))
    assert size_in == pytest.approx(float(str(fields["size_mm"])) / 25.4, abs=3e-6)
    assert "." not in row.replace("screw.csv", "")


def test_temperatures_correct_and_widen(screw: str, capsys: pytest.CaptureFixture[str]) -> None:
    """84.0123 mm at 30 °C of 19.4e-6/K against steel at 20 °C: 16.3 µm smaller at 20 °C (ISO 1)."""
    assert run_cli(["size", screw, "--gauge", "screw", "--json"]) == 0
    plain = said(capsys)[0]
    options = ["--part-temp", "30", "--gauge-temp", "20", "--material", "aluminium-4032"]
    assert run_cli(["size", screw, "--gauge", "screw", "--json", *options]) == 0
    corrected = said(capsys)[0]
    by_um = (float(str(plain["size_mm"])) - float(str(corrected["size_mm"]))) * 1e3
    assert by_um == pytest.approx(84_012.3 * 19.4e-6 * 10, abs=0.15)
    assert corrected["standard_uncertainty_um"] > plain["standard_uncertainty_um"]  # type: ignore[operator]


def test_a_picture_shows_what_was_used(screw: str, tmp_path: Path) -> None:
    target = tmp_path / "sweep.svg"
    assert run_cli(["size", screw, "--gauge", "screw", "--picture", str(target)]) == 0
    svg = target.read_text(encoding="utf-8")
    assert svg.startswith("<svg")
    assert 'fill="none" stroke="#8a8a8a"' in svg  # cut away
    assert 'fill="#1b4f8a"' in svg  # used
    assert "size as read 84.01" in svg


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--gauge", "ruler"], "--gauge: one of following, screw, bore, held was expected"),
        (["--gauge", "screw", "--digit-mm", "0"], "--digit-mm: mm above 0"),
        (["--gauge", "screw", "--digit-mm", "nan"], "--digit-mm: mm above 0"),
        (["--gauge", "screw", "--part-temp", "30"], "--material: one of"),
        (["--gauge", "screw", "--part-temp", "warm", "--material", "iron"], "--part-temp: a temp"),
        (["--gauge", "screw", "--part-temp", "400", "--material", "iron"], "--part-temp"),
        (["--gauge", "screw", "--picture", "/nowhere/x.svg"], "/nowhere/x.svg: No such file"),
    ],
)
def test_a_wrong_option_is_named(
    screw: str, options: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_cli(["size", screw, *options]) == 2
    assert words in capsys.readouterr().err


def test_every_bad_line_of_every_file_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = tmp_path / "a.csv", tmp_path / "b.csv"
    first.write_text("t_s,reading_mm\n0.0,84.1\n0.1,NaN\n0.2,eighty\n0.3\n", encoding="utf-8")
    second.write_text("time,mm\n0.0,84.1\n", encoding="utf-8")
    missing = str(tmp_path / "c.csv")
    assert run_cli(["size", str(first), str(second), missing, "--gauge", "screw", "--json"]) == 2
    told = capsys.readouterr()
    assert not told.out
    for words in (
        f"{first}:3: reading_mm: a length in mm was expected, not 'NaN'",
        f"{first}:4: reading_mm: a length in mm was expected, not 'eighty'",
        f"{first}:5: two columns were expected, not 1",
        f"{second}:1: the header 't_s,reading_mm' was expected, not 'time,mm'",
        f"{missing}: no such file",
    ):
        assert words in told.err


def test_times_that_go_back_are_a_refusal_and_no_file_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trace = written(tmp_path / "a.csv", [(10, 84_000_000), (5, 84_000_000)])
    assert run_cli(["size", trace, "--gauge", "bore", "--json"]) == 1
    assert said(capsys)[0]["reason"] == "stale-times"


def test_a_trace_is_read_exactly() -> None:
    text = "\ufefft_s, reading_mm\r\n0.1,84.917\r\n0.250000001,84.917049999\r\n\r\n"
    assert samples_of(text, "x") == [(100_000_000, 84_917_000), (250_000_001, 84_917_050)]


def test_many_bad_lines_are_counted() -> None:
    text = "t_s,reading_mm\n" + "x,y\n" * 50
    with pytest.raises(UserError) as caught:
        samples_of(text, "x")
    assert len(problems_of(caught.value)) == 21
    assert problems_of(caught.value)[-1] == "x: and 30 more lines like these"
