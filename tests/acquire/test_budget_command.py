"""`barrelfit budget`: where the uncertainty of a session's sizes comes from."""

import json

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.rules.events import Sized
from barrelfit.rules.said import written
from barrelfit.rules.uncertainty.budget import Budget, Component
from barrelfit.rules.uncertainty.size_budget import budget_lines
from tests.acquire.journal_samples import EVENTS, SKIRT, lines, opened

BUDGET = Budget(
    (
        Component("sweep", 400.0, "A", "t", 8.0),
        Component("digit", 290.0, "B", "rectangular"),
        Component("standard ring-84", 600.0, shared="standard ring-84"),
    )
)
SIZE = Sized(
    at=SKIRT,
    size_nm=83_459_391,
    read_nm=83_478_000,
    u_nm=BUDGET.u_nm,
    low_nm=0,
    high_nm=0,
    pass_sizes_nm=(),
    estimator="e",
    rank="minimum of two-point sizes",
    budget=budget_lines(BUDGET),
    notes=(written("temperature of the part not measured: taken as 20 °C ± 7 °C"),),
)


@pytest.fixture
def session(tmp_path):
    path = tmp_path / "s1.jsonl"
    path.write_bytes(b"".join(lines([opened(), SIZE])))
    return str(path)


def test_every_cause_is_shown(session, capsys):
    assert run_cli(["budget", session]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "P1/skirt read 83.478 mm",
        "cause                                  share µm  type distribution   dof",
        "sweep                                     0.400  A    t                8",
        "digit                                     0.290  B    rectangular      -",
        "standard ring-84                          0.600  B    normal           -",
        "combined                                  0.777                      114",
        "83.4594 mm ± 1.540 µm (k = 1.98, 95 %): 83.4579 mm to 83.4609 mm",
        "note: temperature of the part not measured: taken as 20 °C ± 7 °C",
    ]


def test_it_is_told_in_inch_and_with_a_comma(session, capsys):
    assert run_cli(["budget", session, "--unit", "inch", "--decimal", "comma"]) == 0
    shown = capsys.readouterr().out.splitlines()
    assert shown[0] == "P1/skirt read 3,28654 in"  # 83.478 / 25.4 = 3.2865354
    assert shown[2].split()[1] == "0,400"
    assert shown[6] == "3,28580 in ± 1,540 µm (k = 1,98, 95 %): 3,28574 in to 3,28586 in"


def test_trials_agree_and_repeat(session, capsys):
    results = []
    for _ in range(2):
        assert run_cli(["budget", session, "P1/skirt", "--trials", "200000", "--json"]) == 0
        results.append(json.loads(capsys.readouterr().out))
    assert results[0] == results[1]
    (low, high), (drawn_low, drawn_high) = (results[0][k] for k in ("interval95_nm", "trials95_nm"))
    assert drawn_high - drawn_low == pytest.approx(high - low, rel=0.04)
    assert results[0]["causes"][2]["shared"] == "standard ring-84"


def test_trials_stand_beside_the_table(session, capsys):
    assert run_cli(["budget", session, "--trials", "1000"]) == 0
    assert "by 1000 trials: 83.45" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["B1/bore"], "no size of B1/bore in this session"),
        (["--trials", "10"], "--trials: 0, or 1000 and more"),
    ],
)
def test_what_is_not_there_is_said(session, capsys, options, sentence):
    assert run_cli(["budget", session, *options]) == 2
    assert sentence in capsys.readouterr().err


def test_a_size_without_a_budget_says_so(tmp_path, capsys):
    path = tmp_path / "s1.jsonl"
    path.write_bytes(b"".join(lines(EVENTS)))
    assert run_cli(["budget", str(path), "--trials", "1000"]) == 0
    assert "no budget was written down" in capsys.readouterr().out
