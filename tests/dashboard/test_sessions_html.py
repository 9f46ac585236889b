"""Answers of the sessions page's tools: lengths in the board's unit, what changes stands out."""

import pytest

from barrelfit.dashboard.html.sessions_html import difference_text, what_if_html
from barrelfit.dashboard.shown import Shown
from barrelfit.rules.said import length, said, written

INCH = Shown("inch", comma=True)


def differing(field, was, now, seq=584, because=""):
    return {
        "seq": seq, "kind": "sized", "field": field, "was": was, "now": now, "because": because,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("field", "was", "now", "shown", "values"),
    [
        ("size_nm", "84917100", "84918200", Shown(), ("84.9171 mm", "84.9182 mm")),
        ("size_nm", "84917100", "84917101", Shown(), ("84.917100 mm", "84.917101 mm")),
        ("size_nm", "85090000", "85344000", INCH, ("3,35000 in", "3,36000 in")),
        ("u_nm", "1352.1737", "1398.8693", Shown(), ("1.35 μm", "1.40 μm")),
        ("pass_sizes_nm[0]", "84917100", "[]", Shown(), ("84917100", "[]")),
        ("verdict", "undecided", "rework", Shown(), ("undecided", "rework")),
        ("limit_nm", "null", "84860000", Shown(), ("null", "84860000")),
    ],
)
def test_a_difference_names_both_values_so_that_they_differ(field, was, now, shown, values):
    text = difference_text(differing(field, was, now), shown)
    assert text == (
        f"Differs at record 584: sized {field}. Recorded: {values[0]}. Today: {values[1]}."
    )


def test_a_difference_at_the_end_says_so_and_why():
    text = difference_text(
        differing("", "nothing", "x", None, written("another estimator")), Shown()
    )
    assert text.startswith("Differs at the end: sized. ")
    assert text.endswith(" Because: another estimator.")


def judged(*, changed, **more):
    line = {"about": "P1", "was": "undecided", "now": "serviceable", "changed": changed}
    worn = said("of_place", at="skirt <b>", what=said("honed_to", part="P1", to=length(21_000)))
    return line | {"reasons": [worn, written("second reason")]} | more


def test_what_would_change_stands_out_with_its_reasons_and_the_rest_is_the_same():
    html = what_if_html(
        [judged(changed=True), judged(changed=False, about="P2"), {"pairing": "matched"}], INCH
    )
    assert html.count("<tr") == 3  # heads, and two parts
    assert html.count('class="changed"') == 1
    assert "skirt &lt;b&gt;: P1 honed to 0,00083 in<br>second reason" in html
    assert "<td>P2</td><td>UNDECIDED</td><td>the same</td><td></td>" in html


def test_no_part_no_table():
    assert what_if_html([{"pairing": "waiting"}], Shown()) == ""
