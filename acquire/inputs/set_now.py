"""A session's set as it is now: what it was opened with, and the facts told since. Pure."""

from collections.abc import Iterable
from dataclasses import replace

import msgspec

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.sizes import first_sizes, standing_sizes
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.bench.facts import FactsSoFar, engine_of, facts_after
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.checks.entries import LEFT_OPEN
from barrelfit.rules.engine.form import written
from barrelfit.rules.engine.found_sizes import FoundSizes, with_found
from barrelfit.rules.engine.set_doubts import doubts_of
from barrelfit.rules.engine.set_facts import confirmed
from barrelfit.rules.engine.set_writer import set_file_text
from barrelfit.rules.manner import told
from barrelfit.rules.said import Said, said


def facts_of(setup: Setup, state: SessionState) -> FactsSoFar:
    """The facts of a session that was opened with `setup`, as far as its record reaches."""
    taken = (stood.event for stood in state.facts)
    held = (stood.event for stood in state.facts_held.values())
    return facts_after(setup.keys, taken, held, setup.sheet)


def setup_now(setup: Setup, state: SessionState) -> Setup:
    """The session's setup with its set as it is now."""
    if not state.facts:
        return setup
    now = facts_of(setup, state).now
    return replace(setup, engine=engine_of(now, setup.engine), keys=now)


def opened_now(opened: SessionOpened, state: SessionState) -> SessionOpened:
    """The session's opening with the text of its set as it is now.

    Raises:
        UserError: a text of it can't be read.
        RulesError: a text of it is not as it must be.
    """
    if not state.facts:
        return opened
    text = set_file_text(facts_of(setup_of(opened), state).now)
    return msgspec.structs.replace(opened, set_text=text)


def session_set_text(opened: SessionOpened, state: SessionState) -> str:
    """The set file of a session: what was told and found in it, and what waits for an answer.

    By the session's sheet and guard factor it is judged as the session was.

    Raises:
        UserError: a text of the opening can't be read.
        RulesError: a text of the opening is not as it must be.
    """
    setup = setup_of(opened)
    now = facts_of(setup, state).now
    firsts, sizes = first_sizes(state), standing_sizes(state)
    found = FoundSizes(tuple(sizes.values()), tuple(firsts.values()))
    asked = dict.fromkeys(
        (str(of_place["at"]), told(what) if isinstance(what, Said) else str(what))
        for stood in state.judged.values()
        for finding in stood.event.findings
        if finding.code == LEFT_OPEN and "+" not in stood.event.about
        for of_place in [finding.sentence.values]
        for what in [of_place["what"]]
    )
    for doubt in doubts_of(now, setup.sheet):  # the question stands among those that wait
        now = confirmed(now, written(doubt.path))
    return set_file_text(with_found(now, found, asked))


def set_text_of(records: Iterable[Record]) -> str:
    """The same of a session's records.

    Raises:
        UserError: they do not begin with a session's opening, or it can't be read.
        RulesError: a text of the opening is not as it must be.
    """
    return session_set_text(*folded(records))


def folded(records: Iterable[Record]) -> tuple[SessionOpened, SessionState]:
    """A session's opening, and what has happened since.

    Raises:
        UserError: its records do not begin with an opening.
    """
    state, opening = SessionState(), None
    for record in records:
        opening = opening or record.event
        take(state, record)
    if not isinstance(opening, SessionOpened):
        raise UserError([said("no_opening")])
    return opening, state
