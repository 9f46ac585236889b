"""Lengths are exact: 1 in = 25.4 mm (ISO 80000-3; NIST SP 811 appendix B.8)."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.quantity import QuantityError, length_nm, normal_text

UNITS = {"mm": Fraction(1, 1000), "in": Fraction(254, 10_000), "um": Fraction(1, 10**6)}


@pytest.mark.parametrize(
    ("minus", "digits", "decimals", "unit", "nm"),
    [
        (False, "012345", 3, "mm", 12_345_000),
        (True, "000013", 3, "mm", -13_000),
        (False, "1", 6, "mm", 1),
        (False, "1", 0, "in", 25_400_000),
        (False, "5", 5, "in", 1_270),  # 0.00005 in, the finest common inch digit
        (True, "05000", 4, "in", -12_700_000),
        (False, "12345", 5, "in", 3_135_630),
        (False, "1", 3, "um", 1),
        (True, "0", 0, "mm", 0),
    ],
)
def test_exact_length(minus, digits, decimals, unit, nm):
    assert length_nm(minus, digits, decimals, unit) == nm


@pytest.mark.parametrize(
    ("digits", "decimals", "unit", "fault"),
    [
        ("1", 7, "mm", "not exact"),
        ("1", 6, "in", "not exact"),  # 0.000001 in is 25.4 nm
        ("1", 4, "um", "not exact"),
        ("100000001", 4, "mm", "implausible"),
        ("9" * 60, 0, "mm", "implausible"),
    ],
)
def test_length_that_is_refused(digits, decimals, unit, fault):
    with pytest.raises(QuantityError) as raised:
        length_nm(minus=False, digits=digits, decimals=decimals, unit=unit)
    assert raised.value.fault == fault


def test_ten_metres_is_the_last_length_taken():
    assert length_nm(minus=False, digits="10000", decimals=0, unit="mm") == 10**10


@pytest.mark.parametrize(
    ("minus", "digits", "decimals", "text"),
    [
        (False, "012345", 3, "12.345"),
        (True, "000013", 3, "-0.013"),
        (True, "000000", 3, "0.000"),
        (False, "00001234", 0, "1234"),
        (False, "1", 3, "0.001"),
        (False, "021380", 4, "2.1380"),
        (False, "0", 0, "0"),
    ],
)
def test_normal_text(minus, digits, decimals, text):
    assert normal_text(minus, digits, decimals) == text


@given(
    minus=st.booleans(),
    digits=st.text("0123456789", min_size=1, max_size=12),
    decimals=st.integers(0, 9),
    unit=st.sampled_from(sorted(UNITS)),
)
def test_agrees_with_fractions(minus, digits, decimals, unit):
    text = normal_text(minus, digits, decimals)
    assert abs(Decimal(text)) == Decimal(int(digits)).scaleb(-decimals)
    exact = Fraction(text) * UNITS[unit] * 10**9
    try:
        assert length_nm(minus, digits, decimals, unit) == exact
    except QuantityError:
        assert exact.denominator != 1 or abs(exact) > 10**10
