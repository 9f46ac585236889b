"""Every kind of record has been thought of by the fold of a session."""

from barrelfit.acquire.fold.handlers import BEARS_ON_NOTHING, HANDLERS
from barrelfit.acquire.journal.events import VERSION_OF


def test_every_kind_has_a_handler_or_is_said_to_bear_on_nothing():
    forgotten = [kind.__name__ for kind in VERSION_OF if kind not in {*HANDLERS, *BEARS_ON_NOTHING}]
    assert forgotten == [], "see acquire/fold/handlers.py"
    assert BEARS_ON_NOTHING.isdisjoint(HANDLERS)
