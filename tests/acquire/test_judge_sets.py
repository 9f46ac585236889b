"""Worked sets, judged from the command line: verdicts as worked by hand in each file's comment."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli

SETS = Path(__file__).parents[1] / "sets"
FOUR, SIX = "flat-four-85", "flat-six-92-plated"

# file, sheet, exit code, parts that are not serviceable, codes that must be found, pairing
WORKED = [
    ("01-all-good", FOUR, 0, {}, {}, "matched"),
    ("02-worn-piston", FOUR, 1, {"P3": "discard"}, {"P3": "S101"}, "provisional"),
    ("03-stamp-of-another-variant", FOUR, 1, {}, {"P2": "K101"}, "provisional"),
    ("04-stopped-at-the-gate", FOUR, 1, {"P4": "discard"}, {"P4": "E102"}, "provisional"),
    ("05-tapered-bore", FOUR, 1, {"B2": "rework"}, {"B2": "B103"}, "after rework"),
    ("06-out-of-round-bore", FOUR, 1, {"B3": "rework"}, {"B3": "B104"}, "after rework"),
    ("07-plated-bore-worn", SIX, 1, {"B5": "rework"}, {"B5": "B101"}, "after rework"),
    ("08-oversize-for-the-set", FOUR, 1, {"B1": "rework"}, {"B1": "B101"}, "after rework"),
    ("09-no-legal-pairing", FOUR, 1, {}, {}, "impossible"),
    ("10-undecided-only", FOUR, 1, {"P1": "undecided"}, {"P1": "S101"}, "provisional"),
    (
        "11-rings-and-pins",
        FOUR,
        1,
        {"P1": "discard", "P2": "rework", "P3": "discard", "W4": "undecided"},
        {"P1": "R101", "P2": "R106", "P3": "W104", "W4": "W102"},
        "provisional",
    ),
    ("12-inches", FOUR, 1, {"P3": "discard"}, {"P3": "S101"}, "provisional"),
]


def judged(capsys, name: str, sheet: str) -> tuple[int, list[dict]]:
    code = run_cli(["judge", str(SETS / f"{name}.toml"), "--sheet", sheet, "--json"])
    out = capsys.readouterr().out
    return code, [json.loads(line) for line in out.splitlines()]


def of_kind(lines: list[dict], kind: str) -> list[dict]:
    return [line for line in lines if line["kind"] == kind]


@pytest.mark.parametrize(
    ("name", "sheet", "code", "verdicts", "codes", "pairing"), WORKED, ids=[w[0] for w in WORKED]
)
def test_worked_set(capsys, name, sheet, code, verdicts, codes, pairing):  # noqa: PLR0913, PLR0917
    got_code, lines = judged(capsys, name, sheet)
    parts = {line["part"]: line for line in of_kind(lines, "part")}
    other = {p: line["verdict"] for p, line in parts.items() if line["verdict"] != "serviceable"}
    assert other == verdicts
    for part, finding in codes.items():
        assert finding in {f["code"] for f in parts[part]["findings"]}
    assert of_kind(lines, "pairing")[0]["outcome"] == pairing
    assert got_code == code


def test_every_set_file_is_worked():
    assert sorted(p.stem for p in SETS.glob("*.toml")) == [w[0] for w in WORKED]


def test_all_good_is_matched_at_home_with_the_smallest_spread(capsys):
    _, lines = judged(capsys, "01-all-good", FOUR)
    pairing = of_kind(lines, "pairing")[0]
    assert pairing["spread_mm"] == "0.002"
    assert [(s["piston"], s["barrel"]) for s in pairing["seats"]] == [
        (f"P{n}", f"B{n}") for n in range(1, 5)
    ]
    assert pairing["seats"][0]["smallest_clearance_mm"] == "0.090"
    assert pairing["seats"][0]["largest_clearance_mm"] == "0.105"


def test_the_stamp_of_another_variant_is_named_and_judged_against(capsys):
    _, lines = judged(capsys, "03-stamp-of-another-variant", FOUR)
    findings = next(p for p in of_kind(lines, "part") if p["part"] == "P2")["findings"]
    named = next(f for f in findings if f["code"] == "K101")
    assert "variant late, group II" in named["sentence"]
    wear = next(f for f in findings if f["sentence"].startswith("skirt"))
    assert wear["limit_mm"] == "84.875"
    assert wear["limit_from"].startswith("stamp on P2")


def test_a_part_stopped_at_the_gate_costs_no_more_steps(capsys):
    _, lines = judged(capsys, "04-stopped-at-the-gate", FOUR)
    assert of_kind(lines, "remaining")[0]["measure"] == []
    part = next(p for p in of_kind(lines, "part") if p["part"] == "P4")
    assert [f["code"] for f in part["findings"]] == ["E102"]


def test_iron_is_honed_while_the_limit_allows(capsys):
    _, lines = judged(capsys, "05-tapered-bore", FOUR)
    work = of_kind(lines, "rework")[0]
    assert [(b["part"], b["work"], b["to_mm"]) for b in work["barrels"]] == [
        ("B2", "hone", "85.075")
    ]
    assert work["oversize_mm"] is None


def test_the_pairing_is_planned_with_the_honed_bore(capsys):
    """B2 honed to 85.075 all over: 85.075 - 84.917 = 0.158 with P2, at most 0.180 allowed."""
    _, lines = judged(capsys, "05-tapered-bore", FOUR)
    pairing = of_kind(lines, "pairing")[0]
    assert pairing["sentences"] == [
        "planned with B2 honed to 85.075 mm; measure again after honing",
    ]
    seat = next(s for s in pairing["seats"] if s["barrel"] == "B2")
    assert seat["smallest_clearance_mm"] == seat["largest_clearance_mm"]
    assert Decimal("0.045") < Decimal(seat["largest_clearance_mm"]) < Decimal("0.180")
    assert of_kind(lines, "pair") == []


def test_plated_is_never_honed(capsys):
    _, lines = judged(capsys, "07-plated-bore-worn", SIX)
    work = of_kind(lines, "rework")[0]
    assert [(b["part"], b["work"], b["to_mm"]) for b in work["barrels"]] == [
        ("B5", "replate", None)
    ]


def test_one_oversize_for_the_whole_set(capsys):
    _, lines = judged(capsys, "08-oversize-for-the-set", FOUR)
    work = of_kind(lines, "rework")[0]
    assert work["oversize_mm"] == "0.250"
    assert {(b["part"], b["work"], b["to_mm"]) for b in work["barrels"]} == {
        (f"B{n}", "oversize", "85.250") for n in range(1, 5)
    }


def test_no_legal_pairing_names_the_limit_and_the_cheapest_mend(capsys):
    _, lines = judged(capsys, "09-no-legal-pairing", FOUR)
    pairing = of_kind(lines, "pairing")[0]
    assert len(pairing["sentences"]) == 1
    assert "P2 in B" in pairing["sentences"][0]
    assert "0.011 mm below 0.100 mm" in pairing["sentences"][0]
    assert pairing["reasons"] == ["P2 fits no barrel of the set"]
    assert pairing["mend"]["cost"] == 1
    assert pairing["mend"]["steps"][0].startswith("hone B")


def test_undecided_is_the_only_thing_asked_again(capsys):
    _, lines = judged(capsys, "10-undecided-only", FOUR)
    assert [m["at"] for m in of_kind(lines, "remaining")[0]["measure"]] == ["P1/skirt"]


def test_every_limit_says_where_it_came_from_and_no_number_is_bare(capsys):
    for name, sheet, *_ in WORKED:
        _, lines = judged(capsys, name, sheet)
        for line in [*of_kind(lines, "part"), *of_kind(lines, "pair")]:
            for finding in line["findings"]:
                limited = finding["limit_mm"] is not None and finding["code"] != "K101"
                assert not limited or finding["limit_from"], finding
        for size in of_kind(lines, "size"):
            assert len(size["interval95_mm"]) == 2
            assert size["budget"]


def changed(tmp_path, capsys, *changes: tuple[str, str]) -> dict:
    """The pairing of example 1 with some of its text changed."""
    text = (SETS / "01-all-good.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / "changed.toml"
    file.write_text(text, encoding="utf-8")
    run_cli(["judge", str(file), "--sheet", FOUR, "--json"])
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    return of_kind(lines, "pairing")[0]


def test_masses_too_far_apart_are_named_with_what_to_take_off(tmp_path, capsys):
    """Lightest P3 511.0 g, 6 g allowed: at most 517.0 g; P2 520.5 g is 3.5 g too heavy."""
    pairing = changed(tmp_path, capsys, ("mass_g = 514.5", "mass_g = 520.5"))
    assert pairing["outcome"] == "impossible"
    assert pairing["sentences"] == [
        "masses spread 9.5 g (P3 511 g, P2 520.5 g), 6 g is allowed",
    ]
    assert pairing["mend"]["steps"] == ["take 3.5 g off P2"]
    assert pairing["mend"]["cost"] == 1


def test_a_bank_of_two_heights_is_named_with_what_to_exchange(tmp_path, capsys):
    """Heights 1, 1, 1, 2 can't fill two banks of two with one height each."""
    old = 'serial = "22"\nlooked = ["good"]\nkind = "iron-liner"\nseal = "spigot"\nheight_group = '
    pairing = changed(tmp_path, capsys, (f'{old}"2"', f'{old}"1"'))
    assert pairing["outcome"] == "impossible"
    assert pairing["sentences"] == [
        "one height group for each bank can't be had from 3 of group 1, 1 of group 2",
    ]
    assert pairing["mend"]["cost"] == 6
    assert "1 other barrel" in pairing["mend"]["steps"][0]


def test_a_spare_piston_is_used_when_it_makes_the_set(tmp_path, capsys):
    """P2 is too heavy by 3.5 g; the spare P5 of its size takes its place."""
    spare = '[[piston]]\nid = "P5"\nspare = true\nlooked = ["good"]\nsize_stamp = 84.940\n'
    spare += "mass_g = 512.0\nskirt = 84.917\n"
    pairing = changed(
        tmp_path,
        capsys,
        ("mass_g = 514.5", "mass_g = 520.5"),
        ('[[barrel]]\nid = "B1"', f'{spare}[[barrel]]\nid = "B1"'),
    )
    assert pairing["outcome"] == "matched"
    assert {s["piston"] for s in pairing["seats"]} == {"P1", "P3", "P4", "P5"}


def test_text_for_people_names_verdict_reason_and_pairing(capsys):
    code = run_cli(["judge", str(SETS / "02-worn-piston.toml"), "--sheet", FOUR])
    out = capsys.readouterr().out
    assert code == 1
    assert "P3       discard" in out
    assert "stamp on P3" in out
    assert "cylinder 3 (left): (piston to buy) in B3" in out
