"""Slips in a set file are asked about, whichever value is wrong; none becomes a verdict.

Example 1: skirts 84.912 to 84.917 (original 84.940, at least 84.860), bores 85.003 to 85.022
(original 85.000, at most 85.100). Example 11 has rings, pins of 22.997 (at least 22.992) and gap
bores of 85.004.
"""

import pytest

from tests.acquire.set_texts import FOUR, SIX, judge, set_text

ALL, RINGS, INCHES, PLATED = "01-all-good", "11-rings-and-pins", "12-inches", "07-plated-bore-worn"
OUT_U, BORE_U = "outside_u = 0.0008", "bore_u = 0.0010"
GAUGE_C, PART_C = "gauge_temp_c = 20.0", "part_temp_c = 20.0"
P1, B1 = 'id = "P1"\n', 'id = "B1"\n'
B1_TOP = "bore.top = { thrust = 85.020, pin = 85.010 }"


def override(quantity: str, value: str) -> tuple[str, str]:
    table = f'[[override]]\nquantity = "{quantity}"\nvalue = {value}\nsigned_by = "L"\nwhy = "w"\n'
    return "[measuring]", f"{table}[measuring]"


# set, what is changed, the key that is asked about, what is asked. The file is not judged.
ASKED = [
    (ALL, [(PART_C, "part_temp_c = 68"), (GAUGE_C, "gauge_temp_c = 68")], "measuring.part_temp_c",
     "68 °F would be 20 °C: which scale?"),
    (ALL, [(PART_C, "part_temp_c = 68")], "measuring.part_temp_c", "68 °F would be 20 °C"),
    (ALL, [(GAUGE_C, "gauge_temp_c = 71.6")], "measuring.gauge_temp_c", "71.6 °F would be 22 °C"),
    (ALL, [(PART_C, "part_temp_c = 20.0\nroom_temp_c = 59")], "measuring.room_temp_c",
     "59 °F would be 15 °C"),
    (ALL, [(P1, f"{P1}temp_c = 68\n")], "piston[1].temp_c", "68 °F would be 20 °C"),
    (ALL, [(B1, f"{B1}temp_c = 77\n")], "barrel[1].temp_c", "77 °F would be 25 °C"),
    (ALL, [(PART_C, "part_temp_c = 2.15")], "measuring.part_temp_c", "21.5 °C would be"),
    (ALL, [(PART_C, "part_temp_c = -5")], "measuring.part_temp_c", "Is it meant so?"),
    (INCHES, [(PART_C, "part_temp_c = 68")], "measuring.part_temp_c", "68 °F would be 20 °C"),
    (PLATED, [(PART_C, "part_temp_c = 70")], "measuring.part_temp_c", "70 °F would be 21.1 °C"),
    (ALL, [(OUT_U, "outside_u = 0.8")], "measuring.outside_u", "0.8 µm would be: which unit?"),
    (ALL, [(OUT_U, "outside_u = 0.08")], "measuring.outside_u", "0.0008 mm would be"),
    (ALL, [(BORE_U, "bore_u = 1")], "measuring.bore_u", "1 µm would be: which unit?"),
    (ALL, [(BORE_U, "bore_u = 0.00003")], "measuring.bore_u", "would be"),
    (ALL, [(BORE_U, "bore_u = 0.010")], "measuring.bore_u", "0.001 mm would be: decimal slip?"),
    (ALL, [(BORE_U, "bore_u = 0.0001")], "measuring.bore_u", "0.001 mm would be: decimal slip?"),
    (ALL, [(OUT_U, "outside_u = 0.008")], "measuring.outside_u", "0.0008 mm would be"),
    (ALL, [(OUT_U, "outside_u = 0.00008")], "measuring.outside_u", "0.0008 mm would be"),
    (RINGS, [("hand_u = 0.002", "hand_u = 0.02")], "measuring.hand_u", "0.002 mm would be"),
    (RINGS, [("hand_u = 0.002", "hand_u = 0.0002")], "measuring.hand_u", "0.002 mm would be"),
    (ALL, [(OUT_U, f'{OUT_U}\nstandard = "ring"\nstandard_u = 0.006')], "measuring.standard_u",
     "0.0006 mm would be"),
    (ALL, [(OUT_U, "outside_u = 0")], "measuring.outside_u", "Is it meant so?"),
    (RINGS, [("hand_u = 0.002", "hand_u = 2")], "measuring.hand_u", "2 µm would be: which unit?"),
    (ALL, [(OUT_U, f'{OUT_U}\nstandard = "ring"\nstandard_u = 0.6')], "measuring.standard_u",
     "0.6 µm would be: which unit?"),
    (ALL, [(OUT_U, "digit = 1")], "measuring.digit", "1 µm would be: which unit?"),
    (INCHES, [("outside_u = ", "outside_u = 1")], "measuring.outside_u", "Is it meant so?"),
    (ALL, [("mass_g = 512.0", "mass_g = 5120")], "piston[1].mass_g", "512 g would be"),
    (ALL, [("mass_g = 512.0", "mass_g = 51.2")], "piston[1].mass_g", "512 g would be"),
    (ALL, [("mass_g = 512.0", "mass_g = 0.512")], "piston[1].mass_g", "512 g would be"),
    (ALL, [("mass_g = 514.5", "mass_g = 541.5")], "piston[2].mass_g",
     "514.5 g would be: two digits swapped?"),
    (ALL, [("mass_g = 514.5", "mass_g = 554.1")], "piston[2].mass_g",
     "514.5 g would be: two digits swapped?"),
    (ALL, [("mass_g = 513.0", "mass_g = 1131")], "piston[4].mass_g", "Is it meant so?"),
    (RINGS, [("leaf = 0.12", "leaf = 1.2")], "piston[1].ring[1].feeler[1].leaf", "0.120 mm would"),
    (RINGS, [("leaf = 0.04", "leaf = 0.40")], "piston[1].ring[1].feeler[2].leaf", "0.040 mm would"),
    (RINGS, [("groove_width = 1.560", "groove_width = 15.60")], "piston[1].ring[2].groove_width",
     "1.560 mm would be"),
    (RINGS, [("ring_width = 1.490", "ring_width = 0.149")], "piston[1].ring[2].ring_width",
     "1.490 mm would be"),
    (RINGS, [("groove_width = 1.560", "groove_width = 0.0614"),
             ("ring_width = 1.490", "ring_width = 0.0587")], "piston[1].ring[2].groove_width",
     "would be"),
    (ALL, [(P1, f"{P1}clearance_stamp = 0.5\n")], "piston[1].clearance_stamp", "0.050 mm would"),
    (ALL, [(P1, f"{P1}clearance_stamp = 0.005\n")], "piston[1].clearance_stamp", "0.050 mm would"),
    (ALL, [override("taper.max", "0.4")], "override[1].value", "0.040 mm would be"),
    (ALL, [override("skirt.wear_max", "8")], "override[1].value", "would be"),
    (ALL, [override("clearance.max", "1.8")], "override[1].value", "0.180 mm would be"),
    (ALL, [override("clearance.min", "0.0045")], "override[1].value", "0.045 mm would be"),
    (ALL, [override("out_of_round.max", "0")], "override[1].value", "is nought"),
    (ALL, [override("skirt.size", "8.494")], "override[1].value", "84.940 mm would be"),
    (ALL, [override("bore.size", "58.000")], "override[1].value", "85.000 mm would be"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "changes", "key", "asks"), ASKED)
def test_a_slip_that_would_spoil_the_whole_set_is_asked_about(
    tmp_path, capsys, name, changes, key, asks
):
    sheet = SIX if name == PLATED else FOUR
    text = set_text(name, *changes)
    found = judge(tmp_path, capsys, text, sheet)
    assert (found.code, found.lines) == (2, [])
    told = next(line for line in found.err.splitlines() if f"{key}: " in line)
    assert asks in told
    assert "set.toml:" in told
    confirmed = f'confirmed = ["{key}"]\nunit = '
    sure = judge(tmp_path, capsys, text.replace("unit = ", confirmed, 1), sheet)
    assert key not in sure.err


# set, what is changed, part, feature, what is asked: the part waits for the answer, no other does
HELD = [
    (ALL, [("skirt = 84.915", "skirt = 84.195")], "P1", "P1/skirt", "84.915 mm would be: two"),
    (ALL, [("skirt = 84.917", "skirt = 84.197")], "P2", "P2/skirt", "84.917 mm would be: two"),
    (ALL, [("skirt = 84.915", "skirt = 84.519")], "P1", "P1/skirt", "84.915 mm would be: two"),
    (ALL, [(B1_TOP, B1_TOP.replace("85.020", "82.050"))], "B1", "B1/bore/top/thrust",
     "85.020 mm would be: two digits swapped?"),
    (ALL, [(B1_TOP, B1_TOP.replace("85.020", "85.200"))], "B1", "B1/bore/top/thrust",
     "two digits swapped?"),
    (ALL, [(B1_TOP, B1_TOP.replace("85.020", "85.020").replace("85.010", "85.100"))], "B1",
     "B1/bore/top/pin", "85.010 mm would be: two digits swapped?"),
    (ALL, [("thrust = 85.018, pin = 85.009", "thrust = 85.108, pin = 85.009")], "B3",
     "B3/bore/top/thrust", "85.018 mm would be: two digits swapped?"),
    (ALL, [("thrust = 85.018, pin = 85.009", "thrust = 85.018, pin = 85.090")], "B3",
     "B3/bore/top/pin", "85.009 mm would be: two digits swapped?"),
    (RINGS, [("diameter = 22.997", "diameter = 22.979")], "W1", "W1/diameter",
     "22.997 mm would be: two digits swapped?"),
    (RINGS, [("diameter = 22.997", "diameter = 23.470")], "W1", "W1/diameter", "nothing like"),
    (RINGS, [("diameter = 22.997", "diameter = 23.500")], "W1", "W1/diameter",
     "23.005 mm would be: two digits swapped?"),
    (RINGS, [("gap = 0.45", "gap = 4.5")], "P1", "P1/gap/top", "decimal slip?"),
    (RINGS, [("gap = 0.45", "gap = 0.018")], "P1", "P1/gap/top", "would be"),
    (RINGS, [("gap = 0.45", "gap = 1.8")], "P1", "P1/gap/top", "would be"),
    (RINGS, [("gap_bore = 85.004", "gap_bore = 58.004")], "P1", "P1/gap-bore/oil",
     "85.004 mm would be: two digits swapped?"),
    (RINGS, [("gap_bore = 85.004", "gap_bore = 85.400")], "P1", "P1/gap-bore/oil",
     "85.040 mm would be: two digits swapped?"),
    (ALL, [(B1_TOP, f"wall = 45\n{B1_TOP}")], "B1", "B1/wall", "4.500 mm would be"),
    (ALL, [(B1_TOP, f"wall = 0.177\n{B1_TOP}")], "B1", "B1/wall", "0.177 inch would be"),
    (ALL, [(B1_TOP, f"wall = 5.4\n{B1_TOP}")], "B1", "B1/wall", "4.500 mm would be: two digits"),
    (INCHES, [("skirt = 3.34311", "skirt = 3.43311")], "P1", "P1/skirt", "two digits swapped?"),
]  # fmt: skip


@pytest.mark.parametrize("case", HELD)
def test_a_slip_in_one_length_is_a_question_and_no_verdict(tmp_path, capsys, case):
    name, changes, part, at, asks = case
    plain = judge(tmp_path, capsys, set_text(name))
    text = set_text(name, *changes)
    found = judge(tmp_path, capsys, text)
    assert found.code == 1
    question = next(f for f in found.part(part)["findings"] if f["code"] == "T101")
    assert question["sentence"].startswith(f"{at}: ")
    assert asks in question["sentence"]
    assert at not in {size["at"] for size in found.of_kind("size")}
    if plain.verdict(part) == "serviceable":
        assert found.verdict(part) == "undecided"
    confirmed = f'confirmed = ["{at}"]\nunit = '
    sure = judge(tmp_path, capsys, text.replace("unit = ", confirmed, 1))
    assert "T101" not in sure.codes(part)
    assert at in {size["at"] for size in sure.of_kind("size")}


# Measurements that are out, and no slips: they are judged, not asked about.
ORDINARY = [
    ("a skirt worn 0.121 of 0.080; 84.891 would be good, and yet it is no likely slip",
     [("skirt = 84.915", "skirt = 84.819")], "P1", "discard"),
    ("a skirt worn 0.100 of 0.080", [("skirt = 84.915", "skirt = 84.840")], "P1", "discard"),
    ("a skirt worn 0.240 of 0.080, and no swapped digits make it good",
     [("skirt = 84.915", "skirt = 84.700")], "P1", "discard"),
    ("a bore worn at the top, where its neighbour is worn too: 85.105 of 85.100",
     [(B1_TOP, "bore.top = { thrust = 85.105, pin = 85.090 }")], "B1", "rework"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "part", "verdict"), [o[1:] for o in ORDINARY], ids=[o[0] for o in ORDINARY]
)
def test_an_ordinary_bad_part_is_judged(tmp_path, capsys, changes, part, verdict):
    found = judge(tmp_path, capsys, set_text(ALL, *changes))
    assert found.verdict(part) == verdict
    assert "T101" not in found.codes(part)


def test_sixty_eight_degrees_confirmed_shift_a_skirt_as_they_must(tmp_path, capsys):
    """48 K over 20 °C on 84.915 mm, 20.5e-6 of the alloy less 11.5e-6 of the gauge: 37 µm."""
    hot = [(PART_C, "part_temp_c = 68"), (GAUGE_C, "gauge_temp_c = 68")]
    sure = 'confirmed = ["measuring.part_temp_c", "measuring.gauge_temp_c"]\nunit = "mm"'
    found = judge(tmp_path, capsys, set_text(ALL, *hot, ('unit = "mm"', sure)))
    skirt = next(s for s in found.of_kind("size") if s["at"] == "P1/skirt")
    assert skirt["size_mm"].startswith("84.878")


def test_more_than_one_slip_is_told_at_once(tmp_path, capsys):
    changes = [(PART_C, "part_temp_c = 68"), (OUT_U, "outside_u = 0.8"),
               ("mass_g = 512.0", "mass_g = 5120")]  # fmt: skip
    found = judge(tmp_path, capsys, set_text(ALL, *changes))
    for key in ("measuring.part_temp_c", "measuring.outside_u", "piston[1].mass_g"):
        assert key in found.err


@pytest.mark.parametrize(
    ("skirt", "asks"),
    [
        ("89.415", "84.915 mm would be: two digits swapped?"),
        ("48.915", "84.915 mm would be: two digits swapped?"),
        ("33.4311", "3.34311 inch would be: which unit, and where is the decimal mark?"),
        ("3.34311", "inches in a file whose unit is mm"),
        ("8.4915", "is the decimal mark one place off?"),
        ("0.84915", "84.915 mm would be: decimal slip?"),
        ("84915", "84915 µm would be: which unit?"),
    ],
)
def test_a_skirt_far_from_every_size_is_refused_with_what_it_would_be(
    tmp_path, capsys, skirt, asks
):
    found = judge(tmp_path, capsys, set_text(ALL, ("skirt = 84.915", f"skirt = {skirt}")))
    assert found.code == 2
    assert "piston[1].skirt" in found.err
    assert asks in found.err


def test_a_decimal_comma_is_no_toml_and_is_told_with_its_line(tmp_path, capsys):
    found = judge(tmp_path, capsys, set_text(ALL, ("skirt = 84.915", "skirt = 84,915")))
    assert found.code == 2
    assert "line" in found.err


STRANGE = ["P\\n1", "P1\\u202E", "P\\u200B1", "P1\\t", "P1\\u2028", " P1", "P1 ", "P" * 90]


@pytest.mark.parametrize("name", STRANGE)
def test_a_name_that_breaks_what_is_shown_is_refused(tmp_path, capsys, name):
    found = judge(tmp_path, capsys, set_text(ALL, (P1, f'id = "{name}"\n')))
    assert found.code == 2
    assert "piston[1].id: " in found.err
    assert len(found.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [('job = "example 1"', 'job = "ex\\nok P1 serviceable"'),
     ('serial = "11"', 'serial = "11\\u202E"'),
     ('measured_by = "worked example"', 'measured_by = "w\\u0007"'),
     override("taper.max", '0.03\npart = "B1\\n"')],
)  # fmt: skip
def test_no_text_of_a_set_may_break_a_line(tmp_path, capsys, old, new):
    found = judge(tmp_path, capsys, set_text(ALL, (old, new)))
    assert found.code == 2
    assert "holds a letter that can't be shown" in found.err


def test_names_that_only_look_alike_are_refused(tmp_path, capsys):
    found = judge(tmp_path, capsys, set_text(ALL, ('id = "P2"\n', 'id = "p1"\n')))
    assert found.code == 2
    assert "'p1' looks like 'P1'" in found.err


HUGE = ["1e4000000", "1e-4000000", "9" * 5000, "0x" + "f" * 5000, "1e99999999999999999999", "1e60",
        "[" * 5000 + "]" * 5000, "nan", "-inf"]  # fmt: skip


@pytest.mark.parametrize("value", HUGE, ids=[h[:12] for h in HUGE])
def test_a_number_out_of_all_reason_is_told_and_never_a_traceback(tmp_path, capsys, value):
    found = judge(tmp_path, capsys, set_text(ALL, ("skirt = 84.915", f"skirt = {value}")))
    assert found.code == 2
    assert "set.toml" in found.err
    assert len(found.err) < 400


# What is unlikely and yet may be so: judged, and not asked about.
MAY_BE = [
    (ALL, [(PART_C, "part_temp_c = 32"), (GAUGE_C, "gauge_temp_c = 22")]),
    (ALL, [(PART_C, "part_temp_c = 5"), (GAUGE_C, "gauge_temp_c = 45")]),
    (ALL, [(P1, f"{P1}temp_c = 41\n")]),
    (ALL, [(OUT_U, "outside_u = 0.005"), (BORE_U, "bore_u = 0.0004")]),
    (RINGS, [("hand_u = 0.002", "hand_u = 0.012")]),
    (ALL, [(OUT_U, f'{OUT_U}\nstandard = "ring"\nstandard_u = 0.002')]),
    (ALL, [("mass_g = 512.0", "mass_g = 446.0")]),
    (ALL, [("mass_g = 512.0", "mass_g = 578.0")]),
    (ALL, [("mass_g = 512.0", "mass_g = 520.5")]),
    (RINGS, [("leaf = 0.12", "leaf = 0.30")]),
    (RINGS, [("leaf = 0.12", "leaf = 0.15")]),
    (ALL, [(P1, f"{P1}clearance_stamp = 0.090\n")]),
    (ALL, [override("clearance.max", "0.5")]),
    (ALL, [override("skirt.wear_max", "0.3")]),
    (ALL, [override("skirt.size", "85.190")]),
    (ALL, [(P1, 'id = "piston front left (1)"\n'), ('measured_by = "worked example"',
            'measured_by = "Ä. Müller, 田中"')]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "changes"), MAY_BE)
def test_what_may_be_so_is_not_asked_about(tmp_path, capsys, name, changes):
    found = judge(tmp_path, capsys, set_text(name, *changes))
    assert found.err == ""
    assert found.code in {0, 1}
    assert not any("T101" in found.codes(p["part"]) for p in found.of_kind("part"))


@pytest.mark.parametrize(
    ("changes", "part", "asks"),
    [
        ([("size_stamp = 84.940", "size_stamp = 84.490")], "P1", "84.940 mm would be: two digits"),
        ([("size_stamp = 84.940", "size_stamp = 85.910")], "P1", "85.190 mm would be: two digits"),
        ([(B1, f"{B1}size_stamp = 85.100\n")], "B1", "85.010 mm would be: two digits swapped?"),
    ],
)
def test_a_stamp_put_down_with_a_slip_is_asked_about(tmp_path, capsys, changes, part, asks):
    found = judge(tmp_path, capsys, set_text(ALL, *changes))
    assert found.verdict(part) == "undecided"
    assert asks in found.sentences(part)
    told = found.of_kind("remaining")[0]["measure"]
    assert any(m["at"] == f"{part}/stamp" and asks in m["sentence"] for m in told)


def test_what_is_asked_about_a_length_stands_with_what_is_to_be_measured(tmp_path, capsys):
    found = judge(tmp_path, capsys, set_text(ALL, ("skirt = 84.915", "skirt = 84.195")))
    (to_do,) = found.of_kind("remaining")[0]["measure"]
    assert to_do["at"] == "P1/skirt"
    assert "84.915 mm would be: two digits swapped?" in to_do["sentence"]


@pytest.mark.parametrize(
    ("celsius", "asks"),
    [("293.15", "293.15 K would be 20 °C"), ("215", "21.5 °C would be"), ("-40", "not between")],
)
def test_a_temperature_out_of_all_reason_is_refused_once(tmp_path, capsys, celsius, asks):
    found = judge(tmp_path, capsys, set_text(ALL, (PART_C, f"part_temp_c = {celsius}")))
    assert found.code == 2
    (told,) = found.err.splitlines()
    assert asks in told
