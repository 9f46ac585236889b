"""Puts a redo together: a journal's blocks, the session's own texts, today's code."""

from importlib.metadata import version

from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.gauge_profiles import profile_of_text
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench, wire_on_bench
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo import Redo, Redone
from barrelfit.drivers.decode import Wire


def redo_session(session: Session) -> Redone:
    """Redo a session.

    Raises:
        UserError: the journal can't be read, holds no session, or a profile that is not right for
            this version.
        RulesError: the sheet's or set's text in it is not right for this version.
    """
    redo = Redo(setup_of, wire_of, version("barrelfit"))
    for records in session.blocks():
        redo.take(records)
        if redo.different:
            break
    return redo.result()


def wire_of(opened: SessionOpened, gauge: str) -> Wire:
    """A gauge's wire as the session had it."""
    setup = opened.gauges[gauge]
    profile = profile_of_text(setup.profile_text, setup.profile)
    by_port = bench_file(opened.config_text, "bench file").by_port
    first, *others = next(tables for tables in by_port if gauge in {t.id for t in tables})
    return wire_on_bench(profile_on_bench(profile, first), first, *others)
