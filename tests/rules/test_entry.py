"""Typed values: read exactly, held with a question, never corrected."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.rules.engine.expectation import Expected
from barrelfit.rules.judge.entry import (
    Accepted,
    Held,
    Typed,
    check_entry,
    check_gauge_size,
    read_length,
)
from barrelfit.rules.manner import told
from barrelfit.rules.said import written

# Nominal 0.021 mm, tolerance 0.005 mm.
CLEARANCE = Expected(16_000, 26_000, written("0.016 to 0.026 mm"))


def held(text, unit="mm", expected=CLEARANCE, mark="."):
    result = check_entry(Typed(text, unit), expected, mark)
    assert isinstance(result, Held), result
    return result


def test_ten_times_too_much_is_held():
    one = held("0.21")
    assert one.reason == "decimal-slip"
    assert one.confirmable
    assert "0.021 mm would be: decimal slip?" in told(one.question)


def test_ten_times_too_little_is_held():
    assert held("0.0021").reason == "decimal-slip"


def test_twenty_one_asks_for_the_unit():
    one = held("21")
    assert one.reason == "unit-slip"
    assert "21 µm would be: which unit?" in told(one.question)


def test_a_comma_counts_only_where_it_is_the_decimal_mark():
    assert check_entry(Typed("0,021", "mm"), CLEARANCE, ",") == Accepted(21_000)
    one = held("0,021")
    assert (one.reason, one.confirmable) == ("decimal-mark", False)
    assert held("0.021", mark=",").reason == "decimal-mark"


def test_a_number_may_start_with_its_decimal_mark():
    assert check_entry(Typed(".021", "mm"), CLEARANCE) == Accepted(21_000)


def test_an_inch_typed_as_millimetre_asks_for_the_unit():
    one = held("0.00083")
    assert one.reason == "unit-slip"
    assert "0.00083 inch would be" in told(one.question)


def test_a_hundred_times_too_much_is_held():
    assert held("2.1").reason == "decimal-slip"


def test_out_and_fitting_nowhere_is_a_measurement():
    assert check_entry(Typed("0.030", "mm"), CLEARANCE) == Accepted(30_000)


def test_the_difference_of_a_worn_piston_typed_ten_times_too_large_is_held():
    """Stamped 84.94 mm, measured 84.917 mm: 0.023 mm below; 0.23 is a slip."""
    worn_nm = 84_940_000 - 84_917_000
    computed = Expected(
        worn_nm - 3_000, worn_nm + 3_000, written("0.023 mm below its original size")
    )
    assert check_entry(Typed("0.023", "mm"), computed) == Accepted(23_000)
    assert held("0.23", expected=computed).reason == "decimal-slip"


def test_a_repeated_or_explained_entry_counts_as_typed():
    assert check_entry(Typed("0.21", "mm", confirms=True), CLEARANCE) == Accepted(210_000)


@pytest.mark.parametrize(
    "text",
    ["", " ", "abc", "NaN", "nan", "inf", "-Infinity", "1e-2", "1.234,5", "1,234.5", "1 234", "--1",
     "+", ".", "1.", "0x10", "1_000", "٣", "1.2.3", "9" * 21],
)  # fmt: skip
def test_what_is_no_number_is_asked_for_again_however_often(text):
    for confirms in (False, True):
        result = check_entry(Typed(text, "mm", confirms), CLEARANCE)
        assert isinstance(result, Held)
        assert (result.reason, result.confirmable) == ("unreadable", False)


def test_a_unit_is_needed():
    for unit in ("", "cm", "MM"):
        assert held("0.021", unit).reason == "unit"


def test_finer_than_a_nanometre_is_asked_about():
    assert held("0.0000001").reason == "too-fine"
    assert held("0.0001", "µm").reason == "too-fine"


@pytest.mark.parametrize(
    ("text", "unit", "nm"),
    [("1", "inch", 25_400_000), ("0.00005", "inch", 1_270), ("-0.013", "mm", -13_000),
     ("+21.5", "um", 21_500), (" 0.05 ", "mm", 50_000)],
)  # fmt: skip
def test_lengths_are_exact(text, unit, nm):
    assert read_length(text, unit) == nm


@given(st.integers(-(10**9), 10**9))
def test_every_whole_nanometre_can_be_typed(nm):
    text = format(Decimal(nm) / 1_000_000, "f")
    assert read_length(text, "mm") == nm
    assert read_length(text.replace(".", ","), "mm", ",") == nm


@given(st.text(max_size=30), st.sampled_from(["mm", "inch", "µm", "um", ""]))
def test_any_text_gives_a_length_or_a_question(text, unit):
    result = check_entry(Typed(text, unit), CLEARANCE)
    assert isinstance(result, Accepted | Held)
    if isinstance(result, Held):
        assert told(result.question)


@given(st.integers(16_000, 26_000), st.sampled_from([-2, -1, 1, 2]))
def test_every_slip_by_tens_is_held(nm, power):
    text = format((Decimal(nm) / 1_000_000).scaleb(power), "f")
    result = check_entry(Typed(text, "mm"), CLEARANCE)
    assert isinstance(result, Held)


@given(st.integers(16_000, 26_000))
def test_what_is_as_expected_is_never_held(nm):
    assert check_entry(Typed(format(Decimal(nm) / 1_000_000, "f"), "mm"), CLEARANCE) == (
        Accepted(nm)
    )


def test_one_sided_expectations():
    most = Expected(None, 100_000, written("at most 0.1 mm"))
    assert check_entry(Typed("0.1", "mm"), most) == Accepted(100_000)
    assert held("0.13", expected=most).reason == "decimal-slip"
    least = Expected(50_000, None, written("at least 0.05 mm"))
    assert check_entry(Typed("9", "mm"), least) == Accepted(9_000_000)
    assert held("0.006", expected=least).reason == "decimal-slip"


# Worn by at most 0.08 mm, no upper limit: the nominal size closes the open side.
SKIRT = Expected(84_860_000, None, written("wear limit 84.860 mm"), near_nm=84_940_000)


def test_ten_times_a_size_is_held_though_no_limit_is_above_it():
    assert held("849.17", expected=SKIRT).reason == "decimal-slip"
    assert held("8.4917", expected=SKIRT).reason == "decimal-slip"
    assert held("3.3432", expected=SKIRT).reason == "unit-slip"
    assert check_entry(Typed("84.7", "mm"), SKIRT) == Accepted(84_700_000)  # worn out, no slip


def test_a_value_nothing_like_the_feature_is_asked_about():
    one = held("47.2", expected=SKIRT)
    assert (one.reason, one.confirmable) == ("unlike", True)
    assert check_entry(Typed("47.2", "mm", confirms=True), SKIRT) == Accepted(47_200_000)


@pytest.mark.parametrize(
    ("size_nm", "reason"),
    [
        (84_917_000, None),
        (84_700_000, None),  # discard: a verdict, no question
        (86_200_000, None),  # as an oversize would be
        (90_000_000, "unlike"),  # no wear and no oversize goes that far: another part
        (3_343_189, "unit-slip"),  # a gauge in inches read as mm: 84.917 / 25.4
        (2_156_891_800, "unit-slip"),  # the other way round: 84.917 x 25.4
        (8_491_700, "decimal-slip"),
        (-13_000, "unlike"),  # a gauge set to nought at its ring
        (0, "unlike"),
    ],
)
def test_a_gauge_in_the_wrong_unit_gives_no_verdict(size_nm, reason):
    """A unit changed within a run is 25.4 times off: held, whatever the limits say."""
    question = check_gauge_size(size_nm, SKIRT)
    assert (question and question.reason) == reason


BORED = Expected(84_988_000, 85_100_000, written("the limits that apply"), near_nm=85_000_000)


@given(
    st.integers(84_988_000, 85_100_000),
    st.sampled_from(["10", "0.1", "100", "0.01", "25.4", "2.54", "0.254", "1000"]),
    st.booleans(),
)
def test_a_diameter_off_by_a_slips_factor_never_counts(nm, factor, up):
    """Ten, a hundred, 25.4, 2.54 and their like, up or down: held, whatever the value."""
    off = Decimal(nm) / 1_000_000
    off = off * Decimal(factor) if up else off / Decimal(factor)
    typed = Typed(format(off.quantize(Decimal("0.00001")), "f"), "mm")
    one = check_entry(typed, BORED)
    assert isinstance(one, Held)
    assert one.confirmable


@given(st.integers(84_988, 85_100), st.integers(0, 3))
def test_swapped_digits_are_held_or_as_ordinary_as_any_bad_bore(um, place):
    """A swap that leaves the bore within twice its limits can't be told from wear; others are."""
    digits = list(f"{um}")
    digits[place], digits[place + 1] = digits[place + 1], digits[place]
    text = f"{''.join(digits[:2])}.{''.join(digits[2:])}"
    nm = int(Decimal(text) * 1_000_000)
    if check_entry(Typed(text, "mm"), BORED) == Accepted(nm):
        assert BORED.is_ordinary(nm)


def test_what_was_measured_beside_it_tells_a_swap_within_the_limits():
    """85.090 is within 85.100; where all other places are 85.000 to 85.020, 85.009 was meant."""
    beside = Expected(
        84_988_000, 85_100_000, written("limits"), 85_000_000, beside=(84_950_000, 85_070_000)
    )
    assert held("85.090", expected=beside).reason == "digits-swapped"
    assert check_entry(Typed("85.060", "mm"), beside) == Accepted(85_060_000)
    assert check_entry(Typed("85.077", "mm"), beside) == Accepted(85_077_000)  # no slip explains it


def test_a_length_that_can_not_be_more_is_asked_about():
    pin = Expected(
        22_992_000, None, written("the limits that apply"), 23_000_000, most_nm=23_008_000
    )
    assert held("23.47", expected=pin).reason == "unlike"
    assert held("23.5", expected=pin).reason == "digits-swapped"  # 23.005
    assert check_entry(Typed("23.005", "mm"), pin) == Accepted(23_005_000)
    assert check_entry(Typed("22.985", "mm"), pin) == Accepted(22_985_000)  # worn: a verdict
    assert held("22.969", expected=pin).reason == "digits-swapped"  # 22.996
