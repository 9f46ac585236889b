"""What a set still lacks is asked for, looks and hand facts too; of discarded parts nothing."""

import random

import pytest

from tests.acquire.set_texts import judge, set_text

ALL, RINGS, OVERSIZE = "01-all-good", "11-rings-and-pins", "08-oversize-for-the-set"
W1 = '[[pin]]\nid = "W1"\npiston = "P1"\nlooked = ["good"]\nclass = "white"\nplay = "none"\n'
W2 = W1.replace("W1", "W2").replace("P1", "P2")
P2 = 'id = "P2"\nserial = "12"\nlooked = ["good"]\nsize_stamp = 84.940\n'
B2 = 'id = "B2"\nserial = "22"\nlooked = ["good"]\nkind = "iron-liner"\nseal = "spigot"\n'
B1_TOP = "bore.top = { thrust = 85.020, pin = 85.010 }"

# set, what is taken away, what is asked for, and with what it is found
LACKING = [
    (ALL, [("mass_g = 514.5\n", "")], "P2/mass", "scale"),
    (ALL, [(P2, P2.replace('looked = ["good"]\n', ""))], "P2/looked", "eye"),
    (ALL, [(P2, P2.replace('["good"]', '["stained"]'))], "P2/looked", "eye"),
    (ALL, [(B2, B2.replace('looked = ["good"]\n', ""))], "B2/looked", "eye"),
    (ALL, [(B2, B2.replace('kind = "iron-liner"\n', ""))], "B2/kind", "eye"),
    (ALL, [(B2, B2.replace('seal = "spigot"\n', ""))], "B2/seal", "eye"),
    (ALL, [(B2, B2.replace('"spigot"', '"flat"'))], "B2/seal", "eye"),
    (ALL, [("head_seal = \"spigot\"\n", "")], "B3/seal", "eye"),
    (ALL, [(f'{B2}height_group = "2"\n', B2)], "B2/height-group", "eye"),
    (ALL, [(P2, P2.replace("84.940", "84.490")), ("skirt = 84.917", "skirt = 84.467")], "P2/stamp",
     "eye"),
    (ALL, [('group = "II"\n', "")], "B2/stamp", "eye"),
    (ALL, [(P2, f"{P2}clearance_stamp = 0.190\n")], "P2/clearance-stamp", "eye"),
    (ALL, [("skirt = 84.917", "skirt = 84.197")], "P2/skirt", "outside"),
    (ALL, [(B1_TOP, f"wall = 45\n{B1_TOP}")], "B1/wall", "hand"),
    (ALL, [(B1_TOP, "bore.top = { thrust = 85.0461, pin = 85.025 }")], "B1/bore", "hand"),  # taper
    (RINGS, [(W2, W2.replace('play = "none"\n', ""))], "W2/play", "hand"),
    (RINGS, [(W2, W2.replace('class = "white"\n', ""))], "W2/class", "eye"),
    (RINGS, [(W2, W2.replace('looked = ["good"]\n', ""))], "W2/looked", "eye"),
    (RINGS, [(f"{W2}diameter = 22.997\n", "")], "P2/pin", "eye"),
    (RINGS, [(f"{W2}diameter = 22.997\n", W2)], "W2/diameter", "outside"),
    (RINGS, [("gap = 0.95\n", "")], "P2/gap/top", "hand"),
    (OVERSIZE, [], "B1/wall", "hand"),
    (OVERSIZE, [("bore.top = { thrust = 85.115", "wall = 4.070\nbore.top = { thrust = 85.115")],
     "B1/wall", "hand"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "changes", "at", "by"), LACKING)
def test_what_is_lacking_is_asked_for(tmp_path, capsys, name, changes, at, by):
    found = judge(tmp_path, capsys, set_text(name, *changes))
    asked = {m["at"]: m for m in found.of_kind("remaining")[0]["measure"]}
    assert at in asked
    assert asked[at]["gauge"] == by
    assert asked[at]["sentence"].startswith(at.split("/")[0])


def test_looks_come_first_then_gauges_then_what_is_tried_by_hand(tmp_path, capsys):
    changes = [(P2, P2.replace('looked = ["good"]\n', "")), ("mass_g = 514.5\n", ""),
               ("skirt = 84.916\n", "")]  # fmt: skip
    found = judge(tmp_path, capsys, set_text(ALL, *changes))
    assert found.to_do == ["P2/looked", "P4/skirt", "P2/mass"]


def test_a_piston_already_discarded_is_asked_nothing_more(tmp_path, capsys):
    """84.700 is worn by 0.240 of 0.080; nothing was tried on any ring, and it was not weighed."""
    rings = ('left_out = ["rings", "pins"]', 'left_out = ["pins"]')
    worn = [rings, ("skirt = 84.915", "skirt = 84.700"), ("mass_g = 512.0\n", "")]
    found = judge(tmp_path, capsys, set_text(ALL, *worn))
    assert found.verdict("P1") == "discard"
    assert not [at for at in found.to_do if at.startswith("P1/")]
    assert len([at for at in found.to_do if at.startswith("P2/")]) >= 9


def test_a_barrel_already_discarded_is_asked_nothing_more(tmp_path, capsys):
    """85.788 is larger than the largest oversize, 85.500; no other place was measured."""
    text = set_text(
        ALL,
        (B1_TOP, "bore.top = { thrust = 85.788 }"),
        ("bore.middle = { thrust = 85.012, pin = 85.008 }\n", ""),
        ("bore.bottom = { thrust = 85.006, pin = 85.005 }\n", ""),
    )
    found = judge(tmp_path, capsys, text)
    assert found.verdict("B1") == "discard"
    assert not [at for at in found.to_do if at.startswith("B1/")]


@pytest.mark.slow
def test_whatever_a_set_lacks_every_undecided_part_has_something_to_do(tmp_path, capsys):
    """Any keys left out of example 11: undecided parts are asked for, discarded ones never."""
    rng = random.Random(2_117)  # noqa: S311
    lines = set_text(RINGS).splitlines()
    free = [
        number
        for number, line in enumerate(lines)
        if line.split(" = ")[0] in {"looked", "size_stamp", "mass_g", "skirt", "pin_class", "gap",
                                    "feeler", "kind", "seal", "height_group", "bore.top",
                                    "bore.middle", "class", "play", "diameter", "gap_bore",
                                    "group", "head_seal"}
    ]  # fmt: skip
    for number in range(60):
        gone = set(rng.sample(free, rng.randint(1, 30)))
        text = "\n".join(line for n, line in enumerate(lines) if n not in gone)
        found = judge(tmp_path, capsys, text)
        asked = {at.split("/")[0] for at in found.to_do}
        for part in found.of_kind("part"):
            name = part["part"]
            assert part["verdict"] != "undecided" or name in asked, f"set {number}: {name}"
            assert part["verdict"] != "discard" or name not in asked, f"set {number}: {name}"


def test_a_side_clearance_too_near_to_tell_is_measured_again(tmp_path, capsys):
    """P4's second ring: 1.560 - 1.461 = 0.099 of 0.100, each width good to 0.002."""
    text = set_text(RINGS)
    start = text.index('id = "P4"')
    text = text[:start] + text[start:].replace("ring_width = 1.490", "ring_width = 1.461", 1)
    found = judge(tmp_path, capsys, text)
    assert "R110" in found.codes("P4")
    told = {m["at"]: m for m in found.of_kind("remaining")[0]["measure"]}
    assert told["P4/side"]["gauge"] == "hand"
    assert "second ring" in told["P4/side"]["sentence"]
    assert "P4/skirt" not in told
