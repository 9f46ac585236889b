"""`sheet check` asks about what no such engine has; each value worked by hand before it was run.

flat-four-85: bores 84.990 to 85.010, new pairs have 0.060 (early) and 0.045 (late) of clearance.
flat-six-92-plated: bores about 92.000, new pairs 0.033. per-inch-wear: bore 3.4375 in.
"""

import pytest

from barrelfit.acquire.cli import run_cli
from tests.acquire.set_texts import FOUR, INCH, SIX, judge, set_text, sheet_text

# sheet, what is changed, key that is asked about, what is asked
DOUBTS = [
    (FOUR, ('unit = "mm"', 'unit = "inch"'), "unit", "mm would be: which unit?"),
    (SIX, ('unit = "mm"', 'unit = "inch"'), "unit", "mm would be: which unit?"),
    (INCH, ('unit = "inch"', 'unit = "mm"'), "unit", "inch would be: which unit?"),
    (FOUR, ("wear_max = 0.080", "wear_max = 8"), "piston.wear_max", "0.080 mm would be"),
    (FOUR, ("wear_max = 0.080", "wear_max = 0.8"), "piston.wear_max", "0.080 mm would be"),
    (FOUR, ("wear_max = 0.080", "wear_max = 0.008"), "piston.wear_max", "0.080 mm would be"),
    (FOUR, ("wear_max = 0.080", "wear_max = 0.00315"), "piston.wear_max", "would be"),
    (FOUR, ("wear_max = 0.100", "wear_max = 1.00"), "barrel.wear_max", "0.100 mm would be"),
    (SIX, ("wear_max = 0.030", "wear_max = 0.30"), "piston.wear_max", "0.030 mm would be"),
    (INCH, ("wear_ratio_max = 0.001\n", "wear_ratio_max = 0.01\n"), "barrel.wear_ratio_max",
     "0.001 would be"),
    (INCH, ("taper_ratio_max = 0.0005", "taper_ratio_max = 0.005"), "barrel.taper_ratio_max",
     "0.0005 would be"),
    (FOUR, ("[0.25, 0.50]", "[2.5, 5.0]"), "rework.oversizes", "0.250 mm would be"),
    (FOUR, ("[0.25, 0.50]", "[0.25, 5.0]"), "rework.oversizes", "0.500 mm would be"),
    (FOUR, ("[0.25, 0.50]", "[0.025, 0.050]"), "rework.oversizes", "0.250 mm would be"),
    (INCH, ("[0.010, 0.020, 0.030]", "[0.254, 0.508, 0.762]"), "rework.oversizes", "would be"),
    (FOUR, ("min = 0.045", "min = 0.070"), "clearance.min", "no new pair of variant early has"),
    (FOUR, ("max = 0.180", "max = 0.050"), "clearance.max", "no new pair of variant early has"),
    (FOUR, ("clearance_min = 0.040", "clearance_min = 0.050"), "variant[2].clearance_min",
     "no new pair of variant late has"),
    (SIX, ("min = 0.023", "min = 0.034"), "clearance.min", "bore less piston is 0.033 mm"),
    (INCH, ("min = 0.0030", "min = 0.0045"), "clearance.min", "no new pair of variant only has"),
    (FOUR, ("piston = 84.930", "piston = 84.390"), "variant[1].group[1]",
     "0.600 mm of clearance, where 0.045 mm to 0.180 mm is allowed"),
    (FOUR, ("piston = 84.930", "piston = 84.903"), "variant[1].group[1].piston",
     "two digits swapped?"),
    (FOUR, ("bore = 85.010", "bore = 85.100"), "variant[1].group[3].bore", "two digits swapped?"),
    (FOUR, ("piston = 84.930\nbore = 84.990", "piston = 94.930\nbore = 94.990"),
     "variant[1].group[1].piston", "unusual"),
    (FOUR, ("gap_max = 0.90", "gap_max = 9.0"), "ring[1].gap_max", "0.900 mm would be"),
    (FOUR, ("gap_min = 0.30", "gap_min = 0.03"), "ring[1].gap_min", "0.300 mm would be"),
    (FOUR, ("side_clearance_max = 0.120", "side_clearance_max = 1.20"),
     "ring[1].side_clearance_max", "0.120 mm would be"),
    (FOUR, ("wall = 4.50", "wall = 45.0"), "barrel.kind[1].wall", "4.500 mm would be"),
    (FOUR, ("wall_min = 4.00", "wall_min = 0.40"), "barrel.kind[1].wall_min", "4.000 mm would be"),
    (FOUR, ("taper_max = 0.040", "taper_max = 0.40"), "barrel.taper_max", "0.040 mm would be"),
    (FOUR, ("out_of_round_max = 0.030", "out_of_round_max = 0.30"), "barrel.out_of_round_max",
     "0.030 mm would be"),
    (FOUR, ("skirt_height = 12.0", "skirt_height = 120"), "piston.skirt_height", "12.000 mm"),
    (FOUR, ("below_top = 98.0", "below_top = 980"), "barrel.depth[3].below_top", "98.000 mm"),
    (FOUR, ("diameter = 23.000", "diameter = 2.3"), "pin.diameter", "23.000 mm would be"),
    (FOUR, ("wear_max = 0.008", "wear_max = 0.08"), "pin.wear_max", "0.008 mm would be"),
    (FOUR, ("mass_spread_max_g = 6", "mass_spread_max_g = 60"), "piston.mass_spread_max_g",
     "6 g would be"),
    (FOUR, ("mass_spread_max_g = 6", "mass_spread_max_g = 6\nmass_off_max_g = 60"),
     "piston.mass_off_max_g", "6 g would be"),
    (FOUR, ("honing_allowance = 0.020", "honing_allowance = 0.020\nhoning_max = 0.9"),
     "rework.honing_max", "0.090 mm would be"),
    (FOUR, ("over_max = 0.010", "over_max = 0.10"), "piston.over_max", "0.010 mm would be"),
    (FOUR, ("boring_allowance = 0.060", "boring_allowance = 0.6"), "rework.boring_allowance",
     "0.060 mm would be"),
    (FOUR, ("boring_allowance = 0.060", "boring_allowance = 0.30"), "rework.boring_allowance",
     "the smallest oversize 0.250 mm: not even a new bore"),
    (FOUR, ("boring_allowance = 0.060", "boring_allowance = 0.25"), "rework.boring_allowance",
     "not even a new bore"),
    (INCH, ("boring_allowance = 0.0025", "boring_allowance = 0.0125"), "rework.boring_allowance",
     "not even a new bore"),
    (FOUR, ("honing_allowance = 0.020", "honing_allowance = 0.10"), "rework.honing_allowance",
     "a bore may wear by 0.100 mm"),
    (INCH, ("honing_allowance = 0.0010", "honing_allowance = 0.0035"), "rework.honing_allowance",
     "no worn bore could be honed true"),
]  # fmt: skip


def check(tmp_path, capsys, text: str) -> tuple[int, str]:
    file = tmp_path / "sheet.toml"
    file.write_text(text, encoding="utf-8")
    code = run_cli(["sheet", "check", str(file)])
    return code, capsys.readouterr().err


@pytest.mark.parametrize(("sheet", "change", "key", "asks"), DOUBTS)
def test_an_unusual_sheet_is_asked_about(tmp_path, capsys, sheet, change, key, asks):
    text = sheet_text(sheet, change)
    code, err = check(tmp_path, capsys, text)
    assert code == 2
    told = next(line for line in err.splitlines() if f"{key}: " in line)
    assert asks in told
    assert "sheet.toml:" in told
    assert f'add "{key}" to confirmed' in told


def test_what_is_meant_so_is_confirmed_in_the_sheet(tmp_path, capsys):
    text = sheet_text(FOUR, ("wear_max = 0.080", "wear_max = 0.5"))
    assert check(tmp_path, capsys, text)[0] == 2
    sure = text.replace("cylinders = 4", 'confirmed = ["piston.wear_max"]\ncylinders = 4', 1)
    assert check(tmp_path, capsys, sure) == (0, "")


def test_two_doubts_are_told_at_once_and_one_answer_answers_one(tmp_path, capsys):
    text = sheet_text(FOUR, ("wear_max = 0.080", "wear_max = 0.8"), ("wall = 4.50", "wall = 45.0"))
    _, err = check(tmp_path, capsys, text)
    assert "piston.wear_max" in err
    assert "barrel.kind[1].wall" in err
    sure = text.replace("cylinders = 4", 'confirmed = ["piston.wear_max"]\ncylinders = 4', 1)
    code, err = check(tmp_path, capsys, sure)
    assert code == 2
    assert "piston.wear_max" not in err


def test_no_set_is_judged_by_a_sheet_that_is_in_doubt(tmp_path, capsys):
    """With 8 mm of wear every piston would be good."""
    sheet = sheet_text(FOUR, ("wear_max = 0.080", "wear_max = 8"))
    found = judge(tmp_path, capsys, set_text("02-worn-piston"), sheet)
    assert found.code == 2
    assert found.lines == []
    assert "piston.wear_max" in found.err


def test_other_sizes_of_engine_are_usual_too(tmp_path, capsys):
    """Everything of the 85 mm engine at 0.7 and at 1.3 times its size; grooves stay."""
    for size in (0.7, 1.3):
        lines = []
        for line in sheet_text(FOUR).splitlines():
            key, _, value = line.partition(" = ")
            number = value.split("#")[0].strip()
            grown = number.replace(".", "", 1).isdigit() and "." in number and "side" not in key
            lines.append(f"{key} = {float(number) * size:.6f}" if grown else line)
        text = "\n".join(lines).replace("[0.25, 0.50]", f"[{0.25 * size:.3f}, {0.5 * size:.3f}]")
        assert check(tmp_path, capsys, text) == (0, "")


@pytest.mark.parametrize(
    ("sheet", "change"),
    [
        (FOUR, ("[0.25, 0.50]", "[0.5, 1.0, 1.5, 2.0]")),
        (FOUR, ("wear_max = 0.080", "wear_max = 0.15")),
        (FOUR, ("taper_max = 0.040", "taper_max = 0.10")),
        (FOUR, ("gap_max = 0.90", "gap_max = 2.0")),
        (FOUR, ("mass_spread_max_g = 6", "mass_spread_max_g = 15")),
        (FOUR, ("skirt_height = 12.0", "skirt_height = 0")),
        (FOUR, ("skirt_height = 12.0", "skirt_height = 2.5")),
        (FOUR, ("over_max = 0.010", "over_max = 0")),
        (FOUR, ("boring_allowance = 0.060", "boring_allowance = 0.20")),
        (FOUR, ("oversizes = [0.25, 0.50]", "oversizes = []")),
        (SIX, ("min = 0.023", "min = 0.033")),  # a new pair meets it just so
    ],
)
def test_what_may_be_so_is_sound(tmp_path, capsys, sheet, change):
    assert check(tmp_path, capsys, sheet_text(sheet, change)) == (0, "")


def test_a_sheet_may_tell_its_source_over_lines_and_nothing_else(tmp_path, capsys):
    start = 'source = "worked example of barrelfit: no engine has these limits"'
    told = 'source = """page 3,\npage 4"""'
    assert check(tmp_path, capsys, sheet_text(FOUR, (start, told))) == (0, "")
    code, err = check(tmp_path, capsys, sheet_text(FOUR, ('id = "early"', 'id = "ear\\nly"')))
    assert code == 2
    assert "variant[1].id: holds a letter that can't be shown" in err
