"""Jobs of a bench whose file names no set: begun, paused, taken up and closed at its board.

A job is a session with a file of its own. Between jobs the bench waits in a session without a set:
what gauges say then is recorded, too, and counts for nothing.
"""

import logging
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.bench.earlier_sessions import (
    PAUSED,
    UNREADABLE_END,
    bench_now_of,
    ends_as,
    is_left_behind,
    is_sound,
    journals_of,
    opening_of,
)
from barrelfit.acquire.bench.opening import Opening
from barrelfit.acquire.bus.jobs_told import FitTold, JobsTold, PausedJob, SheetTold
from barrelfit.acquire.bus.proof import Doorkeeper
from barrelfit.acquire.clock import Clock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_changes import bench_changed, same_bench, with_bench
from barrelfit.acquire.inputs.job_set import job_set_text
from barrelfit.acquire.inputs.set_file import sheet_of
from barrelfit.acquire.inputs.setup import ORDER, setup_of
from barrelfit.acquire.inputs.shelf import sheet_text, shipped_names
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.job_events import BenchChanged, JobOrdered
from barrelfit.acquire.journal.parts import SUFFIX
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.errors import RulesError
from barrelfit.rules.events import Sized
from barrelfit.rules.judge.fits import sheets_that_fit
from barrelfit.rules.said import NOTHING, Said, said

log = logging.getLogger("barrelfit")

PAUSED_MOST: Final = 30
ENDED: Final = frozenset({"", UNREADABLE_END})
"""How a session ends that nobody takes up. One that just ends was cut, and left behind."""
FILES_NAME_JOBS: Final = said("file_names_set")


@dataclass(frozen=True, slots=True)
class NextSession:
    """What is recorded next: what to open it with, and the journal to go on with, if any.

    `changed` is what is other about the bench since that one ended.
    """

    opening: Opening
    resumed: Path | None = None
    changed: BenchChanged | None = None


class Jobs:
    """What a bench may do next.

    Args:
        waiting: what its session without a job is opened with.
        folder: where its sessions are kept.
        clock: for the names of sessions.
        door: lets the bench's devices' commands in: one for all sessions, so that a command of one
            does not count again in the next.
    """

    def __init__(self, waiting: Opening, folder: Path, clock: Clock, door: Doorkeeper) -> None:
        self._waiting = waiting
        self.door = door
        self._folder = folder
        self._clock = clock
        names = dict.fromkeys((waiting.bench.sheet, *shipped_names("rules", "sheets")))
        found = {name: sheet for name in names if (sheet := _sheet(name)) is not None}
        self._sheets = [_sheet_told(name, sheet) for name, sheet in found.items()]
        self._known = list(found.values())

    def at_start(self) -> NextSession:
        """The job that was under way when the bench ended last, else the session without a job."""
        own = self._waiting.document
        journals = self._journals()
        for path in sorted(journals, reverse=True):
            if ends_as(path) in {"", PAUSED}:
                continue
            found = bench_now_of(path)
            was_job = found is not None and ORDER in found.settings
            was_job = was_job and not is_left_behind(path, journals)
            if found is not None and (was_job or same_bench(found, own)):
                return self._going_on(path, found)
        return self.without_job()

    def without_job(self) -> NextSession:
        """The session without a job."""
        return NextSession(self._waiting.named(self._clock))

    def after(self, order: JobOrdered) -> NextSession:
        """What an order leads to.

        Raises:
            UserError: it can't be done; the sentence says why.
        """
        if order.what == "new":
            return NextSession(self._new(order))
        if order.what == "take-up":
            return self._taken_up(order.session)
        return self.without_job()

    def problem(self, order: JobOrdered, *, running: bool) -> Said | None:
        """Why an order can't be followed, one sentence; None where it can."""
        if order.what in {"pause", "close"}:
            return None if running else said("no_job_now")
        try:
            self.after(order)
        except UserError as error:
            return said("several", parts=error.problems)
        return None

    def told_of(self, told: JobsTold, engine: EngineSet, sizes: Iterable[Sized]) -> JobsTold:
        """The same with which sheets fit the parts, by what is told and measured of them now."""
        sizes_nm = {sized.at: sized.size_nm for sized in sizes}
        found = sheets_that_fit(self._known, engine, sizes_nm)
        fits = [
            FitTold(
                f.sheet, f.variant, f.outcome, list(f.speaks_for), list(f.against), list(f.parts)
            )
            for f in found
        ]
        return msgspec.structs.replace(told, fits=fits)

    def told(self, session: str) -> JobsTold:
        """What viewers are told of them; `session` is the one that runs now."""
        unended = [p for p in sorted(self._journals(), reverse=True) if ends_as(p) not in ENDED]
        found = [(path, opening_of(path)) for path in unended[:PAUSED_MOST]]
        jobs = []
        for _, opening in found:
            if opening is not None and ORDER in opening.settings and opening.session != session:
                changed = bench_changed(opening, self._waiting.document)
                what = NOTHING if changed is None else changed.changes
                jobs.append(PausedJob(opening.session, opening.job, what))
        return JobsTold(self._sheets, jobs)

    def _journals(self) -> list[Path]:
        return journals_of(self._waiting.bench.bench, self._folder)

    def _new(self, order: JobOrdered) -> Opening:
        if order.sheet not in {told.name for told in self._sheets}:
            raise UserError([said("no_sheet_of_bench", sheet=order.sheet)])
        text = sheet_text(order.sheet)
        sheet = sheet_of(text, order.sheet)
        set_text = job_set_text(order, sheet)
        waiting = self._waiting.named(self._clock).document
        document = msgspec.structs.replace(
            waiting,
            who=order.who,
            job=order.job,
            sheet_id=sheet.id,
            sheet_revision=sheet.revision,
            sheet_text=text,
            set_text=set_text,
            settings={**waiting.settings, ORDER: msgspec.json.encode(order).decode()},
        )
        return self._with(document)

    def _taken_up(self, session: str) -> NextSession:
        path = self._folder / f"{session}{SUFFIX}"
        if path not in self._journals() or ends_as(path) in ENDED:
            raise UserError([said("no_paused_job", session=session)])
        found = bench_now_of(path) if is_sound(path) else None
        if found is not None and ORDER not in found.settings:
            raise UserError([said("no_paused_job", session=session)])
        if found is None:
            raise UserError([said("cant_take_up", session=session, why=said("not_readable"))])
        return self._going_on(path, found)

    def _going_on(self, path: Path, document: SessionOpened) -> NextSession:
        """Go on with a job by the bench as it is now: what was measured stands."""
        changed = bench_changed(document, self._waiting.document)
        now = document if changed is None else with_bench(document, changed)
        return NextSession(self._with(now), path, changed)

    def _with(self, document: SessionOpened) -> Opening:
        try:
            return replace(self._waiting, document=document, setup=setup_of(document))
        except RulesError as error:
            raise UserError(error.problems) from None


def _sheet(name: str) -> Sheet | None:
    """A sheet; one that can't be read is not offered."""
    try:
        return sheet_of(sheet_text(name), name)
    except UserError as error:
        log.warning("sheet %s is not offered: %s", name, error)
        return None


def _sheet_told(name: str, sheet: Sheet) -> SheetTold:
    groups = {v.id: [g.id for g in v.groups] for v in sheet.variants}
    return SheetTold(name, sheet.engine, sheet.cylinders, groups)
