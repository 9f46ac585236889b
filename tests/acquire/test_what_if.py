"""What if: the same sizes against another sheet, variant or guard band; nothing is written."""

import dataclasses

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.what_if import Changes, answers, as_recorded, cautions, changed_setup
from barrelfit.rules.errors import RulesError
from tests.acquire.recorded import SHEET, Recording, opening, sweep
from tests.spoken import text_of

pytestmark = pytest.mark.slow  # a whole set is recorded


@pytest.fixture(scope="module")
def done(whole_set):
    """A whole set: piston P2 measures 84.850 mm where 84.860 is the least allowed."""
    return as_recorded(Session.open(whole_set).records())


def asked(done, **changes):
    setup = changed_setup(done.opening, Changes(**changes))
    return {a.about: a for a in answers(done, setup)}, setup


def test_nothing_changed_gives_the_recorded_verdicts(done):
    found = answers(done, setup_of(done.opening))
    assert [a.about for a in found if a.changed] == []
    assert {a.about: a.was for a in found} == {k: j.verdict.value for k, j in done.judged.items()}


def test_of_an_unfinished_session_too_nothing_changed_gives_the_recorded_verdicts(tmp_path):
    """P2's size is beyond its limit in one sweep: it is to be measured once more, whoever asks."""
    recording = Recording(tmp_path / "s.jsonl", opening())
    assert [sweep(recording, seed=seed).part for seed in (1, 2)] == ["P1", "P2"]
    recording.close("stopped")
    own = as_recorded(Session.open(tmp_path / "s.jsonl").records())
    found = answers(own, setup_of(own.opening))
    assert [a.about for a in found if a.changed] == []
    assert own.judged["P2"].verdict == "undecided"


def test_a_wider_guard_band_makes_a_verdict_undecided(done):
    found, _ = asked(done, guard_factor=4.0)
    assert found["P2"].was == "discard"
    assert found["P2"].now.verdict.value == "undecided"
    assert found["P2"].changed
    assert not found["P1"].changed


def test_another_sheet_s_limit_decides(done):
    sheet = shipped_text("rules", "sheets", SHEET).replace("wear_max = 0.080", "wear_max = 0.100")
    found, setup = asked(done, sheet_text=sheet, sheet_name="other.toml")
    assert found["P2"].now.verdict.value == "serviceable"
    assert cautions(done, setup) == []


def test_another_variant_and_group_are_judged_by_their_own_sizes(done):
    found, setup = asked(done, variant="late", group="I")
    assert (setup.engine.variant, setup.engine.group) == ("late", "I")
    limits = {f.limit_nm for f in found["P2"].now.findings}
    was = {f.limit_nm for f in done.judged["P2"].findings}
    assert limits != was


def test_another_material_is_told_as_a_caution(done):
    sheet = shipped_text("rules", "sheets", SHEET).replace(
        'material = "aluminium-12-silicon-cast"', 'material = "steel-4140"', 1
    )
    _, setup = asked(done, sheet_text=sheet, sheet_name="other.toml")
    said = cautions(done, setup)
    assert len(said) == 4
    assert "P1/skirt was corrected to 20 °C as aluminium-12-silicon-cast" in text_of(said[0])


def test_a_variant_that_the_sheet_does_not_have(done):
    with pytest.raises(RulesError) as refused:
        asked(done, variant="middle")
    assert "variant" in text_of(refused.value)


def test_a_set_that_names_no_group_to_change(done):
    document = done.opening
    fields = {name: getattr(document, name) for name in document.__struct_fields__}
    without = type(document)(**fields | {"set_text": document.set_text.replace('group = "II"', "")})
    with pytest.raises(UserError, match="names no group"):
        changed_setup(without, Changes(group="I"))


def test_what_the_session_recorded_is_left_alone(done):
    before = dataclasses.replace(done, sizes=dict(done.sizes), judged=dict(done.judged))
    asked(done, guard_factor=4.0)
    assert done == before


def test_the_changes_in_words():
    changes = Changes("x", "other.toml", "late", "I", 2.0)
    assert text_of(changes.sentence) == "sheet other.toml, variant late, group I, guard factor 2"
    assert not Changes().sentence
