"""What the records on a sweep's way do to a session's state: from the contact to the last pass."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from barrelfit.acquire.fold.noted import Noted
from barrelfit.acquire.fold.state import Doubt, SessionState, Sweeping
from barrelfit.acquire.journal.events import Event
from barrelfit.rules.events import (
    Contact,
    FarOff,
    Interrupted,
    NotCounted,
    Passed,
    PassLost,
    StartedAnew,
    StillDoubtful,
)
from barrelfit.rules.hints import Coached, PartAway
from barrelfit.rules.model import FeatureId


def swept(state: SessionState, at: FeatureId) -> None:
    """The sweep of a feature came to an end, with a size or without one."""
    state.far_off = state.coached = state.away = None
    if state.sweep is not None and state.sweep.at == at:
        state.sweep = replace(state.sweep, doubt=None, interrupted=None, lost=False, over=True)


def unswept(state: SessionState, at: FeatureId) -> None:
    """The size of a feature was taken back, and with it the sweep that it came from."""
    if state.sweep is not None and state.sweep.at == at:
        state.sweep = None


def _contact(state: SessionState, _noted: Noted, event: Contact) -> None:
    state.not_counted, state.far_off, state.away, state.coached = False, None, None, None
    if state.sweep is not None and state.sweep.at == event.at and state.sweep.interrupted:
        state.sweep = replace(state.sweep, interrupted=None)  # it goes on with its passes so far
    else:
        state.sweep = Sweeping(event.at, event.t_ns)


def _passed(state: SessionState, _noted: Noted, event: Passed) -> None:
    sweep, far = state.sweep, state.far_off
    if far is not None and 2 * abs(event.size_nm - far.expected_nm) < abs(
        far.read_nm - far.expected_nm
    ):
        state.far_off = None  # the gauge was set right meanwhile
    if sweep is None or sweep.at != event.at or sweep.over:
        sweep = Sweeping(event.at, event.start_ns)
    state.sweep = replace(sweep, passes=(*sweep.passes, event), lost=False)


def _pass_lost(state: SessionState, _noted: Noted, event: PassLost) -> None:
    if state.sweep is not None and state.sweep.at == event.at:
        state.sweep = replace(state.sweep, lost=True)


def _far_off(state: SessionState, _noted: Noted, event: FarOff) -> None:
    state.far_off = event


def _interrupted(state: SessionState, _noted: Noted, event: Interrupted) -> None:
    if state.sweep is not None and state.sweep.at == event.at:
        state.sweep = replace(state.sweep, interrupted=event)


def _started_anew(state: SessionState, _noted: Noted, event: StartedAnew) -> None:
    if state.sweep is not None and state.sweep.at == event.at:
        passes = state.sweep.passes[-event.passes :]
        state.sweep = replace(state.sweep, passes=passes, anew=True)


def _still_doubtful(state: SessionState, _noted: Noted, event: StillDoubtful) -> None:
    if state.sweep is not None and state.sweep.at == event.at:
        doubt = Doubt(event.passes, event.size_nm, event.low_nm, event.high_nm)
        state.sweep = replace(state.sweep, doubt=doubt)


def _coached(state: SessionState, _noted: Noted, event: Coached) -> None:
    state.coached = event.sentence


def _away(state: SessionState, _noted: Noted, event: PartAway) -> None:
    state.away = event if event.gone_ns else None


def _not_counted(state: SessionState, _noted: Noted, _event: NotCounted) -> None:
    state.not_counted = True


ON_THE_WAY: Final[dict[type[Event], Callable[[SessionState, Noted, Any], None]]] = {
    Contact: _contact,
    Passed: _passed,
    PassLost: _pass_lost,
    FarOff: _far_off,
    Interrupted: _interrupted,
    StartedAnew: _started_anew,
    StillDoubtful: _still_doubtful,
    Coached: _coached,
    PartAway: _away,
    NotCounted: _not_counted,
}
