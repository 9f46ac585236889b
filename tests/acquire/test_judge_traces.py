"""A set whose sizes are sweeps: traces beside the set file become sizes, or questions."""

import json
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.simulators.trace import make_trace

GOOD = (Path(__file__).parents[1] / "sets" / "01-all-good.toml").read_text(encoding="utf-8")


def write(folder: Path, name: str, samples) -> None:
    rows = [f"{t / 1e9:.3f},{nm / 1e6:.3f}" for t, nm in samples]
    (folder / name).write_text("\n".join(["t_s,reading_mm", *rows, ""]), encoding="utf-8")


def judged(folder: Path, capsys, text: str) -> tuple[int, list[dict], str]:
    (folder / "set.toml").write_text(text, encoding="utf-8")
    code = run_cli(["judge", str(folder / "set.toml"), "--sheet", "flat-four-85", "--json"])
    out, err = capsys.readouterr()
    return code, [json.loads(line) for line in out.splitlines()], err


@pytest.mark.slow
def test_a_trace_becomes_a_size_and_a_verdict(tmp_path, capsys):
    skirt = make_trace("to-and-fro", rate_hz=20, seed=1, size_mm=84.915, bounce_share=0.0)
    bore = make_trace("bore", rate_hz=20, seed=2, size_mm=85.020, bounce_share=0.0)
    write(tmp_path, "p1.csv", skirt.samples_ns)
    write(tmp_path, "b1-top.csv", bore.samples_ns)
    text = GOOD.replace("skirt = 84.915", 'skirt_trace = "p1.csv"')
    text = text.replace(
        "bore.top = { thrust = 85.020, pin = 85.010 }",
        'bore.top = { pin = 85.010 }\nbore_trace.top.thrust = "b1-top.csv"',
    )
    code, lines, err = judged(tmp_path, capsys, text)
    assert err == ""
    sizes = {line["at"]: line for line in lines if line["kind"] == "size"}
    assert abs(float(sizes["P1/skirt"]["size_mm"]) - 84.915) < 0.003
    assert abs(float(sizes["B1/bore/top/thrust"]["size_mm"]) - 85.020) < 0.003
    assert sizes["P1/skirt"]["source"] == "trace p1.csv"
    assert "sweep" in {c["name"] for c in sizes["P1/skirt"]["budget"]}
    assert code == 0


@pytest.mark.slow
def test_a_refused_sweep_is_a_question_and_the_part_undecided(tmp_path, capsys):
    skirt = make_trace("to-and-fro", rate_hz=20, seed=1, size_mm=84.915, bounce_share=0.0)
    write(tmp_path, "p1.csv", skirt.samples_ns[:25])
    code, lines, _ = judged(
        tmp_path, capsys, GOOD.replace("skirt = 84.915", 'skirt_trace = "p1.csv"')
    )
    part = next(line for line in lines if line.get("part") == "P1" and line["kind"] == "part")
    assert code == 1
    assert part["verdict"] == "undecided"
    assert "T101" in {f["code"] for f in part["findings"]}
    remaining = next(line for line in lines if line["kind"] == "remaining")
    assert [m["at"] for m in remaining["measure"]] == ["P1/skirt"]


def test_a_trace_of_a_gauge_in_another_unit_is_a_question(tmp_path, capsys):
    """The sweep itself is sound; its gauge showed inches, and they were written down as mm."""
    bore = make_trace("bore", rate_hz=20, seed=2, size_mm=85.020, bounce_share=0.0)
    write(tmp_path, "b1-top.csv", [(t_ns, nm / 25.4) for t_ns, nm in bore.samples_ns])
    text = GOOD.replace(
        "bore.top = { thrust = 85.020, pin = 85.010 }",
        'bore.top = { pin = 85.010 }\nbore_trace.top.thrust = "b1-top.csv"',
    )
    code, lines, _ = judged(tmp_path, capsys, text)
    part = next(line for line in lines if line.get("part") == "B1" and line["kind"] == "part")
    assert (code, part["verdict"]) == (1, "undecided")
    (asked,) = [f for f in part["findings"] if f["code"] == "T101"]
    assert "which unit?" in asked["sentence"]
    assert "B1/bore/top/thrust" not in {line.get("at") for line in lines if line["kind"] == "size"}


def test_a_trace_that_is_none_is_named_with_its_key(tmp_path, capsys):
    (tmp_path / "p1.csv").write_text("t_s,reading_mm\n0.0,84.9\n0.1,abc\n", encoding="utf-8")
    text = GOOD.replace("skirt = 84.915", 'skirt_trace = "p1.csv"')
    text = text.replace("skirt = 84.917", 'skirt_trace = "none.csv"')
    code, _, err = judged(tmp_path, capsys, text)
    assert code == 2
    assert "piston[1].skirt_trace" in err
    assert "p1.csv:3: reading_mm: a length in mm was expected, not 'abc'" in err
    assert "piston[2].skirt_trace" in err
    assert "none.csv: no such file" in err
