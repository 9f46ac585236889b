"""Lengths as text: exact in millimetres, rounded half to even, settings never touch a value."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.dashboard.server.manner_route import back_to
from barrelfit.dashboard.shown import (
    Shown,
    age_text,
    decimals_of,
    manner_kept,
    shown_from,
    shown_kept,
)

MM, INCH, COMMA = Shown(), Shown("inch"), Shown("mm", comma=True)
lengths = st.integers(-(10**10), 10**10)


def value(text: str) -> Fraction:
    return Fraction(Decimal(text.replace("\N{MINUS SIGN}", "-").replace(",", ".")))


@pytest.mark.parametrize(
    ("nm", "digits", "text"),
    [
        (84_012_000, 3, "84.012"),
        (84_012_345, 6, "84.012345"),
        (84_012_350, 4, "84.0124"),  # half to even: …2350 → …24
        (84_012_450, 4, "84.0124"),
        (-21_000, 3, "\N{MINUS SIGN}0.021"),
        (-400, 3, "0.000"),  # no minus before a zero
        (0, 3, "0.000"),
    ],
)
def test_millimetres(nm, digits, text):
    assert MM.number(nm, digits) == text


@pytest.mark.parametrize(
    ("nm", "digits", "text"),
    [
        # 1 in = 25.4 mm exactly (international yard and pound agreement 1959; ISO 80000-3)
        (25_400_000, 5, "1.00000"),
        (84_012_000, 5, "3.30756"),  # 84.012 / 25.4 = 3.307559…
        (25_400, 5, "0.00100"),
        (254, 5, "0.00001"),
    ],
)
def test_inches(nm, digits, text):
    assert INCH.number(nm, digits) == text


@settings(deadline=None)  # a busy machine is no failure
@given(lengths)
def test_six_decimals_of_a_millimetre_are_exact(nm):
    assert value(MM.number(nm, 6)) == Fraction(nm, 1_000_000)


@settings(deadline=None)  # a busy machine is no failure
@given(lengths, st.integers(0, 8), st.booleans(), st.sampled_from(["mm", "inch"]))
def test_rounding_is_never_more_than_half_a_last_digit(nm, digits, comma, unit):
    shown = Shown(unit, comma)
    exact = Fraction(nm, 1_000_000 if unit == "mm" else 25_400_000)
    assert abs(value(shown.number(nm, digits)) - exact) <= Fraction(1, 2 * 10**digits)
    assert ("." in shown.number(nm, digits)) == (digits > 0 and not comma)


@settings(deadline=None)  # a busy machine is no failure
@given(st.integers(0, 10**9), st.integers(1, 50_000))
def test_two_different_lengths_look_different(nm, more):
    for shown in (MM, INCH, COMMA):
        one, other = shown.apart(nm, nm + more)
        assert one != other


def test_equal_lengths_look_equal():
    assert MM.apart(84_000_000, 84_000_000) == ("84.0000 mm", "84.0000 mm")


def test_a_length_just_past_its_limit_is_seen_to_be_past_it():
    assert MM.apart(84_000_001, 84_000_000) == ("84.000001 mm", "84.000000 mm")


def test_small_differences():
    assert MM.small(1_250) == "1.2 μm"
    assert COMMA.small(1_250) == "1,2 μm"
    assert INCH.small(2_540) == "1.00 ten-thou"


def test_words_to_settings():
    assert shown_from("inch", "comma") == Shown("inch", comma=True)
    assert shown_from("furlong", "") == Shown()


def test_decimals_as_sent():
    assert [decimals_of(v) for v in ("+084.012", "3,30750", "12", "")] == [3, 5, 0, 0]


def test_ages():
    assert [age_text(ms) for ms in (0, 9_949, 10_000, 119_000, 600_000)] == [
        "<1 s", "9 s", "10 s", "119 s", "10 min",
    ]  # fmt: skip


def test_what_a_browser_keeps_is_read_again_and_anything_else_is_plain():
    for shown in (Shown(), Shown("inch"), Shown("mm", comma=True), Shown("inch", comma=True)):
        assert shown_kept(manner_kept(shown)) == shown
    for kept in ("", "anything", "inch-", "-comma-", "yard-comma;x"):
        assert shown_kept(kept).unit in {"mm", "inch"}


def test_a_choice_leads_back_to_its_page_and_nowhere_else():
    assert back_to("http://bench:8501/set?id=b%201&unit=inch", "bench:8501") == "/set?id=b+1"
    assert back_to("http://bench:8501//elsewhere.example/x", "bench:8501") == "/elsewhere.example/x"
    for referer in ("", "http://elsewhere.example/set", "javascript:alert(1)"):
        assert back_to(referer, "bench:8501") == "/"
