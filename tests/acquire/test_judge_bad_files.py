"""Bad set and sheet files: a clear sentence with file, line and key; exit 2; all at once."""

from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.shelf import shipped_text

GOOD = (Path(__file__).parents[1] / "sets" / "01-all-good.toml").read_text(encoding="utf-8")
SHEET = shipped_text("rules", "sheets", "flat-four-85")


def judge(tmp_path, capsys, text: str) -> tuple[int, str]:
    file = tmp_path / "set.toml"
    file.write_text(text, encoding="utf-8")
    code = run_cli(["judge", str(file), "--sheet", "flat-four-85"])
    return code, capsys.readouterr().err


def check(tmp_path, capsys, text: str) -> tuple[int, str]:
    file = tmp_path / "sheet.toml"
    file.write_text(text, encoding="utf-8")
    code = run_cli(["sheet", "check", str(file)])
    return code, capsys.readouterr().err


def _without_piston_4(text: str) -> str:
    start = text.index('[[piston]]\nid = "P4"')
    return text[:start] + text[text.index("[[barrel]]") :]


BAD_SETS = [
    ("unit missing", lambda t: t.replace('unit = "mm"\n', ""), ["unit: is missing"]),
    (
        "unit unknown",
        lambda t: t.replace('unit = "mm"', 'unit = "cm"'),
        ["unit: 'cm' is not known; it must be one of: mm, inch"],
    ),
    (
        "inch among mm",
        lambda t: t.replace("skirt = 84.917", "skirt = 3.34319"),
        ["piston[2].skirt", "inches in a file whose unit is mm"],
    ),
    (
        "inch bore among mm",
        lambda t: t.replace("thrust = 85.020", "thrust = 3.34724"),
        ["barrel[1].bore: top.thrust", "inches in a file whose unit is mm"],
    ),
    (
        "a unit inside a table",
        lambda t: t.replace('id = "P2"\n', 'id = "P2"\nunit = "inch"\n'),
        ["piston[2].unit: unknown key; one file has one unit"],
    ),
    (
        "a unit inside a value",
        lambda t: t.replace("skirt = 84.917", 'skirt = "3.34 in"'),
        ["piston[2].skirt: must be a plain number (in mm, the file's unit), not '3.34 in'"],
    ),
    (
        "unknown group",
        lambda t: t.replace('group = "II"', 'group = "IV"'),
        ["group: 'IV' is no group of variant early; it has: I, II, III"],
    ),
    (
        "unknown group stamp",
        lambda t: t.replace('id = "P3"\n', 'id = "P3"\ngroup_stamp = "X"\n'),
        ["piston[3].group_stamp: 'X' is no group of any variant"],
    ),
    (
        "unknown variant",
        lambda t: t.replace('variant = "early"', 'variant = "C"'),
        ["variant: 'C' is not on sheet flat-four-85 rev A; it has: early, late"],
    ),
    ("a piston short", _without_piston_4, ["piston: there are 3 pistons for 4 cylinders"]),
    (
        "a serial twice",
        lambda t: t.replace('serial = "12"', 'serial = "11"'),
        ["piston[2].serial: '11' is the serial of P1 too"],
    ),
    (
        "an id twice",
        lambda t: t.replace('id = "P2"', 'id = "P1"'),
        ["piston[2].id: 'P1' is there twice"],
    ),
    (
        "a key misspelt",
        lambda t: t.replace("skirt = 84.917", "skrit = 84.917"),
        ["piston[2].skrit: unknown key; is 'skirt' meant?"],
    ),
    (
        "a number that is none",
        lambda t: t.replace("skirt = 84.917", "skirt = nan"),
        ["piston[2].skirt: must be a finite number"],
    ),
    (
        "finer than a nanometre",
        lambda t: t.replace("skirt = 84.917", "skirt = 84.9170000001"),
        ["finer than a nanometre"],
    ),
    (
        "a depth the sheet has not",
        lambda t: t.replace("bore.middle", "bore.mid"),
        ["barrel[1].bore: 'mid' is no depth"],
    ),
    (
        "a reason code nobody knows",
        lambda t: t.replace('looked = ["good"]', 'looked = ["ugly"]', 1),
        ["piston[1].looked: 'ugly' is no reason code for a piston"],
    ),
    (
        "an override below another",
        lambda t: t.replace(
            "[measuring]",
            '[[override]]\nquantity = "clearance.min"\nvalue = 0.2\nsigned_by = "L"\nwhy = "w"\n'
            '[[override]]\nquantity = "clearance.max"\nvalue = 0.1\nsigned_by = "L"\nwhy = "w"\n'
            "[measuring]",
        ),
        ["override[2].value: clearance.max 0.100 mm is below clearance.min 0.200 mm"],
    ),
    (
        "a newer form",
        lambda t: t.replace("schema = 1", "schema = 2"),
        ["schema: 2 is newer than this program knows (1)"],
    ),
    ("no TOML", lambda t: t.replace('unit = "mm"', 'unit = "mm'), ["set.toml:15: ", "^"]),
]


@pytest.mark.parametrize(
    ("change", "words"), [b[1:] for b in BAD_SETS], ids=[b[0] for b in BAD_SETS]
)
def test_bad_set(tmp_path, capsys, change, words):
    bad = change(GOOD)
    assert bad != GOOD
    code, err = judge(tmp_path, capsys, bad)
    assert code == 2
    assert "Traceback" not in err
    assert "set.toml" in err
    for word in words:
        assert word in err, err


BAD_SHEETS = [
    (
        "clearances swapped",
        lambda t: t.replace("min = 0.045\nmax = 0.180", "min = 0.180\nmax = 0.045"),
        ["clearance.max: is 0.045 mm, below min (0.180 mm)"],
    ),
    (
        "a gap below another",
        lambda t: t.replace("gap_min = 0.25", "gap_min = 1.25"),
        ["ring[3].gap_max: is 1.000 mm, below gap_min (1.250 mm)"],
    ),
    (
        "a wall below its least",
        lambda t: t.replace("wall = 4.50", "wall = 3.50"),
        ["barrel.kind[1].wall: is 3.500 mm, below wall_min (4.000 mm)"],
    ),
    (
        "a bore below its piston",
        lambda t: t.replace("bore = 84.990", "bore = 84.900", 1),
        ["variant[1].group[1].bore: is 84.900 mm, not above the piston"],
    ),
    ("unit missing", lambda t: t.replace('unit = "mm"\n', ""), ["unit: is missing"]),
    (
        "two ways to say wear",
        lambda t: t.replace("wear_max = 0.080", "wear_max = 0.080\nwear_ratio_max = 0.001"),
        ["piston.wear_max: give either wear_max or wear_ratio_max; both are given"],
    ),
    (
        "a cylinder in two banks",
        lambda t: t.replace("cylinders = [2, 4]", "cylinders = [2, 3]"),
        ["bank: the banks must hold each cylinder 1 to 4 once"],
    ),
    (
        "a material nobody knows",
        lambda t: t.replace('"aluminium-12-silicon-cast"', '"wood"'),
        ["piston.material: 'wood' is no material barrelfit knows"],
    ),
    (
        "oversizes that fall",
        lambda t: t.replace("[0.25, 0.50]", "[0.50, 0.25]"),
        ["rework.oversizes: must rise"],
    ),
    ("a newer form", lambda t: t.replace("schema = 1", "schema = 9"), ["schema: 9 is newer"]),
]


@pytest.mark.parametrize(
    ("change", "words"), [b[1:] for b in BAD_SHEETS], ids=[b[0] for b in BAD_SHEETS]
)
def test_bad_sheet(tmp_path, capsys, change, words):
    bad = change(SHEET)
    assert bad != SHEET
    code, err = check(tmp_path, capsys, bad)
    assert code == 2
    assert "sheet.toml" in err
    for word in words:
        assert word in err, err


def test_all_problems_at_once_each_with_its_line(tmp_path, capsys):
    bad = GOOD.replace('group = "II"', 'group = "IV"').replace("skirt = 84.912", "skirt = 8.4912")
    code, err = judge(tmp_path, capsys, bad)
    lines = bad.splitlines()
    group, skirt = lines.index('group = "IV"') + 1, lines.index("skirt = 8.4912") + 1
    assert code == 2
    assert f"set.toml:{group}: group:" in err
    assert f"set.toml:{skirt}: piston[3].skirt:" in err
    assert "is the decimal mark one place off?" in err


def test_a_set_without_a_sheet_of_that_name(tmp_path, capsys):
    file = tmp_path / "set.toml"
    file.write_text(GOOD, encoding="utf-8")
    assert run_cli(["judge", str(file), "--sheet", "no-such"]) == 2
    assert "no sheet is called 'no-such'" in capsys.readouterr().err


def test_every_shipped_sheet_is_sound(tmp_path, capsys):
    for name in ("flat-four-85", "flat-six-92-plated", "per-inch-wear"):
        assert check(tmp_path, capsys, shipped_text("rules", "sheets", name)) == (0, "")
