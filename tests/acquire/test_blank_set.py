"""A blank set file is valid as it is, undecided in all, and each of its comments is a real key."""

import json
import re

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.shelf import shipped_names
from barrelfit.rules.engine.set_form import BARREL, MEASURING, PIN, PISTON, PISTON_RING, SET

KEYS = {
    key.name for form in (SET, MEASURING, PISTON, PISTON_RING, BARREL, PIN) for key in form.keys
}


@pytest.mark.parametrize("sheet", shipped_names("rules", "sheets"))
def test_a_blank_set_is_judged_undecided(tmp_path, capsys, sheet):
    assert run_cli(["sheet", "blank", sheet]) == 0
    file = tmp_path / "set.toml"
    file.write_text(capsys.readouterr().out, encoding="utf-8")
    assert run_cli(["judge", str(file), "--sheet", sheet, "--json"]) == 1
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    verdicts = {line["verdict"] for line in lines if line["kind"] == "part"}
    assert verdicts == {"undecided"}
    remaining = next(line for line in lines if line["kind"] == "remaining")
    assert len(remaining["measure"]) > 20


def test_every_comment_that_looks_like_a_key_is_one(capsys):
    run_cli(["sheet", "blank", "flat-four-85"])
    text = capsys.readouterr().out
    named = set(re.findall(r"(?m)^# ([a-z_0-9]+)(?:\.[a-z]+)* = ", text))
    assert named <= KEYS
    assert {"skirt", "gap", "bore", "mass_g", "looked", "group", "outside_u"} <= named
