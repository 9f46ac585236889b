"""A session's set as it is now: what it was opened with, and the facts told since. Pure."""

from dataclasses import replace

import msgspec

from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.bench.facts import FactsSoFar, engine_of, facts_after
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.set_writer import set_file_text


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
