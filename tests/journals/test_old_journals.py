"""Journals of every released version open, verify and tell what they always told."""

import hashlib
from pathlib import Path

import pytest

from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import VERSION_OF
from barrelfit.acquire.journal.sentences import line_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.verify import verify_journal
from barrelfit.acquire.redo.redo_journal import redo_session
from tests.journals.make_fixture import VERSION
from tests.spoken import text_of

FOLDER = Path(__file__).parent
FIXTURES = sorted(FOLDER.glob("v*.jsonl"))


def test_there_is_a_fixture_for_this_version():
    assert FOLDER / f"v{VERSION}.jsonl" in FIXTURES


@pytest.mark.parametrize("path", FIXTURES, ids=lambda p: p.stem)
def test_it_verifies_with_its_signature(path):
    found = verify_journal(path, RealDisk())
    assert (found.outcome, text_of(found.problem)) == ("whole", "")
    assert found.signed_by == ("A. Smith",)
    last = path.read_bytes().splitlines(keepends=True)[-1]
    assert found.head_hash == hashlib.sha256(last).hexdigest()


@pytest.mark.parametrize("path", FIXTURES, ids=lambda p: p.stem)
def test_every_record_is_read_and_shown(path):
    records = list(Session.open(path).records())
    assert len(records) == path.read_bytes().count(b"\n")
    assert all(line_of(record) for record in records)
    assert len(Session.open(path).frame("sizes")) == 2


@pytest.mark.parametrize("path", FIXTURES, ids=lambda p: p.stem)
def test_it_can_be_redone(path):
    """Today's rules may find another size; then it is a named difference, never a crash."""
    done = redo_session(Session.open(path))
    assert done.readings > 50
    if done.difference is not None:
        assert done.difference.because


def test_the_newest_fixture_holds_nearly_every_kind():
    kinds = {type(r.event) for r in Session.open(FIXTURES[-1]).records()}
    missing = {known.__name__ for known in VERSION_OF} - {known.__name__ for known in kinds}
    assert missing <= {"Matched", "SetDone", "Refused"}
