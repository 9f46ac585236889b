"""Lengths shown in inches: exact factor, never zero for what is not, intervals never less."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.report.inches import in_inches
from tests.acquire.test_report import SETS, read, result

UNTIMED = settings(deadline=None)  # a busy machine is no fault of the code


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("84.915 ± 0.0016 mm; at least 84.860 mm", "3.34311 ± 0.00007 in; at least 3.34094 in"),
        ("25.400 mm", "1.00000 in"),
        ("25.400 ± 0.0254 mm", "1.00000 ± 0.00100 in"),
        ("0.0127 ± 0.0001 mm", "0.00050 ± 0.00001 in"),
        ("clearance 0.0254 to 0.127 mm", "clearance 0.00100 to 0.00500 in"),
        ("0.000041 mm above", "0.0000017 in above"),
        ("85 mm bore", "85 mm bore"),
        ("rule 0.0005 for each unit of length", "rule 0.0005 for each unit of length"),
        ("12.000 mm below the top", "0.47244 in below the top"),
        ("", ""),
    ],
)
def test_lengths_are_written_in_inches(text, shown):
    assert in_inches(text) == shown


@UNTIMED
@given(st.integers(0, 200_000_000), st.integers(1, 50_000))
def test_the_interval_shown_in_inches_is_never_narrower(length_nm, half_nm):
    text = f"{length_nm / 1e6:.6f} ± {half_nm / 1e6:.6f} mm"
    half = Decimal(in_inches(text).split(" ± ")[1].removesuffix(" in"))
    assert half * Decimal("25.4") >= Decimal(f"{half_nm / 1e6:.6f}")


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
