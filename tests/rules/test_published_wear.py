"""Published wear rules in per-inch form, through an example sheet.

Source of the ratios: US Army TM 10-3930-647-14&P, table of wear limits: cylinder bore 0.001 in per
inch of diameter; piston skirt 0.0005 in per inch of diameter; bore taper 0.0005 in per inch of
piston travel; piston-pin diameter 0.001 in in total. (The page's text layer gives each value on the
line before its label; paired so when it was read.) The conversion is exact: 1 in = 25.4 mm.
"""

import tomllib
from decimal import Decimal
from pathlib import Path

from barrelfit import rules
from barrelfit.rules.engine.sheet import sheet_from
from barrelfit.rules.manner import told

FILE = Path(rules.__file__).parent / "sheets" / "per-inch-wear.toml"
SHEET = sheet_from(tomllib.loads(FILE.read_text(), parse_float=Decimal), FILE.name)
INCH_NM = 25_400_000


def _nm(inches: str) -> int:
    """Whole nm, cut (the stricter side), as the sheet cuts a ratio's limit."""
    return int(Decimal(inches) * INCH_NM)


def test_bore_wear_is_a_thousandth_of_its_diameter():
    bore_nm = SHEET.variants[0].groups[0].bore_nm
    assert bore_nm == 87_312_500  # 3.4375 in
    assert SHEET.barrel.wear.of(bore_nm) == _nm("0.0034375") == 87_312


def test_skirt_wear_is_half_a_thousandth_of_its_diameter():
    piston_nm = SHEET.variants[0].groups[0].piston_nm
    assert SHEET.piston.wear.of(piston_nm) == _nm("0.00171675") == 43_605


def test_taper_is_half_a_thousandth_of_piston_travel():
    assert SHEET.barrel.taper_max_nm == _nm("0.002") == 50_800


def test_pin_wear_is_a_thousandth_of_an_inch():
    assert SHEET.pin.wear_nm == 25_400


def test_the_rule_is_shown_with_the_limit():
    assert told(SHEET.barrel.taper_rule) == "0.0005 for each unit of length"
    assert told(SHEET.barrel.wear.rule) == "0.001 for each unit of length"
    assert "TM 10-3930-647-14&P" in SHEET.source


def test_the_file_shows_the_conversion():
    text = FILE.read_text()
    for figure in ("0.0034375", "0.0873125", "0.00171675", "0.0436054", "0.0508000", "0.0254000"):
        assert figure in text
    assert Decimal("0.0034375") * Decimal("25.4") == Decimal("0.0873125")
    assert abs(Decimal("0.00171675") * Decimal("25.4") - Decimal("0.0436054")) < Decimal("1e-7")
