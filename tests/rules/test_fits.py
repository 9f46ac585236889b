"""Which sheets fit the parts at all: unknown engines, mixed ones, and what nothing is known of."""

from dataclasses import replace

from barrelfit.rules.engine.parts import EngineSet, Marks, Part
from barrelfit.rules.judge.fits import sheets_that_fit
from barrelfit.rules.manner import told_all
from barrelfit.rules.model import FeatureId
from tests.rules.fact_sets import shipped_sheet

FOUR, SIX = shipped_sheet("flat-four-85"), shipped_sheet("flat-six-92-plated")
SHEETS = (SIX, FOUR)
PISTONS = tuple(Part(f"P{n}", "piston") for n in range(1, 5))


def fits(parts, sizes=None, sheets=SHEETS):
    engine = EngineSet("job", "nobody knows", parts=tuple(parts))
    sizes_nm = {FeatureId(*at.split("/")): nm for at, nm in (sizes or {}).items()}
    return {(f.sheet, f.variant): f for f in sheets_that_fit(sheets, engine, sizes_nm)}


def stamped(part, nm, group=""):
    return replace(part, marks=Marks(size_nm=nm, group=group))


def test_of_what_nothing_is_known_nothing_is_said_but_how_many_there_are():
    found = fits(PISTONS)
    assert {f.outcome for (sheet, _), f in found.items() if sheet == FOUR.id} == {"open"}
    six = found[SIX.id, SIX.variants[0].id]
    assert told_all(six.against) == ("there are 4 pistons, and it has 6 cylinders",)


def test_a_stamp_tells_the_variant():
    for variant in FOUR.variants:
        size_nm = variant.groups[0].piston_nm
        found = fits([stamped(PISTONS[0], size_nm), *PISTONS[1:]])
        known = {v.id for v in FOUR.variants if size_nm in {g.piston_nm for g in v.groups}}
        assert {v for (s, v), f in found.items() if f.outcome == "fits"} == known


def test_a_piston_at_an_oversize_fits_its_sheet():
    over = FOUR.variants[0].groups[0].piston_nm + FOUR.rework.oversizes_nm[0]
    assert fits([stamped(PISTONS[0], over), *PISTONS[1:]])[FOUR.id, "early"].outcome == "fits"


def test_of_a_mixed_engine_the_parts_that_fit_are_named():
    ours = FOUR.variants[0].groups[0].piston_nm
    theirs = SIX.variants[0].groups[0].piston_nm
    found = fits([stamped(PISTONS[0], ours), stamped(PISTONS[1], theirs), *PISTONS[2:]])
    assert all(f.outcome == "not" for f in found.values())
    assert found[FOUR.id, FOUR.variants[0].id].parts == ("P1",)
    assert found[SIX.id, SIX.variants[0].id].parts == ("P2",)


def test_a_size_speaks_against_a_sheet_but_never_for_one():
    found = fits(PISTONS, {"P1/skirt": 91_900_000})
    assert found[FOUR.id, "early"].outcome == "not"
    assert "91.9" in told_all(found[FOUR.id, "early"].against)[0]
    assert fits(PISTONS, {"P1/skirt": 84_870_000})[FOUR.id, "early"].outcome == "open"


def test_kind_seal_crown_and_class_are_weighed():
    kind = FOUR.barrel.kinds[0]
    barrel = Part("B1", "barrel", barrel_kind=kind.id, seal="no such seal")
    found = fits([*PISTONS, barrel, Part("W1", "pin", marks=Marks(pin_class="blue"))])
    against = told_all(found[FOUR.id, "early"].against)
    assert against == ("B1: no such seal is not on it", "W1: blue is not on it")
    early = replace(FOUR.variants[0], crown="dished")
    sheet = replace(FOUR, variants=(early, *FOUR.variants[1:]))
    crowned = fits([replace(PISTONS[0], crown="flat"), *PISTONS[1:]], sheets=(sheet,))
    assert crowned[FOUR.id, "early"].outcome == "not"
    assert crowned[FOUR.id, FOUR.variants[1].id].outcome == "open"


def test_those_that_fit_come_first():
    found = list(
        fits([stamped(PISTONS[0], FOUR.variants[0].groups[0].piston_nm), *PISTONS[1:]]).values()
    )
    rank = ["fits", "open", "not"]
    assert [rank.index(f.outcome) for f in found] == sorted(rank.index(f.outcome) for f in found)
