"""Reports and verdicts in inches, and with a decimal comma: no number is left behind."""

import json
import re
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from tests.acquire.test_report import SETS, read, result


def test_a_report_in_inches_has_no_length_in_mm(tmp_path, capsys):
    source, out = result(tmp_path, capsys, "11-rings-and-pins"), tmp_path / "report.html"
    assert run_cli(["report", str(source), "-o", str(out), "--unit", "inch"]) == 0
    text = " ".join(read(out.read_text(encoding="utf-8")).text)
    assert "3.34311" in text
    assert [w for w in text.split(" mm")[:-1] if w[-4:-3] == "."] == []
    assert run_cli(["report", str(source), "-o", str(out), "--unit", "cm"]) == 2


def test_judge_in_inches_gives_the_same_verdicts(capsys):
    outs = []
    for unit in ("mm", "inch"):
        file = str(SETS / "02-worn-piston.toml")
        assert run_cli(["judge", file, "--sheet", "flat-four-85", "--unit", unit]) == 1
        outs.append(capsys.readouterr().out)
    verdicts = [[line[:24] for line in out.splitlines() if line[5:6] in "PB"] for out in outs]
    assert verdicts[0] == verdicts[1]
    assert "3.34094 in" in outs[1]


@pytest.mark.parametrize("name", ["02-worn-piston", "07-plated-bore-worn", "11-rings-and-pins"])
def test_a_report_with_a_comma_has_no_point_in_a_length(tmp_path, capsys, name):
    sheet = "flat-six-92-plated" if name.startswith("07") else "flat-four-85"
    source, out = result(tmp_path, capsys, name, sheet), tmp_path / "report.html"
    texts = {}
    for decimal in ("point", "comma"):
        command = ["report", str(source), "-o", str(out), "--decimal", decimal]
        assert run_cli(command) == 0
        texts[decimal] = " ".join(read(out.read_text(encoding="utf-8")).text)
    assert re.findall(r"\d\.\d+ (?:mm|µm|g\b|°C)", texts["comma"]) == []
    lengths = r"\d+[.,]\d{3,6} mm"
    found = re.findall(lengths, texts["point"])
    assert len(found) > 20
    assert [one.replace(".", ",") for one in found] == re.findall(lengths, texts["comma"])
    assert run_cli([*command[:-1], "dot"]) == 2


def test_a_result_of_an_older_version_is_shown_as_it_was_written(tmp_path, capsys):
    """Its lines have no parts: nothing reads their texts back into numbers."""
    source = result(tmp_path, capsys, "02-worn-piston")
    old = [strip(json.loads(line)) for line in source.read_text(encoding="utf-8").splitlines()]
    source.write_text("\n".join(json.dumps(line) for line in old), encoding="utf-8")
    out = tmp_path / "report.html"
    assert run_cli(["report", str(source), "-o", str(out), "--unit", "inch"]) == 0
    text = " ".join(read(out.read_text(encoding="utf-8")).text)
    assert "below the limit 84.860 mm" in text
    assert "3.34094 in" in text  # the limit itself is a number of the line


def strip(value):
    if isinstance(value, list):
        return [strip(one) for one in value]
    if not isinstance(value, dict):
        return value
    return {key: strip(one) for key, one in value.items() if not key.endswith("_said")}


def test_a_session_is_replayed_in_inches_with_a_comma(capsys):
    journal = str(Path(__file__).parents[1] / "journals" / "v5.jsonl")
    lines = {}
    for options in ([], ["--unit", "inch", "--decimal", "comma"]):
        assert run_cli(["replay", journal, *options]) == 0
        lines[bool(options)] = capsys.readouterr().out.splitlines()
    assert len(lines[False]) == len(lines[True])
    assert any(
        "P1 skirt, across the thrust faces, 12.000 mm above" in line for line in lines[False]
    )
    assert any(
        "P1 skirt, across the thrust faces, 0,47244 in above" in line for line in lines[True]
    )
    in_mm = [line for line in lines[True] if re.search(r"\d mm\b", line)]
    assert all("typed by" in line or "'" in line for line in in_mm), in_mm  # as it was typed
    assert run_cli(["replay", journal, "--unit", "cm"]) == 2
