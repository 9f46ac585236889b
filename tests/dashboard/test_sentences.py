"""Lengths in the rules' sentences follow the board's settings; nothing else in them does."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.sentences import in_words
from barrelfit.rules.compare import Value
from barrelfit.rules.length import shown as written

MM, COMMA, INCH = Shown(), Shown(comma=True), Shown("inch")


@pytest.mark.parametrize(
    ("sentence", "inch", "comma"),
    [
        (
            "P1 skirt, across the thrust faces, 12.000 mm above the lower edge",
            "P1 skirt, across the thrust faces, 0.47244 in above the lower edge",
            "P1 skirt, across the thrust faces, 12,000 mm above the lower edge",
        ),
        ("skirt 84.915 ± 0.0016 mm is 0.021 mm below the limit 84.936 mm",
         "skirt 3.34311 ± 0.00006 in is 0.00083 in below the limit 3.34394 in",
         "skirt 84,915 ± 0,0016 mm is 0,021 mm below the limit 84,936 mm"),
        ("smallest clearance -0.005 mm", "smallest clearance −0.00020 in",
         "smallest clearance −0,005 mm"),
        ("is 0.000050 mm above", "is 0.00000197 in above", "is 0,000050 mm above"),
        ("± 0.8 µm assumed", "± 0.31 ten-thou assumed", "± 0,8 µm assumed"),
        ("it was 21.5 °C", "it was 21.5 °C", "it was 21,5 °C"),
        ("the sheet's 84.900 mm, the part's", "the sheet's 3.34252 in, the part's",
         "the sheet's 84,900 mm, the part's"),
    ],
)  # fmt: skip
def test_lengths_in_a_sentence(sentence, inch, comma):
    assert in_words(sentence, INCH) == inch
    assert in_words(sentence, COMMA) == comma
    assert in_words(sentence, MM) == sentence


@pytest.mark.parametrize(
    "sentence",
    [
        "'84.938 mm' was typed: decimal slip?",
        "sheet flat-four-85.500 mm2 rev 1.250",
        "part X-84.938 mm",
        "12 mm spanner, 3 passes, 95 %",
        "group II (see page 84.9380)",
    ],
)
def test_what_is_no_length_of_the_rules_stays(sentence):
    assert in_words(sentence, INCH) == sentence
    assert in_words(sentence, COMMA) == sentence


@given(st.integers(-(10**9), 10**9))
def test_every_length_the_rules_can_write_is_read_back(nm):
    text = in_words(f"is {written(nm)} off", INCH, nm)
    number = re.fullmatch(r"is (\S+) in off", text)
    assert number is not None
    shown = Fraction(number[1].replace("−", "-"))
    digits = len(number[1].partition(".")[2])
    assert abs(shown - Fraction(nm, 25_400_000)) <= Fraction(1, 2 * 10**digits)
    mm = in_words(f"is {written(nm)} off", COMMA)
    assert mm.replace(",", ".").replace("−", "-") == f"is {written(nm)} off"


@given(st.integers(10**6, 10**9), st.floats(1, 5_000))
def test_a_value_with_its_doubt_is_read_as_the_rules_write_it(nm, u_nm):
    words = Value(nm, u_nm).words
    assert re.fullmatch(r"[\d.]+ ± [\d.]+ in", in_words(words, INCH))


def test_a_length_the_event_holds_is_written_from_the_exact_number():
    nm = 84_037_449  # written 84.0374 mm; rounded twice it would end in another digit
    assert in_words(f"bore {written(nm)}", INCH, nm, None) == f"bore {INCH.length(nm)}"
