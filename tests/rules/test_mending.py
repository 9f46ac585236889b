"""When nothing fits: the fewest broken limits and the cheapest mend, against brute force."""

import random
from decimal import Decimal
from itertools import permutations

import pytest

from barrelfit.rules.engine.parts import Marks, Part
from barrelfit.rules.engine.sheet import Costs
from barrelfit.rules.judge import Outcome, judge_part, judge_set
from barrelfit.rules.judge.candidates import field_of
from barrelfit.rules.judge.matching import MatchBarrel, MatchPiston, Task, best_match
from barrelfit.rules.judge.mending import _option, trouble_of
from barrelfit.rules.judge.pairing import task_of
from barrelfit.rules.judge.side_trouble import mass_trouble
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.said import mass
from barrelfit.rules.uncertainty.decide import Zone
from tests.rules.set_bench import bench_sheet, evidence

GOOD = ("good",)
PLACES = [(d, x) for d in ("top", "bottom") for x in ("thrust", "pin")]


def four_sheet(**changes):
    banks = [{"id": "left", "cylinders": [1, 3]}, {"id": "right", "cylinders": [2, 4]}]
    return bench_sheet(cylinders=4, bank=banks, **changes)


def four(skirts_um, bores_um, kind="iron-liner", sheet=None, stamps=None):
    """Evidence of four pistons and barrels: skirts below 84.96, bores above 85.01, in µm."""
    parts, values = [], {}
    for n, (skirt, bore) in enumerate(zip(skirts_um, bores_um, strict=True), 1):
        marks = Marks(clearance_min_nm=(stamps or {}).get(n))
        parts.append(Part(f"P{n}", "piston", looked=GOOD, marks=marks))
        parts.append(Part(f"B{n}", "barrel", looked=GOOD, barrel_kind=kind))
        values[f"P{n}/skirt"] = str(Decimal("84.96") - Decimal(skirt) / 1000)
        for depth, direction in PLACES:
            values[f"B{n}/bore/{depth}/{direction}"] = str(Decimal("85.01") + Decimal(bore) / 1000)
    return evidence(tuple(parts), values, sheet or four_sheet())


def _all(seen):
    pistons, barrels = seen.engine.of_kind("piston"), seen.engine.of_kind("barrel")
    field = field_of(seen, [judge_part(seen, p.id) for p in seen.engine.parts])
    allowed = {p: field.fits[p].tight.nm for p in field.costs}
    return task_of(seen, pistons, barrels, allowed, field.costs), field


@pytest.mark.slow
def test_fewest_broken_limits_and_cheapest_mend_equal_brute_force():
    seed = 4_711
    rng = random.Random(seed)  # noqa: S311
    impossible = 0
    for number in range(150):
        skirts = [rng.randint(0, 100) for _ in range(4)]
        bores = [rng.randint(0, 100) for _ in range(4)]
        stamps = {n: rng.choice((60, 90, 120)) * 1000 for n in range(1, 5) if rng.random() < 0.5}
        seen = four(skirts, bores, rng.choice(("iron-liner", "plated")), None, stamps)
        task, field = _all(seen)
        fits = field.fits
        if best_match(task) is not None:
            continue
        impossible += 1
        trouble = trouble_of(field, task)
        orders = [
            [(p.id, b.id) for p, b in zip(task.pistons, order, strict=True)]
            for order in permutations(task.barrels)
        ]
        fewest = min(sum(fits[p].zone is Zone.OUTSIDE for p in pairs) for pairs in orders)
        assert len(trouble.broken) == fewest, f"seed {seed}, set {number}"
        cheapest = min(sum(_option(field, p).cost for p in pairs) for pairs in orders)
        assert trouble.mend is not None
        if seen.engine.parts[1].barrel_kind == "iron-liner":  # all of these can be bored to 0.25
            cheapest = min(cheapest, 2 * seen.sheet.costs.oversize)
        assert trouble.mend.cost == (cheapest + 1) // 2, f"seed {seed}, set {number}"
    assert impossible > 15


def test_a_tight_pair_is_honed_in_iron_and_gets_another_piston_in_a_plated_barrel():
    """P1 is stamped 0.090 and would have 0.050: 0.040 short; 85.010 + 0.040 is within 85.110."""
    for kind, words, cost in (("iron-liner", "hone B", 1), ("plated", "another piston for B", 3)):
        judged = judge_set(four([0, 0, 0, 0], [0, 0, 0, 0], kind, None, {1: 90_000}))
        assert judged.pairing.outcome is Outcome.IMPOSSIBLE
        mend = judged.pairing.trouble.mend
        assert mend.cost == cost
        assert told_all(mend.steps)[0].startswith(words)


def test_many_mends_cost_more_than_one_oversize_for_the_set():
    """Four other pistons cost 12; boring the set is set to 5 here."""
    sheet = four_sheet(
        cost={"oversize": 5}, clearance={"min": Decimal("0.04"), "max": Decimal("0.08")}
    )
    judged = judge_set(four([90, 90, 90, 90], [0, 0, 0, 0], "iron-liner", sheet))
    mend = judged.pairing.trouble.mend
    assert mend.cost == 5
    assert told_all(mend.steps) == (
        "bore the whole set to oversize 0.250 mm, with new pistons and rings",
    )


def test_an_undecided_pair_makes_the_match_provisional_not_impossible():
    """All clearances 0.200 on the largest allowed 0.200: inside the guard band, so undecided."""
    judged = judge_set(four([75, 75, 75, 75], [75, 75, 75, 75]))
    assert judged.pairing.outcome is Outcome.PROVISIONAL
    assert len(judged.pairing.seats) == 4
    assert all("too near a limit to tell" in s for s in told_all(judged.pairing.sentences))


def test_masses_that_fit_leave_no_trouble_and_the_fewest_are_lightened():
    def task(*masses_g, spread_g=5, cylinders=3):
        pistons = tuple(MatchPiston(f"P{n}", m * 1000) for n, m in enumerate(masses_g, 1))
        return Task(cylinders, pistons, (MatchBarrel("B1"),), {}, (), spread_g * 1000)

    def trouble(*masses_g, **about):
        return mass_trouble(task(*masses_g, **about), Costs(), 5_000)

    assert told_all(trouble(500, 503, 505).sentences) == ()
    assert told_all(trouble(500, 503, 508, 509).steps) == ("take 1 g off P4",)
    assert told_all(trouble(500, 506, 507).steps) == ("take 1 g off P2", "take 2 g off P3")
    assert told(mass(511_400)) == "511.4 g"
