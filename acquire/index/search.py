"""Asks the index: sessions and parts by serial, job, verdict and date."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Subquery, Table, and_, func, or_, select

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.store import Store, rebuild, update
from barrelfit.acquire.index.tables import DECISIONS, PARTS, SESSIONS, SIZES, VERDICTS
from barrelfit.acquire.journal.codes import code_said
from barrelfit.acquire.journal.session import INDEX_NAME, USUAL_FOLDER
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.model import Verdict
from barrelfit.rules.said import Said, said

_DAY: Final = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")


@dataclass(frozen=True, slots=True)
class SearchWanted:
    """What is looked for; an empty text asks for nothing. Days are UTC, both included."""

    part: str = ""
    job: str = ""
    verdict: str = ""
    since: str = ""
    until: str = ""

    @classmethod
    def of(cls, **given: str) -> "SearchWanted":
        """Check what the user gave.

        Raises:
            UserError: an unknown verdict or a day that is none.
        """
        problems = [
            said("no_day", option=f"--{name}", text=given[name])
            for name in ("since", "until")
            if given[name] and not _DAY.fullmatch(given[name])
        ]
        choices = [v.value for v in Verdict]
        if given["verdict"] and given["verdict"] not in choices:
            problems.append(
                said("no_such_verdict", verdict=given["verdict"], choices=tuple(choices))
            )
        if problems:
            raise UserError(problems)
        return cls(**given)


def open_index(folder: Path | None, url: str, *, anew: bool) -> tuple[Store, list[Said]]:
    """Open the index and bring it up to date; gives it with what could not be taken.

    Args:
        folder: where the journals are, None for the usual folder.
        url: of a database; empty for the file in that folder.
        anew: build the file anew.

    Raises:
        UserError: there is no such folder.
    """
    where = (folder or USUAL_FOLDER).expanduser()
    if folder is None and url and not where.is_dir():
        return Store(url), []  # a shop's index, asked from where nothing was recorded yet
    if not where.is_dir():
        raise UserError([said("no_session_folder", where=str(where))])
    if anew and not url:
        problems = rebuild(where / INDEX_NAME, where)
        return Store(where / INDEX_NAME), problems
    store = Store(url or where / INDEX_NAME)
    return store, update(store, where)


def found_rows(store: Store, wanted: SearchWanted) -> list[dict[str, Any]]:
    """Rows of sessions and parts that fit, oldest first.

    A session whose set names no parts, or that has no verdict yet, is found by job and date.
    """
    last, decided = _latest(VERDICTS), _latest(DECISIONS)
    query = (
        select(
            SESSIONS.c.session,
            SESSIONS.c.file,
            SESSIONS.c.bench,
            SESSIONS.c.job,
            SESSIONS.c.opened_utc,
            SESSIONS.c.ended,
            SESSIONS.c.sheet,
            SESSIONS.c.head_hash,
            last.c.about,
            PARTS.c.serial,
            last.c.verdict,
            last.c.reasons,
            decided.c.verdict.label("decided"),
            decided.c.who.label("decided_by"),
        )
        .select_from(
            SESSIONS.outerjoin(last, last.c.session == SESSIONS.c.session)
            .outerjoin(
                PARTS, and_(PARTS.c.session == SESSIONS.c.session, PARTS.c.part == last.c.about)
            )
            .outerjoin(
                decided,
                and_(decided.c.session == SESSIONS.c.session, decided.c.about == last.c.about),
            )
        )
        .order_by(SESSIONS.c.opened_utc, SESSIONS.c.session, last.c.about)
    )
    if wanted.part:
        query = query.where(
            or_(last.c.about == wanted.part, PARTS.c.serial.contains(wanted.part, autoescape=True))
        )
    if wanted.job:
        query = query.where(SESSIONS.c.job.contains(wanted.job, autoescape=True))
    if wanted.verdict:
        query = query.where(last.c.verdict == wanted.verdict)
    if wanted.since:
        query = query.where(SESSIONS.c.opened_utc >= wanted.since)
    if wanted.until:
        query = query.where(SESSIONS.c.opened_utc <= f"{wanted.until}T99")
    return store.rows(query)


def earlier_sizes(store: Store, serial: str, but: str) -> list[dict[str, Any]]:
    """The sizes that stand in other sessions of the part with a serial number, newest first.

    Args:
        store: the index.
        serial: the whole number.
        but: a session whose own sizes are left out.
    """
    query = (
        select(
            SESSIONS.c.session,
            SESSIONS.c.job,
            SIZES.c.utc,
            SIZES.c.part,
            SIZES.c.feature,
            SIZES.c.depth,
            SIZES.c.direction,
            SIZES.c.size_nm,
        )
        .select_from(
            PARTS.join(SESSIONS, SESSIONS.c.session == PARTS.c.session).join(
                SIZES, and_(SIZES.c.session == PARTS.c.session, SIZES.c.part == PARTS.c.part)
            )
        )
        .where(PARTS.c.serial == serial, SESSIONS.c.session != but, SIZES.c.stands.is_(True))
        .order_by(SIZES.c.utc.desc(), SIZES.c.seq)
    )
    return store.rows(query)


def _latest(table: Table) -> Subquery:
    """The last record about each part or pair of each session."""
    newest = (
        select(table.c.session, table.c.about, func.max(table.c.seq).label("seq"))
        .group_by(table.c.session, table.c.about)
        .subquery()
    )
    same = and_(table.c.session == newest.c.session, table.c.seq == newest.c.seq)
    return select(table).join(newest, same).subquery()


def line_of_row(row: dict[str, Any]) -> Said:
    """One found row as a line for people."""
    ended = code_said("session_closed", "how", row["ended"]) if row["ended"] else ""
    return said(
        "found_row",
        utc=row["opened_utc"][:16],
        bench=row["bench"],
        job=row["job"],
        verdict=_verdict_of(row),
        ended=ended or said("state_not_closed_yet"),
        file=row["file"],
    )


def _verdict_of(row: dict[str, Any]) -> Said:
    if not row["about"]:
        return said("no_verdict_yet")
    about = row["about"]
    if row["serial"]:
        about = said("with_serial", about=about, serial=row["serial"])
    verdict = said("verdict_about", about=about, verdict=verdict_said(row["verdict"]))
    if not row["decided"]:
        return verdict
    who, decided = row["decided_by"], verdict_said(row["decided"])
    return said("verdict_decided", verdict=verdict, who=who, decided=decided)
