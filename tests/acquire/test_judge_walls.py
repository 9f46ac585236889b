"""How much wall boring leaves: counted from the bore at which the wall was measured.

Example 8: B1 is worn to 85.115 (original 85.000), oversize 0.250 makes it 85.250. The liner is 4.50
when new, 4.00 must stay. Boring takes (85.250 - 85.115) / 2 = 0.0675 off a wall measured now, and
0.125 off a new one. A scale good to 0.01 (assumed) has a guard band of 1.65 x 5.77 = 9.5 µm.
"""

import pytest

from tests.acquire.set_texts import judge, set_text

B1 = "bore.top = { thrust = 85.115, pin = 85.095 }"
GAUGE = "bore_u = 0.0010\n"


@pytest.mark.parametrize(
    ("wall", "hand_u", "verdict", "code"),
    [
        ("4.100", "", "rework", "Q101"),  # 4.0325 stays; by a growth of 0.250 it would be 3.975
        ("4.080", "", "rework", "Q101"),  # 4.0125 stays, 0.0095 is the guard band
        ("4.070", "", "rework", "Q103"),  # 4.0025 stays
        ("4.060", "", "rework", "Q103"),  # 3.9925 stays
        ("4.050", "", "discard", "Q102"),  # 3.9825 stays
        ("4.070", "hand_u = 0.001\n", "rework", "Q101"),  # guard band 0.0017
        ("4.065", "hand_u = 0.001\n", "discard", "Q102"),  # 3.9975 stays
        ("3.200", "", "discard", "Q102"),
    ],
)
def test_the_wall_was_measured_at_the_worn_bore(tmp_path, capsys, wall, hand_u, verdict, code):
    changes = ((B1, f"wall = {wall}\n{B1}"), (GAUGE, GAUGE + hand_u))
    found = judge(tmp_path, capsys, set_text("08-oversize-for-the-set", *changes))
    assert found.verdict("B1") == verdict
    assert code in found.codes("B1")


def test_a_wall_too_near_to_tell_bores_nothing(tmp_path, capsys):
    text = set_text("08-oversize-for-the-set", (B1, f"wall = 4.070\n{B1}"))
    found = judge(tmp_path, capsys, text)
    assert found.of_kind("rework")[0]["oversize_mm"] is None
    assert "measure the wall with a better tool" in found.part("B1")["todo"]


def test_a_wall_never_measured_is_a_new_one_less_what_boring_takes(tmp_path, capsys):
    """4.500 - 0.250 / 2 = 4.375 stays."""
    found = judge(tmp_path, capsys, set_text("08-oversize-for-the-set"))
    assert found.codes("B1") >= {"Q101"}


@pytest.mark.parametrize(
    ("wall", "verdict"),
    [
        ("4.300", "serviceable"),
        ("4.010", "serviceable"),  # 0.0095 is the guard band
        ("4.005", "undecided"),
        ("3.995", "undecided"),
        ("3.980", "discard"),
        ("3.500", "discard"),
    ],
)
def test_a_wall_thinner_than_may_be_left_is_no_sound_barrels(tmp_path, capsys, wall, verdict):
    """Example 1, all bores sound; 4.000 must stay."""
    top = "bore.top = { thrust = 85.020, pin = 85.010 }"
    found = judge(tmp_path, capsys, set_text("01-all-good", (top, f"wall = {wall}\n{top}")))
    assert found.verdict("B1") == verdict
    if verdict == "undecided":
        assert "B1/wall" in found.to_do
    if verdict == "discard":
        assert "B1" not in {s["barrel"] for s in found.pairing["seats"]}
