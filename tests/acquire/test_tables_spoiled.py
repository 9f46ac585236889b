"""Cells and options out of all reason: told with their line, never a traceback."""

import pytest

from barrelfit.acquire.cli import run_cli

CELLS = ["1e4000000", "1e-4000000", "1e999999999999999999", "nan", "inf", "\x00", "\x1b[31m",
         "a" * 140_000, '"', "84,001", ""]  # fmt: skip
TRACE, STUDY = "t_s,reading_mm", "standard_mm,round,reading_mm"
SIZE, SETTING = ["--gauge", "following"], ["--standard", "ring", "--u-um", "0.4"]


@pytest.mark.parametrize("cell", CELLS, ids=[repr(c[:12]) for c in CELLS])
@pytest.mark.parametrize(
    ("command", "head", "row", "options"),
    [("size", TRACE, "0.0,{}", SIZE), ("size", TRACE, "{},84", SIZE),
     ("setting", STUDY, "84.0003,1,{}", SETTING), ("setting", STUDY, "{},1,84", SETTING)],
)  # fmt: skip
def test_a_spoiled_cell_is_told_with_its_line(tmp_path, capsys, command, head, row, options, cell):  # noqa: PLR0913, PLR0917
    file = tmp_path / "table.csv"
    file.write_text(f"{head}\n{row.format(cell)}\n", encoding="utf-8")
    assert run_cli([command, str(file), *options]) == 2
    err = capsys.readouterr().err
    assert "table.csv:2: " in err
    assert "\x1b" not in err
    assert len(err) < 600


@pytest.mark.parametrize(
    "options",
    [["--part-temp", "1e4000000"], ["--part-temp", "nan"], ["--gauge-temp", "1e999999999999999999"],
     ["--digit-mm", "1e4000000"], ["--digit-mm", "1e-4000000"], ["--anvil-mm", "-1"]],
)  # fmt: skip
def test_an_option_out_of_all_reason_is_told(tmp_path, capsys, options):
    file = tmp_path / "sweep.csv"
    file.write_text(f"{TRACE}\n0.0,84\n", encoding="utf-8")
    assert run_cli(["size", str(file), *SIZE, "--material", "light-alloy", *options]) == 2
    assert options[0] in capsys.readouterr().err
