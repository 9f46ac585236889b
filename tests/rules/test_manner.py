"""What is said becomes text in one place: words, unit and decimal mark follow the manner."""

import re
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.rules.compare import Value
from barrelfit.rules.length import number, shown
from barrelfit.rules.manner import PLAIN, Manner, told
from barrelfit.rules.said import (
    NOTHING,
    Said,
    celsius,
    decimal,
    length,
    length_doubted,
    mass,
    percent,
    said,
    small,
    written,
)

INCH, COMMA = Manner("inch"), Manner(comma=True)


@pytest.mark.parametrize(
    ("what", "mm", "inch", "comma"),
    [
        (length(84_917_000), "84.917 mm", "3.34319 in", "84,917 mm"),
        (length(84_000_000), "84.000 mm", "3.30709 in", "84,000 mm"),
        (length(-5_000), "-0.005 mm", "-0.00020 in", "-0,005 mm"),
        (length(0), "0.000 mm", "0.00000 in", "0,000 mm"),
        (length(50), "0.00005 mm", "0.00000197 in", "0,00005 mm"),  # never shown as zero
        (length(25_400_000), "25.400 mm", "1.00000 in", "25,400 mm"),  # ISO 31-1: exact
        (length_doubted(84_915_000, 1_501), "84.9150 ± 0.0016 mm", "3.34311 ± 0.00006 in",
         "84,9150 ± 0,0016 mm"),
        (small(3_000), "3 µm", "1.18 ten-thou", "3 µm"),
        (small(800), "0.8 µm", "0.31 ten-thou", "0,8 µm"),
        (mass(512_400), "512.4 g", "512.4 g", "512,4 g"),
        (mass(512_000), "512 g", "512 g", "512 g"),
        (celsius(21_500), "21.5 °C", "21.5 °C", "21,5 °C"),
        (percent(16), "16 %", "16 %", "16 %"),
        (decimal("0.0005"), "0.0005", "0.0005", "0,0005"),
        (written("was 84.938 mm"), "was 84.938 mm", "was 84.938 mm", "was 84.938 mm"),
        (NOTHING, "", "", ""),
        (said("class_unknown", seen=said("class_mark", mark="1.5 mm"), classes=("a", "b")),
         *["the class mark '1.5 mm' is not one of a, b"] * 3),
        (said("ask_skirt", part="P1", height=length(12_000_000)),
         "P1 skirt, across the thrust faces, 12.000 mm above the lower edge",
         "P1 skirt, across the thrust faces, 0.47244 in above the lower edge",
         "P1 skirt, across the thrust faces, 12,000 mm above the lower edge"),
        (said("marks_contradict", stamp=length(10**8), mark="I", sizes=(length(1), length(2))),
         "stamped 100.000 mm and group I, but group I has 0.000001 mm or 0.000002 mm",
         "stamped 3.93701 in and group I, but group I has 0.00000004 in or 0.00000008 in",
         "stamped 100,000 mm and group I, but group I has 0,000001 mm or 0,000002 mm"),
    ],
)  # fmt: skip
def test_words_unit_and_mark_are_put_in_at_the_edge(what, mm, inch, comma):
    assert (told(what), told(what, INCH), told(what, COMMA)) == (mm, inch, comma)


@given(st.integers(-(10**9), 10**9), st.sampled_from(["mm", "inch"]))
def test_a_length_is_the_nearest_of_its_decimals(nm, unit):
    text = told(length(nm), Manner(unit)).split()[0]
    away = abs(Fraction(text) - Fraction(nm, {"mm": 10**6, "inch": 25_400_000}[unit]))
    assert away <= Fraction(1, 2 * 10 ** max({"mm": 4, "inch": 5}[unit], len(text.split(".")[1])))
    assert (Fraction(text) == 0) is (nm == 0)


@given(
    st.integers(-(10**12), 10**12),
    st.integers(0, 8),
    st.sampled_from(["mm", "inch"]),
    st.sampled_from([("even", ROUND_HALF_EVEN), ("up", ROUND_CEILING), ("down", ROUND_FLOOR)]),
)
def test_a_number_is_rounded_as_the_standard_library_does(nm, digits, unit, rounding):
    """Against `decimal` with 60 digits (General Decimal Arithmetic, IEEE 754)."""
    name, mode = rounding
    with localcontext() as context:
        context.prec = 60
        exact = Decimal(nm) / {"mm": 10**6, "inch": 25_400_000}[unit]
        wanted = exact.quantize(Decimal(1).scaleb(-digits), mode)
    assert Decimal(number(nm, unit, digits, name)) == wanted
    assert len(number(nm, unit, digits, name).partition(".")[2]) == digits


@given(st.integers(10**6, 10**9), st.integers(1, 10**6), st.sampled_from(["mm", "inch"]))
def test_a_doubt_is_never_told_smaller_than_it_is(nm, half_nm, unit):
    found = re.fullmatch(
        r"[\d.]+ ± ([\d.]+) (?:mm|in)", told(length_doubted(nm, half_nm), Manner(unit))
    )
    assert found is not None
    assert Fraction(found[1]) >= Fraction(half_nm, {"mm": 10**6, "inch": 25_400_000}[unit])


@given(
    st.integers(-(10**9), 10**9),
    st.integers(1, 10**6),
    st.sampled_from(["mm", "inch"]),
    st.booleans(),
)
def test_a_size_and_its_doubt_end_at_one_decimal_place(nm, half_nm, unit, comma):
    """JCGM 100:2008, 7.2.6: an estimate is rounded to be consistent with its uncertainty."""
    manner = Manner(unit, comma=comma)
    size, _, half, _ = told(length_doubted(nm, half_nm), manner).split()
    places = {len(text.partition("," if comma else ".")[2]) for text in (size, half)}
    assert len(places) == 1
    assert size.rstrip("0") == manner.bare(nm).rstrip("0")  # zeros alone were added


def test_a_value_says_its_interval_where_it_has_one():
    assert told(Value(84_915_000, 0.0).said) == "84.915 mm"
    assert told(Value(84_915_000, 800.0).said) == "84.9150 ± 0.0016 mm"  # 1.96 times 0.8 µm, up
    assert shown(84_917_000) == told(length(84_917_000), PLAIN)


@pytest.mark.parametrize(
    ("what", "text"),
    [
        (Said("of-a-newer-version", {"nm": 3, "at": "P1"}), "of-a-newer-version nm 3 at P1"),
        (Said("length", {"nm": "far"}), "length nm far"),
        (Said("length"), "length"),
        (Said("is_on", {"what": "skirt"}), "skirt (value) is on the limit"),
    ],
)
def test_what_is_not_known_is_told_as_well_as_can_be(what, text):
    assert told(what) == text


def test_what_is_said_can_not_be_pressed_into_a_sentence():
    with pytest.raises(TypeError, match=r"rules\.manner"):
        f"{said('skirt')}"


def test_what_is_said_alike_is_alike():
    one, other = (said("of_place", at="P1", what=length(3)) for _ in range(2))
    assert one == other
    assert len({one, other, length(3), length(4)}) == 3
    assert one.mentions("nm", 3)
    assert not one.mentions("nm", 4)
